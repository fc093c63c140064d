package lab

import (
	"strings"
	"testing"
	"time"
)

func TestParseWhen(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 7, 10, 18, 30, 0, 0, lisbon) // UTC+1
	for typed, want := range map[string]string{
		"":                     "10 Jul 2026 18:30",
		"now":                  "10 Jul 2026 18:30",
		"today":                "10 Jul 2026",
		"yesterday":            "9 Jul 2026",
		"07:15":                "10 Jul 2026 07:15",
		"23:10":                "9 Jul 2026 23:10", // the latest one that has passed
		"2026-03-04":           "4 Mar 2026",
		"4 Mar 2026":           "4 Mar 2026",
		"March 4, 2026":        "4 Mar 2026",
		"4.3.2026":             "4 Mar 2026",
		"2026-03-04 14:30":     "4 Mar 2026 14:30",
		"2026-03-04T14:30":     "4 Mar 2026 14:30",
		"2026-07-04T14:30:00Z": "4 Jul 2026 15:30",
		"?":                    "time unknown",
		"Unknown":              "time unknown",
	} {
		got, err := ParseWhen("at", typed, now, lisbon)
		if err != nil || got.Show(lisbon) != want {
			t.Errorf("ParseWhen(%q) = %s, %v, want %s", typed, got.Show(lisbon), err, want)
		}
	}
	for _, typed := range []string{"3/4/2026", "31 Feb 2026", "2027-03-04", "1926-03-04", "soon", "25:00"} {
		if got, err := ParseWhen("at", typed, now, lisbon); !IsKind(err, Invalid) {
			t.Errorf("ParseWhen(%q) = %v, %v, want an Invalid Problem", typed, got, err)
		}
	}
}

func TestDaysSinceCountsCalendarDays(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	late := At(time.Date(2026, 3, 28, 23, 50, 0, 0, lisbon))
	early := At(time.Date(2026, 3, 30, 0, 10, 0, 0, lisbon)) // the clock changes in between
	if n, ok := early.DaysSince(late, lisbon); !ok || n != 2 {
		t.Errorf("from the evening of the 28th to the morning of the 30th: %d, %v, want 2", n, ok)
	}
	if _, ok := early.DaysSince(Sometime(late.Time), lisbon); ok {
		t.Error("days since an unknown time are said to be known")
	}
}

func TestBeforeComparesWhatIsKnown(t *testing.T) {
	noon := time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)
	day, next := OnDay(noon), OnDay(noon.AddDate(0, 0, 1))
	for name, c := range map[string]struct {
		w, v When
		want bool
	}{
		"an hour earlier":             {At(noon), At(noon.Add(time.Hour)), true},
		"some time on the same day":   {day, At(noon), false},
		"the day before a clock":      {day, At(noon.AddDate(0, 0, 1)), true},
		"a clock before a day":        {At(noon), next, true},
		"a day later":                 {next, day, false},
		"at a time that is not known": {Sometime(noon), next, false},
	} {
		if got := c.w.Before(c.v, time.UTC); got != c.want {
			t.Errorf("%s: before = %v, want %v", name, got, c.want)
		}
	}
}

func TestDayPassesWhenItIsOver(t *testing.T) {
	day, err := ParseDay("closing", "2026-07-10")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		now  time.Time
		want bool
	}{
		{time.Date(2026, 7, 10, 23, 59, 0, 0, time.UTC), false},
		{time.Date(2026, 7, 11, 0, 0, 0, 0, time.UTC), true},
	} {
		if got := day.Passed(c.now); got != c.want {
			t.Errorf("10 July has passed at %v: %v, want %v", c.now, got, c.want)
		}
	}
	if (Day{}).Passed(time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)) {
		t.Error("a day that is not set has passed")
	}
}

func FuzzParseWhen(f *testing.F) {
	for _, s := range []string{"", "now", "14:30", "2026-03-04", "4 Mar 2026 14:30", "?", "2026-03-04T14:30:00+02:00"} {
		f.Add(s)
	}
	now := time.Date(2026, 7, 10, 18, 30, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, s string) {
		w, err := ParseWhen("at", s, now, time.UTC)
		switch {
		case err != nil && !IsKind(err, Invalid):
			t.Fatalf("ParseWhen(%q): %v is no Invalid Problem", s, err)
		case err == nil && w.Exactness != Unknown && (w.Time.Year() < 1990 || w.Time.After(now.Add(36*time.Hour))):
			t.Fatalf("ParseWhen(%q) = %v, out of range", s, w.Time)
		}
	})
}

// TestPartsOfADay reads what growers say of a day hours later. The day is
// known, the hour is not.
func TestPartsOfADay(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 7, 10, 18, 30, 0, 0, lisbon)
	for typed, want := range map[string]string{
		"evening":               "10 Jul 2026, evening", // it has begun
		"Evening":               "10 Jul 2026, evening",
		"night":                 "9 Jul 2026, night", // it has not
		"morning":               "10 Jul 2026, morning",
		"noon":                  "10 Jul 2026, noon",
		"this afternoon":        "10 Jul 2026, afternoon",
		"tonight":               "10 Jul 2026, evening",
		"last night":            "9 Jul 2026, night",
		"yesterday evening":     "9 Jul 2026, evening",
		"2026-03-04 morning":    "4 Mar 2026, morning",
		"4 Mar 2026, evening":   "4 Mar 2026, evening",
		"March 4, 2026 at dusk": "",
		"14:30 evening":         "",
		"? evening":             "",
		"evening evening":       "",
		"soon evening":          "",
	} {
		got, err := ParseWhen("at", typed, now, lisbon)
		if want == "" {
			if !IsKind(err, Invalid) {
				t.Errorf("ParseWhen(%q) = %v, %v, want an Invalid Problem", typed, got, err)
			}
			continue
		}
		if err != nil || got.Show(lisbon) != want {
			t.Errorf("ParseWhen(%q) = %s, %v, want %s", typed, got.Show(lisbon), err, want)
			continue
		}
		again, err := ParseWhen("at", got.Typed(lisbon), now, lisbon)
		if err != nil || again != got {
			t.Errorf("%q is written as %q, which reads as %v, %v", typed, got.Typed(lisbon), again, err)
		}
		day, known := got.Day(lisbon)
		if !known || day.Hour() != 0 || got.Exactness != ThatDay {
			t.Errorf("%q is on %v, %s", typed, day, got.Exactness)
		}
	}
	if _, err := ParseDay("closing", "4 Mar 2026 evening"); !IsKind(err, Invalid) {
		t.Errorf("a calendar day has a part: %v", err)
	}
	evening, day := must(t, "yesterday evening", now, lisbon), must(t, "yesterday", now, lisbon)
	if evening.Before(day, lisbon) || day.Before(evening, lisbon) {
		t.Error("what is known to the day alone is surely before its evening")
	}
	if n, ok := must(t, "today", now, lisbon).DaysSince(evening, lisbon); !ok || n != 1 {
		t.Errorf("from yesterday evening to today are %d days", n)
	}
}

func must(t *testing.T, typed string, now time.Time, loc *time.Location) When {
	t.Helper()
	w, err := ParseWhen("at", typed, now, loc)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// TestClockTimesOverTheChange: Berlin went from summer time to winter time on
// 25 October 2026 at 03:00 and goes back on 28 March 2027 at 02:00 (Directive
// 2000/84/EC); New York on 1 November 2026 at 02:00 (15 U.S.C. 260a).
func TestClockTimesOverTheChange(t *testing.T) {
	const berlin, newYork = "Europe/Berlin", "America/New_York"
	for _, c := range []struct{ zone, now, typed, want string }{
		{berlin, "2026-10-25T01:40:00Z", "02:30", "2026-10-25T01:30:00Z"}, // 02:40 winter time: ten minutes ago, not seventy
		{berlin, "2026-10-25T00:40:00Z", "02:30", "2026-10-25T00:30:00Z"}, // 02:40 summer time
		{berlin, "2026-10-25T00:20:00Z", "02:30", "2026-10-24T00:30:00Z"}, // 02:20 summer time: yesterday
		{berlin, "2026-10-25T09:00:00Z", "2026-10-25 02:30", "2026-10-25T01:30:00Z"},
		{berlin, "2026-10-25T09:00:00Z", "02:59", "2026-10-25T01:59:00Z"},
		{berlin, "2027-03-28T01:20:00Z", "01:50", "2027-03-28T00:50:00Z"},
		{berlin, "2027-03-28T01:20:00Z", "02:30", ""},
		{berlin, "2027-03-28T09:00:00Z", "2027-03-28 02:00", ""},
		{berlin, "2027-03-28T09:00:00Z", "03:00", "2027-03-28T01:00:00Z"},
		{newYork, "2026-11-01T06:40:00Z", "01:30", "2026-11-01T06:30:00Z"}, // from 02:00 summer time to 01:00
		{newYork, "2026-11-01T05:40:00Z", "01:30", "2026-11-01T05:30:00Z"},
	} {
		now, err := time.Parse(time.RFC3339, c.now)
		if err != nil {
			t.Fatal(err)
		}
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		w, err := ParseWhen("at", c.typed, now, zone)
		if p, ok := AsProblem(err); c.want == "" && (!ok || p.Field != "at" || !strings.Contains(p.What, "skipped on 28 Mar 2027")) {
			t.Errorf("%q at %s gives %v and %v, want a time that was skipped", c.typed, c.now, w.Time, err)
		}
		if c.want != "" && (err != nil || w.Time.UTC().Format(time.RFC3339) != c.want) {
			t.Errorf("%q at %s is %s and %v, want %s", c.typed, c.now, w.Time.UTC().Format(time.RFC3339), err, c.want)
		}
	}
}
