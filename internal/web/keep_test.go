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

// TestHandedOverByAnother hands over on a phone that was let in for MO what V
// entered there before: it waits, and nothing is written. The owner, who came
// by the passphrase, hands it over as V's.
func TestHandedOverByAnother(t *testing.T) {
	x := newDoorSite(t)
	x.stock()
	k := x.batch(4)
	x.grown(k)
	path := "/batches/" + k.Batch.String() + "/rounds"
	entry := func(who string) url.Values {
		return url.Values{"numbers": {"1"}, "see": {"note"}, "note": {"by " + who}, "who": {who}, "act": {string(app.NewActID())}}
	}
	newest := func() lab.Deed { return must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "", 1))[0] }
	before := newest()
	mo := x.paired("Mo", "MO", lab.Hand)
	for _, who := range []string{"V", ""} {
		a := mo.handOver(path, entry(who))
		if _, told := a.Header()["Pinset-Whose"]; a.Code != http.StatusForbidden || !told {
			t.Errorf("%q: status %d, %v", who, a.Code, a.Header())
		}
	}
	if newest().ID != before.ID {
		t.Error("another's entry was written")
	}
	mo.handOver(path, entry("MO")).status(http.StatusNoContent)
	if d := newest(); d.By != "MO" {
		t.Errorf("it is by %q", d.By)
	}
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	x.handOver(path, entry("V")).status(http.StatusNoContent)
	if d := newest(); d.By != "V" {
		t.Errorf("handed over by the owner it is by %q, want V", d.By)
	}
}

// TestWeightsThatWaitedAreBackdated hands over the card of a weigh-in two
// hours after it was pressed.
func TestWeightsThatWaitedAreBackdated(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	x.grown(k)
	code := x.codes(k.Batch.String())[0]
	path := "/batches/" + k.Batch.String() + "/list/weigh"
	page := x.get(path + "?step=1").status(http.StatusOK).doc()
	page.want("a field that says when", tag("input"), with("name", "at"))
	x.handOver(path, url.Values{"jar": {code}, "grams": {"8.2"}, "step": {"1"}, "at": {""}, "waited": {"7200"}, "act": {string(app.NewActID())}}).status(http.StatusNoContent)
	at := x.clock.Now().Add(-2 * time.Hour).UTC().Format("15:04")
	x.get("/j/"+code).doc().want("the time when it was pressed", tag("li"), says(at), says("8.2 g"))
}

// TestWhatIsKeptOnThePhone asks for the forms whose entries a phone keeps.
func TestWhatIsKeptOnThePhone(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	x.cooked(k)
	b := "/batches/" + k.Batch.String()
	code := x.codes(k.Batch.String())[0]
	for page, action := range map[string]string{
		b + "/rounds": b + "/rounds", b + "/weigh": b + "/weigh", b + "/inoculate": b + "/inoculate", b + "/bench": b + "/makings",
		"/rounds": "/rounds", "/j/" + code: "/j/" + code + "/seen",
	} {
		x.get(page).doc().want("form of "+action+" is kept", tag("form"), with("action", action), has("data-keep"))
	}
	x.get("/worker.js").status(http.StatusOK)
}

// TestAnEntryForAPageThatIsGone hands over what a phone kept for an address
// that an older version had: it is refused with what to do, and so does not
// stand before all that waits behind it.
func TestAnEntryForAPageThatIsGone(t *testing.T) {
	x := newSite(t, Options{})
	for _, path := range []string{"/batches/B1/looks", "/crop"} { // no page, and one that takes no entries
		a := x.handOver(path, url.Values{"act": {string(app.NewActID())}}).status(http.StatusNotFound)
		if a.Header().Get(handover) == "" {
			t.Errorf("%s: the phone can not know the answer for one of Pinset: %v", path, a.Header())
		}
		a.doc().want("what to do", tag("p"), says("Enter it anew on its page"))
	}
}

// TestAViewersEntryIsKept hands over what somebody entered while a hand, who
// may only look by now: nothing is written, and the phone is told to keep it.
func TestAViewersEntryIsKept(t *testing.T) {
	x := newDoorSite(t)
	x.stock()
	k := x.batch(4)
	x.grown(k)
	mo := x.paired("Mo", "MO", lab.Hand)
	people := must[app.PeopleView](t)(x.farm.People(t.Context())).People
	entry := url.Values{"numbers": {"1"}, "see": {"note"}, "note": {"dry"}, "who": {"MO"}, "act": {string(app.NewActID())}}
	path := "/batches/" + k.Batch.String() + "/rounds"
	must[lab.Person](t)(x.farm.SetRole(t.Context(), people[0].ID, lab.Viewer))
	if a := mo.handOver(path, entry).status(http.StatusForbidden); a.Header().Get("Pinset-Least") != string(lab.Hand) {
		t.Errorf("headers %v", a.Header())
	}
	must[lab.Person](t)(x.farm.SetRole(t.Context(), people[0].ID, lab.Hand))
	mo.handOver(path, entry).status(http.StatusNoContent)
}

// TestTheRestOfARoundThatWaited hands over "all the rest as before" two days
// after it was pressed: what was written in that round is not of the rest.
func TestTheRestOfARoundThatWaited(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	x.cooked(k)
	must[app.InoculateReport](t)(x.farm.Inoculate(t.Context(), app.Act{ID: app.NewActID()}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))
	x.clock.add(10 * 24 * time.Hour)
	path := "/batches/" + k.Batch.String() + "/rounds"
	since := sinceMark(x.clock.Now())
	x.clock.add(48 * time.Hour)
	send := func(v url.Values) {
		v.Set("since", since)
		v.Set("waited", "172700")
		v.Set("at", "")
		v.Set("act", string(app.NewActID()))
		x.handOver(path, v).status(http.StatusNoContent)
	}
	send(url.Values{"numbers": {"1"}, "see": {"sign:green"}})
	x.clock.add(time.Second)
	send(url.Values{"see": {"rest"}})
	newest := must[[]lab.Deed](t)(x.farm.Deeds(t.Context(), "", 1))[0]
	if strings.Contains(newest.What, "·1,") || strings.Contains(newest.What, "·1–") {
		t.Errorf("the rest is %q, though jar 1 was written in that round", newest.What)
	}
}
