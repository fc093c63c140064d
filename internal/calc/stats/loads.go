package stats

import (
	"fmt"
	"math"
)

// Loads returns, for each of the arms against control, a load with which the
// correlation of any two of these differences is the product of two loads or
// more. With arms of one size and spread it is that product; else the quantile
// that ManyToOneQuantile takes from them is a little too wide, never too narrow.
//
// Errors are those of Difference.
//
// Source: the HC2 covariance; that a lower correlation never narrows a two-sided
// region, Šidák, J. Am. Stat. Assoc. 62 (1967) 626-633.
func (f *BlockFit) Loads(control int, arms []int) ([]float64, error) {
	weights := make([][]float64, len(arms))
	u := make([]float64, f.arms)
	for i, g := range arms {
		if err := f.joined(control, g); err != nil {
			return nil, err
		}
		f.times(u, f.against(control, g))
		weights[i] = f.within(u)
	}
	return loadsOf(weights, f.hc2, f.least)
}

// loadsOf returns Loads from the weights of the differences and their covariance.
// A standard error of least or below is rounding.
func loadsOf(weights [][]float64, cov func(c, d []float64) (float64, error), least float64) ([]float64, error) {
	se := make([]float64, len(weights))
	for i, w := range weights {
		v, err := cov(w, w)
		if err != nil {
			return nil, fmt.Errorf("stats: difference %d: %w", i, err)
		}
		if se[i] = math.Sqrt(v); !(se[i] > least) {
			return nil, fmt.Errorf("stats: difference %d: %w", i, ErrFlat)
		}
	}
	loads := make([]float64, len(weights))
	for i := range loads {
		low := 1.0
		for j := range loads {
			if j == i {
				continue
			}
			v, err := cov(weights[i], weights[j])
			if err != nil {
				return nil, err
			}
			low = math.Min(low, v/(se[i]*se[j]))
		}
		loads[i] = math.Sqrt(math.Max(0, math.Min(low, 0.999)))
	}
	return loads, nil
}
