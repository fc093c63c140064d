package stats

import (
	"fmt"
	"math"
)

// Paired returns the mean of b[i] - a[i] with its t interval.
//
// ErrFew for fewer than two pairs; ErrFlat if the differences are all equal;
// ErrRange for slices of unequal length, values that are not finite, or a level
// outside 0..1.
//
// Source: Student, Biometrika 6 (1908) 1-25.
func Paired(a, b []float64, level float64) (Estimate, error) {
	if len(a) != len(b) {
		return Estimate{}, fmt.Errorf("stats: %d and %d values are no pairs: %w", len(a), len(b), ErrRange)
	}
	if err := arms(a, b, 2); err != nil {
		return Estimate{}, err
	}
	if err := inside(level); err != nil {
		return Estimate{}, err
	}
	d := make([]float64, len(a))
	for i := range a {
		d[i] = b[i] - a[i]
	}
	n := float64(len(d))
	se := math.Sqrt(Variance(d) / n)
	if !(se > rounding(a, b)) {
		return Estimate{}, fmt.Errorf("stats: pairs: %w", ErrFlat)
	}
	return estimate(Mean(d), se, n-1, level), nil
}

// Hedges returns the difference mean(b) - mean(a) in units of the pooled
// standard deviation: d as it is, and g freed of the bias of small samples.
//
// ErrFew unless both arms have a value and together four; ErrFlat if nothing
// varies; ErrRange for values that are not finite.
//
// Source: Hedges, J. Educ. Stat. 6 (1981) 107-128, equation 6e.
func Hedges(a, b []float64) (d, g float64, err error) {
	if err := arms(a, b, 1); err != nil {
		return 0, 0, err
	}
	df := float64(len(a) + len(b) - 2)
	if df < 2 { // the factor is 0 at one degree of freedom
		return 0, 0, fmt.Errorf("stats: %d values, 4 needed: %w", len(a)+len(b), ErrFew)
	}
	sd := math.Sqrt((squares(a) + squares(b)) / df)
	if !(sd > rounding(a, b)) {
		return 0, 0, fmt.Errorf("stats: Hedges: %w", ErrFlat)
	}
	d = apart(a, b) / sd
	up, _ := math.Lgamma(df / 2)
	down, _ := math.Lgamma((df - 1) / 2)
	return d, d * math.Exp(up-down-math.Log(df/2)/2), nil
}
