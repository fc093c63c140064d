package app

import (
	"math"
	"testing"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
)

var sownOn = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func fitted(t *testing.T, prior forecast.Prior, groups ...[]forecast.Span) *forecast.Model {
	t.Helper()
	m, err := forecast.Fit(prior, groups)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The wide window holds 4 in 5, the narrow one half; late is when fewer than 1
// in 20 would still wait.
func TestWindowFor(t *testing.T) {
	f := fitted(t, forecast.UsualPrior(200)).Of(-1)
	at := func(p float64) time.Time { return sownOn.Add(time.Duration(f.Quantile(p) * 24 * float64(time.Hour))) }
	w := windowFor(f, sownOn, 0, at(0.94))
	for name, x := range map[string]struct {
		got    time.Time
		chance float64
	}{"from": {w.From, 0.1}, "near from": {w.NearFrom, 0.25}, "likely": {w.Likely, 0.5}, "near to": {w.NearTo, 0.75}, "to": {w.To, 0.9}} {
		if d := x.got.Sub(at(x.chance)).Hours() / 24; math.Abs(d) > 0.51 {
			t.Errorf("%s is %.1f days off", name, d)
		}
	}
	if w.Late {
		t.Error("6 in 100 would still wait, and it is late")
	}
	if !windowFor(f, sownOn, 0, at(0.96)).Late {
		t.Error("4 in 100 would still wait, and it is not late")
	}
}

// Jars scatter about their batch by 7 %: where batches all took 20 days, 4 of 5
// jars come within about 4 days.
func TestJarsScatterAboutTheirBatch(t *testing.T) {
	batches := make([]forecast.Span, 30)
	for i := range batches {
		batches[i] = forecast.Span{After: 20, By: 20}
	}
	w := windowOfJar(fitted(t, forecast.UsualPrior(20), batches).Of(0), 0)
	if d := w.to - w.from; d < 3 || d > 5 {
		t.Errorf("jars come from day %d to %d", w.from, w.to)
	}
}

// Of a species that no book knows nothing is said after one batch; after two
// their days count, and what stands in for the book is hardly believed.
func TestWithoutABook(t *testing.T) {
	took := func(days ...float64) *fit {
		var courses []course
		for _, d := range days {
			courses = append(courses, course{profile: lab.Profile{Species: "Unknown"}, recipe: "r", came: map[lab.Stage]forecast.Span{lab.Cover: {After: d, By: d}}})
		}
		x, err := (&Farm{memo: &memo{}}).newForecaster(courses).fit(lab.Profile{Species: "Unknown"}, "", lab.Cover)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	if took(10).model != nil {
		t.Error("one batch makes a beginning")
	}
	f, n := took(10, 11, 40).of("other")
	if f2, n2 := took(10, 10, 10, 10, 40, 40, 40, 40, 40).of("r"); n2 != 9 || !(f2.Quantile(0.5) > 15 && f2.Quantile(0.5) < 26) {
		t.Errorf("of nine batches: day %.1f of %d", f2.Quantile(0.5), n2)
	}
	if w := f.Window(0.8); n != 0 || !(w.High/w.Low > 3) {
		t.Errorf("another recipe is expected between day %.1f and %.1f", w.Low, w.High)
	}
}
