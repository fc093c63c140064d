package stats

import (
	"fmt"
	"math"
)

// total is a compensated sum. The zero value is ready.
//
// Source: Neumaier, Z. Angew. Math. Mech. 54 (1974) 39-51, algorithm IV.
type total struct{ sum, lost float64 }

func (t *total) add(x float64) {
	s := t.sum + x
	if math.Abs(t.sum) >= math.Abs(x) {
		t.lost += (t.sum - s) + x
	} else {
		t.lost += (x - s) + t.sum
	}
	t.sum = s
}

func (t *total) value() float64 { return t.sum + t.lost }

// Sum returns the compensated sum of x, 0 for an empty slice.
func Sum(x []float64) float64 {
	var t total
	for _, v := range x {
		t.add(v)
	}
	return t.value()
}

// Mean returns the arithmetic mean of x, NaN for an empty slice.
//
// Values are taken relative to the first, so that a large common offset costs
// no digits.
func Mean(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return x[0] + offset(x)
}

// offset returns the mean of x less x[0].
func offset(x []float64) float64 {
	var t total
	for _, v := range x {
		t.add(v - x[0])
	}
	return t.value() / float64(len(x))
}

// Variance returns the sample variance of x (divisor n-1), NaN for fewer than
// two values.
//
// Source: the two-pass algorithm, Chan, Golub and LeVeque, American Statistician 37
// (1983) 242-247, on values relative to the first, with compensated sums, which
// make its correction term idle.
func Variance(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	return squares(x) / float64(len(x)-1)
}

// squares returns the sum of squared deviations from the mean.
func squares(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	m := offset(x)
	var ss total
	for _, v := range x {
		d := (v - x[0]) - m
		ss.add(d * d)
	}
	return ss.value()
}

// finite returns ErrRange if a value of x is NaN or infinite.
func finite(x []float64) error {
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("stats: value %d is %g: %w", i, v, ErrRange)
		}
	}
	return nil
}

// inside returns ErrRange unless 0 < level < 1.
func inside(level float64) error {
	if !(level > 0 && level < 1) {
		return fmt.Errorf("stats: level %g is not between 0 and 1: %w", level, ErrRange)
	}
	return nil
}

// rounding returns the standard error below which samples only seem to vary: some
// units in the last place of their largest value.
func rounding(samples ...[]float64) float64 {
	var most float64
	for _, x := range samples {
		for _, v := range x {
			most = math.Max(most, math.Abs(v))
		}
	}
	return 2e-15 * most
}
