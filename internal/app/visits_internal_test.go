package app

import (
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// FuzzVisits reads three bytes as one entry: its day, what was seen, how it
// was entered. Whatever was entered, a stage came after the visit before and
// by a visit with it, a later stage never before an earlier one, and a jar
// that was seen backwards is asked about.
func FuzzVisits(f *testing.F) {
	f.Add([]byte{3, 1, 0, 8, 2, 0, 8, 9, 0, 12, 5, 0, 15, 4, 0})
	f.Add([]byte{0, 5, 0, 5, 20, 0, 5, 21, 1, 9, 30, 0, 10, 3, 2})
	f.Add([]byte{20, 6, 0, 23, 5, 0, 23, 2, 0, 250, 1, 0})
	begun := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, raw []byte) {
		var seen []lab.Seen
		var picks []lab.Pick
		for ; len(raw) >= 3; raw = raw[3:] {
			at := lab.OnDay(begun.AddDate(0, 0, int(int8(raw[0]))))
			if raw[2] == 3 {
				at = lab.When{Exactness: lab.Unknown}
			}
			what := int(raw[1])
			s := lab.Seen{Entry: lab.Entry{At: at}}
			switch {
			case what == 0:
				s.Sign = "clean"
			case what <= len(lab.Stages):
				s.Stage = lab.Stages[what-1]
			case what == 20:
				s.Fate = lab.Lost
			case what == 21:
				picks = append(picks, lab.Pick{Entry: lab.Entry{At: at}, Flush: 1, Grams: 3})
				continue
			default:
				s.Covered = min(what, 99)
			}
			seen = append(seen, s)
		}
		c := jarCourse{jar: store.JarRow{}, name: "B1·1", came: make(map[lab.Stage]span), asked: make(map[lab.Stage]bool)}
		visits, undated := visitsOf(pastOf(jarEntries{seen: seen, picks: picks})[""].looks, begun, time.UTC)
		if len(visits)+undated > len(seen)+len(picks) {
			t.Fatalf("%d visits and %d without a day, of %d entries", len(visits), undated, len(seen)+len(picks))
		}
		ask := c.walk(visits)
		last := 0.0
		for _, stage := range lab.Stages {
			s, ok := c.came[stage]
			if !ok {
				continue
			}
			if !(s.after >= 0 && s.by > s.after && s.by >= last) {
				t.Fatalf("%s came from %g to %g, the stage before by %g", stage, s.after, s.by, last)
			}
			last = s.by
		}
		if len(c.asked) > 0 && len(ask) == 0 {
			t.Fatalf("stages %v are left out and nothing is asked", c.asked)
		}
	})
}
