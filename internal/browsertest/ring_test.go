package browsertest

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/web"
)

// listen counts the tones that a page begins, and tells whether they can be
// heard: a browser holds the sound of a page back until it was touched.
const listen = `(() => {
  let tones = 0;
  const begin = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...at) { tones++; heard = this.context; return begin.apply(this, at); };
  let heard = null;
  window.tonesBegun = () => tones;
  window.canBeHeard = () => heard !== null && heard.state === "running";
})()`

// kitchen is a site that can be stopped and started again on the same
// records and address.
type kitchen struct {
	*site
	dir, addr string
}

func newKitchen(t *testing.T) *kitchen {
	k := &kitchen{site: &site{clock: &clock{now: morning}, log: &record{}}, dir: t.TempDir(), addr: "127.0.0.1:0"}
	k.start(t)
	t.Cleanup(func() { k.close() })
	for _, err := range []error{k.farm.SaveSettings(context.Background(), app.NewSettings{Name: "Test barn", Zone: "UTC"}), stock(k.farm)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return k
}

// start opens the records anew and serves them.
func (k *kitchen) start(t *testing.T) {
	t.Helper()
	db := must[*sqldb.DB](t)(sqldb.Open(context.Background(), sqldb.File(k.dir)))
	k.farm = app.New(db, app.WithClock(k.clock.Now))
	handler, err := web.New(k.farm, web.Options{Listen: k.addr, Log: slog.New(slog.NewTextHandler(k.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(handler)
	server.Listener.Close()
	server.Listener = must[net.Listener](t)(net.Listen("tcp", k.addr))
	server.Start()
	k.url, k.addr = server.URL, server.Listener.Addr().String()
	k.close = func() { server.CloseClientConnections(); server.Close(); db.Close() }
}

func (k *kitchen) step(t *testing.T, e lab.Event) {
	t.Helper()
	must[lab.DeedID](t)(k.farm.StepCook(context.Background(), act(), "1", e, "", ""))
}

// rings waits until the page tells the alarm and sounds so many times; each
// time is three tones.
func (b *tab) rings(what string, times int) {
	b.Helper()
	b.await("#ring", what)
	before := evaluated[int](b, "tonesBegun()")
	b.until("it sounds", func() bool { return evaluated[int](b, "tonesBegun()") >= before+3*times })
}

// TestAlarmsRing: an alarm sounds on whatever page is open, again and again
// until it is heard; it survives a reload and a restart of the server; late
// answers are told with how late. Three alarms: pressure that should have been
// reached, water, and the end of the hold.
func TestAlarmsRing(t *testing.T) {
	t.Parallel()
	k := newKitchen(t)
	k.keep(t, plain("for the shelf", 6))
	b := newTab(t, k.site, phone)
	call(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: listen})

	k.step(t, lab.HeatOn)
	b.open("/cooks/1")
	b.says("09:45") // 45 min after heat on
	b.says("A locked or sleeping phone can not ring")
	if px := evaluated[float64](b, `parseFloat(getComputedStyle(document.querySelector(".coming .clock")).fontSize)`); px < 40 {
		t.Errorf("the clock time to set is %g px high, want large figures", px)
	}
	b.shot("ring-1-coming")

	k.clock.add(57 * time.Minute)
	b.open("/supplies")
	b.rings("It should have reached its pressure by now", 2)
	b.do("touch the edge of the page", b.click(spot{4, 300}))
	b.until("the sound is let through after a touch", func() bool { return evaluated[bool](b, "canBeHeard()") })
	b.shot("ring-2-supplies")
	b.open("/shelf")
	b.rings("It should have reached its pressure by now", 1)

	k.close()
	k.start(t)
	b.rings("It should have reached its pressure by now", 1) // on the page that stayed open
	b.open("/")
	b.rings("It should have reached its pressure by now", 1)
	b.press("Heard")
	b.until("the bar is gone", func() bool { return evaluated[bool](b, `!document.getElementById("ring")`) })
	b.open("/cooks/1")
	b.says("answered 12 min later")

	must[app.CookView](t)(k.farm.MarkCook(context.Background(), act(), "1", lab.Reached, ""))
	k.clock.add(65 * time.Minute)
	b.open("/crop")
	b.rings("Think of the water", 1)
	k.clock.add(30 * time.Minute)
	b.open("/crop")
	b.rings("The hold is long enough", 1)
	if !strings.Contains(b.text("#ring"), "Think of the water") {
		t.Error("the alarm for the water was not heard, and is gone")
	}
	for _, line := range k.log.faults() {
		t.Errorf("the server logged: %s", line)
	}
}

// asleep keeps a page from asking by itself, as a phone in its sleep does.
const asleep = `(() => { const every = window.setInterval; window.setInterval = (f, ms) => every(f, ms === 15000 ? 1e9 : ms); })()`

// TestTheHoldOutlivesSleepAndRestart: the server starts anew in the middle of
// a hold, the phone sleeps and its clock jumps; as soon as it wakes, the page
// shows the minutes of the server, and the alarm with how late it is.
func TestTheHoldOutlivesSleepAndRestart(t *testing.T) {
	t.Parallel()
	k := newKitchen(t)
	k.keep(t, plain("for the shelf", 6))
	b := newTab(t, k.site, phone)
	b.beforeEachPage(asleep)
	k.step(t, lab.HeatOn)
	k.clock.add(30 * time.Minute)
	must[app.CookView](t)(k.farm.MarkCook(context.Background(), act(), "1", lab.Reached, ""))
	k.clock.add(40 * time.Minute)
	b.open("/cooks/1")
	b.says("11:00") // 90 min after 09:30
	b.await("[data-minutes]", "40")

	k.close()
	k.clock.add(60 * time.Minute)
	k.start(t)
	evaluated[bool](b, `(Date.now = () => 0, document.dispatchEvent(new Event("visibilitychange")))`)
	b.await("#ring", "The hold is long enough")
	b.await("[data-minutes]", "100")
	b.open("/cooks/1")
	b.says("It was due at 11:00, 10 min ago")
	b.shot("ring-3-late")
	b.open("/crop") // where a bar tells them
	b.await("#ring", "Think of the water")
	b.press("Heard") // the water
	b.until("one is left", func() bool { return !strings.Contains(b.text("#ring"), "water") })
	b.press("Heard")
	b.until("the bar is gone", func() bool { return !probed[bool](b, "has", "#ring") })
	b.open("/cooks/1")
	b.says("due at 11:00, answered 10 min later")
}

// TestTheAlarmToOpen rings ten minutes after zero pressure, on a page that is
// not the cook's, and is over when the cooker was opened.
func TestTheAlarmToOpen(t *testing.T) {
	t.Parallel()
	k := newKitchen(t)
	k.keep(t, plain("for the shelf", 6))
	b := newTab(t, k.site, phone)
	b.beforeEachPage(listen)
	for _, e := range []lab.Event{lab.Reached, lab.HeatOff} {
		must[app.CookView](t)(k.farm.MarkCook(context.Background(), act(), "1", e, ""))
		k.clock.add(95 * time.Minute)
	}
	k.step(t, lab.Zero)
	b.open("/shelf")
	b.until("the page has asked", func() bool { return b.hasAsked("/alarms.json") })
	if probed[bool](b, "has", "#ring") {
		t.Error("it rings before the wait is over")
	}
	k.clock.add(10 * time.Minute)
	b.open("/shelf")
	b.rings("Ten minutes since zero pressure: it may be opened", 1)
	b.shot("ring-4-open")
	b.open("/cooks/1")
	b.follow("Opened", 200)
	b.open("/shelf")
	b.until("the page has asked", func() bool { return b.hasAsked("/alarms.json") })
	if probed[bool](b, "has", "#ring") {
		t.Error("it rings on after the cooker was opened")
	}
}

// hasAsked reports whether the page that is shown has an answer from path.
func (b *tab) hasAsked(path string) bool {
	b.Helper()
	return evaluated[bool](b, fmt.Sprintf(`performance.getEntriesByType("resource").some((e) => e.name.endsWith(%q) && e.responseEnd > 0)`, path))
}

// TestTheBarTakesAWholeRow: on a desk the bar of the alarms stands over the
// rail and the page and narrows neither; the page of the cook itself, which
// tells its alarms, has none.
func TestTheBarTakesAWholeRow(t *testing.T) {
	t.Parallel()
	k := newKitchen(t)
	k.keep(t, plain("for the shelf", 6))
	b := newTab(t, k.site, desk)
	k.step(t, lab.HeatOn)
	k.clock.add(57 * time.Minute)
	b.open("/supplies")
	b.await("#ring", "It should have reached its pressure by now")
	at := func(selector, side string) float64 {
		return evaluated[float64](b, `document.querySelector("`+selector+`").getBoundingClientRect().`+side)
	}
	if w := at("#ring", "width"); w < 1200 {
		t.Errorf("the bar is %g px wide, want all of 1280", w)
	}
	if bar, rail, top := at("#ring", "bottom"), at(".top", "top"), at("main", "top"); rail < bar-1 || top < bar-1 || rail > bar+2 || top > bar+2 {
		t.Errorf("the bar ends at %g px, the rail begins at %g and the page at %g", bar, rail, top)
	}
	b.shot("ring-4-desk")
	b.open("/cooks/1")
	b.await(".ringing", "It should have reached its pressure by now")
	b.until("the page has asked", func() bool { return b.hasAsked("/alarms.json") })
	b.until("the title rings", func() bool { return evaluated[bool](b, `document.title.startsWith("⏰")`) })
	if evaluated[bool](b, `!!document.getElementById("ring")`) {
		t.Error("the page tells the same alarm twice")
	}
}
