package stats

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"
)

// FTest is the outcome of a test that refers to an F distribution.
type FTest struct {
	F, DF1, DF2, P float64
}

// AnovaTable is a one-way analysis of variance.
type AnovaTable struct {
	FTest
	Between, Within float64 // sums of squares
	SD              float64 // pooled standard deviation within groups
	RSquared        float64 // share of the sum of squares that lies between groups
}

// ANOVA compares the means of two groups or more, all with the same variance.
//
// ErrFew for fewer than two groups, an empty group, or no more values than
// groups; ErrFlat if nothing varies within groups; ErrRange for values that are
// not finite. Not for groups that differ in spread: see WelchANOVA.
//
// Source: Fisher, Statistical Methods for Research Workers (1925), chapter VII.
func ANOVA(groups [][]float64) (AnovaTable, error) {
	if err := checkGroups(groups, 1); err != nil {
		return AnovaTable{}, err
	}
	n, origin := 0, groups[0][0]
	var within, sum total
	for _, g := range groups {
		n += len(g)
		within.add(squares(g))
		for _, v := range g {
			sum.add(v - origin)
		}
	}
	if n == len(groups) {
		return AnovaTable{}, fmt.Errorf("stats: one value in each of %d groups: %w", n, ErrFew)
	}
	mean := sum.value() / float64(n)
	var between total
	for _, g := range groups {
		d := (g[0] - origin) + offset(g) - mean
		between.add(float64(len(g)) * d * d)
	}
	a := AnovaTable{Between: between.value(), Within: within.value()}
	a.DF1, a.DF2 = float64(len(groups)-1), float64(n-len(groups))
	a.SD = math.Sqrt(a.Within / a.DF2)
	if !(a.SD > rounding(groups...)) {
		return AnovaTable{}, fmt.Errorf("stats: within groups: %w", ErrFlat)
	}
	a.RSquared = a.Between / (a.Between + a.Within)
	a.F = a.Between / a.DF1 / (a.Within / a.DF2)
	a.P = FUpper(a.F, a.DF1, a.DF2)
	return a, nil
}

// ANOVADecimal is ANOVA of values as they were written: decimals such as
// "1000000000000.4", whose common leading digits are taken off before anything
// is rounded to binary.
//
// ErrRange for text that is not sign, digits and at most one point, or is longer
// than 60 characters; otherwise as ANOVA.
func ANOVADecimal(groups [][]string) (AnovaTable, error) {
	var origin *big.Rat
	out := make([][]float64, len(groups))
	for i, g := range groups {
		for _, s := range g {
			v, err := decimal(s)
			if err != nil {
				return AnovaTable{}, err
			}
			if origin == nil {
				origin = v
			}
			f, _ := new(big.Rat).Sub(v, origin).Float64()
			out[i] = append(out[i], f)
		}
	}
	return ANOVA(out)
}

// decimal reads plain decimals only: a fraction or an exponent, which big.Rat would
// read too, has no place in a weighing and could ask for any amount of memory.
func decimal(s string) (*big.Rat, error) {
	if len(s) <= 60 && strings.Trim(s, "+-.0123456789") == "" {
		if v, ok := new(big.Rat).SetString(s); ok {
			return v, nil
		}
	}
	return nil, fmt.Errorf("stats: %q is no plain decimal: %w", s, ErrRange)
}

// checkGroups wants two groups or more of at least least finite values each.
func checkGroups(groups [][]float64, least int) error {
	if len(groups) < 2 {
		return fmt.Errorf("stats: %d groups, 2 needed: %w", len(groups), ErrFew)
	}
	for i, g := range groups {
		if len(g) < least {
			return fmt.Errorf("stats: group %d has %d values, %d needed: %w", i, len(g), least, ErrFew)
		}
		if err := finite(g); err != nil {
			return err
		}
	}
	return nil
}

// WelchANOVA compares the means of groups that may differ in variance.
//
// ErrFew for fewer than two groups or a group of fewer than two values; ErrFlat
// for a group that does not vary; ErrRange for values that are not finite.
//
// Source: Welch, Biometrika 38 (1951) 330-336.
func WelchANOVA(groups [][]float64) (FTest, error) {
	if err := checkGroups(groups, 2); err != nil {
		return FTest{}, err
	}
	k, origin := float64(len(groups)), groups[0][0]
	weights, means := make([]float64, len(groups)), make([]float64, len(groups))
	var all, mean total
	for i, g := range groups {
		v := Variance(g)
		if !(math.Sqrt(v) > rounding(groups...)) {
			return FTest{}, fmt.Errorf("stats: group %d: %w", i, ErrFlat)
		}
		weights[i], means[i] = float64(len(g))/v, (g[0]-origin)+offset(g)
		all.add(weights[i])
		mean.add(weights[i] * means[i])
	}
	w := all.value()
	centre := mean.value() / w
	var between, lack total
	for i, g := range groups {
		d := means[i] - centre
		between.add(weights[i] * d * d)
		lack.add((1 - weights[i]/w) * (1 - weights[i]/w) / float64(len(g)-1))
	}
	out := FTest{DF1: k - 1, DF2: (k*k - 1) / (3 * lack.value())}
	out.F = between.value() / (k - 1) / (1 + 2*(k-2)/(k*k-1)*lack.value())
	out.P = FUpper(out.F, out.DF1, out.DF2)
	return out, nil
}

// BrownForsythe tests whether groups differ in spread: an analysis of variance of
// the distances from the group medians.
//
// Errors are those of ANOVA on the distances.
//
// Source: Brown and Forsythe, J. Am. Stat. Assoc. 69 (1974) 364-367.
func BrownForsythe(groups [][]float64) (FTest, error) {
	if err := checkGroups(groups, 1); err != nil {
		return FTest{}, err
	}
	far := make([][]float64, len(groups))
	for i, g := range groups {
		sorted := slices.Clone(g)
		slices.Sort(sorted)
		mid := median(sorted)
		for _, v := range g {
			far[i] = append(far[i], math.Abs(v-mid))
		}
	}
	a, err := ANOVA(far)
	return a.FTest, err
}

// ChiSquaredTest is the outcome of a test that refers to a chi-squared
// distribution.
type ChiSquaredTest struct {
	Statistic, DF, P float64
}

// KruskalWallis tests whether groups differ in place, by ranks, ties corrected.
//
// ErrFew for fewer than two groups or an empty one; ErrFlat if all values are
// equal; ErrRange for values that are not finite.
//
// Source: Kruskal and Wallis, J. Am. Stat. Assoc. 47 (1952) 583-621.
func KruskalWallis(groups [][]float64) (ChiSquaredTest, error) {
	if err := checkGroups(groups, 1); err != nil {
		return ChiSquaredTest{}, err
	}
	ranks := doubledRanks(slices.Concat(groups...))
	n := float64(len(ranks))
	var spread float64 // Σ of squared distances from the mean rank, ties and all
	for _, r := range ranks {
		d := (float64(r) - (n + 1)) / 2
		spread += d * d
	}
	if spread == 0 {
		return ChiSquaredTest{}, fmt.Errorf("stats: Kruskal-Wallis: %w", ErrFlat)
	}
	var h float64
	from := 0
	for _, g := range groups {
		sum := 0
		for _, r := range ranks[from : from+len(g)] {
			sum += r
		}
		from += len(g)
		d := float64(sum)/2 - float64(len(g))*(n+1)/2
		h += d * d / float64(len(g))
	}
	h *= (n - 1) / spread
	df := float64(len(groups) - 1)
	return ChiSquaredTest{Statistic: h, DF: df, P: ChiSquaredUpper(h, df)}, nil
}
