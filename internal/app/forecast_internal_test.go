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
	took := func(recipes []lab.RecipeID, days ...float64) *fit {
		var courses []course
		for i, d := range days {
			courses = append(courses, course{profile: lab.Profile{Species: "Unknown"}, recipe: recipes[i%len(recipes)], came: map[lab.Stage]forecast.Span{lab.Cover: {After: d, By: d}}})
		}
		x, err := (&Farm{memo: &memo{}}).newForecaster(courses).fit(lab.Profile{Species: "Unknown"}, "", lab.Cover)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	one, two := []lab.RecipeID{"r"}, []lab.RecipeID{"r", "s"}
	if took(one, 10).model != nil {
		t.Error("one batch makes a beginning")
	}
	if f, n := took(two, 5, 40).of("other"); n != 0 || !(f.Quantile(0.5) > 16 && f.Quantile(0.5) < 18.5) {
		t.Errorf("after recipes that took 5 and 40 days another is expected on day %.1f: 40 stands in for the book, the middle of both is 14", f.Quantile(0.5))
	}
}
