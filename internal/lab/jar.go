package lab

import (
	"fmt"
	"strings"
	"time"

	"pinset/internal/units"
)

// Jar is one vessel, from the plan to its last flush. Pages call it what its
// container is.
type Jar struct {
	ID        JarID
	Code      Code // on the label
	Batch     BatchID
	Number    int    // in its batch, from 1
	Mark      string // the grower's own, "" if none
	Blank     bool   // never inoculated: it shows whether the cook held
	Arm       string // in a trial, "" if none
	Recipe    RecipeVersionID
	Container ContainerID
	Culture   CultureID // meant for it by the plan; what it got is in its Inoculation
	Cook      CookID
	Layer     int        // in the cooker, 1 is the bottom; 0 not known
	Shelf     string     // "" not known
	MixMade   string     // label of the making that filled it, "" not known
	DryGrams  units.Gram // dry substrate in it, 0 not known
	Filled    When
}

// Fate is what became of a jar.
type Fate string

// The fates. Lost has a reason.
const (
	Growing Fate = "growing"
	Picked  Fate = "picked"
	Barren  Fate = "barren" // no fruit by the closing day
	Lost    Fate = "lost"   // fouled, broken, sampled …
	Spent   Fate = "spent"  // picked and finished
)

// Reasons lists why jars are lost, as pages offer them; others may be typed.
var Reasons = []string{"fouled", "broken", "sampled", "dried out"}

// Standing is a jar's stage and fate, derived from what was entered.
type Standing struct {
	Jar        JarID
	Stage      Stage // the furthest stage seen, "" if none
	Fate       Fate  // Growing from inoculation on; "" before it, and for blanks that are clean
	Reason     string
	Grams      units.Gram // picked, all flushes
	Picks      int
	Inoculated When
	Carries    CultureID // what it was inoculated with
	LastSeen   When
	FateAt     When
	Differs    bool // two people wrote what can hardly both hold
}

// Stand derives the standing of j from all its entries, corrected ones
// included. Entries may be in any order.
//
// A jar from which something was picked stays picked when it is lost
// afterwards: its grams count. A jar weighed at 0 g is barren.
func (j Jar) Stand(inoculations []Inoculation, seen []Seen, picks []Pick) Standing {
	s := Standing{Jar: j.ID}
	for _, in := range Current(inoculations) {
		s.Inoculated, s.Carries, s.Fate = in.At, in.Culture, Growing
	}
	for _, p := range Current(picks) {
		s.Grams += p.Grams
		s.Picks++
		s.LastSeen = later(s.LastSeen, p.At)
		if s.Fate != Picked || s.FateAt.Time.Before(p.At.Time) {
			s.Fate, s.FateAt = Picked, p.At
		}
	}
	if s.Picks > 0 && s.Grams == 0 {
		s.Fate = Barren
	}
	s.addSeen(Current(seen))
	s.Differs = len(Differences(seen, picks)) > 0
	return s
}

// addSeen folds what was seen into a standing that already knows its picks.
func (s *Standing) addSeen(seen []Seen) {
	var last Seen
	for _, x := range seen {
		s.LastSeen = later(s.LastSeen, x.At)
		if x.Stage.rank() > s.Stage.rank() {
			s.Stage = x.Stage
		}
		if x.Fate != "" && (last.ID == "" || !x.Entry.before(last.Entry)) {
			last = x
		}
	}
	switch {
	case last.ID == "":
	case s.Grams > 0 && (last.Fate == Lost || last.Fate == Barren || last.Fate == Growing):
		s.Reason = last.Reason
	default:
		s.Fate, s.Reason, s.FateAt = last.Fate, last.Reason, last.At
	}
}

// On returns the standing at now: after the batch's closing day a jar that
// still grows is barren.
func (s Standing) On(now time.Time, closing Day) Standing {
	if s.Fate == Growing && closing.Passed(now) {
		s.Fate, s.FateAt = Barren, When{closing.Time, ThatDay}
	}
	return s
}

// before orders entries by when they happened, then by when they were entered.
func (e Entry) before(o Entry) bool {
	if !e.At.Time.Equal(o.At.Time) {
		return e.At.Time.Before(o.At.Time)
	}
	return e.Entered.Before(o.Entered)
}

func later(a, b When) When {
	if a.IsZero() || b.Exactness != Unknown && a.Time.Before(b.Time) {
		return b
	}
	return a
}

// Place prints where the jar stood in the cooker and stands now: "layer 2, shelf 1".
func (j Jar) Place() string {
	var parts []string
	if j.Layer > 0 {
		parts = append(parts, fmt.Sprintf("layer %d", j.Layer))
	}
	if j.Shelf != "" {
		parts = append(parts, "shelf "+j.Shelf)
	}
	return strings.Join(parts, ", ")
}
