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
// Source: the corrected two-pass algorithm, Chan, Golub and LeVeque, American
// Statistician 37 (1983) 242-247, equation 1.7, on values relative to the first.
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
	var ss, rest total
	for _, v := range x {
		d := (v - x[0]) - m
		ss.add(d * d)
		rest.add(d)
	}
	return math.Max(0, ss.value()-rest.value()*rest.value()/float64(len(x)))
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

// spread returns the largest distance of a value from the first.
func spread(x []float64) float64 {
	var d float64
	for _, v := range x {
		d = math.Max(d, math.Abs(v-x[0]))
	}
	return d
}
