package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// RankTest is the outcome of a rank test.
type RankTest struct {
	Statistic float64 // U of b, or the rank sum of the positive differences
	P         float64 // two-sided
	Exact     bool    // counted over all deals, ties included
}

// MannWhitney tests whether values of b tend to lie above those of a. Statistic
// is the number of pairs in which the value of b is the larger, ties counting
// half; divided by the number of pairs it is the chance that a jar of b beats a
// jar of a.
//
// P is the share of deals whose statistic is at least as far from its mean. Up to
// about a hundred jars an arm it is exact, ties or not; beyond, normal with
// corrections for ties and continuity.
//
// ErrFew for an empty arm; ErrRange for values that are not finite.
//
// Source: Mann and Whitney, Ann. Math. Stat. 18 (1947) 50-60; ties by the shift
// algorithm of Streitberg and Röhmel (1986) on mid-ranks.
func MannWhitney(a, b []float64) (RankTest, error) {
	if err := arms(a, b, 1); err != nil {
		return RankTest{}, err
	}
	ranks := doubledRanks(append(slices.Clone(a), b...))
	sum := 0
	for _, r := range ranks[len(a):] {
		sum += r
	}
	na, nb := float64(len(a)), float64(len(b))
	u := float64(sum)/2 - nb*(nb+1)/2
	k := min(len(a), len(b))
	all := [][]int{ranks}
	if shiftWork(all, []int{k}) <= maxShift {
		far := math.Abs(float64(sum) - nb*(na+nb+1)) // the smaller arm is as far from its mean
		return RankTest{Statistic: u, P: byShift(all, []int{k}, far-tieShare), Exact: true}, nil
	}
	return RankTest{Statistic: u, P: mannWhitneyNormal(u, ranks, na, nb)}, nil
}

// mannWhitneyNormal returns the normal p of U with the variance of all deals of
// the doubled ranks, ties and all.
func mannWhitneyNormal(u float64, ranks []int, na, nb float64) float64 {
	var v total
	for _, r := range ranks {
		d := float64(r)/2 - (na+nb+1)/2
		v.add(d * d)
	}
	n := na + nb
	return rankNormal(u-na*nb/2, na*nb/(n*(n-1))*v.value())
}

// rankNormal returns the two-sided normal p of a rank statistic d from its mean,
// with continuity correction.
func rankNormal(d, variance float64) float64 {
	if !(variance > 0) {
		return 1
	}
	return math.Min(1, 2*NormalUpper((math.Abs(d)-0.5)/math.Sqrt(variance)))
}

// Ranks returns the rank of each value from 1, ties sharing the mean of theirs.
func Ranks(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, r := range doubledRanks(x) {
		out[i] = float64(r) / 2
	}
	return out
}

// doubledRanks returns twice the mid-ranks, which are whole.
func doubledRanks(x []float64) []int {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(x[i], x[j]) })
	ranks := make([]int, len(x))
	for from := 0; from < len(order); {
		to := from
		for to < len(order) && tied(x[order[from]], x[order[to]]) {
			to++
		}
		for _, i := range order[from:to] {
			ranks[i] = from + 1 + to
		}
		from = to
	}
	return ranks
}

// tied says whether two values differ by no more than the rounding of a
// difference or of a change of unit.
func tied(a, b float64) bool {
	return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// maxPairs bounds the pairs of which a median is taken.
const maxPairs = 1e7

// HodgesLehmann returns the shift b - a as the median of all differences between
// a jar of b and a jar of a, with the interval that the Mann-Whitney test does
// not reject. The ends belong to the interval, so that with ties it holds the
// level or more.
//
// ErrFew for an empty arm; ErrUnbounded if the arms are too small for the level;
// ErrRange for values that are not finite, a level outside 0..1, or more than
// ten million pairs.
//
// Source: Hodges and Lehmann, Ann. Math. Stat. 34 (1963) 598-611; limits by
// Moses, as in Hollander and Wolfe, Nonparametric Statistical Methods (2nd ed.
// 1999), 4.3.
func HodgesLehmann(a, b []float64, level float64) (shift, low, high float64, err error) {
	if err := arms(a, b, 1); err != nil {
		return 0, 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, 0, err
	}
	if float64(len(a))*float64(len(b)) > maxPairs {
		return 0, 0, 0, fmt.Errorf("stats: %d and %d values are too many pairs: %w", len(a), len(b), ErrRange)
	}
	gaps := make([]float64, 0, len(a)*len(b))
	for _, v := range b {
		for _, w := range a {
			gaps = append(gaps, v-w)
		}
	}
	k := mannWhitneyCut(len(a), len(b), (1-level)/2)
	return medianWithin(gaps, k)
}

// medianWithin returns the median of x and its k-th value from either end, from
// 1; ErrUnbounded for k < 1.
func medianWithin(x []float64, k int) (mid, low, high float64, err error) {
	if k < 1 {
		return 0, 0, 0, fmt.Errorf("stats: too few values for the level: %w", ErrUnbounded)
	}
	slices.Sort(x)
	return median(x), x[k-1], x[len(x)-k], nil
}

// median returns the median of sorted x.
func median(x []float64) float64 {
	n := len(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return x[n/2-1] + (x[n/2]-x[n/2-1])/2
}

// cutRank returns the least k with P(statistic < k) <= tail < P(statistic <= k).
func cutRank(ways []float64, tail float64) int {
	all := Sum(ways)
	var below total
	for k, w := range ways {
		below.add(w)
		if below.value() > tail*all*(1+1e-12) {
			return k
		}
	}
	return len(ways) - 1
}

// mannWhitneyCut returns cutRank of U for arms of m and n without ties, counted
// while that is quick.
func mannWhitneyCut(m, n int, tail float64) int {
	a, b := float64(m), float64(n)
	if a*b*math.Min(a, b)*(a+b) <= maxShift {
		return cutRank(mannWhitneyWays(m, n), tail)
	}
	return normalCut(a, b, tail)
}

// normalCut is mannWhitneyCut by the normal distribution with Edgeworth's term for
// the fourth moment.
//
// Source: Fix and Hodges, Ann. Math. Stat. 26 (1955) 301-312 (from memory; held to
// the counted values by test).
func normalCut(a, b, tail float64) int {
	sd := math.Sqrt(a * b * (a + b + 1) / 12)
	excess := -1.2 * (a*a + b*b + a*b + a + b) / (a * b * (a + b + 1))
	z := NormalQuantile(tail)
	z += excess / 24 * (z*z*z - 3*z) // Cornish and Fisher
	return int(math.Ceil(a*b/2 + z*sd - 0.5))
}

// mannWhitneyWays returns the number of deals that give each U, without ties, up
// to a common factor.
func mannWhitneyWays(m, n int) []float64 {
	if m > n {
		m, n = n, m
	}
	ranks := make([]int, m+n) // from 0
	for i := range ranks {
		ranks[i] = i
	}
	return subsetWays(ranks, m)[m*(m-1)/2:]
}
