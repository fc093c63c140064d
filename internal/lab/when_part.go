package lab

import (
	"fmt"
	"strings"
	"time"
)

// part is a part of the day as growers say it. Only the day counts as known;
// the hour stands for the part, to keep the order of what is written down.
type part struct {
	name  string
	begin int // hour from which on it can be meant
	hour  int
}

// The parts of a day. The hours are our own, and nothing is computed of them.
var parts = []part{{"morning", 4, 8}, {"noon", 11, 12}, {"afternoon", 12, 15}, {"evening", 16, 19}, {"night", 20, 22}}

// Part returns the part of the day that is known of w: "evening", or "".
func (w When) Part() string {
	if w.Exactness != ThatDay {
		return ""
	}
	for _, p := range parts {
		if w.Time.Hour() == p.hour {
			return p.name
		}
	}
	return ""
}

// Typed writes w as ParseWhen reads it again.
func (w When) Typed(loc *time.Location) string {
	switch w.Exactness {
	case Exact:
		return w.Time.In(loc).Format("2006-01-02 15:04:05")
	case ThatDay:
		return join(w.Time.Format(time.DateOnly), " ", w.Part())
	case Unknown:
		return "?"
	}
	return ""
}

// join returns a and b with by between, or a alone.
func join(a, by, b string) string {
	if b == "" {
		return a
	}
	return a + by + b
}

// CutPart returns what stands before the part of a day at the end of typed,
// "4 Mar 2026" of "4 Mar 2026, evening", and whether there is one.
func CutPart(typed string) (day string, found bool) {
	day, _, found = cutPart(typed)
	return day, found
}

func cutPart(typed string) (day string, _ part, found bool) {
	words := strings.Fields(strings.ToLower(strings.ReplaceAll(typed, ",", " ")))
	if len(words) == 0 {
		return "", part{}, false
	}
	last := words[len(words)-1]
	if last == "tonight" {
		last = "evening"
	}
	for _, p := range parts {
		if last == p.name {
			return strings.Join(words[:len(words)-1], " "), p, true
		}
	}
	return "", part{}, false
}

// parsePart reads the day that p is a part of: the latest on which it has
// begun, if none is said.
func parsePart(day string, p part, now time.Time, loc *time.Location) (When, error) {
	w := OnDay(now)
	switch day {
	case "this", "today":
	case "last":
		w = OnDay(now.AddDate(0, 0, -1))
	case "":
		if now.Hour() < p.begin {
			w = OnDay(now.AddDate(0, 0, -1))
		}
	default:
		var err error
		if w, err = parseWhen(day, now, loc); err != nil {
			return When{}, err
		}
		if w.Exactness != ThatDay || w.Part() != "" {
			return When{}, fmt.Errorf("%q is no day", day)
		}
	}
	return w.in(p), nil
}

func (w When) in(p part) When {
	w.Time = w.Time.Add(time.Duration(p.hour) * time.Hour)
	return w
}

// InPart returns the day w in the part of the day at the end of typed.
func (w When) InPart(typed string) When {
	if _, p, ok := cutPart(typed); ok && w.Exactness == ThatDay {
		return w.in(p)
	}
	return w
}
