package web

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// paired lets a browser in as a new person of that role and returns it: the
// same site with cookies of its own.
func (x *site) paired(name, initials string, role lab.Role) *site {
	x.t.Helper()
	p := must[lab.Person](x.t)(x.farm.AddPerson(context.Background(), app.NewPerson{Name: name, Initials: initials, Role: string(role)}))
	invite := must[app.Pairing](x.t)(x.farm.Invite(context.Background(), p.ID))
	y := *x
	y.cookies = nil
	y.post("/pair", url.Values{"code": {invite.Code}}).to("/")
	x.clock.add(time.Minute) // tries are counted by the minute
	return &y
}

// TestEveryRouteAsEveryRole asks for every route as nobody, as a viewer, as a
// hand and as an owner: each gets what the table says and no more.
func TestEveryRouteAsEveryRole(t *testing.T) {
	x := newDoorSite(t)
	as := map[lab.Role]*site{lab.Viewer: x.paired("Vi", "V", lab.Viewer), lab.Hand: x.paired("Mo", "M", lab.Hand), lab.Owner: x.paired("Ada", "A", lab.Owner)}
	nobody := *x
	held := 0
	for _, rt := range routes {
		method, path, _ := strings.Cut(rt.pattern, " ")
		path = placeholder.ReplaceAllString(strings.Replace(path, "{$}", "", 1), "x")
		if path == "/logout" {
			continue // it is for all, and would end the part of each
		}
		ask := func(y *site) answer {
			if method == http.MethodGet {
				return y.get(path)
			}
			return y.post(path, url.Values{})
		}
		least := rt.rule.least()
		if rt.rule == token {
			continue // TestProgramsWithoutAToken
		}
		out := ask(&nobody)
		if toDoor := strings.HasPrefix(out.Header().Get("Location"), "/login?") || out.Code == http.StatusUnauthorized; toDoor != (least != "") {
			t.Errorf("%s as nobody: %d, least role %q", rt.pattern, out.Code, least)
		}
		for _, role := range lab.Roles {
			if path == "/devices/out" && role == lab.Owner {
				continue // it would turn out the others
			}
			a := ask(as[role])
			refused := a.Code == http.StatusForbidden && path != "/login" && path != "/pair"
			if want := least != "" && !role.May(least); refused != want {
				t.Errorf("%s as %s: status %d, refused %v, want %v", rt.pattern, role, a.Code, refused, want)
			}
			if refused {
				held++
			}
			if a.Code == http.StatusUnauthorized || strings.HasPrefix(a.Header().Get("Location"), "/login?") {
				t.Fatalf("%s as %s: sent to the door", rt.pattern, role)
			}
		}
		x.clock.add(time.Minute)
	}
	if held < 40 {
		t.Errorf("only %d requests were refused: the walk tests nothing", held)
	}
}

func TestRefusedEntriesChangeNothing(t *testing.T) {
	x := newDoorSite(t)
	vi := x.paired("Vi", "V", lab.Viewer)
	vi.post("/cultures", url.Values{"name": {"LC-9"}, "form": {"LC"}}).status(http.StatusForbidden).doc().want("what is missing", tag("p"), says("role hand"))
	mo := x.paired("Mo", "M", lab.Hand)
	mo.post("/people", url.Values{"person": {"Eve"}, "initials": {"E"}, "role": {"owner"}}).status(http.StatusForbidden)
	mo.post("/settings", url.Values{"name": {"Mine now"}}).status(http.StatusForbidden)
	if c := must[[]app.CultureRow](t)(x.farm.Cultures(context.Background())); len(c) != 0 {
		t.Errorf("cultures %v", c)
	}
	if v := must[app.PeopleView](t)(x.farm.People(context.Background())); len(v.People) != 2 {
		t.Errorf("people %v", v.People)
	}
}

// TestEntriesBearWhoMadeThem enters as a hand that claims other initials.
func TestEntriesBearWhoMadeThem(t *testing.T) {
	x := newDoorSite(t)
	x.stock()
	k := x.batch(4)
	x.grown(k)
	mo := x.paired("Mo", "MO", lab.Hand)
	mo.cookies = append(mo.cookies, &http.Cookie{Name: byCookie, Value: "QURB"}) // "ADA"
	mo.post("/batches/"+k.Batch.String()+"/rounds", url.Values{"numbers": {"1"}, "see": {"note"}, "note": {"dry at the rim"}}).status(http.StatusSeeOther)
	d := must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "", 1))[0]
	if d.By != "MO" || !d.Entered.Equal(x.clock.Now().Truncate(time.Second)) {
		t.Errorf("the entry is by %q at %v", d.By, d.Entered)
	}
}

// TestTwoPeopleDiffer enters as two hands what can hardly both hold: both are
// kept, Today asks, and the page of the jar takes the answer.
func TestTwoPeopleDiffer(t *testing.T) {
	x := newDoorSite(t)
	x.stock()
	k := x.batch(4)
	x.grown(k)
	code := x.codes(k.Batch.String())[0]
	mo, vi := x.paired("Mo", "MO", lab.Hand), x.paired("Vi", "V", lab.Hand)
	mo.post("/j/"+code+"/seen", url.Values{"see": {"sign:clean"}}).status(http.StatusSeeOther)
	vi.post("/j/"+code+"/seen", url.Values{"see": {"sign:green"}}).status(http.StatusSeeOther)
	vi.get("/").doc().want("the question", tag("li"), says("Which holds"), says("MO’s clean and V’s green"))
	d := vi.get("/j/" + code).doc()
	d.want("both are kept", tag("p"), says("Both are kept until one of you says"))
	form := d.all(tag("form"), with("action", "/j/"+code+"/answer"))[0]
	v := url.Values{}
	for _, n := range inputs(form) {
		v.Set(attr(n, "name"), attr(n, "value"))
	}
	v.Set("holds", v.Get("second"))
	vi.post("/j/"+code+"/answer", url.Values{"first": {"x"}, "second": {"y"}}).status(http.StatusUnprocessableEntity)
	vi.post("/j/"+code+"/answer", v).to("/j/" + code)
	if a := vi.get("/j/" + code); strings.Contains(a.Body.String(), "Which holds?") {
		t.Error("it asks again")
	}
	vi.get("/j/"+code).doc().want("what does not hold stays to be seen", tag("span"), with("class", "gone"), says("clean"))
}

// inputs are the fields below n.
func inputs(n *html.Node) []*html.Node {
	var out []*html.Node
	for d := range n.Descendants() {
		if d.Data == "input" {
			out = append(out, d)
		}
	}
	return out
}

var groups = regexp.MustCompile(`[2-9A-Y]{5} [2-9A-Y]{5}`)

// TestPairingFromTheOwnersScreen follows the pages: a code lets one device
// in, once, and stands in no address and no log.
func TestPairingFromTheOwnersScreen(t *testing.T) {
	x := newDoorSite(t)
	x.post("/login", url.Values{"passphrase": {passphrase}}).to("/")
	x.post("/people", url.Values{"person": {"Mo"}, "initials": {"mo"}, "role": {"hand"}}).to("/people")
	mo := must[app.PeopleView](t)(x.farm.People(context.Background())).People[0]
	d := x.post("/people/"+string(mo.ID)+"/pair", url.Values{}).status(http.StatusOK).doc()
	d.want("square", tag("svg"), with("class", "square"))
	code := groups.FindString(text(d.all(tag("main"))[0]))
	if code == "" {
		t.Fatalf("no code on the page: %s", text(d.all(tag("main"))[0]))
	}
	phone := *x
	phone.cookies = nil
	phone.post("/pair", url.Values{"code": {strings.ToLower(code)}}).to("/")
	phone.get("/batches").status(http.StatusOK)
	phone.get("/people").status(http.StatusForbidden)
	other := *x
	other.cookies = nil
	other.post("/pair", url.Values{"code": {code}}).status(http.StatusForbidden).doc().want("why", tag("p"), says("used"))
	if joined := strings.ReplaceAll(code, " ", ""); strings.Contains(x.log.String(), joined) || strings.Contains(x.log.String(), code) {
		t.Error("the code is in the log")
	}
	x.get("/people").status(http.StatusOK).doc().want("the device", tag("li"), says("Mo"))
	device := must[app.PeopleView](t)(x.farm.People(context.Background())).Devices[0]
	x.post("/devices/"+string(device.ID)+"/out", url.Values{}).to("/people")
	phone.get("/batches").to("/login?to=%2Fbatches")
	x.get("/batches").status(http.StatusOK)
}

func TestPairingRunsOut(t *testing.T) {
	x := newDoorSite(t)
	ctx := context.Background()
	p := must[lab.Person](t)(x.farm.AddPerson(ctx, app.NewPerson{Name: "Mo", Initials: "MO", Role: "hand"}))
	late := must[app.Pairing](t)(x.farm.Invite(ctx, p.ID))
	x.clock.add(app.PairingStay)
	x.post("/pair", url.Values{"code": {late.Code}}).status(http.StatusForbidden)
	fresh := must[app.Pairing](t)(x.farm.Invite(ctx, p.ID))
	must[lab.Person](t)(x.farm.SetRole(ctx, p.ID, ""))
	x.post("/pair", url.Values{"code": {fresh.Code}}).status(http.StatusForbidden) // who left brings nobody in
	for range triesEach {
		x.post("/pair", url.Values{"code": {"2222222222"}})
	}
	x.post("/pair", url.Values{"code": {"2222222222"}}).status(http.StatusTooManyRequests)
}

func TestWhoLeftIsOutAtOnce(t *testing.T) {
	x := newDoorSite(t)
	mo := x.paired("Mo", "MO", lab.Hand)
	mo.get("/batches").status(http.StatusOK)
	p := must[app.PeopleView](t)(x.farm.People(context.Background())).People[0]
	must[lab.Person](t)(x.farm.SetRole(context.Background(), p.ID, lab.Viewer))
	mo.post("/cultures", url.Values{"name": {"LC-9"}, "form": {"LC"}}).status(http.StatusForbidden)
	must[lab.Person](t)(x.farm.SetRole(context.Background(), p.ID, ""))
	mo.get("/batches").to("/login?to=%2Fbatches")
}

func TestEntriesAreCounted(t *testing.T) {
	x := newDoorSite(t)
	mo := x.paired("Mo", "MO", lab.Hand)
	for range entriesEach {
		mo.post("/undo", url.Values{})
	}
	if a := mo.post("/undo", url.Values{}).status(http.StatusTooManyRequests); a.Header().Get("Retry-After") != "60" {
		t.Errorf("Retry-After %q", a.Header().Get("Retry-After"))
	}
	mo.get("/batches").status(http.StatusOK)
}

// TestSecretsAreNotInTheRecords looks for what lets in among what is stored.
func TestSecretsAreNotInTheRecords(t *testing.T) {
	x := newDoorSite(t)
	mo := x.paired("Mo", "MO", lab.Hand)
	for _, d := range must[app.PeopleView](t)(x.farm.People(context.Background())).Devices {
		if strings.Contains(d.Key, mo.cookies[0].Value) || len(d.Key) != 64 {
			t.Errorf("the key of a device is %q", d.Key)
		}
	}
}

// TestProgramsWithoutAToken asks the API from devices of each role.
func TestProgramsWithoutAToken(t *testing.T) {
	x := newDoorSite(t)
	for role, want := range map[lab.Role][2]int{lab.Viewer: {200, 401}, lab.Hand: {200, 401}, lab.Owner: {200, 404}} {
		y := x.paired(string(role), string(role[:1]), role)
		if a := y.get("/api/v1/batches"); a.Code != want[0] {
			t.Errorf("%s reads: %d, want %d", role, a.Code, want[0])
		}
		if a := y.post("/api/v1/none", url.Values{}); a.Code != want[1] {
			t.Errorf("%s writes: %d, want %d", role, a.Code, want[1])
		}
	}
	nobody := *x
	nobody.get("/api/v1/batches").status(http.StatusUnauthorized)
}
