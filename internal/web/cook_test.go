package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
)

// kitchen is a site at 1609 m with a batch whose first cook stands in a cooker
// of 15 psi.
func kitchen(t *testing.T) *site {
	x := newSite(t, Options{})
	if err := x.farm.SaveSettings(context.Background(), app.NewSettings{Altitude: "1609 m"}); err != nil {
		t.Fatal(err)
	}
	x.stock()
	x.batch(6)
	x.post("/cookers", url.Values{"name": {"tall"}, "rated": {"15 psi"}, "loss": {"240 mL"}, "heat_up": {"38 min"}, "holds": {"pint jar 7 x 2"}}).to("/cookers")
	return x
}

func (x *site) alarms() []alarmAnswer {
	x.t.Helper()
	var got struct{ Alarms []alarmAnswer }
	if err := json.Unmarshal(x.get("/alarms.json").status(http.StatusOK).Body.Bytes(), &got); err != nil {
		x.t.Fatal(err)
	}
	return got.Alarms
}

func TestACookIsAdvisedBeforeIt(t *testing.T) {
	x := kitchen(t)
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("the three holds together", tag("dl"), says("Your rule"), says("Same kill without lag"), says("Same kill in the core"))
	d.want("the water to pour", tag("dl"), says("Water to pour"), says("at least"))
	d.want("one line why", tag("p"), says("The rule is taken as made at sea level"))
	d.want("the manual first", tag("li"), says("maker's manual"))
	d.want("the altitude", class("caution"), says("altitude"))
	x.post("/cooks/1/step", url.Values{"event": {"water"}, "typed": {"0.4 L"}}).to("/cooks/1")
	x.get("/cooks/1").doc().want("a stop sign for too little water", class("caution"), with("data-weight", "stop"), says("Not enough water"))
	x.post("/cooks/1/step", url.Values{"event": {"gauge"}, "typed": {"hot"}}).mended("typed", "hot", "hot")
	x.post("/cooks", url.Values{"cooker": {"tall"}, "hold": {"90 min"}, "gauge": {"18 psi"}}).mended("gauge", "18 psi", "rated")
}

// The times come from the server: a page that is loaded again, or a second
// phone, shows the same ones, with scripts and without.
func TestACookRingsUntilHeard(t *testing.T) {
	x := kitchen(t)
	if got := x.alarms(); len(got) != 0 {
		t.Errorf("nothing runs, and %v rings", got)
	}
	x.post("/cooks/1/step", url.Values{"event": {"heat_on"}}).to("/cooks/1")
	d := x.get("/cooks/1").doc()
	d.want("the clock time to set, large", class("clock"), says("09:38"))
	d.want("that a locked phone can not ring", tag("p"), says("locked or sleeping phone can not ring"))
	d.want("a refresh where scripts are off", tag("noscript"))
	d.want("the script that rings", tag("script"), has("src"), has("defer"))
	x.clock.add(42 * time.Minute)
	ringing := x.alarms()
	if len(ringing) != 1 || !ringing[0].Due || ringing[0].Clock != "09:38" || ringing[0].LateMin != 4 {
		t.Fatalf("42 min after heat on: %+v", ringing)
	}
	d = x.get("/cooks/1").doc()
	d.want("the alarm", with("role", "alert"), says("It should have reached its pressure by now"), says("4 min ago"))
	d.want("a button to hear it", tag("button"), says("Heard"))
	x.post("/cooks/1/step", url.Values{"event": {"heard"}, "typed": {ringing[0].ID}}).to("/cooks/1")
	if got := x.alarms(); got[0].Due {
		t.Error("it rings on after it was heard")
	}
	x.get("/cooks/1").doc().want("how late it was answered", tag("li"), says("answered 4 min later"))

	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	d = x.get("/cooks/1").doc()
	d.want("when the hold is done", class("clock"), says("11:12"))
	d.want("buttons for gloves", tag("body"), class("gloved"))
	for _, event := range []string{"lost", "heat_off"} {
		d.want("one tap", tag("button"), with("value", event), class("full"))
	}
	x.post("/cooks/1/mark", url.Values{"event": {"lost"}}).to("/cooks/1")
	x.get("/cooks/1").doc().want("one tap back", tag("button"), with("value", "back"), class("full"))
}

func TestACookShowsItsHeat(t *testing.T) {
	x := kitchen(t)
	x.post("/cooks/1/step", url.Values{"event": {"heat_on"}}).to("/cooks/1")
	x.clock.add(30 * time.Minute)
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	x.post("/cooks/1/step", url.Values{"event": {"gauge"}, "typed": {"14"}}).to("/cooks/1")
	x.clock.add(40 * time.Minute)
	x.post("/cooks/1/mark", url.Values{"event": {"heat_off"}}).to("/cooks/1")
	a := x.get("/cooks/1").status(http.StatusOK)
	d := a.doc()
	d.wellFormed("Cook 1")
	d.want("the verdict by the own rule", class("verdict"), says("Did not hold"))
	d.want("the band beside it", tag("p"), says("at least"), says("up to"), says("validates no food"))
	d.want("the heat picture", class("drawing"), tag("figure"))
	for _, doubt := range []string{"The low end misses the target", "A broken hold stays broken", "It stood lower than the target"} {
		d.want(doubt, class("caution"), says(doubt))
	}
	if n := a.Body.Len(); n > mostBytes {
		t.Errorf("the page has %d bytes", n)
	}
	d.none("a word that is never said", tag("main"), says("sterile"))
}

func TestALoggersFileIsTakenIn(t *testing.T) {
	x := kitchen(t)
	const file = "time,temp_f\n2026-03-02 09:00,68\n2026-03-02 09:10,bad\n2026-03-02 09:20,250\n2026-03-02 09:50,250\n"
	v := url.Values{"place": {"core"}, "shift": {"-5"}}
	x.upload("/cooks/1/records", "core.csv", file, v).to("/cooks/1")
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("the record", tag("h3"), says("Core, core.csv"))
	d.want("the line that was not read", tag("li"), says("Line 3"))
	link := d.one("the file as it came", tag("a"), says("The file as it came"))
	if got := x.get(attr(link, "href")).status(http.StatusOK).Body.String(); got != file {
		t.Errorf("the file came back as %q", got)
	}
	x.upload("/cooks/1/records", "core.csv", strings.Replace(file, "temp_f", "temp", 1), v).status(http.StatusUnprocessableEntity).
		doc().want("the unit is asked for", with("role", "alert"), says("unit"))
}

// What is told of a logger is asked once, shown, and forgotten when asked to.
func TestALoggerIsRemembered(t *testing.T) {
	x := kitchen(t)
	const file = "sensor,value,time\npot,68,2026-03-02T09:00:00Z\njar,60,2026-03-02T09:00:01Z\npot,250,2026-03-02T09:20:00Z\njar,80,2026-03-02T09:20:01Z\n"
	x.upload("/cooks/1/records", "a.csv", file, url.Values{"place": {"chamber"}}).status(http.StatusUnprocessableEntity).
		doc().want("the series is asked for", with("role", "alert"), says("Write one of pot, jar"))
	x.upload("/cooks/1/records", "a.csv", file, url.Values{"place": {"chamber"}, "series": {"pot"}, "unit": {"F"}}).to("/cooks/1")
	x.upload("/cooks/1/records", "b.csv", strings.ReplaceAll(file, "T09", "T10"), url.Values{"place": {"chamber"}}).to("/cooks/1")
	d := x.get("/cooks/1").status(http.StatusOK).doc()
	d.want("the record of the second file", tag("h3"), says("Chamber, b.csv"))
	d.want("what is remembered", tag("li"), says("sensor,value,time"), says("°F; chamber: pot"))
	d.wellFormed("Cook 1")
	x.post("/loggers/forget", url.Values{"source": {"sensor,value,time"}, "here": {"/cooks/1"}}).to("/cooks/1")
	x.get("/cooks/1").doc().none("a logger that was forgotten", tag("b"), class("told"))
	x.upload("/cooks/1/records", "c.csv", strings.ReplaceAll(file, "T09", "T11"), url.Values{"place": {"chamber"}}).status(http.StatusUnprocessableEntity)
	x.post("/loggers/forget", url.Values{"source": {"sensor,value,time"}}).status(http.StatusNotFound)
}

func TestOwnStandardPage(t *testing.T) {
	x := kitchen(t)
	x.cooked(must[app.Kept](t)(x.farm.KeepPlan(context.Background(), app.Act{}, plan("second", 6))))
	d := x.get("/standard").status(http.StatusOK).doc()
	d.want("a row", tag("li"), says("pint jar"), says("2 of 2"))
	d.want("what no blank shows", tag("p"), says("No blank was read"))
}

// TestTheFeedRingsForARunningCook: a phone that is locked rings by its own
// calendar, for each time that is still to come.
func TestTheFeedRingsForARunningCook(t *testing.T) {
	x := kitchen(t)
	found := feedAddress.FindStringSubmatch(x.post("/calendar", url.Values{"do": {"new"}}).status(http.StatusOK).Body.String())
	if found == nil {
		t.Fatal("the feed has no address")
	}
	feed := func() string {
		return strings.ReplaceAll(x.get(found[1]).status(http.StatusOK).Body.String(), "\r\n ", "")
	}
	// events are those of the cook that hold, each with whether it rings.
	events := func() map[string]bool {
		out := map[string]bool{}
		for _, e := range strings.Split(feed(), "BEGIN:VEVENT")[1:] {
			if _, title, ok := strings.Cut(e, "SUMMARY:Cook 1: "); ok && !strings.Contains(e, "STATUS:CANCELLED") {
				title, _, _ = strings.Cut(title, "\r\n")
				out[title] = strings.Contains(e, "BEGIN:VALARM") && strings.Contains(e, "TRIGGER") && strings.Contains(e, "ACTION:")
			}
		}
		return out
	}
	x.post("/cooks/1/step", url.Values{"event": {"heat_on"}}).to("/cooks/1")
	if got := events(); !got["It should have reached its pressure by now"] {
		t.Errorf("after heat on the feed rings for %v", got)
	}
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}}).to("/cooks/1")
	got := events()
	for _, what := range []string{"Think of the water: does it still steam evenly?", "Your own rule is met: hold on for what is advised here", "The hold is long enough: heat off"} {
		if !got[what] {
			t.Errorf("in the hold the feed does not ring for %q, but for %v", what, got)
		}
	}
	x.post("/cooks/1/mark", url.Values{"event": {"lost"}}).to("/cooks/1")
	if got := events(); got["The hold is long enough: heat off"] {
		t.Error("the pressure is lost, and the feed still rings for the end of the hold")
	}
}

// TestTodayAsksForTheBlanks on day 7 and 14, with what clean ones can show.
func TestTodayAsksForTheBlanks(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	in := plan("blanks", 6)
	in.BlanksPerCook, in.Cooks = 2, in.Cooks[:1]
	in.Cooks[0].Places = []int{7, 7}
	x.cooked(must[app.Kept](t)(x.farm.KeepPlan(context.Background(), app.Act{}, in)))
	for _, day := range []int{7, 14} {
		x.clock.add(7 * 24 * time.Hour)
		d := x.get("/").status(http.StatusOK).doc()
		task := d.one("the blanks", tag("li"), says("Read the blanks of cook 1"))
		for _, s := range []string{"a blank that fouled makes the cook suspect", "If they are clean", "49 %"} {
			if !strings.Contains(text(task), s) {
				t.Errorf("on day %d Today says %q, and not %q", day, text(task), s)
			}
		}
		x.post("/today", d.filled("/today", url.Values{"see": {"sign:clean"}})).status(http.StatusSeeOther)
		x.get("/").doc().none("blanks that were read", tag("li"), says("Read the blanks of cook 1"))
	}
}
