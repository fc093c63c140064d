package browsertest

import (
	"fmt"
	"strings"
	"testing"
)

// mostStops bounds how often Tab is pressed on one page.
const mostStops = 300

// TestKeyboardReachesTheAction tabs through pages on a desk: each stop can be
// seen and has a ring, and the one thing to do is among them.
func TestKeyboardReachesTheAction(t *testing.T) {
	t.Parallel()
	b := newTab(t, inDemo(t), desk)
	for path, action := range map[string]string{
		"/plan":                 "Plan a trial",
		"/plan/trial?arms=3":    "Work it out",
		"/batches/B8":           "Inoculate",
		"/batches/B8/inoculate": "Done, 12 jars",
		"/batches/B7/rounds":    "pins",
		"/batches/B7/weigh":     "Keep the weights",
		"/supplies/recipe":      "Keep the recipe",
		"/settings":             "Keep",
		"/reckoner/held":        "Reckon",
	} {
		b.open(path)
		b.skipLink(path)
		b.open(path)
		b.tabTo(path, action)
	}
}

// skipLink checks that the first stop leads past the sections.
func (b *tab) skipLink(path string) {
	b.Helper()
	b.keys("\t")
	first := probed[focused](b, "focus")
	if first.Name != "Skip to content" || !first.Seen {
		b.Errorf("%s: the first stop is %+v, want a link past the sections that can be seen", path, first)
		return
	}
	b.do("press Enter", enter)
	b.keys("\t")
	if !probed[bool](b, "has", "main :focus") {
		b.Errorf("%s: after the skip link the keyboard stands on %+v, want something in the page itself", path, probed[focused](b, "focus"))
	}
}

// tabTo presses Tab until the action is reached, and checks each stop.
func (b *tab) tabTo(path, action string) {
	b.Helper()
	for stop := range mostStops {
		b.keys("\t")
		at := probed[focused](b, "focus")
		switch {
		case at.Tag == "":
			b.Errorf("%s: %d stops, and none is %q", path, stop, action)
			return
		case !at.Seen:
			b.Errorf("%s: the keyboard stands on %s %q, which can not be seen", path, at.Tag, at.Name)
		case !at.Ring:
			b.Errorf("%s: %s %q has no ring when the keyboard stands on it", path, at.Tag, at.Name)
		}
		if at.Name == action {
			return
		}
	}
	b.Errorf("%s: %d stops and no end", path, mostStops)
}

// TestRoundsByKeyboard ticks two jars and logs what is seen, with no hand on
// the mouse.
func TestRoundsByKeyboard(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	b := newTab(t, x, desk)
	b.open("/batches/B1/rounds")
	for _, jar := range []string{"jar 1", "jar 2"} {
		b.tabToStop(jar)
		b.keys(" ")
	}
	b.tabToStop("pins")
	b.arrive("Enter on pins", 200, enter)
	b.says("B1·1–2: pins")
}

// tabToStop presses Tab until the keyboard stands on what begins with name.
func (b *tab) tabToStop(name string) {
	b.Helper()
	var stops []string
	for range mostStops {
		b.keys("\t")
		at := probed[focused](b, "focus")
		if at.Name == name || strings.HasPrefix(at.Name, name+",") {
			return
		}
		stops = append(stops, fmt.Sprintf("%s %q", at.Tag, at.Name))
	}
	b.Fatalf("%s: no stop is %q: %s", b.path(), name, strings.Join(stops, ", "))
}

// TestFocusIsNotUnderTheBars tabs through pages whose action is fixed to the
// foot of a phone's screen: no stop is hidden under it (WCAG 2.2, 2.4.11).
func TestFocusIsNotUnderTheBars(t *testing.T) {
	t.Parallel()
	b := newTab(t, inDemo(t), phone)
	for path, last := range map[string]string{
		"/batches/B7/rounds":    "Lost",
		"/shelves/top/rounds":   "Lost",
		"/batches/B7/weigh":     "Keep the weights",
		"/batches/B8/inoculate": "Done, 12 jars",
		"/labels":               "Count again",
		"/scan":                 "Open",
	} {
		b.open(path)
		b.tabTo(path, last)
	}
}
