package web

import (
	"net/http"
	"net/url"
	"testing"
	"time"
)

// TestDoubtsOfThisCookStandOpen: what is said of one cook alone is read
// without a tap, and what holds of every cook is folded away.
func TestDoubtsOfThisCookStandOpen(t *testing.T) {
	x := kitchen(t)
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	x.clock.add(20 * time.Minute)
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}}).to("/cooks/1")
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("the cores", tag("section"), with("aria-labelledby", "core"))
	for _, title := range []string{"The low end misses the target", "A broken hold stays broken"} {
		n := d.one(title, class("caution"), says(title))
		if within(n, "details") {
			t.Errorf("%q is folded away", title)
		}
	}
	d.want("the usual doubts", tag("details"), says("of every such figure"))
	if n := d.one("that it is an estimate", class("caution"), says("An estimate for substrate")); !within(n, "details") {
		t.Error("what holds of every cook stands open")
	}
}

// TestACookIsOftenLikeTheLast: the form begins with the cooker, the hold and
// the target of the newest cook, and offers the cookers that are known.
func TestACookIsOftenLikeTheLast(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/cookers", url.Values{"name": {"tall"}, "kind": {"weight"}, "rated": {"15 psi"}}).to("/cookers")
	x.post("/cookers", url.Values{"name": {"drum"}, "kind": {"steamer"}}).to("/cookers")
	x.post("/cooks", url.Values{"cooker": {"tall"}, "hold": {"1 h 30 min"}, "gauge": {"15 psi"}}).to("/cooks/1")
	d := x.get("/cooks").doc()
	d.want("the hold", tag("input"), with("name", "hold"), with("value", "90 min"))
	d.want("the target", tag("input"), with("name", "gauge"), with("value", "15 psi"))
	d.want("the cooker", tag("option"), with("value", "tall"), has("selected"))
	d.want("the other cooker", tag("option"), with("value", "drum"))
	d.want("the way to the timetable", tag("a"), with("href", "/plan/day"))
	a := x.post("/cooks", url.Values{"cooker": {"drum"}, "hold": {""}, "gauge": {"15 psi"}})
	a.mended("gauge", "15 psi", "steamer")
	a.doc().want("a hold that was left blank", tag("input"), with("name", "hold"), with("value", ""))

	d = x.get("/cookers").doc()
	d.want("the rating in both units", tag("li"), says("Rated 15 psi, 103 kPa"))
	d.want("the way to add to one", tag("a"), with("href", "/cookers?name=drum#write"))
	x.get("/cookers?name=drum").doc().want("its name", tag("input"), with("name", "name"), with("value", "drum"))
}
