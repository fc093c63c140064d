package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"pinset/internal/app"
	"pinset/internal/lab"
)

var feedAddress = regexp.MustCompile(`http://[^<]*(/calendar/([A-Za-z0-9_-]{32})\.ics)`)

// TestCalendarFeedIsSecret: the address is shown once and never logged, opens
// without the passphrase, and nothing else does.
func TestCalendarFeedIsSecret(t *testing.T) {
	x := newSite(t, Options{Listen: "0.0.0.0:1", Passphrase: "oak and barley"})
	x.post("/login", url.Values{"passphrase": {"oak and barley"}}).to("/")
	a := x.post("/calendar", url.Values{"do": {"new"}}).status(http.StatusOK)
	found := feedAddress.FindStringSubmatch(a.Body.String())
	if found == nil || a.Header().Get("Cache-Control") != "no-store" {
		t.Fatalf("no address is shown, or it may be kept: %v %v", found, a.Header())
	}
	if feedAddress.MatchString(x.get("/calendar").status(http.StatusOK).Body.String()) {
		t.Error("the address is shown again")
	}
	x.cookies = nil // somebody who only knows the address
	feed := x.get(found[1]).status(http.StatusOK)
	if got := feed.Header().Get("Content-Type"); got != "text/calendar; charset=utf-8" || !strings.HasPrefix(feed.Body.String(), "BEGIN:VCALENDAR\r\n") {
		t.Errorf("the feed is %q: %s", got, feed.brief())
	}
	x.get("/calendar/" + strings.Repeat("A", 32) + ".ics").status(http.StatusNotFound)
	if x.get("/calendar").Code == http.StatusOK {
		t.Error("the page of the feed is open to all")
	}
	x.post("/login", url.Values{"passphrase": {"oak and barley"}}).to("/")
	x.post("/calendar", url.Values{"do": {"stop"}}).to("/calendar")
	x.get(found[1]).status(http.StatusNotFound)
	if log := x.log.String(); strings.Contains(log, found[2]) || !strings.Contains(log, "path=/calendar/…") {
		t.Errorf("the log holds the secret, or not the request:\n%s", log)
	}
}

// TestOneTapOnToday moves a range of covered jars to light by the button that
// Today offers, and a second press of it stores nothing more.
func TestOneTapOnToday(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	if _, err := x.farm.AddCulture(t.Context(), app.NewCulture{Name: "LC-9", Form: "LC", Species: "Cordyceps militaris"}); err != nil {
		t.Fatal(err)
	}
	k := x.batch(6)
	x.cooked(k)
	if _, err := x.farm.Inoculate(t.Context(), app.Act{}, app.InoculateInput{Batch: "B1", Culture: "LC-9"}); err != nil {
		t.Fatal(err)
	}
	d := x.get("/").doc()
	if x.get("/").status(http.StatusOK); len(d.all(tag("form"), with("action", "/today"))) != 0 {
		t.Error("a jar that was inoculated today is looked for")
	}
	var numbers []string
	v, err := x.farm.BatchView(t.Context(), "B1", 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range v.Jars {
		if !j.Blank {
			numbers = append(numbers, lab.ShowNumbers([]int{j.Number}))
		}
	}
	if _, err := x.farm.See(t.Context(), app.Act{}, app.SeeInput{Jars: "B1·" + strings.Join(numbers, ","), Stage: "cover"}); err != nil {
		t.Fatal(err)
	}
	d = x.get("/").doc()
	form := d.one("one tap", tag("form"), with("action", "/today"))
	sent := url.Values{"see": {"stage:light"}}
	for n := range form.Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" {
			sent.Set(attr(n, "name"), attr(n, "value"))
		}
		if n.Type == html.ElementNode && n.Data == "button" && attr(n, "value") != "stage:light" {
			t.Errorf("the button logs %q", attr(n, "value"))
		}
	}
	d.want("the button says how many", tag("button"), says("Done, 12 jars"))
	x.post("/today", sent).to("/")
	x.post("/today", sent).to("/")
	v, err = x.farm.BatchView(t.Context(), "B1", 0)
	if err != nil {
		t.Fatal(err)
	}
	if lit := v.Tally.ByStage[lab.Light]; lit != 12 {
		t.Errorf("%d jars are in the light, want 12", lit)
	}
	x.post("/today", url.Values{"jars": {"B1·99"}, "see": {"stage:light"}}).status(http.StatusNotFound)
}

func TestLimitsAreMendedInPlace(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/calendar", url.Values{"do": {"limits"}, "limits": {"pins soon"}}).status(http.StatusUnprocessableEntity).
		doc().want("what is wrong", tag("p"), says("no limit of cover"))
	x.post("/calendar", url.Values{"do": {"limits"}, "limits": {"pins 29"}}).to("/calendar")
	x.get("/calendar").doc().want("the limit", tag("textarea"), says("pins 29"))
}
