package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
)

// Programs come in by the role of their token; without one only where nobody
// is asked, and a token that was ended is worth nothing.
func TestProgramsComeInByToken(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: "oak and barley"})
	ctx := t.Context()
	reads := must[string](t)(x.farm.AddToken(ctx, "shelf screen", app.MayRead))
	enters := must[string](t)(x.farm.AddToken(ctx, "scale", app.MayEnter))
	ended := must[string](t)(x.farm.AddToken(ctx, "lost phone", app.MayEnter))
	if err := x.farm.EndToken(ctx, "Lost Phone"); err != nil {
		t.Fatal(err)
	}
	ask := func(method, path, token string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "http://127.0.0.1:8470"+path, strings.NewReader(`{"jars": "B1·1", "sign": "clean"}`))
		r.Header.Set("Content-Type", "application/json")
		if token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
		w := httptest.NewRecorder()
		x.handler.ServeHTTP(w, r)
		return w
	}
	for _, c := range []struct {
		name, method, path, token string
		status                    int
	}{
		{"nobody", "GET", "/api/v1/batches", "", 401},
		{"a guess", "GET", "/api/v1/batches", "pinset_guess", 401},
		{"an ended token", "GET", "/api/v1/batches", ended, 401},
		{"a reader reads", "GET", "/api/v1/batches", reads, 200},
		{"a reader computes", "POST", "/api/v1/calc/steam", reads, 422},
		{"a reader writes", "POST", "/api/v1/seen", reads, 403},
		{"one that enters", "POST", "/api/v1/seen", enters, 404}, // there is no B1: it came through
		{"the document", "GET", "/api/v1/openapi.json", "", 401},
		{"a page by token", "GET", "/batches", enters, 303},
	} {
		a := ask(c.method, c.path, c.token)
		if a.Code != c.status {
			t.Errorf("%s: status %d, want %d: %.200s", c.name, a.Code, c.status, a.Body)
		}
		if c.status >= 400 && a.Header().Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: refused as %s", c.name, a.Header().Get("Content-Type"))
		}
	}
	if strings.Contains(x.log.String(), reads) || strings.Contains(x.log.String(), "pinset_") {
		t.Error("a token stands in the log")
	}
	alone := newSite(t, Options{})
	if a := alone.get("/api/v1/openapi.json"); a.Code != http.StatusOK {
		t.Errorf("on this machine alone: status %d", a.Code)
	}
}

// The hashes are kept, never the tokens.
func TestTokensAreNotKept(t *testing.T) {
	x := newSite(t, Options{})
	token := must[string](t)(x.farm.AddToken(t.Context(), "scale", app.MayEnter))
	for _, k := range must[[]app.Token](t)(x.farm.Tokens(t.Context())) {
		if strings.Contains(k.Hash, token) || len(k.Hash) != 64 {
			t.Errorf("kept: %+v", k)
		}
	}
	for name, role := range map[string]app.TokenRole{"scale": app.MayRead, "": app.MayRead, "x": "owner"} {
		if _, err := x.farm.AddToken(t.Context(), name, role); err == nil {
			t.Errorf("a token %q of role %s is made", name, role)
		}
	}
}

// A program that does not stop is stopped, and what it sends has a bound.
func TestProgramsAreCounted(t *testing.T) {
	x := newDoorSite(t)
	token := must[string](t)(x.farm.AddToken(t.Context(), "scale", app.MayEnter))
	ask := func(body io.Reader) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1:8470/api/v1/seen", body)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+token)
		w := httptest.NewRecorder()
		x.handler.ServeHTTP(w, r)
		return w
	}
	if a := ask(endless{}); a.Code < 400 || a.Code >= 500 {
		t.Errorf("what does not end: status %d", a.Code)
	}
	spaces := io.MultiReader(strings.NewReader("{"), blanks{})
	if a := ask(spaces); a.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a document that does not end: status %d: %.200s", a.Code, a.Body)
	}
	for range programsEach - 2 {
		if a := ask(strings.NewReader("{}")); a.Code == http.StatusTooManyRequests {
			t.Fatal("stopped too early")
		}
	}
	a := ask(strings.NewReader("{}"))
	if a.Code != http.StatusTooManyRequests || a.Header().Get("Retry-After") != "60" {
		t.Errorf("one more: status %d, Retry-After %q", a.Code, a.Header().Get("Retry-After"))
	}
	x.clock.add(time.Minute)
	if a := ask(strings.NewReader("{}")); a.Code == http.StatusTooManyRequests {
		t.Error("a minute later it is still stopped")
	}
}

// blanks is white space that never ends.
type blanks struct{}

func (blanks) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = ' '
	}
	return len(b), nil
}
