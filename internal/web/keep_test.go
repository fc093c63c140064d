package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// handOver sends a form as a phone does that kept it.
func (x *site) handOver(path string, v url.Values) answer {
	x.t.Helper()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set(handover, "1")
	return x.do(r)
}

// TestHandedOverTwiceIsOnce sends what waited on a phone, twice.
func TestHandedOverTwiceIsOnce(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	x.grown(k)
	path := "/batches/" + k.Batch.String() + "/rounds"
	entry := url.Values{"numbers": {"1"}, "see": {"note"}, "note": {"dry at the rim"}, "at": {""}, "waited": {"7200"}, "act": {string(app.NewActID())}}
	before := len(must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "", 100)))
	for range 2 {
		a := x.handOver(path, entry).status(http.StatusNoContent)
		if !strings.HasPrefix(a.Header().Get("Pinset-Next"), path) || a.Header().Get(handover) == "" {
			t.Errorf("headers %v", a.Header())
		}
	}
	deeds := must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "", 100))
	if len(deeds) != before+1 {
		t.Errorf("%d entries were added, want 1", len(deeds)-before)
	}
	code := x.codes(k.Batch.String())[0]
	at := x.clock.Now().Add(-2 * time.Hour).UTC().Format("15:04")
	x.get("/j/"+code).doc().want("the time when it was pressed", tag("li"), says(at), says("dry at the rim"))
}

// TestRefusedHandoverSaysWhy checks what the phone needs to keep an entry
// that can not be taken.
func TestRefusedHandoverSaysWhy(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	a := x.handOver("/batches/"+k.Batch.String()+"/rounds", url.Values{"numbers": {"1"}, "see": {"stage:pins"}, "act": {string(app.NewActID())}})
	if a.Code != http.StatusUnprocessableEntity || a.Header().Get(handover) == "" || a.Header().Get("Pinset-Next") != "" {
		t.Errorf("status %d, headers %v", a.Code, a.Header())
	}
	a.doc().want("why", with("role", "alert"), says("not inoculated"))
}
