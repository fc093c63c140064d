package ingest

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pinset/internal/lab"
)

func date(y, m, d int) lab.When {
	return lab.OnDay(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC))
}

// readWhen reads a day as a column of the given order would.
func readWhen(s string, order dayOrder) (lab.When, *fault) {
	return asUsual.when(readDay(s), s, order, date(2026, 2, 10))
}

func TestReadDay(t *testing.T) {
	fourth := date(2026, 3, 4)
	for _, c := range []struct {
		typed string
		order dayOrder
		want  lab.When
	}{
		{"2026-03-04", orderOpen, fourth},
		{"2026-3-4", orderOpen, fourth},
		{"2026/03/04", orderOpen, fourth},
		{"2026.03.04", orderOpen, fourth},
		{"20260304", orderOpen, fourth},
		{"4 Mar 2026", orderOpen, fourth},
		{"4 March 2026", orderOpen, fourth},
		{"04-Mar-26", orderOpen, fourth},
		{"4/Mar/2026", orderOpen, fourth},
		{"4th of March 2026", orderOpen, lab.When{}}, // "of" is no part of a day
		{"4th March 2026", orderOpen, fourth},
		{"Mar 4 2026", orderOpen, fourth},
		{"Mar 4, 2026", orderOpen, fourth},
		{"Mar. 4th, 2026", orderOpen, fourth},
		{"March 4,2026", orderOpen, fourth},
		{"Wed 4 Mar 2026", orderOpen, fourth},
		{"Wednesday, March 4, 2026", orderOpen, fourth},
		{"2026 Mar 4", orderOpen, fourth},
		{"4 Mar '26", orderOpen, fourth},
		{"4.3.2026", orderOpen, fourth}, // days with points have the day first
		{"04.03.26", orderOpen, fourth},
		{"04/03/2026", dayFirst, fourth},
		{"03/04/2026", monthFirst, fourth},
		{"3-4-26", monthFirst, fourth},
		{"3/3/2026", orderOpen, date(2026, 3, 3)},
		{"25/3/2026", orderOpen, date(2026, 3, 25)},
		{"3/25/2026", orderOpen, date(2026, 3, 25)},
		{"25/3/2026", orderMixed, date(2026, 3, 25)},
		{"46085", orderOpen, fourth},
		{"46085.0", orderOpen, fourth},
		{"day 22", orderOpen, fourth},
		{"Day 22", orderOpen, fourth},
		{"d22", orderOpen, fourth},
		{"22 d", orderOpen, fourth},
		{"22 days", orderOpen, fourth},
		{"+22", orderOpen, fourth},
		{"day 0", orderOpen, date(2026, 2, 10)},
		{"2026-03-04 00:00:00", orderOpen, fourth}, // as spreadsheets write a day
		{"2026-03-04 14:30", orderOpen, lab.At(time.Date(2026, 3, 4, 14, 30, 0, 0, time.UTC))},
		{"2026-03-04T14:30", orderOpen, lab.At(time.Date(2026, 3, 4, 14, 30, 0, 0, time.UTC))},
		{"2026-03-04T14:30:10+02:00", orderOpen, lab.At(time.Date(2026, 3, 4, 12, 30, 10, 0, time.UTC))},
		{"3/4/2026 2:30 PM", monthFirst, lab.At(time.Date(2026, 3, 4, 14, 30, 0, 0, time.UTC))},
		{"3/4/2026 12:05am", monthFirst, lab.At(time.Date(2026, 3, 4, 0, 5, 0, 0, time.UTC))},
		{"3/4/2026 12:05 pm", monthFirst, lab.At(time.Date(2026, 3, 4, 12, 5, 0, 0, time.UTC))},
		{"46085.5", orderOpen, lab.At(time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC))},
		{"46085,25", orderOpen, lab.At(time.Date(2026, 3, 4, 6, 0, 0, 0, time.UTC))},
		{"29 Feb 2024", orderOpen, date(2024, 2, 29)},
		{"16 Jun 2026", orderOpen, date(2026, 6, 16)}, // one day after now: another clock, another zone
		{"1990-01-01", orderOpen, date(1990, 1, 1)},
	} {
		got, f := readWhen(c.typed, c.order)
		if got != c.want || (f == nil) == c.want.IsZero() {
			t.Errorf("%q: %v %v, want %v", c.typed, got, f, c.want)
		}
	}
}

func TestReadDayRefuses(t *testing.T) {
	for _, c := range []struct {
		typed string
		order dayOrder
		want  string
	}{
		{"04/03/2026", orderOpen, "is 4 Mar 2026 or 3 Apr 2026, and no other row"},
		{"04/03/2026", orderMixed, "some days come first and some months"},
		{"4.3.2026", orderMixed, "some days come first"},
		{"31 Feb 2026", orderOpen, "no day of the calendar"},
		{"29 Feb 2025", orderOpen, "no day of the calendar"},
		{"2026-13-01", orderOpen, "no day of the calendar"},
		{"2026-00-10", orderOpen, "no day of the calendar"},
		{"31.2.2026", orderOpen, "no day of the calendar"},
		{"31/31/2026", orderOpen, "no day of the calendar"},
		{"0/5/2026", orderOpen, "no day of the calendar"},
		{"13/1/26", monthFirst, ""}, // shows its own order
		{"3/4", orderOpen, "no year"},
		{"3.4.", orderOpen, "no year"},
		{"4 Mar", orderOpen, "no year"},
		{"Mar 4 14:30", orderOpen, "no year"},
		{"Mar 2026", orderOpen, "no day of the month"},
		{"3/2026", orderOpen, "no day of the month"},
		{"2026-03", orderOpen, "no day of the month"},
		{"12", orderOpen, "a number and not a day"},
		{"2026", orderOpen, "a number and not a day"},
		{"31 Dec 1989", orderOpen, "before 1990"},
		{"17 Jun 2026", orderOpen, "not come yet"},
		{"4 Mar 2062", orderOpen, "not come yet"},
		{"day 400", orderOpen, "not come yet"},
		{"2026-06-16 12:00:01", orderOpen, "not come yet"},
		{"26-03-04", orderOpen, "long ago"}, // 26 March 2004, but 2026-03-04 is meant
		{"soon", orderOpen, "not a day"},
		{"ca. 4 Mar 2026", orderOpen, "not a day"},
		{"2026-03-04 25:00", orderOpen, "not a day"},
		{"2026-03-04 14:60", orderOpen, "not a day"},
		{"2026-03-04 14:30 15:30", orderOpen, "not a day"},
		{"1/2/3/4", orderOpen, "not a day"},
		{"4 Mar 026", orderOpen, "not a day"},
		{"-4", orderOpen, "not a day"},
		{"NaN", orderOpen, "not a day"},
		{strings.Repeat("1", 100), orderOpen, "not a day"},
	} {
		got, f := readWhen(c.typed, c.order)
		if c.want == "" {
			if f != nil {
				t.Errorf("%q: %v", c.typed, f)
			}
			continue
		}
		if f == nil || !strings.Contains(f.what, c.want) || f.mend == "" {
			t.Errorf("%q: %v, %v; want a fault with %q", c.typed, got, f, c.want)
		}
	}
	if _, f := asUsual.when(readDay("day 12"), "day 12", orderOpen, lab.When{}); f == nil || !strings.Contains(f.what, "counts from inoculation") {
		t.Errorf("day 12 without inoculation: %v", f)
	}
	if _, f := (Options{}).when(readDay("2150-01-01"), "", orderOpen, lab.When{}); f != nil {
		t.Errorf("without a clock nothing is in the future: %v", f)
	}
}

// The examples of ISO/IEC 29500-1, 18.17.4.1 and .2, for the 1900 date system,
// from memory; and the end of the count.
func TestSerialsPublished(t *testing.T) {
	for serial, want := range map[int]string{
		3687: "1910-02-03", 38749: "2006-02-01", 2958465: "9999-12-31",
	} {
		if got := fromSerial(serial).Format(time.DateOnly); got != want {
			t.Errorf("day %d is %s, want %s", serial, got, want)
		}
	}
}

func TestSerialBounds(t *testing.T) {
	for s, kind := range map[string]dayKind{
		"32873": bareNumber, "32874": serialDay, "109574": serialDay, "109575": bareNumber, "46085.x": noDay, "12.5": noYear, "-46085": noDay,
	} {
		if got := readDay(s).kind; got != kind {
			t.Errorf("%s is of kind %d, want %d", s, got, kind)
		}
	}
	if got := fromSerial(firstSerial); !got.Equal(date(1990, 1, 1).Time) {
		t.Errorf("the first day counted is %s, want 1 January 1990", got)
	}
}

// Whatever day it is: every way of writing it that says what it means is read
// as that day.
func TestEveryDayIsReadBack(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, seed))
	for range 2000 {
		day := date(2017, 1, 1).Time.AddDate(0, 0, r.IntN(3440))
		for _, form := range []string{
			"2006-01-02", "2006/1/2", "2 Jan 2006", "January 2, 2006", "2-Jan-06", "Jan 2 2006", "02.01.2006", "20060102", "Mon 2 Jan 2006",
			"2006-01-02 00:00:00",
		} {
			typed := day.Format(form)
			if got, f := readWhen(typed, orderOpen); f != nil || got != lab.OnDay(day) {
				t.Fatalf("seed %d: %q: %v %v, want %s", seed, typed, got, f, day)
			}
		}
		for form, order := range map[string]dayOrder{"02/01/2006": dayFirst, "2-1-06": dayFirst, "01/02/2006": monthFirst, "1/2/06": monthFirst} {
			typed := day.Format(form)
			if got, f := readWhen(typed, order); f != nil || got != lab.OnDay(day) {
				t.Fatalf("seed %d: %q: %v %v, want %s", seed, typed, got, f, day)
			}
		}
		serial := fmt.Sprint(int(day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24))
		if got, f := readWhen(serial, orderOpen); f != nil || got != lab.OnDay(day) {
			t.Fatalf("seed %d: %q: %v %v, want %s", seed, serial, got, f, day)
		}
	}
}

// A time without a zone is one at the farm, and a day stays the day it is.
func TestDaysAtTheFarm(t *testing.T) {
	zone := time.FixedZone("UTC+13", 13*3600)
	o := Options{Zone: zone, Now: midJune}
	got, f := o.when(readDay("2026-03-04 01:30"), "", orderOpen, lab.When{})
	if want := time.Date(2026, 3, 3, 12, 30, 0, 0, time.UTC); f != nil || !got.Time.Equal(want) || got.Exactness != lab.Exact {
		t.Errorf("%v %v, want %s", got, f, want)
	}
	if got, f := o.when(readDay("2026-03-04"), "", orderOpen, lab.When{}); f != nil || got != date(2026, 3, 4) {
		t.Errorf("%v %v, want 4 March", got, f)
	}
	// At noon UTC of 15 June it is 16 June there: 17 June is tomorrow.
	if _, f := o.when(readDay("2026-06-17"), "", orderOpen, lab.When{}); f != nil {
		t.Errorf("tomorrow: %v", f)
	}
}

// One row of a column settles it; rows that contradict each other refuse only
// those that fit both.
func TestColumnSettlesDays(t *testing.T) {
	day := func(s string, o Options) []string {
		var out []string
		sheet := read(t, "jar,pins\n"+s, o)
		for _, r := range sheet.Rows {
			out = append(out, r.Stages[0].At.Time.Format("2 Jan"))
		}
		for _, r := range sheet.Refused {
			out = append(out, fmt.Sprint("refused ", r.Row))
		}
		return out
	}
	us, them := false, true
	for _, c := range []struct {
		rows string
		o    Options
		want string
	}{
		{"1,3/4/2026\n2,25/4/2026\n", asUsual, "[3 Apr 25 Apr]"},
		{"1,3/4/2026\n2,4/25/2026\n", asUsual, "[4 Mar 25 Apr]"},
		{"1,3/4/2026\n2,4/25/2026\n3,25/4/2026\n", asUsual, "[25 Apr 25 Apr refused 2]"},
		{"1,3/4/2026\n2,13/4/2026\n", asUsual, "[3 Apr 13 Apr]"},
		{"1,3/4/2026\n2,4/13/2026\n", asUsual, "[4 Mar 13 Apr]"},
		{"1,3/4/2026\n2,12/5/2026\n", asUsual, "[refused 2 refused 3]"},
		{"1,3/4/2026\n2,5/5/2026\n", asUsual, "[5 May refused 2]"},
		{"1,3/4/2026\n", Options{Now: midJune, DayFirst: &them}, "[3 Apr]"},
		{"1,3/4/2026\n", Options{Now: midJune, DayFirst: &us}, "[4 Mar]"},
		{"1,3/4/2026\n2,25/4/2026\n", Options{Now: midJune, DayFirst: &us}, "[3 Apr 25 Apr]"}, // the file knows better
		{"1,3.4.2026\n2,4/25/2026\n", asUsual, "[3 Apr 25 Apr]"},                              // points are a custom of their own
		{"1,3.4.2026\n2,4.25.2026\n", asUsual, "[4 Mar 25 Apr]"},
		{"1,3.4.2026\n", Options{Now: midJune, DayFirst: &us}, "[3 Apr]"},
	} {
		if got := fmt.Sprint(day(c.rows, c.o)); got != c.want {
			t.Errorf("%q: %s, want %s", c.rows, got, c.want)
		}
	}
	s := read(t, "jar,pins (mm/dd/yyyy)\n1,3/4/2026\n", asUsual)
	if got := s.Rows[0].Stages[0]; got.At != date(2026, 3, 4) {
		t.Errorf("a heading that states the form: %v, want 4 March", got)
	}
}
