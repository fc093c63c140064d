package trialstat

import (
	"math"
	"testing"
)

// Jars on a line of 2 g a unit with a step between places: the slope is that of the
// line, the step is not in it, and labels, units and order change nothing.
func TestTrend(t *testing.T) {
	var in TrendInput
	noise := []float64{-1, 1, 2, -2}
	for d := range 4 {
		for k, e := range noise {
			place := Label([]string{"top", "bottom"}[k%2])
			step := 30 * float64(k%2)
			in.Jars = append(in.Jars, TrendJar{Dose: float64(10 * d), Grams: 50 + 20*float64(d) + step + e, Place: place})
		}
	}
	a, err := Trend(in)
	if err != nil || a.Result.Ending != Supported || math.Abs(*a.Result.PerUnit.Value-2) > 1e-9 {
		t.Fatalf("%+v, %v", a.Result, err)
	}
	if half := (*a.Result.PerUnit.High - *a.Result.PerUnit.Low) / 2; half > 0.2 {
		t.Errorf("the step between places is in the interval: ±%v", half)
	}
	for i := range in.Jars {
		in.Jars[i].Grams = 200 - in.Jars[i].Grams
	}
	b, err := Trend(in)
	if err != nil || math.Abs(*b.Result.PerUnit.Low+*a.Result.PerUnit.High) > 1e-9 {
		t.Errorf("turned over: %+v, %v", b.Result, err)
	}
	short := TrendInput{Jars: in.Jars[1:]}
	if c, err := Trend(short); err != nil || c.Result.Ending != NoComparison || c.Result.P != nil {
		t.Errorf("three jars of a dose: %+v, %v", c.Result, err)
	}
	for _, bad := range []TrendInput{{}, {Jars: in.Jars[:8]}, {Jars: []TrendJar{{Dose: math.NaN()}}}, {Jars: []TrendJar{{Grams: -1}}}} {
		if _, err := Trend(bad); err == nil {
			t.Errorf("%d jars were taken", len(bad.Jars))
		}
	}
}
