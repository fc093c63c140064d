package browsertest

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// onShelves serves a trial whose jars grow on two shelves.
func onShelves(t *testing.T) *site {
	t.Helper()
	x := newSite(t)
	in := trial("rice or millet", 6)
	in.Shelves = []app.PlanShelf{{Name: "Left", Places: 7}, {Name: "Right", Places: 7}}
	x.keep(t, in)
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.clock.add(20 * 24 * time.Hour)
	return x
}

// TestRoundOfAShelf walks two shelves by thumb: some jars have pins, all the
// rest is as before, one entry is taken back.
func TestRoundOfAShelf(t *testing.T) {
	t.Parallel()
	b := newTab(t, onShelves(t), phone)
	b.walkShelves("scripts")
	b.quiet("rounds of a shelf")
}

// TestRoundOfAShelfWithoutScripts is the same for a browser that runs no scripts.
func TestRoundOfAShelfWithoutScripts(t *testing.T) {
	t.Parallel()
	b := newTab(t, onShelves(t), phone)
	b.withoutScripts()
	b.walkShelves("no-scripts")
}

func (b *tab) walkShelves(how string) {
	b.Helper()
	b.open("/shelf")
	b.follow("Start rounds", 200)
	b.follow("Left", 200)
	b.clock.add(time.Minute)
	b.tick(lab.ShowNumbers([]int{first(b, "Left")}))
	b.follow("pins", 200)
	b.says("pins")
	b.shot("round-1-" + how)
	b.follow("All the rest as before", 200) // and on to the right
	b.says("as before")
	b.follow("Undo", 200)
	b.follow("back to Left", 200)
	b.follow("All the rest as before", 200)
	b.says("Right")
	b.follow("All the rest as before", 200)
	b.says("All are written")
	b.shot("round-2-" + how)
	b.follow("All are written: to Today", 200)
}

// tap presses what is in reach of the thumb: nothing is scrolled for it.
func (b *tab) tap(label string, leads bool) {
	b.Helper()
	if !probed[bool](b, "inReach", label) {
		b.Errorf("on %s %q is not on the screen", b.path(), label)
	}
	b.taps++
	if leads {
		b.follow(label, 200)
		return
	}
	b.press(label)
}

// TestTapsOfARound counts what 40 jars on two shelves cost, from the first
// shelf on: one tap a shelf if nothing changed, three more for a jar that did,
// four for one that is lost. Nothing is typed, and nothing but the list of
// signs is scrolled to, which one of the taps does.
func TestTapsOfARound(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	in := trial("rice or millet", 20)
	in.Shelves = []app.PlanShelf{{Name: "Left", Places: 21}, {Name: "Right", Places: 21}}
	x.keep(t, in)
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.clock.add(20 * 24 * time.Hour)
	jars := jarsOn(t, x, "Left")
	for _, c := range []struct {
		what string
		taps int
		walk func(*tab)
	}{
		{"nothing changed", 2, func(*tab) {}},
		{"two jars differ", 8, func(b *tab) {
			for i, seen := range []string{"pins", "clean"} {
				b.tap(jars[i], false)
				b.tap("What you see", false)
				b.tap(seen, true)
			}
		}},
		{"one is mouldy", 6, func(b *tab) {
			b.tap(jars[2], false)
			b.tap("What you see", false)
			b.tap("green", true)
			b.says("Leave it shut")
			b.shot("round-fouled-" + b.name)
			b.tap("It is lost: fouled", true)
		}},
	} {
		for _, scripts := range []bool{true, false} {
			x.clock.add(time.Hour)
			b := newTab(t, x, phone)
			b.name = "no-scripts"
			if scripts {
				b.name = "scripts"
			} else {
				b.withoutScripts()
			}
			b.open("/rounds")
			b.follow("Left", 200)
			x.clock.add(time.Minute)
			c.walk(b)
			b.tap("All the rest as before", true)
			b.tap("All the rest as before", true)
			b.says("All are written")
			if b.taps != c.taps {
				t.Errorf("%s, %s: %d taps, want %d", c.what, b.name, b.taps, c.taps)
			}
			jars = jarsOn(t, x, "Left") // one was lost
		}
	}
}

// jarsOn are the numbers of the jars on a shelf, as they are read out.
func jarsOn(t *testing.T, x *site, shelf string) (out []string) {
	t.Helper()
	for _, row := range must[app.RoundView](t)(x.farm.Round(t.Context(), shelf, x.clock.Now())).Rows {
		for _, j := range row.Jars {
			if !j.Blank {
				out = append(out, lab.ShowNumbers([]int{j.Number}))
			}
		}
	}
	return out
}

// TestRowAtTheThumb holds the row of rounds: the action is at least 72 px
// high, at the foot of the screen, and the sections give way to it.
func TestRowAtTheThumb(t *testing.T) {
	t.Parallel()
	b := newTab(t, onShelves(t), phone)
	b.open("/shelves/Left/rounds")
	type box struct{ Bottom, Height, Screen float64 }
	at := evaluated[box](b, `(() => { const r = [...document.querySelectorAll(".rounding .go")].find((el) => el.checkVisibility()).getBoundingClientRect(); return {Bottom: r.bottom, Height: r.height, Screen: innerHeight}; })()`)
	if at.Height < 72 || at.Screen-at.Bottom > 40 {
		b.Errorf("the row at the thumb is %.0f px high and ends %.0f px above the foot", at.Height, at.Screen-at.Bottom)
	}
	if evaluated[bool](b, `getComputedStyle(document.querySelector(".rail")).display !== "none"`) {
		b.Error("the bar of sections stands under the row of rounds")
	}
}

// TestRowAtTheFootOfATablet: on a wide screen too the next step is in reach
// without scrolling, however long the page is.
func TestRowAtTheFootOfATablet(t *testing.T) {
	t.Parallel()
	b := newTab(t, onShelves(t), desk)
	b.open("/shelves/Left/rounds")
	if !probed[bool](b, "inReach", "All the rest as before") {
		b.Error("the row of rounds is not on the screen")
	}
	b.tick(lab.ShowNumbers([]int{first(b, "Left")}))
	b.tap("What you see", false)
	b.tap("pins", true)
}

// detector stands in for what the desk's browser lacks: a reader of square
// codes that sees what the test lays before it.
const detector = `window.__square = ""; window.BarcodeDetector = class { async detect() { return window.__square ? [{rawValue: window.__square}] : []; } };
navigator.mediaDevices.getUserMedia = async () => { const c = document.createElement("canvas"); c.getContext("2d"); return c.captureStream(5); };`

// TestCameraOpensTheJar reads a label of another host with the camera in the
// page.
func TestCameraOpensTheJar(t *testing.T) {
	t.Parallel()
	x := onShelves(t)
	b := newTab(t, x, phone)
	code := string(must[app.BatchView](t)(x.farm.BatchView(t.Context(), "B1", 0)).Jars[0].Code)
	b.beforeEachPage(detector)
	b.open("/scan")
	b.press("Open the camera")
	b.await("[data-scan-says]", "Hold a square")
	b.arrive("a square before the camera", 200, b.lay("HTTP://10.99.99.99/"+lab.LabelPath(lab.JarLabel, code)))
	if got := b.path(); !strings.EqualFold(got, "/j/"+code) {
		b.Errorf("the label of jar 1 opened %s", got)
	}
}

// TestCameraCounts counts labels without leaving the page.
func TestCameraCounts(t *testing.T) {
	t.Parallel()
	x := onShelves(t)
	b := newTab(t, x, phone)
	jars := must[app.BatchView](t)(x.farm.BatchView(t.Context(), "B1", 0)).Jars
	b.beforeEachPage(detector)
	b.open("/batches/B1/check")
	b.press("Open the camera")
	for i, j := range jars {
		b.do("lay a square before the camera", b.lay("HTTP://10.99.99.99/J/"+string(j.Code)))
		b.await("#counted", lab.ShowNumbers([]int{i + 1})+" of 13 found")
	}
	b.says("Every label of B1 is there")
	b.quiet("the check of labels")
}

// TestNoCamera says why there is none, and that the code can be typed.
func TestNoCamera(t *testing.T) {
	t.Parallel()
	x := onShelves(t)
	b := newTab(t, x, phone)
	b.beforeEachPage(`delete window.BarcodeDetector;`)
	b.open("/scan")
	b.says("reads no square codes by itself")
	code := string(must[app.BatchView](t)(x.farm.BatchView(t.Context(), "B1", 0)).Jars[1].Code)
	b.fill("Type the code, or batch and number", strings.ToLower(code))
	b.follow("Open", 200)
	b.says(code)
}

// TestCardsBySpaceBar goes through an inoculation list by the space bar
// alone, as a foot switch does, with scripts and without.
func TestCardsBySpaceBar(t *testing.T) {
	t.Parallel()
	for _, scripts := range []bool{true, false} {
		x := newSite(t)
		x.keep(t, plain("many", 6))
		x.cook(t, "1")
		b := newTab(t, x, desk)
		if !scripts {
			b.withoutScripts()
		}
		b.open("/batches/B1/list/inoculate?amount=2+mL&step=1")
		for i := range 5 {
			if got := b.text("h1"); got != lab.ShowNumbers([]int{i + 1}) {
				b.Fatalf("scripts %v: card %d shows %q", scripts, i+1, got)
			}
			b.says("2 mL from LC-3")
			b.arrive("space bar", 200, chromedp.KeyEvent(" "))
		}
		b.says("Done: enter it")
		b.shot("cards-last")
	}
}

// TestScaleTypes weighs jar by jar as a scale does that types and presses Enter.
func TestScaleTypes(t *testing.T) {
	t.Parallel()
	x := onShelves(t)
	x.clock.add(25 * 24 * time.Hour)
	b := newTab(t, x, desk)
	b.withoutScripts()
	b.open("/batches/B1/list/weigh?step=1")
	for range 3 {
		b.until("the field of the next jar has the keyboard", func() bool { return probed[focused](b, "focus").Field == "grams" })
		b.keys("12.4 g")
		b.arrive("Enter", 200, enter)
	}
	b.says("4 of 12")
	crop := must[app.CropView](t)(x.farm.Crop(t.Context(), 0))
	if crop.Picks != 3 || crop.Grams < 37.1 || crop.Grams > 37.3 {
		b.Errorf("three picks of 12.4 g are kept as %d of %.1f g", crop.Picks, crop.Grams)
	}
}

// first is the number of the first jar on a shelf.
func first(b *tab, shelf string) int {
	b.Helper()
	return must[app.RoundView](b)(b.farm.Round(b.Context(), shelf, b.clock.Now())).Rows[0].Jars[0].Number
}

// evaluated is what an expression gives on the page.
func evaluated[T any](b *tab, expression string) T {
	b.Helper()
	return must[T](b)(chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise)))
}

// lay lays a square before the camera of detector.
func (b *tab) lay(text string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void]("window.__square = " + strconv.Quote(text))
}

// beforeEachPage runs a script before those of each page.
func (b *tab) beforeEachPage(script string) {
	b.Helper()
	call(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
}
