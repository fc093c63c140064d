package stats

import (
	"fmt"
	"math"
)

// SignedRank tests whether the differences d lie about 0. Differences of 0 are
// left out, as Wilcoxon does. Statistic is the rank sum of the positive ones.
//
// P is the share of all sign patterns whose statistic is at least as far from its
// mean: exact, ties or not, up to several hundred differences; beyond, normal with
// corrections for ties and continuity.
//
// ErrFew if no difference is left; ErrRange for values that are not finite.
//
// Source: Wilcoxon, Biometrics Bulletin 1 (1945) 80-83.
func SignedRank(d []float64) (RankTest, error) {
	if err := finite(d); err != nil {
		return RankTest{}, err
	}
	var size []float64
	var up []bool
	for _, v := range d {
		if v != 0 {
			size, up = append(size, math.Abs(v)), append(up, v > 0)
		}
	}
	if len(size) == 0 {
		return RankTest{}, fmt.Errorf("stats: no difference but 0: %w", ErrFew)
	}
	ranks := doubledRanks(size)
	sum, all := 0, 0
	for i, r := range ranks {
		all += r
		if up[i] {
			sum += r
		}
	}
	out := RankTest{Statistic: float64(sum) / 2}
	n := float64(len(ranks))
	if n*float64(all) > maxShift {
		out.P = signedNormal(out.Statistic, ranks)
		return out, nil
	}
	ways := signWays(ranks)
	var hits, total float64
	far := math.Abs(float64(2*sum - all))
	for s, w := range ways {
		total += w
		if math.Abs(float64(2*s-all)) >= far {
			hits += w
		}
	}
	out.P, out.Exact = hits/total, true
	return out, nil
}

// signedNormal returns the normal p of a sum of ranks with random signs, from the
// doubled ranks, ties and all.
func signedNormal(sum float64, ranks []int) float64 {
	var all, square total
	for _, r := range ranks {
		rank := float64(r) / 2
		all.add(rank)
		square.add(rank * rank)
	}
	return rankNormal(sum-all.value()/2, square.value()/4)
}

// signWays returns the share of sign patterns that give each rank sum.
func signWays(ranks []int) []float64 {
	top := 0
	for _, r := range ranks {
		top += r
	}
	ways := make([]float64, top+1)
	ways[0] = 1
	reach := 0
	for _, r := range ranks {
		reach += r
		for s := reach; s >= 0; s-- {
			w := ways[s]
			if s >= r {
				w += ways[s-r]
			}
			ways[s] = w / 2
		}
	}
	return ways
}

// PairedShift returns the centre of the differences d as the median of their
// pairwise means (each with itself included), with the interval that the signed
// rank test does not reject.
//
// ErrFew for no differences; ErrUnbounded if they are too few for the level;
// ErrRange for values that are not finite, a level outside 0..1, or more than
// about four thousand differences.
//
// Source: Hodges and Lehmann (1963); limits by Tukey, as in Hollander and Wolfe
// (1999), 3.3.
func PairedShift(d []float64, level float64) (shift, low, high float64, err error) {
	if len(d) == 0 {
		return 0, 0, 0, fmt.Errorf("stats: no differences: %w", ErrFew)
	}
	if err := finite(d); err != nil {
		return 0, 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, 0, err
	}
	n := len(d)
	if float64(n)*float64(n+1)/2 > maxPairs {
		return 0, 0, 0, fmt.Errorf("stats: %d differences are too many pairs: %w", n, ErrRange)
	}
	means := make([]float64, 0, n*(n+1)/2)
	ranks := make([]int, n)
	for i, v := range d {
		ranks[i] = i + 1
		for _, w := range d[:i+1] {
			means = append(means, v+(w-v)/2)
		}
	}
	return medianWithin(means, cutRank(signWays(ranks), (1-level)/2))
}
