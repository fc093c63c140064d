package browsertest

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// growing serves a batch that grows, by a name in the house.
func growing(t *testing.T) (x, house *site, g *gate) {
	t.Helper()
	x = newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	house, g = x.inTheHouse(t)
	return x, house, g
}

// looksAgain tells a page that it is looked at again, as when one comes back to it.
const looksAgain = `document.dispatchEvent(new Event("visibilitychange"))`

// rewritten runs a step on the entries that wait on the phone: all is the
// list of them, store where they are.
func (b *tab) rewritten(step string) {
	b.Helper()
	evaluated[bool](b, `new Promise((done, fail) => { const ask = indexedDB.open("pinset", 1); ask.onerror = fail; ask.onsuccess = () => {
		const all = ask.result.transaction("waiting", "readwrite"), store = all.objectStore("waiting"), got = store.getAll();
		got.onsuccess = () => { const all = got.result; `+step+` }; all.oncomplete = () => { ask.result.close(); done(true); }; } })`)
}

// TestTwoPagesOfOnePhone has two pages open: what one of them kept, both say,
// and what one handed over, the other does not go on to say.
func TestTwoPagesOfOnePhone(t *testing.T) {
	t.Parallel()
	x, house, g := growing(t)
	a := newTabIn(t, houseBrowser, house, phone)
	a.open("/batches/B1/rounds")
	b := unopened(t, house)
	b.begin(a.ctx, phone)
	b.open("/batches/B1/rounds")
	before := len(must[[]string](t)(x.deeds("B1")))
	g.state.Store(cut)
	a.note("1", "first")
	a.await(".waiting", "Not yet handed over: 1")
	b.note("2", "second")
	b.await(".waiting", "Not yet handed over: 2")
	g.state.Store(way)
	a.press("Hand over now")
	a.until("all are handed over", func() bool { return !probed[bool](a, "has", ".waiting") })
	b.do("look again", chromedp.Evaluate[chromedp.Void](looksAgain))
	b.until("nothing waits on the other page either", func() bool { return !probed[bool](b, "has", ".waiting") })
	if got := must[[]string](t)(x.deeds("B1")); len(got) != before+2 {
		t.Errorf("two entries came to %d", len(got)-before)
	}
}

// TestARoundThatWaits walks a round without a network: what was pressed stands
// back on the page, the rest can be pressed once, and once all is handed over
// the jar that differed is not of the rest.
func TestARoundThatWaits(t *testing.T) {
	t.Parallel()
	x, house, g := growing(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	x.clock.add(time.Minute)
	before := len(must[[]string](t)(x.deeds("B1")))
	kept := func() int { return evaluated[int](b, `document.querySelectorAll(".cell.kept").length`) }
	g.state.Store(cut)
	b.tick("2")
	b.press("pins")
	b.await(".waiting", "Not yet handed over: 1")
	if n := kept(); n != 1 {
		t.Errorf("one jar was pressed, and %d stand back", n)
	}
	b.press("All the rest as before")
	b.await(".waiting", "Not yet handed over: 2")
	if n, all := kept(), evaluated[int](b, `document.querySelectorAll("input[name=jar]:not([data-blank])").length`); n != all {
		t.Errorf("%d of %d jars stand back", n, all)
	}
	if !evaluated[bool](b, `document.querySelector("button[value=rest]").disabled`) {
		t.Error("the rest can be pressed again")
	}
	b.shot("phone-round-waits")
	g.state.Store(way)
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return !probed[bool](b, "has", ".waiting") })
	if n := kept(); n == 0 {
		t.Error("what was handed over stands there as if nothing had been pressed")
	}
	got := must[[]string](t)(x.deeds("B1"))
	if len(got) != before+2 || !strings.HasSuffix(got[0], "as before") || strings.Contains(got[0], "·1–") || !strings.HasSuffix(got[1], "B1·2: pins") {
		t.Errorf("written, newest first: %q", got[:len(got)-before])
	}
}

// TestARightThatWasTakenAway: what a hand entered waits while they may only
// look, and is handed over in its order once they may enter again.
func TestARightThatWasTakenAway(t *testing.T) {
	t.Parallel()
	x, _, _ := growing(t)
	mo := must[lab.Person](t)(x.farm.AddPerson(t.Context(), app.NewPerson{Name: "Mo Reed", Initials: "MO", Role: "hand"}))
	house, g := x.behindADoor(t)
	owner := newTabIn(t, houseBrowser, house, desk)
	owner.open("/login")
	owner.fill("Passphrase", passphrase)
	owner.follow("Open", 200)
	b := pairedBy(t, owner, house, "Mo Reed")
	b.open("/batches/B1/rounds")
	before := len(must[[]string](t)(x.deeds("B1")))
	g.state.Store(cut)
	b.note("1", "first")
	b.await(".waiting", "Not yet handed over: 1")
	b.note("2", "second")
	b.await(".waiting", "Not yet handed over: 2")
	must[lab.Person](t)(x.farm.SetRole(t.Context(), mo.ID, lab.Viewer))
	g.state.Store(way)
	b.press("Hand over now")
	b.await(".waiting", "may only look")
	b.await(".waiting", "Not yet handed over: 2")
	b.open("/shelf")
	b.await(".waiting", "may only look")
	b.shot("phone-only-looks")
	if n := len(must[[]string](t)(x.deeds("B1"))); n != before {
		t.Fatalf("a viewer wrote %d entries", n-before)
	}
	must[lab.Person](t)(x.farm.SetRole(t.Context(), mo.ID, lab.Hand))
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return !probed[bool](b, "has", ".waiting") })
	got := must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "B1", 2))
	if !strings.Contains(got[0].What, "B1·2") || !strings.Contains(got[1].What, "B1·1") || got[0].By != "MO" {
		t.Errorf("written, newest first: %q by %s, %q", got[0].What, got[0].By, got[1].What)
	}
}

// TestAPageThatIsGone updates the program while entries wait: the address of
// one is no more. It says so, keeps what was entered, and what was pressed
// after it goes past.
func TestAPageThatIsGone(t *testing.T) {
	t.Parallel()
	x, house, g := growing(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	before := len(must[[]string](t)(x.deeds("B1")))
	g.state.Store(cut)
	b.note("1", "first")
	b.await(".waiting", "Not yet handed over: 1")
	b.note("2", "second")
	b.await(".waiting", "Not yet handed over: 2")
	b.rewritten(`store.put({...all[0], path: "/batches/B1/looks"});`)
	g.state.Store(way)
	b.press("Hand over now")
	b.await(".waiting", "Not taken")
	for _, word := range []string{"first", "Enter it anew on its page"} {
		b.await(".waiting", word)
	}
	b.shot("phone-page-gone")
	b.until("the second is written", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+1 })
}

// TestAPhoneFromABackup puts back what waited on a phone after it was handed
// over, as a backup of the phone does: it is written once, and what was taken
// back meanwhile stays so.
func TestAPhoneFromABackup(t *testing.T) {
	t.Parallel()
	x, house, g := growing(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	g.state.Store(cut)
	b.note("1", "first")
	b.await(".waiting", "Not yet handed over: 1")
	b.tick("2")
	b.press("pins")
	b.await(".waiting", "Not yet handed over: 2")
	b.rewritten(`sessionStorage.setItem("backup", JSON.stringify(all));`)
	g.state.Store(way)
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return !probed[bool](b, "has", ".waiting") })
	deeds := must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "B1", 1))
	must[app.Done](t)(x.farm.Undo(context.Background(), act(), deeds[0].ID))
	after := must[[]string](t)(x.deeds("B1"))
	b.rewritten(`for (const e of JSON.parse(sessionStorage.getItem("backup"))) store.put(e);`)
	b.do("look again", chromedp.Evaluate[chromedp.Void](looksAgain))
	b.open("/shelf")
	b.until("all are handed over again", func() bool { return !probed[bool](b, "has", ".waiting") })
	if got := must[[]string](t)(x.deeds("B1")); !slices.Equal(got, after) {
		t.Errorf("handed over from a backup:\n%q, want\n%q", got, after)
	}
	if v := must[app.BatchView](t)(x.farm.BatchView(context.Background(), "B1", 0)); v.Jars[1].Stage != "" {
		t.Errorf("pins that were taken back came back: jar 2 is at %q", v.Jars[1].Stage)
	}
}
