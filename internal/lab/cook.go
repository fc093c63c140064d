package lab

import (
	"fmt"
	"slices"

	"pinset/internal/units"
)

// Cook is one run of the cooker.
type Cook struct {
	ID     CookID
	Number int          // 7 is shown as "cook 7"; never reused
	Name   string       // the grower's own, "" if none; unique
	Cooker string       // which vessel, "" if there is only one
	Layers int          // 0 not known
	Hold   units.Minute // the grower's own rule, unbroken; 0 not said
	Gauge  string       // the target as typed, such as "15 psi"
	Day    When
	Note   string

	Altitude *float64 // of the kitchen when it was written down, metres; nil if not said
}

// String returns "cook 7".
func (c Cook) String() string { return fmt.Sprintf("cook %d", c.Number) }

// Event is what a mark in the log of a cook says.
type Event string

// The events of a cook, in the order that they happen.
const (
	Reached Event = "reached"  // the target is reached, the hold begins
	Broken  Event = "lost"     // it fell below the target
	Back    Event = "back"     // and is there again
	HeatOff Event = "heat_off" // the hold ends
	Opened  Event = "opened"
)

// Events lists the events in the order that pages offer them.
var Events = []Event{Reached, Broken, Back, HeatOff, Opened}

// Label says the event in words.
func (e Event) Label() string {
	switch e {
	case Reached:
		return "target reached"
	case Broken:
		return "target lost"
	case Back:
		return "back at target"
	case HeatOff:
		return "heat off"
	case Opened:
		return "opened"
	}
	return e.stepLabel()
}

// CookMark is one mark in the log of a cook.
type CookMark struct {
	Entry
	Cook  CookID
	Event Event
}

// CurrentMarks returns the marks that hold, in the order of their times.
func CurrentMarks(marks []CookMark) []CookMark {
	out := Current(marks)
	slices.SortStableFunc(out, func(a, b CookMark) int {
		switch {
		case a.Entry.before(b.Entry):
			return -1
		case b.Entry.before(a.Entry):
			return 1
		}
		return 0
	})
	return out
}

// CookState says whether a cook held.
type CookState string

// The states of a cook. Unmarked is a caution, not a refusal.
const (
	Unmarked    CookState = "unknown"  // no marks: nothing is known
	CookRunning CookState = "running"  // marks, but no heat off
	Held        CookState = "held"     // one unbroken stretch was long enough
	NotHeld     CookState = "not held" // none was, and nothing rescues it
)

// Check returns c with its texts tidied, or an Invalid Problem.
func (c Cook) Check() (Cook, error) {
	if !(c.Hold >= 0 && c.Hold <= 24*60) {
		return Cook{}, Invalidf("hold", "write minutes, such as 60 or 1 h 30 min", "a hold of %g min is out of the range 0 to 1440 min", float64(c.Hold))
	}
	if c.Layers < 0 || c.Layers > 20 {
		return Cook{}, Invalidf("layers", "count the layers of jars in the cooker", "%d layers are out of the range 0 to 20", c.Layers)
	}
	if c.Name != "" {
		var err error
		if c.Name, err = Name("cook", c.Name); err != nil {
			return Cook{}, err
		}
	}
	var err error
	c.Note, err = Text("note", c.Note)
	return c, err
}
