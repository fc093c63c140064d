package lab

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"pinset/internal/figure"
)

// Exactness says how well the time of an event is known.
type Exactness string

// Unknown is a value, not a blank that blocks.
const (
	Exact   Exactness = "exact"   // to the minute
	ThatDay Exactness = "day"     // some time on that day
	Unknown Exactness = "unknown" // not known; Time is when it was entered, for order only
)

// When is the time of an event as far as it is known. For ThatDay, Time is
// midnight UTC of the calendar day, or later on it by the hours that stand for
// a part of the day; for the others it is an instant in UTC.
type When struct {
	Time      time.Time
	Exactness Exactness
}

// At returns the instant t, to the second.
func At(t time.Time) When { return When{t.UTC().Truncate(time.Second), Exact} }

// OnDay returns the calendar day of t where t is.
func OnDay(t time.Time) When {
	y, m, d := t.Date()
	return When{time.Date(y, m, d, 0, 0, 0, 0, time.UTC), ThatDay}
}

// Sometime returns an unknown time entered at t.
func Sometime(t time.Time) When { return When{t.UTC().Truncate(time.Second), Unknown} }

// IsZero reports whether nothing was said at all.
func (w When) IsZero() bool { return w.Exactness == "" }

// Day returns the calendar day of w at place loc, as midnight UTC, and
// whether it is known.
func (w When) Day(loc *time.Location) (time.Time, bool) {
	switch w.Exactness {
	case ThatDay:
		return w.Time.Truncate(24 * time.Hour), true
	case Exact:
		return OnDay(w.Time.In(loc)).Time, true
	}
	return time.Time{}, false
}

// DaysSince returns the whole calendar days from v to w at loc, and whether
// both days are known.
func (w When) DaysSince(v When, loc *time.Location) (int, bool) {
	a, okA := v.Day(loc)
	b, okB := w.Day(loc)
	if !okA || !okB {
		return 0, false
	}
	return int(b.Sub(a).Hours() / 24), true
}

// Before reports whether w is surely earlier than v: by the clock if both are
// exact, else by the calendar at loc. An unknown time is never earlier.
func (w When) Before(v When, loc *time.Location) bool {
	if w.Exactness == Exact && v.Exactness == Exact {
		return w.Time.Before(v.Time)
	}
	days, known := v.DaysSince(w, loc)
	return known && days > 0
}

// Show prints w for people at loc: "4 Mar 2026 14:30", "4 Mar 2026", "time unknown".
func (w When) Show(loc *time.Location) string {
	switch w.Exactness {
	case Exact:
		return w.Time.In(loc).Format("2 Jan 2006 15:04")
	case ThatDay:
		return join(w.Time.Format("2 Jan 2006"), ", ", w.Part())
	case Unknown:
		return "time unknown"
	}
	return "–"
}

// dayForms are the day forms that growers type, the year last or left out.
var dayForms = []string{"2006-01-02", "2 Jan 2006", "2 January 2006", "Jan 2 2006", "January 2 2006", "2006/01/02", "02.01.2006", "2.1.2006"}

// ParseWhen reads a time as growers say it: "now", "today", "yesterday",
// "14:30" (the latest one that has passed), "2026-03-04", "4 Mar 2026",
// "2026-03-04 14:30", RFC 3339, "?" or "unknown", and parts of a day:
// "evening" (the latest that has begun), "this morning", "last night",
// "yesterday evening", "4 Mar 2026 noon". "" is now. Days written
// with two numbers and slashes are refused, because 3/4 is two days.
// A time more than a day after now is an Invalid Problem.
func ParseWhen(field, s string, now time.Time, loc *time.Location) (When, error) {
	w, err := parseWhen(strings.TrimSpace(s), now.In(loc), loc)
	var skipped skippedTime
	if errors.As(err, &skipped) {
		return When{}, Invalidf(field, "write it as the clock showed it after the change", "%s was skipped on %s, when the clocks went forward", skipped.wall.Format("15:04"), skipped.wall.Format("2 Jan 2006"))
	}
	if err != nil {
		return When{}, Invalidf(field, "write it like 2026-03-04, 2026-03-04 14:30, 14:30, yesterday, evening or ?", "%q is not a day or time that can be read", figure.Clip(s, 40))
	}
	if w.Exactness != Unknown && w.Time.After(now.Add(36*time.Hour)) {
		return When{}, Invalidf(field, "check the year", "%s is in the future", w.Show(loc))
	}
	if w.Exactness != Unknown && w.Time.Year() < 1990 {
		return When{}, Invalidf(field, "check the year", "%s is before 1990", w.Show(loc))
	}
	return w, nil
}

func parseWhen(s string, now time.Time, loc *time.Location) (When, error) {
	switch strings.ToLower(s) {
	case "", "now":
		return At(now), nil
	case "today":
		return OnDay(now), nil
	case "yesterday":
		return OnDay(now.AddDate(0, 0, -1)), nil
	case "?", "unknown":
		return Sometime(now), nil
	}
	if day, p, ok := cutPart(s); ok {
		return parsePart(day, p, now, loc)
	}
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return At(t), nil
	}
	if t, err := time.ParseInLocation("15:04", s, loc); err == nil {
		y, m, d := now.Date()
		at, err := onClock(time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, time.UTC), now, loc)
		if err == nil && at.After(now.Add(time.Minute)) {
			at, err = onClock(time.Date(y, m, d-1, t.Hour(), t.Minute(), 0, 0, time.UTC), now, loc)
		}
		return At(at), err
	}
	return parseDayTime(s, now, loc)
}

// skippedTime is a time that no clock showed.
type skippedTime struct{ wall time.Time }

func (s skippedTime) Error() string { return "skipped: " + s.wall.Format(time.DateTime) }

// onClock returns when the clocks of loc showed what wall shows in UTC. Of an
// hour that came twice it is the later one that is not ahead of now; an hour
// that was skipped is an error.
func onClock(wall, now time.Time, loc *time.Location) (time.Time, error) {
	y, m, d := wall.Date()
	at := time.Date(y, m, d, wall.Hour(), wall.Minute(), wall.Second(), 0, loc)
	shows := func(t time.Time) bool { return t.Format(time.DateTime) == wall.Format(time.DateTime) }
	if !shows(at) {
		return at, skippedTime{wall}
	}
	for _, by := range []time.Duration{time.Hour, time.Hour / 2} { // clocks change by an hour, on one island by half of one
		if t := at.Add(-by); shows(t) && at.After(now.Add(time.Minute)) {
			return t, nil
		}
		if t := at.Add(by); shows(t) && !t.After(now.Add(time.Minute)) {
			return t, nil
		}
	}
	return at, nil
}

func parseDayTime(s string, now time.Time, loc *time.Location) (When, error) {
	s = strings.ReplaceAll(strings.ReplaceAll(s, "T", " "), ",", " ")
	s = strings.Join(strings.Fields(s), " ")
	for _, form := range dayForms {
		if t, err := time.Parse(form, s); err == nil {
			return OnDay(t), nil
		}
		for _, clock := range []string{" 15:04", " 15:04:05"} {
			if wall, err := time.Parse(form+clock, s); err == nil {
				at, err := onClock(wall, now, loc)
				return At(at), err
			}
		}
	}
	return When{}, fmt.Errorf("no form fits %q", s)
}

// Day is a calendar day as midnight UTC; the zero Day is "not set".
type Day struct{ time.Time }

// ParseDay reads a calendar day in the forms of ParseWhen; "" is the zero Day.
func ParseDay(field, s string) (Day, error) {
	if strings.TrimSpace(s) == "" {
		return Day{}, nil
	}
	w, err := parseDayTime(strings.TrimSpace(s), time.Time{}, time.UTC)
	if err != nil || w.Exactness != ThatDay {
		return Day{}, Invalidf(field, "write it like 2026-03-04 or 4 Mar 2026", "%q is not a day that can be read", figure.Clip(s, 40))
	}
	return Day{w.Time}, nil
}

// String returns the day as 2026-03-04, "" if not set.
func (d Day) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Format(time.DateOnly)
}

// Passed reports whether the whole day is over at now where now is. A day
// that is not set never passes.
func (d Day) Passed(now time.Time) bool {
	return !d.IsZero() && OnDay(now).Time.After(d.Time)
}
