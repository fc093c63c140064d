package forecast

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// The calculator gives the reference's quantiles when the visits lie so close
// that the day is all but known. The book there is 24 days in all: its spread
// of 0.25 is the least that the calculator takes.
func TestDaysAgainstReference(t *testing.T) {
	ref, groups, index := readReference(t)
	in := DaysInput{BookLow: 24, BookHigh: 24, Recipe: "S3", Source: "invented"}
	for name, g := range index {
		for _, s := range groups[g] {
			to := s.By + 1e-7
			in.Batches = append(in.Batches, PastBatch{Recipe: figure.Label(name), From: s.By - 1e-7, To: &to})
		}
	}
	a, err := Days(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range ref.Stage {
		if s.Recipe != "S3" {
			continue
		}
		for k, want := range s.Q {
			got := map[float64]float64{0.1: a.Result.Most.Low, 0.5: a.Result.MedianDay, 0.9: a.Result.Most.High, 0.25: a.Result.Half.Low, 0.975: a.Result.Nearly.High}[s.P[k]]
			if got != 0 && math.Abs(got-want) > 1e-4 {
				t.Errorf("quantile %g is day %g, want %g", s.P[k], got, want)
			}
		}
	}
	if a.Result.Batches != 3 || len(a.Cautions) != 0 {
		t.Errorf("batches %d, cautions %+v", a.Result.Batches, a.Cautions)
	}
	in.PassedDays = 22
	if a, err = Days(in); err != nil || math.Abs(a.Result.LateChance-ref.InProgress.Already) > 1e-5 || a.Result.Most.Low < 22 {
		t.Errorf("after 22 days: %+v %v, want %g by now", a.Result, err, ref.InProgress.Already)
	}
}

func TestDaysOnTheCalendar(t *testing.T) {
	a, err := Days(DaysInput{BookLow: 18, BookHigh: 26, Inoculated: "2026-05-30"})
	if err != nil {
		t.Fatal(err)
	}
	if d := a.Result.Dates; d == nil || d.Median != "2026-06-21" || !strings.Contains(a.Result.Sentence, d.Low+" to "+d.High) {
		t.Errorf("dates %+v, sentence %q", d, a.Result.Sentence)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
	late, err := Days(DaysInput{BookLow: 18, BookHigh: 26, PassedDays: 200, Source: "a book"})
	if err != nil {
		t.Fatal(err)
	}
	if c := late.Cautions; len(c) != 2 || c[1].Code != "late" {
		t.Errorf("cautions %+v", c)
	}
}

// What is late would have come in more than 95 of 100 batches.
func TestDaysLate(t *testing.T) {
	for passed := 1.0; passed < 60; passed++ {
		a, err := Days(DaysInput{BookLow: 18, BookHigh: 26, PassedDays: passed, Source: "a book", Batches: []PastBatch{{From: 20, To: &[]float64{21}[0]}}})
		if err != nil {
			t.Fatal(err)
		}
		late := false
		for _, c := range a.Cautions {
			late = late || c.Code == "late"
		}
		if late != (a.Result.LateChance > 0.95) {
			t.Errorf("day %g, by which it came with %.3f: late is %t", passed, a.Result.LateChance, late)
		}
	}
}

func TestDaysFaults(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		field string
		in    DaysInput
	}{
		{"book_low", DaysInput{}},
		{"book_low", DaysInput{BookLow: 20, BookHigh: 10}},
		{"book_low", DaysInput{BookLow: math.NaN(), BookHigh: 10}},
		{"passed_days", DaysInput{BookLow: 10, BookHigh: 10, PassedDays: math.Inf(1)}},
		{"inoculated", DaysInput{BookLow: 10, BookHigh: 10, Inoculated: "30 May"}},
		{"batches[0].to", DaysInput{BookLow: 10, BookHigh: 10, Batches: []PastBatch{{From: 9, To: x(7)}}}},
		{"batches[0].from", DaysInput{BookLow: 10, BookHigh: 10, Batches: []PastBatch{{From: math.NaN(), To: x(7)}}}},
	} {
		_, err := Days(c.in)
		var fault *figure.Fault
		if !errors.As(err, &fault) || fault.Field != c.field || fault.Mend == "" {
			t.Errorf("fault %+v, want one at %s", err, c.field)
		}
	}
}
