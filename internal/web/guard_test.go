package web

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// TestEveryRouteHasItsRule holds the table: known rules, writes only by POST
// and only by "enter" or at the door, and a bound on every body that is sent.
func TestEveryRouteHasItsRule(t *testing.T) {
	openPosts := map[string]bool{"POST /login": true, "POST /logout": true, "POST /lamp": true, "POST /pair": true}
	seen := make(map[string]bool)
	for _, rt := range routes {
		method, _, _ := strings.Cut(rt.pattern, " ")
		if seen[rt.pattern] {
			t.Errorf("%s stands twice in the table", rt.pattern)
		}
		seen[rt.pattern] = true
		switch {
		case rt.rule != open && rt.rule != knows && rt.rule != read && rt.rule != enter && rt.rule != own && rt.rule != token:
			t.Errorf("%s has no rule", rt.pattern)
		case method == http.MethodGet && rt.rule == enter:
			t.Errorf("%s writes by GET", rt.pattern)
		case method == http.MethodPost && rt.rule != enter && rt.rule != own && rt.rule != token && !openPosts[rt.pattern]:
			t.Errorf("%s is posted and not under the rule enter or own", rt.pattern)
		case method == http.MethodPost && rt.bytes == 0:
			t.Errorf("%s has no bound on its body", rt.pattern)
		case method != http.MethodGet && method != http.MethodPost:
			t.Errorf("%s is of a method that no page uses", rt.pattern)
		case rt.serve == nil:
			t.Errorf("%s is served by nothing", rt.pattern)
		}
	}
}

// placeholder is a part of a pattern that stands for anything.
var placeholder = regexp.MustCompile(`\{[\w.]+\}`)

// TestTheDoorHoldsEveryRoute asks for every route without the passphrase.
func TestTheDoorHoldsEveryRoute(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: "oak and barley"})
	for _, rt := range routes {
		method, path, _ := strings.Cut(rt.pattern, " ")
		path = placeholder.ReplaceAllString(strings.Replace(path, "{$}", "", 1), "x")
		var a answer
		if method == http.MethodGet {
			a = x.get(path)
		} else {
			a = x.post(path, url.Values{})
		}
		switch {
		case rt.rule == open || rt.rule == knows:
			if a.Code == http.StatusUnauthorized || strings.HasPrefix(a.Header().Get("Location"), "/login?") {
				t.Errorf("%s is open and was held: %d", rt.pattern, a.Code)
			}
		case method == http.MethodGet && rt.rule != token:
			if want := "/login?to=" + url.QueryEscape(path); a.Code != http.StatusSeeOther || a.Header().Get("Location") != want {
				t.Errorf("%s: %d to %q, want 303 to %q", rt.pattern, a.Code, a.Header().Get("Location"), want)
			}
		case a.Code != http.StatusUnauthorized:
			t.Errorf("%s: status %d, want 401", rt.pattern, a.Code)
		}
	}
}

func TestHeadersOnEveryAnswer(t *testing.T) {
	x := newSite(t, Options{})
	for _, path := range []string{"/", "/nowhere", "/healthz", "/static/none.css", x.asset("pinset.css"), "/reckoner/held?hold_min=x"} {
		h := x.get(path).Header()
		for key, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; connect-src 'self'",
			"X-Content-Type-Options":  "nosniff",
			"Referrer-Policy":         "same-origin",
		} {
			if got := h.Get(key); got != want {
				t.Errorf("%s: %s is %q, want %q", path, key, got, want)
			}
		}
	}
}

// asset returns the address of an asset as the pages name it.
func (x *site) asset(name string) string {
	x.t.Helper()
	base, _, _ := strings.Cut(name, ".")
	for _, n := range x.get("/").doc().all(func() match { return has("href") }()) {
		if strings.HasPrefix(attr(n, "href"), "/static/"+base) {
			return attr(n, "href")
		}
	}
	x.t.Fatalf("no page names %s", name)
	return ""
}

func TestAssetsAreKeptForEver(t *testing.T) {
	x := newSite(t, Options{})
	a := x.get(x.asset("pinset.css")).status(http.StatusOK)
	if got := a.Header().Get("Cache-Control"); got != "public, max-age=31536000, immutable" {
		t.Errorf("Cache-Control %q", got)
	}
	if got := a.Header().Get("Content-Type"); got != "text/css; charset=utf-8" {
		t.Errorf("Content-Type %q", got)
	}
	x.get("/static/pinset.00000000.css").status(http.StatusNotFound)
	x.get("/static/..%2Fpages%2Fbase.html").status(http.StatusNotFound)
}

func TestOnlyOurNames(t *testing.T) {
	x := newSite(t, Options{Hosts: []string{"Barn.local"}})
	for host, want := range map[string]int{
		"127.0.0.1:8470": 200, "localhost": 200, "LOCALHOST:1": 200, "[::1]:8470": 200, "192.168.1.9": 200, "barn.local:8470": 200, "barn.local.": 200,
		"example.net": 421, "localhost.example.net": 421, "barn.local.example.net:80": 421, "": 421, "127.0.0.1.example.net": 421,
	} {
		r := httptest.NewRequest(http.MethodGet, "/healthz", nil)
		r.Host = host
		w := httptest.NewRecorder()
		x.handler.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("host %q: status %d, want %d", host, w.Code, want)
		}
	}
}

func TestForeignOriginIsRefused(t *testing.T) {
	x := newSite(t, Options{})
	send := func(header, value string) int {
		r := httptest.NewRequest(http.MethodPost, "/cultures", strings.NewReader("name=LC-9&form=LC&act=0198c0de-0000-7000-8000-000000000001"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(header, value)
		return x.do(r).Code
	}
	for _, c := range []struct {
		header, value string
		want          int
	}{
		{"Sec-Fetch-Site", "cross-site", 403},
		{"Sec-Fetch-Site", "same-site", 403},
		{"Origin", "http://example.net", 403},
		{"Origin", "null", 403},
		{"Origin", "http://127.0.0.1:8470", 303},
		{"Sec-Fetch-Site", "same-origin", 303},
	} {
		if got := send(c.header, c.value); got != c.want {
			t.Errorf("%s: %s: status %d, want %d", c.header, c.value, got, c.want)
		}
	}
	x.get("/cultures").doc().want("culture written from our own origin", tag("li"), says("LC-9"))
}

func TestBodiesAreBounded(t *testing.T) {
	x := newSite(t, Options{})
	a := x.post("/cultures", url.Values{"name": {"LC"}, "note": {strings.Repeat("x", formBytes)}}).status(http.StatusRequestEntityTooLarge)
	a.doc().want("sentence with the bound", tag("p"), says("256 kB"))
	a = x.upload("/import", "big.csv", strings.Repeat("a,b\n", fileBytes/4+1), nil).status(http.StatusRequestEntityTooLarge)
	a.doc().want("sentence with the bound", tag("p"), says("8192 kB"))
}

// TestLogKeepsSecrets looks for what was typed in the log.
func TestLogKeepsSecrets(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:1", Passphrase: "oak and barley"})
	x.post("/login", url.Values{"passphrase": {"oak and barley"}}).to("/")
	x.get("/find?q=SECRETQUERY")
	x.post("/cultures", url.Values{"name": {"SECRETBODY"}, "form": {"LC"}})
	log := x.log.String()
	for _, secret := range []string{"oak and barley", "SECRETQUERY", "SECRETBODY", "pinset_door"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %q:\n%s", secret, log)
		}
	}
	if !strings.Contains(log, "path=/find status=404") || !strings.Contains(log, "method=POST path=/cultures status=303") {
		t.Errorf("requests are not in the log:\n%s", log)
	}
}

func TestPanicBecomesAPage(t *testing.T) {
	x := newSite(t, Options{})
	s, err := newServer(nil, Options{Log: slog.New(slog.NewTextHandler(x.log, nil))}) // no farm: reading it panics
	if err != nil {
		t.Fatal(err)
	}
	x.handler = s.handler(newHosts(nil))
	a := x.get("/cultures").status(http.StatusInternalServerError)
	a.doc().wellFormed("A fault of Pinset")
}

func TestCheckListen(t *testing.T) {
	for _, c := range []struct {
		addr, passphrase string
		refused          string // part of the sentence, "" if it may
	}{
		{"127.0.0.1:8470", "", ""},
		{"localhost:0", "", ""},
		{"[::1]:8470", "", ""},
		{"0.0.0.0:8470", "", "set a passphrase"},
		{":8470", "", "set a passphrase"},
		{"192.168.1.9:8470", "", "192.168.1.9:8470"},
		{"192.168.1.9:8470", "oak and barley", ""},
		{"192.168.1.9:8470", "oak", "at least"},
		{"192.168.1.9:8470", "elf letters", "at least 12"},
		{"192.168.1.9:8470", "zwölf Zeiche", ""}, // characters, not bytes
		{"192.168.1.9:8470", "zwölf Zeich", "at least 12"},
		{"127.0.0.1:8470", "elf letters", "at least 12"},
		{"", "", "no address to listen on"},
		{"127.0.0.1", "", "write it like 127.0.0.1:8470"},
	} {
		err := CheckListen(c.addr, c.passphrase)
		if (err == nil) != (c.refused == "") || err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("CheckListen(%q, %q) = %v, want %q", c.addr, c.passphrase, err, c.refused)
		}
	}
	if _, err := New(nil, Options{Listen: "0.0.0.0:8470"}); err == nil {
		t.Error("New takes an open address without a passphrase")
	}
}

func TestServerHasLimits(t *testing.T) {
	s := NewServer("127.0.0.1:0", http.NotFoundHandler())
	if s.ReadHeaderTimeout <= 0 || s.ReadTimeout <= 0 || s.WriteTimeout <= 0 || s.IdleTimeout <= 0 || s.MaxHeaderBytes <= 0 {
		t.Errorf("a limit is missing: %+v", s)
	}
}
