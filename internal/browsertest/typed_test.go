package browsertest

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// typed is what stands in fields, by their labels.
type typed map[string]string

func (b *tab) typeIn(all typed) {
	b.Helper()
	for label, text := range all {
		b.fill(label, text)
	}
}

func (b *tab) holds(when string, all typed) {
	b.Helper()
	for label, want := range all {
		if got := b.value(label); got != want {
			b.Errorf("%s, %s: %q holds %q, want %q", b.path(), when, label, got, want)
		}
	}
}

// TestAFormComesBackWithWhatWasTyped sends forms with one thing wrong in each.
func TestAFormComesBackWithWhatWasTyped(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	b := newTab(t, x, phone)
	for _, c := range []struct {
		page, button string
		open         string // a fold to open first
		typed        typed
	}{
		{"/plan/batch", "Work it out", "", typed{"Name": "stock", "Jars": "13", "Jars that each layer takes": "seven", "Hold": "75 min", "Target on the gauge": "15 psi"}},
		{"/supplies", "Keep the container", "Write a container down", typed{"Name": "tub", "Holds, to the brim": "1 bucket", "Inner diameter": "20 cm"}},
		{"/supplies/recipe", "Keep the recipe", "", typed{"Name": "rye cake", "Mix 1, ingredient 1": "rye", "Mix 1, amount 1": "forty g", "Into each jar": "41 g", "Note": "two\nlines"}},
		{"/cultures", "Keep", "Write a culture down", typed{"Name": "LC-9", "Made on": "soon", "Strain": "K7"}},
		{"/batches/B1/inoculate", "Count again", "", typed{"For each jar": "2 mL", "Leave out": "five", "When": "yesterday"}},
		{"/batches/B1/rounds", "pins", "", typed{"Or write numbers": "1-3", "When": "whenever", "Note": "by the window"}},
		{"/batches/B1/weigh", "Keep the weights", "", typed{"Grams of jar 1": "12.5", "Grams of jar 2": "plenty", "When": "today"}},
		{"/settings", "Keep", "", typed{"Name": "Quill barn", "Time zone": "Nowhere/Land", "Your initials": "MO"}},
	} {
		b.open(c.page)
		if c.open != "" && !probed[bool](b, "has", "details[open] form") {
			b.press(c.open)
		}
		b.typeIn(c.typed)
		b.follow(c.button, 422)
		b.holds("sent with a fault", c.typed)
		if !probed[bool](b, "has", "[aria-invalid=true], [role=alert]") {
			t.Errorf("%s: nothing says what is wrong", c.page)
		}
		b.fits("phone " + c.page + " with a fault")
		b.scan("phone "+c.page+" with a fault", false)
		b.shot(fileName("fault-" + c.page))
	}
}

// TestTypedWordsOutliveAReload types, reloads, goes away and comes back.
func TestTypedWordsOutliveAReload(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	b := newTab(t, x, phone)
	for page, words := range map[string]typed{
		"/plan/batch":        {"Name": "stock", "Jars": "13", "Hold": "75 min"},
		"/supplies/recipe":   {"Name": "rye cake", "Mix 1, amount 1": "40 g"},
		"/batches/B1/weigh":  {"Grams of jar 1": "12.5", "Grams of jar 2": "11"},
		"/batches/B1/rounds": {"Or write numbers": "1-3", "Note": "by the window"},
	} {
		b.open(page)
		ticks := probed[bool](b, "has", "label.cell")
		if ticks {
			b.tick("2")
		}
		b.typeIn(words)
		b.do("reload", chromedp.Reload())
		b.holds("after a reload", words)
		if ticks && !probed[bool](b, "ticked", "2") {
			t.Errorf("%s: after a reload jar 2 is not ticked", page)
		}
		b.typeIn(words)
		b.open("/shelf")
		b.back(page)
		b.holds("after going away and back", words)
	}
}

// TestADoublePressStoresOnce presses twice as fast as a thumb can.
func TestADoublePressStoresOnce(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	b := newTab(t, x, phone)
	entries := func() int {
		t.Helper()
		deeds, err := x.farm.Deeds(context.Background(), "B1", 100)
		if err != nil {
			t.Fatal(err)
		}
		return len(deeds)
	}
	before := entries()
	b.open("/batches/B1/rounds")
	b.tick("1")
	at := probed[spot](b, "press", "pins")
	b.do("press pins twice", b.click(at), b.click(at))
	b.await("main", "B1·1: pins")
	if n := entries() - before; n != 1 {
		t.Errorf("%d entries after pressing pins twice, want 1", n)
	}

	before = entries()
	b.open("/batches/B1/weigh")
	b.fill("Grams of jar 2", "12.5")
	at = probed[spot](b, "press", "Keep the weights")
	twice := func(p *input.DispatchMouseEventParams) { p.ClickCount = 2 }
	b.do("press Keep twice", b.click(at), chromedp.MouseClickXY(at.X, at.Y, twice))
	b.await("main", "12.5")
	if n := entries() - before; n != 1 {
		t.Errorf("%d entries after keeping the weights twice, want 1", n)
	}
}

// TestBackAndOneMore goes back to a form that was sent and sends it with
// something else: that is another entry, not the same one again.
func TestBackAndOneMore(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	b := newTab(t, x, phone)
	b.open("/batches/B1/weigh")
	b.fill("Grams of jar 1", "12.5")
	b.follow("Keep the weights", 200)
	b.back("/batches/B1/weigh")
	b.fill("Grams of jar 1", "")
	b.fill("Grams of jar 2", "11.3")
	b.follow("Keep the weights", 200)
	b.says("12.5")
	b.says("11.3")
}
