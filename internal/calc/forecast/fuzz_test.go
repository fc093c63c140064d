package forecast

import (
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

// Whatever the spans are, they are refused as a Fault or give a forecast whose
// windows lie in each other, never before the days that have passed.
func FuzzFit(f *testing.F) {
	f.Add(24.0, 20.0, 22.0, 0.0, 17.0, 22.0)
	f.Add(3.0, 0.0, 0.25, 1999.0, 2000.0, 0.0)
	f.Add(24.0, 5.0, 5.0, 2.0, 300.0, 1e6)
	f.Add(0.25, math.NaN(), 5.0, 0.0, math.Inf(1), -4.0)
	f.Add(1/3.0, 0.0, 0.25, 1999.0, 2000.0, 0.0)  // a course of a few hours beside one of years
	f.Add(3.0, 0.0, 0.25, 49.975, 1927.0, 5508.0) // windows that end beyond the last day there is
	f.Fuzz(func(t *testing.T, days, a, b, c, d, passed float64) {
		m, err := Fit(UsualPrior(days), [][]Span{{{a, b}}, {{c, d}, {a, b}}, {}})
		if err != nil {
			var fault *figure.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no Fault", err)
			}
			return
		}
		for i := -1; i < 3; i++ {
			x := m.Of(i).Merged().After(passed)
			wide, half := x.Window(0.8), x.Window(0.5)
			likely := x.Quantile(0.5)
			if !(wide.Low <= half.Low && half.Low <= likely && likely <= half.High && half.High <= wide.High) || !(wide.Low > 0) || passed > wide.Low || math.IsInf(wide.High, 0) {
				t.Fatalf("group %d after %g days: %v, %v, %g", i, passed, wide, half, likely)
			}
			if k := x.Keep(); passed < maxDays && !k.Valid() {
				t.Fatalf("group %d after %g days: what is kept can not be read: %v", i, passed, k)
			}
		}
	})
}
