package thermal

import (
	"fmt"
	"math"
	"time"

	"pinset/internal/figure"
)

// Event is what happened to the pressure at one moment of a cook.
type Event string

// The events of a hold, in the order a cook without trouble has them; Lost
// and Back may alternate between Reached and HeatOff.
const (
	Reached Event = "reached"  // the target was reached for the first time
	Lost    Event = "lost"     // the pressure fell below the target
	Back    Event = "back"     // the target was reached again after a loss
	HeatOff Event = "heat_off" // the heat was turned off; the hold is over
)

// Mark is one logged event.
type Mark struct {
	At    time.Time
	Event Event
}

// Stretch is an unbroken time at or above the target. While Open it has no
// end yet and To is the zero time.
type Stretch struct {
	From, To time.Time
	Open     bool
}

// Minutes returns the length of a closed stretch, and false for an open one.
func (s Stretch) Minutes() (float64, bool) {
	if s.Open {
		return 0, false
	}
	return s.To.Sub(s.From).Minutes(), true
}

// Until returns s with an open end closed at now. A closed stretch, and one
// that began after now, is returned as it is.
func (s Stretch) Until(now time.Time) Stretch {
	if !s.Open || now.Before(s.From) {
		return s
	}
	return Stretch{From: s.From, To: now}
}

// Stretches returns the unbroken times at or above the target, in order. The
// last one is open while the cook runs: no HeatOff, and the pressure not lost.
//
// Marks that contradict each other, or whose times run backwards, give a
// *figure.Fault that names the mark, counted from 0.
func Stretches(marks []Mark) ([]Stretch, error) {
	out := []Stretch{}
	last := Event("")
	for i, m := range marks {
		if i > 0 && m.At.Before(marks[i-1].At) {
			return nil, backwards(i, marks)
		}
		if err := follows(i, last, m.Event); err != nil {
			return nil, err
		}
		switch m.Event {
		case Reached, Back:
			out = append(out, Stretch{From: m.At, Open: true})
		case Lost, HeatOff:
			if n := len(out); n > 0 && out[n-1].Open {
				out[n-1] = out[n-1].Until(m.At)
			}
		}
		last = m.Event
	}
	return out, nil
}

// backwards is the fault of a mark earlier than the one before it.
func backwards(i int, marks []Mark) error {
	return figure.Faultf(fmt.Sprintf("marks[%d].at", i),
		"put the marks in the order they happened, or mend the date",
		"mark %d, %s at %s, is earlier than %s at %s before it", i+1,
		marks[i].Event, marks[i].At.Format(time.RFC3339),
		marks[i-1].Event, marks[i-1].At.Format(time.RFC3339))
}

// follows returns a fault if event next can not come after last; last is ""
// at the beginning.
func follows(i int, last, next Event) error {
	fault := func(what, mend string) error {
		return figure.Faultf(fmt.Sprintf("marks[%d].event", i), mend, "mark %d %s", i+1, what)
	}
	switch {
	case last == HeatOff:
		return fault(fmt.Sprintf("says %s after heat_off", next),
			"log it as a new cook, or take the early heat_off out")
	case next == HeatOff:
		return nil
	case next == Reached && last == "":
		return nil
	case next == Reached:
		return fault("says reached a second time", "write back where the pressure returned after lost")
	case next == Lost && last == "":
		return fault("says lost before the target was reached", "add the mark reached before it")
	case next == Lost && last == Lost:
		return fault("says lost twice running", "add the mark back between the two, or take one out")
	case next == Back && last != Lost:
		return fault("says back but the pressure was not lost", "add the mark lost before it, or take this one out")
	case next == Lost, next == Back:
		return nil
	}
	return fault(fmt.Sprintf("has the event %q", string(next)), "write reached, lost, back or heat_off")
}

// Longest returns the longest closed stretch, the first of equals, and false
// if none is closed. Give an open one its end with Until first.
func Longest(stretches []Stretch) (Stretch, bool) {
	best, found := Stretch{}, false
	for _, s := range stretches {
		if s.Open {
			continue
		}
		if !found || s.To.Sub(s.From) > best.To.Sub(best.From) {
			best, found = s, true
		}
	}
	return best, found
}

// MetAt returns the first moment at which one closed stretch had lasted the
// hold, and false if none has. Stretches are never added up: after a loss
// the whole time starts anew (USDA, Complete Guide to Home Canning, 2015).
func MetAt(stretches []Stretch, hold time.Duration) (time.Time, bool) {
	for _, s := range stretches {
		if !s.Open && s.To.Sub(s.From) >= hold {
			return s.From.Add(hold), true
		}
	}
	return time.Time{}, false
}

// HeldMark is a mark as it is typed.
type HeldMark struct {
	At    string `json:"at" jsonschema:"time as HH:MM or RFC 3339, the same way in all rows; an HH:MM before the last one is the next day"`
	Event string `json:"event" jsonschema:"what happened at that time"`
}

// HeldInput asks whether a logged hold counts.
type HeldInput struct {
	HoldMin float64    `json:"hold_min" jsonschema:"minutes that the rule asks for without a break, above 0 to a week"`
	Marks   []HeldMark `json:"marks" jsonschema:"what was noted during the cook, in order"`
	Now     string     `json:"now,omitempty" jsonschema:"the time now, as the marks are written; left out, an open stretch stays unmeasured"`
}

// HeldResult is the verdict on a hold.
type HeldResult struct {
	StretchesMin []*float64 `json:"stretches_min"` // null: still open, and no now was given
	LongestMin   *float64   `json:"longest_min"`   // null while no stretch can be measured
	Valid        bool       `json:"valid"`         // one unbroken stretch lasted the hold
	MetAt        *string    `json:"met_at"`        // when it did, in the style of the marks
	Running      bool       `json:"running"`       // no heat_off yet
	DueAt        *string    `json:"due_at"`        // running and not met: when it will be, if nothing is lost
}

// Held judges a logged hold: only the longest unbroken stretch at or above
// the target counts, and nothing rescues a shorter one.
func Held(in HeldInput) (figure.Answer[HeldResult], error) {
	hold, err := holdLength("hold_min", in.HoldMin)
	if err != nil {
		return figure.Answer[HeldResult]{}, err
	}
	log, err := readHeld(in)
	if err != nil {
		return figure.Answer[HeldResult]{}, err
	}
	stretches, err := Stretches(log.marks)
	if err != nil {
		return figure.Answer[HeldResult]{}, err
	}
	if log.hasNow && len(stretches) > 0 {
		n := len(stretches) - 1
		stretches[n] = stretches[n].Until(log.now)
	}
	res := judgeHeld(log, stretches, hold)
	return figure.Answer[HeldResult]{
		Result:   res,
		Cautions: heldCautions(in, log, res),
		Working:  heldWorking(in, log, stretches, res),
	}, nil
}

// holdLength turns minutes into a duration, or says what is wrong with them.
func holdLength(field string, minutes float64) (time.Duration, error) {
	const week = 7 * 24 * 60
	if !(minutes > 0 && minutes <= week) {
		return 0, figure.Faultf(field, "give the minutes the rule asks for, such as 90",
			"a hold of %g min is outside 0 to %d min", minutes, week)
	}
	return time.Duration(math.Round(minutes * float64(time.Minute))), nil
}

// judgeHeld fills the result from the stretches.
func judgeHeld(log heldLog, stretches []Stretch, hold time.Duration) HeldResult {
	res := HeldResult{StretchesMin: []*float64{}, Running: log.running()}
	for _, s := range stretches {
		if m, ok := s.Minutes(); ok {
			res.StretchesMin = append(res.StretchesMin, &m)
		} else {
			res.StretchesMin = append(res.StretchesMin, nil)
		}
	}
	if s, ok := Longest(stretches); ok {
		m, _ := s.Minutes()
		res.LongestMin = &m
	}
	if at, ok := MetAt(stretches, hold); ok {
		res.Valid, res.MetAt = true, log.text(at)
	} else if n := len(log.marks); n > 0 && res.Running && log.marks[n-1].Event != Lost {
		res.DueAt = log.text(stretches[len(stretches)-1].From.Add(hold))
	}
	return res
}
