package stats

import (
	"fmt"
	"math"
)

// Summary is a sample known by its size, mean and standard deviation only.
type Summary struct {
	N        int
	Mean, SD float64
}

// checkSummaries reports ErrFew for fewer than two summaries or below two values in
// one, ErrRange for figures that are not finite or an SD below 0.
func checkSummaries(of []Summary) error {
	if len(of) < 2 {
		return fmt.Errorf("stats: %d summaries: %w", len(of), ErrFew)
	}
	for i, s := range of {
		if s.N < 2 {
			return fmt.Errorf("stats: summary %d is of %d values: %w", i, s.N, ErrFew)
		}
		if err := finite([]float64{s.Mean, s.SD}); err != nil {
			return err
		}
		if s.SD < 0 {
			return fmt.Errorf("stats: summary %d has the SD %g: %w", i, s.SD, ErrRange)
		}
	}
	return nil
}

// WelchOf is Welch from summaries. Errors are those of checkSummaries, ErrFlat if both
// SD are 0, and ErrRange for a level outside 0..1.
func WelchOf(a, b Summary, level float64) (Estimate, error) {
	if err := checkSummaries([]Summary{a, b}); err != nil {
		return Estimate{}, err
	}
	if err := inside(level); err != nil {
		return Estimate{}, err
	}
	va, vb := a.SD*a.SD/float64(a.N), b.SD*b.SD/float64(b.N)
	se := math.Sqrt(va + vb)
	if !(se > rounding([]float64{a.Mean, b.Mean})) {
		return Estimate{}, fmt.Errorf("stats: Welch: %w", ErrFlat)
	}
	df := (va + vb) * (va + vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	return estimate(b.Mean-a.Mean, se, df, level), nil
}

// ANOVAOf is ANOVA from summaries. Errors are those of WelchOf.
func ANOVAOf(of []Summary) (AnovaTable, error) {
	if err := checkSummaries(of); err != nil {
		return AnovaTable{}, err
	}
	n := 0
	var sum, within, between total
	for _, s := range of {
		n += s.N
		sum.add(float64(s.N) * s.Mean)
		within.add(float64(s.N-1) * s.SD * s.SD)
	}
	mean := sum.value() / float64(n)
	for _, s := range of {
		between.add(float64(s.N) * (s.Mean - mean) * (s.Mean - mean))
	}
	a := AnovaTable{Between: between.value(), Within: within.value()}
	a.DF1, a.DF2 = float64(len(of)-1), float64(n-len(of))
	a.SD = math.Sqrt(a.Within / a.DF2)
	if !(a.SD > rounding([]float64{mean})) {
		return AnovaTable{}, fmt.Errorf("stats: within summaries: %w", ErrFlat)
	}
	a.RSquared = a.Between / (a.Between + a.Within)
	a.F = a.Between / a.DF1 / (a.Within / a.DF2)
	a.P = FUpper(a.F, a.DF1, a.DF2)
	return a, nil
}

// WelchANOVAOf is WelchANOVA from summaries. Errors are those of WelchOf; ErrFlat if
// any SD is 0.
func WelchANOVAOf(of []Summary) (FTest, error) {
	if err := checkSummaries(of); err != nil {
		return FTest{}, err
	}
	k := float64(len(of))
	var all, sum total
	weights := make([]float64, len(of))
	for i, s := range of {
		if !(s.SD > rounding([]float64{s.Mean})) {
			return FTest{}, fmt.Errorf("stats: summary %d: %w", i, ErrFlat)
		}
		weights[i] = float64(s.N) / (s.SD * s.SD)
		all.add(weights[i])
		sum.add(weights[i] * s.Mean)
	}
	w := all.value()
	centre := sum.value() / w
	var between, lack total
	for i, s := range of {
		between.add(weights[i] * (s.Mean - centre) * (s.Mean - centre))
		lack.add((1 - weights[i]/w) * (1 - weights[i]/w) / float64(s.N-1))
	}
	out := FTest{DF1: k - 1, DF2: (k*k - 1) / (3 * lack.value())}
	out.F = between.value() / (k - 1) / (1 + 2*(k-2)/(k*k-1)*lack.value())
	out.P = FUpper(out.F, out.DF1, out.DF2)
	return out, nil
}
