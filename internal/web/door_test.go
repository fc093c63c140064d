package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

const passphrase = "oak and barley"

func newDoorSite(t *testing.T) *site {
	t.Helper()
	return newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: passphrase})
}

func TestDoorLetsIn(t *testing.T) {
	x := newDoorSite(t)
	d := x.get("/login?to=%2Fbatches").status(http.StatusOK).doc()
	d.none("a way around the door", tag("nav"))
	d.want("the way on", tag("input"), with("name", "to"), with("value", "/batches"))
	a := x.post("/login", url.Values{"passphrase": {passphrase}, "to": {"/batches"}}).to("/batches")
	c := a.Result().Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || strings.Contains(c.Value, passphrase) {
		t.Errorf("the pass is %+v", c)
	}
	x.get("/batches").status(http.StatusOK)
	x.clock.add(app.DeviceStay - time.Minute)
	x.get("/batches").status(http.StatusOK)
	x.clock.add(2 * time.Minute)
	x.get("/batches").to("/login?to=%2Fbatches")
}

func TestDoorKeepsOut(t *testing.T) {
	x := newDoorSite(t)
	for _, wrong := range []string{"", "oak and barle", "Oak and barley", "oak and barley "} {
		a := x.post("/login", url.Values{"passphrase": {wrong}}).status(http.StatusForbidden)
		a.doc().want("what is wrong", tag("p"), with("role", "alert"))
	}
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	good := x.cookies[0].Value
	for name, value := range map[string]string{
		"cut": good[:len(good)-2], "flipped": "0" + good[1:], "empty": "", "in lower case": strings.ToLower(good), "longer": good + "A",
	} {
		x.cookies[0].Value = value
		if a := x.get("/batches"); a.Code == http.StatusOK {
			t.Errorf("a pass that was %s is let in", name)
		}
	}
}

// TestDoorOpensAfterARestart serves the same records anew.
func TestDoorOpensAfterARestart(t *testing.T) {
	x := newDoorSite(t)
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	x.restart()
	x.get("/batches").status(http.StatusOK)
}

func TestDoorForgetsAtLogout(t *testing.T) {
	x := newDoorSite(t)
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	x.get("/").status(http.StatusOK).doc().want("a way out", tag("form"), with("action", "/logout"))
	copied := *x.cookies[0]
	x.post("/logout", url.Values{}).to("/login")
	x.get("/").to("/login?to=%2F")
	x.cookies = []*http.Cookie{&copied}
	x.get("/").to("/login?to=%2F") // a copy of the cookie is of no use either
}

func TestDoorCountsTries(t *testing.T) {
	x := newDoorSite(t)
	for range triesEach {
		x.post("/login", url.Values{"passphrase": {"wrong"}}).status(http.StatusForbidden)
	}
	a := x.post("/login", url.Values{"passphrase": {passphrase}}).status(http.StatusTooManyRequests)
	if a.Header().Get("Retry-After") != "60" {
		t.Errorf("Retry-After %q", a.Header().Get("Retry-After"))
	}
	x.clock.add(time.Minute)
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
}

func TestLimiterBoundsAll(t *testing.T) {
	l := limiter{each: triesEach, most: triesAll, span: time.Minute}
	now := time.Unix(1e9, 0)
	taken := 0
	for i := range triesAll * 2 {
		if l.take(string(rune('a'+i)), now) {
			taken++
		}
	}
	if taken != triesAll {
		t.Errorf("%d tries from many addresses within a minute, want %d", taken, triesAll)
	}
}

// TestDoorLeadsOnlyHere checks that the way on can not lead elsewhere.
func TestDoorLeadsOnlyHere(t *testing.T) {
	x := newDoorSite(t)
	for _, to := range []string{"//example.net", "https://example.net/", `/\example.net`, "javascript:alert(1)", "", "/\n/example.net"} {
		x.post("/login", url.Values{"passphrase": {passphrase}, "to": {to}}).to("/")
		x.clock.add(time.Minute)
	}
}

func FuzzLocalPath(f *testing.F) {
	for _, s := range []string{"/", "/a?b=c", "//x", `/\x`, "/%5c", "http://x", "/a\r\nb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p := localPath(s)
		u, err := url.Parse(p)
		if err == nil && (u.Host != "" || u.Scheme != "") || !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.ContainsAny(p, "\\\r\n") {
			t.Errorf("localPath(%q) = %q leads elsewhere", s, p)
		}
	})
}

// TestAChangedPassphrase serves the same records with another passphrase: the
// old one is worth nothing, and who was let in by it can be turned out.
func TestAChangedPassphrase(t *testing.T) {
	x := newDoorSite(t)
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	x.options.Passphrase = "three wet jars"
	x.restart()
	fresh := *x
	fresh.cookies = nil
	fresh.post("/login", url.Values{"passphrase": {passphrase}}).status(http.StatusForbidden)
	fresh.post("/login", url.Values{"passphrase": {"three wet jars"}}).to("/")
	x.get("/batches").status(http.StatusOK)
	fresh.post("/devices/out", url.Values{}).to("/people")
	x.get("/batches").to("/login?to=%2Fbatches")
	fresh.get("/batches").status(http.StatusOK)
}

// TestTheDoorHelpsToType holds what lets a passphrase be pasted, kept by the
// browser and read over, and a code be typed from a screen: nothing at the
// door is a riddle or a test of memory.
func TestTheDoorHelpsToType(t *testing.T) {
	x := newDoorSite(t)
	d := x.get("/login").doc()
	field := d.one("field", tag("input"), with("name", "passphrase"))
	if attr(field, "autocomplete") != "current-password" || attr(field, "maxlength") != "" || attr(field, "pattern") != "" {
		t.Errorf("the passphrase: %v", field.Attr)
	}
	d.want("a way to read it over", tag("input"), with("type", "checkbox"), with("data-shows", attr(field, "id")))
	d.none("a handler against pasting", has("onpaste"))
	if asked := inputs(d.one("main", tag("main"))); len(asked) != 3 { // where to go on, the phrase, and the box that shows it
		t.Errorf("the door asks for %d things", len(asked))
	}
	code := x.get("/pair").doc().one("field", tag("input"), with("name", "code"))
	if attr(code, "maxlength") != "" || attr(code, "type") == "password" {
		t.Errorf("the code: %v", code.Attr)
	}
}

// TestARouteWithoutARule serves a route that was forgotten in the table: it
// is for owners alone.
func TestARouteWithoutARule(t *testing.T) {
	x := newDoorSite(t)
	vi, mo, ada := x.paired("Vi", "V", lab.Viewer), x.paired("Mo", "M", lab.Hand), x.paired("Ada", "A", lab.Owner)
	s := must[*server](t)(newServer(x.farm, x.options))
	s.now = x.clock.Now
	forgotten := route{pattern: "GET /forgotten", serve: func(_ *server, w http.ResponseWriter, _ *http.Request) error {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}}
	nobody := *x
	nobody.cookies = nil
	for name, c := range map[string]struct {
		who  *site
		want int
	}{"nobody": {&nobody, 303}, "viewer": {vi, 403}, "hand": {mo, 403}, "owner": {ada, 204}} {
		c.who.handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.serve(forgotten, w, r) })
		if a := c.who.get("/forgotten"); a.Code != c.want {
			t.Errorf("%s: status %d, want %d", name, a.Code, c.want)
		}
	}
}

// TestAFormGoesBeforeTheAddress posts a form to an address that says
// otherwise, and a field twice.
func TestAFormGoesBeforeTheAddress(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/cultures?name=LC-8&form=plate", url.Values{"name": {"LC-9", "LC-7"}, "form": {"LC"}}).status(http.StatusSeeOther)
	d := x.get("/cultures").doc()
	d.want("what the form says", tag("li"), says("LC-9"))
	for _, other := range []string{"LC-8", "LC-7"} {
		d.none("what the address says", tag("li"), says(other))
	}
}
