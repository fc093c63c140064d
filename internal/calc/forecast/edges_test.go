package forecast

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// Published: twice the mean loss over 39 quantiles of a lognormal with middle 24 and
// spread 0.18, by qlnorm of R 4.2.2. What is kept is good to 1e-4 of the days.
func TestKeptCRPSPublished(t *testing.T) {
	k := Forecast{parts: []part{{1, math.Log(24), 0.18}}}.Keep()
	for day, want := range map[float64]float64{15: 6.92104827643, 24: 1.01022349169, 27: 1.78235198472, 40: 13.1019384655} {
		if got := k.CRPS(day); math.Abs(got-want) > 2e-3 {
			t.Errorf("on day %g it scores %.5f, want %.5f", day, got, want)
		}
	}
}

// Published: mean and variance by integrate of R 4.2.2 of log days about 20 with
// spread 0.3, cut off at both ends of a span, and the normal that turns the whole into
// it; 1e-9 as the digits of the normal distribution allow.
func TestWithinPublished(t *testing.T) {
	f := Forecast{parts: []part{{1, math.Log(20), 0.3}}}
	for _, c := range []struct {
		span     Span
		y, extra float64
	}{
		{Span{12, 25}, 2.85470946527, 0.0572574544294},
		{Span{0, 17}, 2.51955274264, 0.0319155628644},
		{Span{22, 40}, 3.36950226231, 0.0263614270306},
	} {
		got, ok := f.within(c.span)
		if !ok || math.Abs(got.y-c.y) > 1e-9 || math.Abs(got.extra-c.extra) > 1e-9 {
			t.Errorf("%v says %+v, want %+v", c.span, got, datum{c.y, c.extra})
		}
	}
	if got, ok := f.within(Span{0.3, 1900}); ok {
		t.Errorf("a span that holds all says %+v", got)
	}
	if got, ok := f.within(Span{300, 900}); !ok || got != (Span{300, 900}).datum() {
		t.Errorf("a span far from all says %+v, %v; want its middle", got, ok)
	}
}

// Means are over what was scored, and over what each simpler forecast could be made of.
func TestMeansOfScores(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	w, _ := WatchOver([]Scored{
		{PIT: 0.5, CRPS: 1, Interval: 8, Book: x(2)},
		{PIT: 0.2, CRPS: 2, Interval: 12, Own: x(5)},
		{PIT: 0.9, CRPS: 6, Interval: 40, Book: x(10), Own: x(7)},
		{PIT: 0.9, CRPS: 1000, Interval: 1000, Book: x(1000), Vague: true},
	})
	if w.Scored != 4 || *w.MeanCRPS != 3 || *w.MeanInterval != 20 {
		t.Errorf("%d scored, means %v and %v", w.Scored, *w.MeanCRPS, *w.MeanInterval)
	}
	if *w.Book != (Beside{2, 3.5, 6}) || *w.Own != (Beside{2, 4, 6}) {
		t.Errorf("beside %+v and %+v", *w.Book, *w.Own)
	}
	if w, _ := WatchOver([]Scored{{PIT: 0.5}}); w.Book != nil || w.Own != nil {
		t.Errorf("nothing to set beside: %+v", w)
	}
}

// The widening is the 80 % quantile of |z|, the ⌈0.8·(n + 1)⌉th of n, over that of the
// normal distribution, within 0.7 to 2: of 39 places whose |z| are 0.05, 0.1, … 1.95
// the 32nd, 1.6.
func TestWideningPublished(t *testing.T) {
	var pit []float64
	for i := range 39 {
		pit = append(pit, 0.5*math.Erfc(-0.05*float64(i+1)/math.Sqrt2))
	}
	if got := widening(pit); math.Abs(got-1.6/1.281551565544601) > 1e-9 {
		t.Errorf("widened %g times", got)
	}
	for _, c := range []struct{ pit, want float64 }{{1, 2}, {0, 2}, {0.5, 0.7}, {0.9, 1}, {0.1, 1}} {
		if got := widening(slices.Repeat([]float64{c.pit}, 30)); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("of places at %g widened %g times, want %g", c.pit, got, c.want)
		}
	}
}

// What is kept is read on both sides of each of its days.
func TestKeptDaysAreChances(t *testing.T) {
	k := make(Kept, 39)
	for i := range k {
		k[i] = float64(10 + i)
	}
	for day, want := range map[float64]float64{9.9: 0.0125, 10: 0.025, 10.5: 0.0375, 29: 0.5, 47: 0.95, 47.5: 0.9625, 48: 0.975, 48.1: 0.9875} {
		if got := k.CDF(day); math.Abs(got-want) > 1e-12 {
			t.Errorf("by day %g with %g, want %g", day, got, want)
		}
	}
	// twice the mean over 39 days of what each loses, as it is defined
	if got := k.CRPS(29); math.Abs(got-3.325) > 1e-12 {
		t.Errorf("the middle scores %.12g", got)
	}
	if w := k.Window(0.8); w != (Window{13, 45}) || k.Likely() != 29 {
		t.Errorf("window %v, likely %g", w, k.Likely())
	}
	for _, day := range []float64{13, 29, 45} {
		if got := k.IntervalScore(day); math.Abs(got-32) > 1e-12 {
			t.Errorf("day %g within the window scores %g, want its width", day, got)
		}
	}
	if got := k.IntervalScore(11); math.Abs(got-52) > 1e-9 {
		t.Errorf("two days before the window it scores %g, want 32 + 10·2", got)
	}
	k[38] = 60
	for day, want := range map[float64]float64{47: 0.95, 53.5: 0.9625, 60: 0.975} {
		if got := k.CDF(day); math.Abs(got-want) > 1e-12 {
			t.Errorf("uneven: by day %g with %g, want %g", day, got, want)
		}
	}
	for i := range k {
		k[i] = 20
	}
	if got := k.CDF(20); !(got > 0 && got < 1) {
		t.Errorf("all days alike: %g", got)
	}
	if !k.Valid() || !slices.Repeat(Kept{8000}, 39).Valid() || slices.Repeat(Kept{8000.1}, 39).Valid() || slices.Repeat(Kept{0}, 39).Valid() || k[:38].Valid() || append(k[:38:38], 19).Valid() {
		t.Error("what can be read is not told from what can not")
	}
}

// A stage that was seen on the day of inoculation has a score, and one that did not
// come lies beyond the last visit.
func TestScoreOnTheFirstDay(t *testing.T) {
	k := Forecast{parts: []part{{1, math.Log(24), 0.18}}}.Keep()
	s := Outcome{Forecast: k, Came: Span{0, 0}}.Score()
	if !(s.Came > 0 && s.CRPS > 20 && s.CRPS < 25 && s.PIT > 0) {
		t.Errorf("%+v", s)
	}
	s = Outcome{Forecast: k, Came: Span{1e9, math.Inf(1)}}.Score()
	if !s.Censored || s.PIT < 0.9875 {
		t.Errorf("%+v", s)
	}
}

// Days within their limits are forecast from, those beyond are faults.
func TestDaysLimits(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	book := func(b ...PastBatch) DaysInput { return DaysInput{BookLow: 10, BookHigh: 12, Batches: b} }
	many := slices.Repeat([]PastBatch{{From: 9, To: x(11)}}, 2001)
	for _, c := range []struct {
		field string
		in    DaysInput
	}{
		{"", book(many[:2000]...)},
		{"batches", book(many...)},
		{"", book(PastBatch{From: 0, To: x(0.25)})},
		{"batches[0].to", book(PastBatch{From: 0, To: x(0.24)})},
		{"", book(PastBatch{From: 1999, To: x(2000)})},
		{"batches[0].to", book(PastBatch{From: 1999, To: x(2000.1)})},
		{"", book(PastBatch{From: 2000})},
		{"batches[0].from", book(PastBatch{From: 2000.1})},
		{"batches[0].from", book(PastBatch{From: -0.1})},
		{"batches[0].to", book(PastBatch{From: 9, To: x(9)})},
		{"", DaysInput{BookLow: 0.25, BookHigh: 2000, PassedDays: 2000}},
		{"book_low", DaysInput{BookLow: 0.24, BookHigh: 20}},
		{"book_low", DaysInput{BookLow: 10, BookHigh: 2000.1}},
		{"passed_days", DaysInput{BookLow: 10, BookHigh: 12, PassedDays: 2000.1}},
		{"passed_days", DaysInput{BookLow: 10, BookHigh: 12, PassedDays: -1}},
	} {
		_, err := Days(c.in)
		var fault *figure.Fault
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%+v: %v", c.in.BookLow, err)
		case c.field != "" && (!errors.As(err, &fault) || fault.Field != c.field):
			t.Errorf("%v, want a fault at %s", err, c.field)
		}
	}
}

// Batches are counted by recipe, and those without the stage are left out and said.
func TestDaysCountsBatches(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	a, err := Days(DaysInput{BookLow: 10, BookHigh: 12, Recipe: "A", Source: "a book", Batches: []PastBatch{
		{Recipe: "A", From: 9, To: x(11)}, {Recipe: "B", From: 9, To: x(11)}, {Recipe: "C", From: 9, To: x(11)}, {Recipe: "B", From: 30},
	}})
	if err != nil || a.Result.Batches != 1 || a.Result.Others != 2 || len(a.Cautions) != 1 || !strings.HasPrefix(a.Cautions[0].Text, "1 of 4 batches has no first visit") {
		t.Errorf("%+v %+v %v", a.Result, a.Cautions, err)
	}
}

// A published span holds 4 of 5 farms, but the book may always be off by a factor of 1.6.
func TestPublishedPrior(t *testing.T) {
	if p := PublishedPrior(18, 26); math.Abs(p.Days-math.Sqrt(18*26)) > 1e-12 || p.Book != 0.25 {
		t.Errorf("%+v", p)
	}
	wide := PublishedPrior(10, 40)
	if below := 0.5 * math.Erfc(-math.Log(10/wide.Days)/(wide.Book*math.Sqrt2)); math.Abs(below-0.1) > 1e-12 {
		t.Errorf("1 farm in 10 is sooner than the low end: %g", below)
	}
}

// Stages of a few hours are forecast as well as those of weeks.
func TestFewHours(t *testing.T) {
	if got := mustFit(t, UsualPrior(0.25), nil).Of(-1).Quantile(0.1); !(got > 0.12 && got < 0.2) {
		t.Errorf("1 in 10 by day %g", got)
	}
	if got := (Span{0.3, 0.4}).datum().y; math.Abs(got-math.Log(0.3*0.4)/2) > 1e-12 {
		t.Errorf("between 0.3 and 0.4 days is taken at day %g", math.Exp(got))
	}
	for days, can := range map[float64]bool{0.24: false, 0.25: true, 2000: true, 2000.1: false} {
		if got := simple(days); (got != nil) != can {
			t.Errorf("a figure of %g days makes a forecast: %v", days, got)
		}
	}
}

// What has not come by the end of its window is a miss, one day sooner it is left out.
func TestCensoredAtTheEnd(t *testing.T) {
	for came, scored := range map[float64]int{19: 0, 20: 1, 21: 1} {
		if w, _ := WatchOver([]Scored{{Low: 10, High: 20, Came: came, Censored: true, PIT: 0.95}}); w.Scored != scored || w.Hits != 0 {
			t.Errorf("not come by day %g: %+v", came, w)
		}
	}
}
