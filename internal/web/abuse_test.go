package web

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// wrongly is one way to ask for a route as it must not be asked for.
type wrongly struct {
	name string
	does func(route) bool // whether it can be tried on that route
	ask  func(*abused, route) answer
	want func(route) int // the status that refuses it
}

// abused is a farm behind its door, with an owner's browser and one that was
// turned out.
type abused struct {
	*site
	owner, out *site
}

func newAbused(t *testing.T) *abused {
	x := newDoorSite(t)
	a := &abused{site: x, owner: x.paired("Ada", "A", lab.Owner), out: x.paired("Mo", "M", lab.Owner)}
	for _, d := range must[app.PeopleView](t)(x.farm.People(context.Background())).Devices {
		if d.Who == "Mo" {
			if err := x.farm.TurnOut(context.Background(), d.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	return a
}

// addressed is the method and an address of a route.
func addressed(rt route) (method, path string) {
	method, path, _ = strings.Cut(rt.pattern, " ")
	return method, placeholder.ReplaceAllString(strings.Replace(path, "{$}", "", 1), "x")
}

// request is a plain request for a route, from our own pages.
func request(rt route) *http.Request {
	method, path := addressed(rt)
	r := httptest.NewRequest(method, path, nil)
	if method == http.MethodPost {
		r = httptest.NewRequest(method, path, strings.NewReader("act="+string(app.NewActID())))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	return r
}

func posts(rt route) bool { return strings.HasPrefix(rt.pattern, http.MethodPost) }

// endless is the body of a form that never ends. Its length is not declared.
type endless struct{}

func (endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'x'
	}
	return len(b), nil
}

var wrongWays = []wrongly{
	{
		"by a device that was turned out", func(rt route) bool { return rt.rule.least() != "" },
		func(x *abused, rt route) answer { return x.out.do(request(rt)) },
		func(rt route) int {
			if posts(rt) {
				return http.StatusUnauthorized
			}
			return http.StatusSeeOther
		},
	},
	{
		"by a name that is not ours", func(route) bool { return true },
		func(x *abused, rt route) answer {
			r := request(rt)
			r.Host = "pinset.example.net"
			return x.owner.do(r)
		},
		func(route) int { return http.StatusMisdirectedRequest },
	},
	{
		"from another site", posts,
		func(x *abused, rt route) answer {
			r := request(rt)
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			return x.owner.do(r)
		},
		func(route) int { return http.StatusForbidden },
	},
	{
		"from another origin, by an old browser", posts,
		func(x *abused, rt route) answer {
			r := request(rt)
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "http://pinset.example.net")
			return x.owner.do(r)
		},
		func(route) int { return http.StatusForbidden },
	},
	{
		"with a form that is one byte too long", func(rt route) bool { return posts(rt) && rt.rule != token },
		func(x *abused, rt route) answer {
			r := request(rt)
			r.Body, r.ContentLength = io.NopCloser(io.LimitReader(endless{}, min(rt.bytes, heldBytes)+1)), -1
			return x.owner.do(r)
		},
		func(route) int { return http.StatusRequestEntityTooLarge },
	},
	{
		"with a form that does not end, by nobody", func(rt route) bool { return posts(rt) && rt.rule != open },
		func(x *abused, rt route) answer {
			r := request(rt)
			r.Body, r.ContentLength = io.NopCloser(endless{}), -1
			nobody := *x.site
			nobody.cookies = nil
			return nobody.do(r)
		},
		func(route) int { return http.StatusUnauthorized },
	},
}

// TestEveryRouteAbused asks for every route in each of the wrong ways. All
// are refused, and nothing is written.
func TestEveryRouteAbused(t *testing.T) {
	x := newAbused(t)
	before := x.counted()
	for _, way := range wrongWays {
		tried := 0
		for _, rt := range routes {
			if !way.does(rt) {
				continue
			}
			tried++
			if a := way.ask(x, rt); a.Code != way.want(rt) {
				t.Errorf("%s %s: status %d, want %d", rt.pattern, way.name, a.Code, way.want(rt))
			}
			x.clock.add(10 * time.Second) // entries are counted by the minute
		}
		if tried < 40 {
			t.Errorf("%s: only %d routes were tried", way.name, tried)
		}
	}
	if after := x.counted(); after != before {
		t.Errorf("records before %v, after %v", before, after)
	}
	x.owner.get("/people").status(http.StatusOK) // the owner was not turned out by any of it
}

// counted is how much is in the records that abuse would add to.
func (x *abused) counted() [3]int {
	ctx := context.Background()
	v := must[app.PeopleView](x.t)(x.farm.People(ctx))
	return [3]int{len(must[[]lab.Deed](x.t)(x.farm.Deeds(ctx, "", 100))), len(v.People), len(v.Devices)}
}

// TestEveryRouteByAnotherMethod asks for every address by the methods that
// the table does not give it, as the owner.
func TestEveryRouteByAnotherMethod(t *testing.T) {
	x := newAbused(t)
	known := make(map[string]bool)
	for _, rt := range routes {
		known[rt.pattern] = true
	}
	for _, rt := range routes {
		_, path := addressed(rt)
		_, place, _ := strings.Cut(rt.pattern, " ")
		for _, method := range []string{"GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"} {
			if known[method+" "+place] {
				continue
			}
			r := httptest.NewRequest(method, path, strings.NewReader(url.Values{"act": {string(app.NewActID())}}.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			r.Header.Set("X-HTTP-Method-Override", http.MethodPost)
			want := http.StatusMethodNotAllowed
			if method == http.MethodGet { // no page is at an address that is only posted to
				want = http.StatusNotFound
			}
			if a := x.owner.do(r); a.Code != want && a.Code != http.StatusMethodNotAllowed {
				t.Errorf("%s for %s: status %d, want %d", method, rt.pattern, a.Code, want)
			}
		}
	}
}

// TestALetInDeviceGetsASecretOfOurs comes to the door with a secret that
// somebody else put into the browser: it is worth nothing before and after.
func TestALetInDeviceGetsASecretOfOurs(t *testing.T) {
	for name, letIn := range map[string]func(*site){
		"passphrase": func(x *site) { x.post("/login", url.Values{"passphrase": {passphrase}}).to("/") },
		"pairing": func(x *site) {
			p := must[lab.Person](x.t)(x.farm.AddPerson(context.Background(), app.NewPerson{Name: "Mo", Initials: "M", Role: string(lab.Hand)}))
			invite := must[app.Pairing](x.t)(x.farm.Invite(context.Background(), p.ID))
			x.post("/pair", url.Values{"code": {invite.Code}}).to("/")
		},
	} {
		t.Run(name, func(t *testing.T) {
			x := newDoorSite(t)
			planted := &http.Cookie{Name: "pinset_door", Value: strings.Repeat("A", 26)}
			x.cookies = []*http.Cookie{planted}
			x.get("/batches").to("/login?to=%2Fbatches")
			letIn(x)
			first := x.cookies[0].Value
			if len(first) != 26 || strings.Trim(first, "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567") != "" { // 5 bits each
				t.Errorf("a secret of %d characters", len(first))
			}
			if first == planted.Value {
				t.Fatal("the planted secret was taken over")
			}
			x.get("/batches").status(http.StatusOK)
			other := *x
			other.cookies = []*http.Cookie{planted}
			other.get("/batches").to("/login?to=%2Fbatches")
			if name == "passphrase" {
				letIn(x)
				if x.cookies[0].Value == first {
					t.Error("the second letting in made no new secret")
				}
			}
		})
	}
}

// TestEveryAnswerSaysWhatItIs asks for every route as the owner: whatever
// comes back, a page, a refusal or a file, bears the headers, says its kind
// and letters, and invites no other site.
func TestEveryAnswerSaysWhatItIs(t *testing.T) {
	x := newAbused(t)
	for _, rt := range routes {
		if rt.pattern == "POST /logout" {
			continue // it would end the part of the owner
		}
		a := x.owner.do(request(rt))
		h := a.Result().Header
		for key, want := range map[string]string{
			"Content-Security-Policy":      policy,
			"X-Content-Type-Options":       "nosniff",
			"Referrer-Policy":              "same-origin",
			"Cross-Origin-Opener-Policy":   "same-origin",
			"Cross-Origin-Resource-Policy": "same-origin",
			"Server":                       "",
			"X-Powered-By":                 "",
			"Access-Control-Allow-Origin":  "",
		} {
			if got := h.Get(key); got != want {
				t.Errorf("%s: %s is %q, want %q", rt.pattern, key, got, want)
			}
		}
		kind := h.Get("Content-Type")
		if a.Body.Len() > 0 && kind == "" || strings.HasPrefix(kind, "text/") && !strings.HasSuffix(kind, "; charset=utf-8") {
			t.Errorf("%s: %d bytes of %q", rt.pattern, a.Body.Len(), kind)
		}
		if rt.rule == own && h.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: Cache-Control %q", rt.pattern, h.Get("Cache-Control"))
		}
		if cached := h.Get("Cache-Control"); rt.rule != open && a.Body.Len() > 0 && !strings.HasPrefix(cached, "private") && cached != "no-store" {
			t.Errorf("%s: others may keep it: Cache-Control %q", rt.pattern, cached)
		}
		x.clock.add(10 * time.Second)
	}
}
