package lab

import (
	"testing"
	"time"
)

func TestDifferences(t *testing.T) {
	morning := time.Date(2026, 3, 9, 9, 0, 0, 0, time.UTC)
	n := 0
	by := func(who string, after time.Duration) Entry {
		n++
		return Entry{ID: EntryID(rune('a' + n)), By: who, At: At(morning.Add(after)), Entered: morning.Add(after)}
	}
	see := func(e Entry, s Seen) Seen { s.Entry = e; return s }
	answered := by("V", time.Hour)
	answered.Corrects = "another"
	day := by("V", 0)
	day.At = OnDay(morning)
	unknown := by("V", 0)
	unknown.At = Sometime(morning)
	clean := func() Seen { return see(by("MO", 0), Seen{Sign: "clean"}) }
	for name, c := range map[string]struct {
		seen  []Seen
		picks []Pick
		want  int
	}{
		"clean and green":             {[]Seen{clean(), see(by("V", time.Hour), Seen{Sign: "green"})}, nil, 1},
		"two colours":                 {[]Seen{see(by("MO", 0), Seen{Sign: "black dots"}), see(by("V", 0), Seen{Sign: "green"})}, nil, 1},
		"the same":                    {[]Seen{clean(), see(by("V", time.Hour), Seen{Sign: "clean"})}, nil, 0},
		"one person twice":            {[]Seen{clean(), see(by("MO", time.Hour), Seen{Sign: "green"})}, nil, 0},
		"as before and green":         {[]Seen{see(by("MO", 0), Seen{Sign: AsBefore}), see(by("V", time.Hour), Seen{Sign: "green"})}, nil, 0},
		"both can be":                 {[]Seen{see(by("MO", 0), Seen{Sign: "sour smell"}), see(by("V", 0), Seen{Sign: "green"})}, nil, 0},
		"half a day later":            {[]Seen{clean(), see(by("V", 12*time.Hour), Seen{Sign: "green"})}, nil, 0},
		"just within":                 {[]Seen{clean(), see(by("V", 12*time.Hour-time.Second), Seen{Sign: "green"})}, nil, 1},
		"that day":                    {[]Seen{clean(), see(day, Seen{Sign: "green"})}, nil, 1},
		"nobody knows when":           {[]Seen{clean(), see(unknown, Seen{Sign: "green"})}, nil, 0},
		"answered":                    {[]Seen{clean(), see(answered, Seen{Sign: "green"})}, nil, 0},
		"two fates":                   {[]Seen{see(by("MO", 0), Seen{Fate: Lost, Reason: "fouled"}), see(by("V", 0), Seen{Fate: Spent})}, nil, 1},
		"two stages":                  {[]Seen{see(by("MO", 0), Seen{Stage: Pins}), see(by("V", 0), Seen{Stage: Cover})}, nil, 0},
		"weighed twice":               {nil, []Pick{{Entry: by("MO", 0), Flush: 1, Grams: 8.2}, {Entry: by("V", 0), Flush: 1, Grams: 8.2}}, 1},
		"another flush":               {nil, []Pick{{Entry: by("MO", 0), Flush: 1, Grams: 8.2}, {Entry: by("V", 0), Flush: 2, Grams: 8.2}}, 0},
		"barren and picked":           {[]Seen{see(by("MO", 0), Seen{Fate: Barren})}, []Pick{{Entry: by("V", 0), Flush: 1, Grams: 8.2}}, 1},
		"spent after it was picked":   {[]Seen{see(by("MO", 0), Seen{Fate: Spent})}, []Pick{{Entry: by("V", 0), Flush: 1, Grams: 8.2}}, 0},
		"three people, three answers": {[]Seen{clean(), see(by("V", 0), Seen{Sign: "green"}), see(by("AD", 0), Seen{Sign: "slime"})}, nil, 3},
	} {
		got := Differences(c.seen, c.picks)
		if len(got) != c.want {
			t.Errorf("%s: %d differences, want %d", name, len(got), c.want)
		}
		if asks := (Jar{}).Stand(nil, c.seen, c.picks).Differs; asks != (c.want > 0) {
			t.Errorf("%s: the standing says %v", name, asks)
		}
	}
	late, early := clean(), see(by("V", -time.Hour), Seen{Sign: "green"})
	d := Differences([]Seen{late, early}, nil)[0]
	if d.First.By != "V" || d.Second.By != "MO" || d.Says != [2]string{"green", "clean"} {
		t.Errorf("the order is %+v", d)
	}
	gone := see(by("V", time.Hour), Seen{})
	gone.Corrects, gone.Withdrawn = early.ID, true
	if got := Differences([]Seen{late, early, gone}, nil); len(got) != 0 {
		t.Errorf("what was taken back is asked about: %+v", got)
	}
}
