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

// bag writes a bag down as a container.
func (x *site) bag() {
	x.t.Helper()
	must[lab.Container](x.t)(x.farm.AddContainer(x.t.Context(), app.NewContainer{Name: "filter bag", Kind: "bag", Volume: "4 L", Bore: "130 mm", Height: "320 mm"}))
}

// refused checks that a page comes back with what is wrong and how to mend it,
// beside the form or its field.
func (a answer) refused(words ...string) {
	a.t.Helper()
	a.status(http.StatusUnprocessableEntity)
	d := a.doc()
	d.wellFormed("")
	said := ""
	for _, n := range d.all(with("role", "alert")) {
		said += text(n) + "\n"
	}
	for _, w := range words {
		if !strings.Contains(said, w) {
			a.t.Errorf("%s: the page says %q, and not %q", a.what, said, w)
		}
	}
}

// TestACookAtNineThousandMetres: no steam is reckoned up there; the page says
// so beside the advice, and the cook can be logged all the same.
func TestACookAtNineThousandMetres(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/settings", url.Values{"name": {"High barn"}, "zone": {"UTC"}, "altitude": {"9500 m"}}).mended("altitude", "9500 m", "outside of -500 m to 9000 m")
	x.post("/settings", url.Values{"name": {"High barn"}, "zone": {"UTC"}, "altitude": {"9000 m"}})
	x.stock()
	x.batch(6)
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("what is not reckoned", tag("li"), says("is not reckoned"), says("9000"), says("5500"))
	for _, e := range []string{"reached", "heat_off", "opened"} {
		x.post("/cooks/1/mark", url.Values{"event": {e}}).to("/cooks/1")
		x.get("/cooks/1").status(http.StatusOK)
		x.clock.add(95 * time.Minute)
	}
	x.get("/cooks/1").doc().want("the verdict", class("verdict"), says("Held: 95 min"))
	x.get("/reckoner/steam?altitude_m=9000&gauge_psi=15").mended("altitude_m", "9000", "9000")
}

// TestTheClockGoesBackInACook: a mark that would come before the last one is
// refused with what to do, a hold is never less than nothing, and the page
// says that the clock is behind.
func TestTheClockGoesBackInACook(t *testing.T) {
	x := kitchen(t)
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	x.clock.add(-30 * time.Minute)
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("that the clock is behind", class("caution"), with("data-weight", "stop"), says("30 min"), says("clock"))
	if n := d.one("the minutes", has("data-minutes")); text(n) != "0" {
		t.Errorf("the running stretch shows %q min", text(n))
	}
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}}).mended("at", "", "Heat off at 08:30 would come before target reached at 09:00, which is logged. Write the time at which it happened")
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}, "at": {"half past ten"}}).mended("at", "half past ten", "half past ten")
	x.clock.add(2 * time.Hour)
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}}).to("/cooks/1")
	x.get("/cooks/1").doc().want("the verdict", class("verdict"), says("Held: 90 min"))
}

// TestAHoldOverTheChangeOfTheClock: the hour that comes twice is counted
// once, and a time that the clock skipped is refused.
func TestAHoldOverTheChangeOfTheClock(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/settings", url.Values{"name": {"Barn"}, "zone": {"Europe/Berlin"}, "altitude": {"0 m"}})
	for _, c := range []struct {
		begin   string // UTC
		off     string
		minutes string // of the hold, by the sun
	}{
		{"2026-10-25T00:30:00Z", "02:15", "45 min"}, // 02:30 summer time to 02:15 winter time
		{"2026-10-24T23:50:00Z", "", "145 min"},     // 01:50 summer time to 03:15 winter time
		{"2027-03-28T00:30:00Z", "03:15", "45 min"}, // 01:30 winter time to 03:15 summer time
	} {
		cook := must[lab.Cook](t)(x.farm.AddCook(t.Context(), app.NewCook{Hold: "90 min", Gauge: "15 psi"}))
		path := at("cooks", lab.ShowNumbers([]int{cook.Number}))
		begin := must[time.Time](t)(time.Parse(time.RFC3339, c.begin))
		x.clock.add(begin.Sub(x.clock.Now()))
		x.post(path+"/mark", url.Values{"event": {"reached"}}).to(path)
		x.clock.add(50 * time.Minute)
		if c.off == "" {
			x.clock.add(95 * time.Minute)
		}
		x.post(path+"/mark", url.Values{"event": {"heat_off"}, "at": {c.off}}).to(path)
		x.get(path).doc().want("the minutes of "+c.begin, tag("section"), says(c.minutes))
	}
	x.post("/cooks/3/step", url.Values{"event": {"gauge"}, "typed": {"15"}, "at": {"02:30"}}).mended("at", "02:30", "skipped")
}

// TestARecordThatEndsInTheHold tells how much of the hold it does not show.
func TestARecordThatEndsInTheHold(t *testing.T) {
	x := kitchen(t)
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	x.clock.add(95 * time.Minute)
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}}).to("/cooks/1")
	const file = "time,temp_c\n2026-03-02 08:50,20\n2026-03-02 09:20,118\n2026-03-02 09:40,118\n" // from 09:00 to 10:35
	x.upload("/cooks/1/records", "chamber.csv", file, url.Values{"place": {"chamber"}}).to("/cooks/1")
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("what the record does not show", class("caution"), says("chamber.csv shows nothing of 55 of the 95 min that count"))
}

// TestWrongUnitsInACook: what can only be °F is said to be one, wherever a
// temperature is typed, and what was typed stays.
func TestWrongUnitsInACook(t *testing.T) {
	x := kitchen(t)
	x.post("/cooks", url.Values{"hold": {"90 min"}, "gauge": {"250 °C"}}).mended("gauge", "250 °C", "write 250 °F: that is 121.1 °C")
	x.post("/cooks/1/step", url.Values{"event": {"reads"}, "typed": {"250 °C"}}).mended("typed", "250 °C", "write 250 °F: that is 121.1 °C")
	x.post("/cooks/1/step", url.Values{"event": {"start"}, "typed": {"140"}}).mended("typed", "140", "write 140 °F: that is 60.0 °C")
	const file = "time,temp_c\n2026-03-02 09:00,68\n2026-03-02 09:20,250\n2026-03-02 09:50,250\n"
	a := x.upload("/cooks/1/records", "core.csv", file, url.Values{"place": {"core"}})
	a.refused("250 °C", "the wrong unit")
	x.get("/reckoner/lethality?"+url.Values{"times_min": {"0, 10, 20"}, "celsius": {"20, 250, 250"}}.Encode()).mended("celsius", "20, 250, 250", "if 250 was in °F, write 121.1")
}

// TestDangersOnThePages: each is a message or a stop sign with its mend, and
// nothing that was typed is lost.
func TestDangersOnThePages(t *testing.T) {
	x := kitchen(t)
	x.bag()
	stop := func(path, what string, words ...string) {
		t.Helper()
		m := []match{class("caution"), with("data-weight", "stop")}
		for _, w := range words {
			m = append(m, says(w))
		}
		x.get(path).status(http.StatusOK).doc().want(what, m...)
	}
	x.post("/cooks", url.Values{"name": {"night"}, "cooker": {"tall"}, "hold": {"90 min"}, "gauge": {"18 psi"}, "note": {"half typed"}}).mended("gauge", "18 psi", "15 psi")
	x.post("/cooks", url.Values{"hold": {"0 min"}, "gauge": {"15 psi"}}).mended("hold", "0 min", "A hold of no time cooks nothing")
	x.get("/reckoner/held?"+url.Values{"hold_min": {"0"}, "marks": {"at,event\n18:10,reached"}}.Encode()).mended("hold_min", "0", "0 min")
	x.get("/reckoner/hold?"+url.Values{"rule_hold_min": {"90"}, "rule_gauge_psi": {"15"}, "gauge_psi": {"18"}, "altitude_m": {"0"}, "rated_psi": {"15"}}.Encode()).mended("gauge_psi", "18", "15 psi")

	item := url.Values{"item": {"bags of sawdust"}, "count": {"4"}, "kind": {"fill"}, "container": {"filter bag"}, "fill": {"110 mm"}, "mass": {"900 g"}, "moisture": {"60 %"}, "layer": {"1"}, "mixed": {"yes"}}
	x.post("/cooks/1/items", item).to("/cooks/1")
	item.Set("layer", "2")
	item.Del("act")
	x.post("/cooks/1/items", item).to("/cooks/1")
	stop("/cooks/1", "stacked bags", "Bags on each other heat as one", "2 of filter bag, filled to 110 mm", "one of 220 mm", "rack")
	item.Del("act")
	item.Set("stacked", "40")
	x.post("/cooks/1/items", item).mended("stacked", "40", "1 to 10")
	item.Set("stacked", "1")
	item.Set("item", "more jars")
	item.Set("container", "pint jar")
	item.Set("count", "9")
	item.Del("act")
	x.post("/cooks/1/items", item).to("/cooks/1")
	stop("/cooks/1", "jars that touch", "More in a layer than it takes", "layer 2", "Jars that touch share a side")
	x.post("/cooks/1/step", url.Values{"event": {"water"}, "typed": {"0.3 L"}}).to("/cooks/1")
	stop("/cooks/1", "too little water", "Not enough water for this hold", "0.30 L are in", "Pour more before the lid goes on")
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	stop("/cooks/1", "too little water in the hold", "0.30 L were poured", "Never open or refill it under pressure")
	x.post("/cooks/1/step", url.Values{"event": {"gauge"}, "typed": {"17.5 psi"}}).to("/cooks/1")
	stop("/cooks/1", "a gauge above the nameplate", "Above the rating of the vessel", "17.5 psi", "15 psi", "Turn the heat off now")

	cook := url.Values{"altitude_m": {"0"}, "gauge_psi": {"15"}, "come_up_min": {"20"}, "hold_min": {"90"}, "cool": {"natural"}, "container.bore_mm": {"130"}, "container.fill_mm": {"110"}, "container.shape": {"block"}, "container.material": {"polypropylene"}, "container.stacked": {"3"}, "substrate.moisture_pct": {"60"}, "lid": {"tight"}}
	path := "/reckoner/cook?" + cook.Encode()
	stop(path, "a sealed lid", "A tight lid", "Leave lids loose")
	stop(path, "stacked bags in the Reckoner", "Stacked bags heat as one")
	x.get(path).doc().want("plastic", class("caution"), says("Plastic softens"), says("polypropylene"))
}

// TestPlasticIsSpokenOfInACook of bags.
func TestPlasticIsSpokenOfInACook(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/settings", url.Values{"name": {"Barn"}, "zone": {"UTC"}, "altitude": {"420 m"}})
	x.bag()
	x.post("/cooks", url.Values{"hold": {"150 min"}, "gauge": {"15 psi"}}).to("/cooks/1")
	x.post("/cooks/1/items", url.Values{"item": {"bags"}, "count": {"3"}, "kind": {"fill"}, "container": {"filter bag"}, "fill": {"110 mm"}, "moisture": {"60 %"}}).to("/cooks/1")
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("plastic", class("caution"), says("Plastic softens"), says("polypropylene"))
	d.want("lids", tag("li"), says("lids loose or filtered, never tight"))
}
