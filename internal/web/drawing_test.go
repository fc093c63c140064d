package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A phone gets each jar of the shelf drawn once, anything else for the phone's
// width and for the desk's.
func TestAPhoneGetsOneDrawing(t *testing.T) {
	const phone = "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Mobile Safari/537.36"
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(12)
	x.cooked(k)
	code := "/j/" + x.codes("B1")[0]
	for name, c := range map[string]struct {
		agent, hint   string
		drawn, widths int
	}{
		"a phone":                        {phone, "", 1, 1},
		"a phone by its hint":            {"", "?1", 1, 1},
		"a phone that asks for the desk": {phone, "?0", 2, 2},
		"a tablet":                       {"Mozilla/5.0 (iPad; CPU OS 12_5 like Mac OS X) Mobile/15E148", "", 2, 2},
		"a desk":                         {"Mozilla/5.0 (X11; Linux x86_64)", "", 2, 2},
		"nobody knows":                   {"", "", 2, 2},
	} {
		r := httptest.NewRequest(http.MethodGet, "/shelf", nil)
		r.Header.Set("User-Agent", c.agent)
		if c.hint != "" {
			r.Header.Set("Sec-CH-UA-Mobile", c.hint)
		}
		a := x.do(r).status(http.StatusOK)
		body := a.Body.String()
		if n := strings.Count(body, `href="`+code+`"`); n != c.drawn {
			t.Errorf("%s: the jar is drawn %d times, want %d", name, n, c.drawn)
		}
		if n := strings.Count(body, `class="at-desk"`) + strings.Count(body, `class="at-phone"`) + strings.Count(body, `class="at-all"`); n%c.widths != 0 || n == 0 {
			t.Errorf("%s: %d drawings", name, n)
		}
		if got := strings.Join(a.Header().Values("Vary"), ", "); !strings.Contains(got, "User-Agent") {
			t.Errorf("%s: pages vary by %q", name, got)
		}
	}
}
