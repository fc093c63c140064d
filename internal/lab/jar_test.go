package lab

import (
	"testing"
	"time"
)

var day0 = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

func entryAt(id string, day int) Entry {
	return Entry{ID: EntryID(id), At: At(day0.AddDate(0, 0, day)), Entered: day0.AddDate(0, 0, day)}
}

func TestStandFollowsWhatWasEntered(t *testing.T) {
	j := Jar{ID: "j", Number: 1}
	in := []Inoculation{{Entry: entryAt("i", 0), Jar: "j", Culture: "lc"}}
	cover := Seen{Entry: entryAt("a", 14), Jar: "j", Stage: Cover}
	pins := Seen{Entry: entryAt("b", 30), Jar: "j", Stage: Pins}
	lost := Seen{Entry: entryAt("c", 20), Jar: "j", Fate: Lost, Reason: "fouled"}
	mistake := lost
	mistake.Entry = entryAt("d", 20)
	mistake.Corrects, mistake.Withdrawn = "c", true
	pick := Pick{Entry: entryAt("p", 60), Jar: "j", Flush: 1, Grams: 12.5}
	again := Pick{Entry: entryAt("q", 75), Jar: "j", Flush: 2, Grams: 4}
	zero := Pick{Entry: entryAt("z", 60), Jar: "j", Flush: 1}
	after := Seen{Entry: entryAt("e", 80), Jar: "j", Fate: Lost, Reason: "fouled"}
	for name, c := range map[string]struct {
		in    []Inoculation
		seen  []Seen
		picks []Pick
		stage Stage
		fate  Fate
		grams float64
	}{
		"nothing yet":               {nil, nil, nil, "", "", 0},
		"inoculated":                {in, nil, nil, "", Growing, 0},
		"covered":                   {in, []Seen{cover}, nil, Cover, Growing, 0},
		"the furthest stage counts": {in, []Seen{pins, cover}, nil, Pins, Growing, 0},
		"lost":                      {in, []Seen{cover, lost}, nil, Cover, Lost, 0},
		"lost by mistake":           {in, []Seen{cover, lost, mistake}, nil, Cover, Growing, 0},
		"picked twice":              {in, []Seen{cover}, []Pick{pick, again}, Cover, Picked, 16.5},
		"fouled after the pick":     {in, []Seen{after}, []Pick{pick}, "", Picked, 12.5},
		"weighed at nothing":        {in, nil, []Pick{zero}, "", Barren, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s := j.Stand(c.in, c.seen, c.picks)
			if s.Stage != c.stage || s.Fate != c.fate || float64(s.Grams) != c.grams {
				t.Errorf("stage %q, fate %q, %g g; want %q, %q, %g g", s.Stage, s.Fate, s.Grams, c.stage, c.fate, c.grams)
			}
		})
	}
}

func TestClosingDayMakesGrowingJarsBarren(t *testing.T) {
	closing := Day{time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)}
	before, after := closing.Add(20*time.Hour), closing.Add(30*time.Hour)
	growing, picked := Standing{Fate: Growing}, Standing{Fate: Picked}
	if got := growing.On(before, closing).Fate; got != Growing {
		t.Errorf("on the closing day a growing jar is %q", got)
	}
	if got := growing.On(after, closing).Fate; got != Barren {
		t.Errorf("after the closing day a growing jar is %q, want barren", got)
	}
	if got := picked.On(after, closing).Fate; got != Picked {
		t.Errorf("after the closing day a picked jar is %q", got)
	}
}

func TestHeldBack(t *testing.T) {
	jar, blank := Jar{Number: 1}, Jar{Number: 2, Blank: true}
	done := Standing{Inoculated: At(day0), Fate: Growing}
	for name, c := range map[string]struct {
		jar         Jar
		standing    Standing
		cook        CookState
		heldBack    bool
		overridable bool
	}{
		"a jar of a good cook":          {jar, Standing{}, Held, false, false},
		"a jar of an unknown cook":      {jar, Standing{}, Unmarked, false, false},
		"a jar of a cook that did not":  {jar, Standing{}, NotHeld, true, true},
		"a jar that is cooking":         {jar, Standing{}, CookRunning, true, false},
		"a blank, whatever the cook":    {blank, Standing{}, Held, true, false},
		"a blank of a cook that didn't": {blank, Standing{}, NotHeld, true, false},
		"a jar that carries one":        {jar, done, Held, true, false},
		"a broken jar":                  {jar, Standing{Fate: Lost, Reason: "broken"}, NotHeld, true, false},
	} {
		t.Run(name, func(t *testing.T) {
			if why := c.jar.HeldBack(c.standing, c.cook); (why != "") != c.heldBack {
				t.Errorf("held back: %q, want %v", why, c.heldBack)
			}
			if got := c.jar.Overridable(c.standing, c.cook); got != c.overridable {
				t.Errorf("overridable: %v, want %v", got, c.overridable)
			}
		})
	}
}

func TestCurrentLeavesOutWhatIsCorrected(t *testing.T) {
	replaced := Pick{Entry: entryAt("a", 1), Grams: 10}
	right := Pick{Entry: entryAt("b", 1), Grams: 11}
	right.Corrects = "a"
	other := Pick{Entry: entryAt("c", 2), Grams: 3}
	gone := Pick{Entry: entryAt("d", 3)}
	gone.Corrects, gone.Withdrawn = "c", true
	got := Current([]Pick{replaced, right, other, gone})
	if len(got) != 1 || got[0].ID != "b" {
		t.Errorf("Current = %v, want the corrected pick alone", got)
	}
}
