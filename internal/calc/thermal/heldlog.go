package thermal

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
)

// heldLog is a hold as read: moments instead of text.
type heldLog struct {
	marks  []Mark
	now    time.Time
	hasNow bool
	clock  bool // marks were typed as HH:MM; the first day is an arbitrary one
}

// clockDay is the day that the first HH:MM of a log is put on.
var clockDay = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)

// running tells whether the cook has no heat_off.
func (l heldLog) running() bool {
	n := len(l.marks)
	return n > 0 && l.marks[n-1].Event != HeatOff
}

// text writes t in the style of the marks.
func (l heldLog) text(t time.Time) *string {
	s := t.Format(time.RFC3339)
	if l.clock {
		s = t.Format("15:04")
	}
	return &s
}

// readHeld reads the marks and the optional now.
func readHeld(in HeldInput) (heldLog, error) {
	if len(in.Marks) == 0 {
		return heldLog{}, figure.Faultf("marks", "add a mark with the time the target was reached", "the log has no marks")
	}
	log := heldLog{clock: !strings.Contains(in.Marks[0].At, "T")}
	last := time.Time{}
	for i, m := range in.Marks {
		at, err := readMoment(fmt.Sprintf("marks[%d].at", i), m.At, log.clock, last)
		if err != nil {
			return heldLog{}, err
		}
		log.marks = append(log.marks, Mark{At: at, Event: Event(m.Event)})
		last = at
	}
	if in.Now == "" {
		return log, nil
	}
	now, err := readMoment("now", in.Now, log.clock, last)
	if err != nil {
		return heldLog{}, err
	}
	if now.Before(last) {
		return heldLog{}, figure.Faultf("now", "give the time at which the gauge was last seen, or leave it out",
			"now, %s, is earlier than the last mark at %s", in.Now, last.Format(time.RFC3339))
	}
	log.now, log.hasNow = now, true
	return log, nil
}

// readMoment reads HH:MM (on the day of last, or the next day if it would be
// earlier) or RFC 3339. Last is the zero time for the first moment.
func readMoment(field, s string, clock bool, last time.Time) (time.Time, error) {
	if !clock {
		t, err := time.Parse(time.RFC3339, s)
		if err != nil {
			return time.Time{}, figure.Faultf(field, "write it like 2026-03-07T14:05:00Z, as the first mark is",
				"%q is not a date and time", s)
		}
		return t, nil
	}
	minutes, ok := clockMinutes(s)
	if !ok {
		return time.Time{}, figure.Faultf(field, "write it like 14:05, or give every mark as 2026-03-07T14:05:00Z",
			"%q is not a time of day", s)
	}
	day := clockDay
	if !last.IsZero() {
		day = last.Truncate(24 * time.Hour)
	}
	t := day.Add(time.Duration(minutes) * time.Minute)
	if t.Before(last) {
		t = t.Add(24 * time.Hour)
	}
	return t, nil
}

// clockMinutes reads "14:05" or "9:05" as minutes after midnight.
func clockMinutes(s string) (int, bool) {
	hh, mm, ok := strings.Cut(s, ":")
	if !ok || len(hh) < 1 || len(hh) > 2 || len(mm) != 2 {
		return 0, false
	}
	h, errH := strconv.ParseUint(hh, 10, 8)
	m, errM := strconv.ParseUint(mm, 10, 8)
	if errH != nil || errM != nil || h > 23 || m > 59 {
		return 0, false
	}
	return int(h)*60 + int(m), true
}

// heldCautions says what the verdict rests on and what to do about it.
func heldCautions(in HeldInput, log heldLog, res HeldResult) []figure.Caution {
	out := []figure.Caution{}
	if len(res.StretchesMin) > 1 {
		out = append(out, figure.Caution{
			Code: "interrupted", Title: "The hold was interrupted", Weight: figure.Care,
			Text: "The pressure fell below the target. Stretches are not added up: after each loss the whole hold starts anew.",
		})
	}
	if res.Running && !res.Valid {
		out = append(out, runningCaution(log, res))
	}
	if !res.Running && !res.Valid {
		out = append(out, figure.Caution{
			Code: "hold_not_met", Title: "This hold does not count", Weight: figure.Stop,
			Text: fmt.Sprintf("No unbroken stretch lasted %g min. Set the jars aside and cook them again for the whole time.", in.HoldMin),
		})
	}
	if longGap(log.marks) {
		out = append(out, figure.Caution{
			Code: "long_gap", Title: "More than 12 hours between two marks", Weight: figure.Care,
			Text: "A time earlier than the one before is taken as the next day. Check the times for a slip.",
		})
	}
	return append(out, figure.Caution{
		Code: "gauge_is_not_core", Title: "The hold is at the gauge, not in the jar", Weight: figure.Note,
		Text: "The core of a jar lags behind the gauge. A hold that counts is not proof of a kill: keep a blank jar from every cook.",
	})
}

// runningCaution speaks of a record without heat_off.
func runningCaution(log heldLog, res HeldResult) figure.Caution {
	c := figure.Caution{Code: "still_running", Title: "The record has no heat_off", Weight: figure.Care}
	if res.DueAt == nil {
		c.Text = "The pressure is below the target and no hold has been met yet. Bring it back and start the whole time again."
		return c
	}
	c.Text = "The hold is not met yet; if the pressure stays it is met at " + *res.DueAt +
		". If the cook has ended, add the mark heat_off; if nobody saw its end, it does not count."
	return c
}

// longGap tells whether two marks are more than half a day apart.
func longGap(marks []Mark) bool {
	for i := 1; i < len(marks); i++ {
		if marks[i].At.Sub(marks[i-1].At) > 12*time.Hour {
			return true
		}
	}
	return false
}

// heldWorking shows each stretch and the rule.
func heldWorking(in HeldInput, log heldLog, stretches []Stretch, res HeldResult) []figure.Step {
	out := []figure.Step{}
	for i, s := range stretches {
		to := "open"
		if !s.Open {
			to = *log.text(s.To)
		}
		out = append(out, figure.Step{
			Step: fmt.Sprintf("stretch %d at or above the target", i+1), Formula: *log.text(s.From) + " to " + to,
			Value: res.StretchesMin[i], Unit: "min", Source: "the log",
		})
	}
	return append(out, figure.Step{
		Step:    "longest unbroken stretch against the rule",
		Formula: fmt.Sprintf("longest >= %g min", in.HoldMin), Value: res.LongestMin, Unit: "min",
		Source: "USDA, Complete Guide to Home Canning (2015): below the target pressure, start the whole time again",
	})
}
