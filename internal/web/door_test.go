package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
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
	l := limiter{each: triesEach, most: triesAll}
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
