package stats

import (
	"math"
	"slices"
)

// cut parts the jars into two halves: all blocks before block, and jars of that
// block, are left; the rest is right.
type cut struct{ block, jars int }

// maxCut bounds the jars of one block for which a cut is sought; beyond it the
// half sums of any two fair-sized arms are too many anyway.
const maxCut = 300

// bestCut returns the cut whose longer list of half sums is shortest, and the
// length of that list, +Inf if a block is too large to look.
func (d *deal) bestCut() (cut, float64) {
	n := len(d.values)
	for _, in := range d.values {
		if len(in) > maxCut {
			return cut{}, math.Inf(1)
		}
	}
	left, right := make([]float64, n+1), make([]float64, n+1)
	left[0], right[n] = 1, 1
	for b := range n {
		left[b+1] = left[b] * choose(len(d.values[b]), d.chosen[b])
	}
	for b := n - 1; b >= 0; b-- {
		right[b] = right[b+1] * choose(len(d.values[b]), d.chosen[b])
	}
	best, least := cut{}, math.Inf(1)
	for b, in := range d.values {
		if left[b] > maxHalves || right[b+1] > maxHalves {
			continue
		}
		for m := range len(in) + 1 {
			var l, r float64
			for j := max(0, d.chosen[b]-(len(in)-m)); j <= min(m, d.chosen[b]); j++ {
				l += choose(m, j)
				r += choose(len(in)-m, d.chosen[b]-j)
			}
			if size := math.Max(l*left[b], r*right[b+1]); size < least {
				best, least = cut{b, m}, size
			}
		}
	}
	return best, least
}

// byHalves counts deals by sorting the sums of either half and walking the two
// lists against each other.
func (d *deal) byHalves(at cut) float64 {
	in, k := d.values[at.block], d.chosen[at.block]
	before, after := []float64{0}, []float64{0}
	for b := range at.block {
		before = allSums(before, subsetSums(d.values[b], d.chosen[b])[d.chosen[b]])
	}
	for b := at.block + 1; b < len(d.values); b++ {
		after = allSums(after, subsetSums(d.values[b], d.chosen[b])[d.chosen[b]])
	}
	left, right := subsetSums(in[:at.jars], k), subsetSums(in[at.jars:], k)
	far, centre := d.distance()
	var hits, all float64
	for j := range left {
		if k-j >= len(right) {
			continue
		}
		a, b := allSums(before, left[j]), allSums(after, right[k-j])
		slices.Sort(a)
		slices.Sort(b)
		all += float64(len(a)) * float64(len(b))
		hits += pairsBeyond(a, b, centre-far, centre+far)
	}
	return hits / all
}

// pairsBeyond counts pairs of sorted a and b whose sum is <= low or >= high.
func pairsBeyond(a, b []float64, low, high float64) float64 {
	if !(low < high) {
		return float64(len(a)) * float64(len(b))
	}
	under, over := len(b), len(b) // b[:under] fit below, b[over:] above
	var hits float64
	for _, v := range a {
		for under > 0 && v+b[under-1] > low {
			under--
		}
		for over > 0 && v+b[over-1] >= high {
			over--
		}
		hits += float64(under + len(b) - over)
	}
	return hits
}

// subsetSums returns, for each size up to most, the sums of all subsets of it.
func subsetSums(values []float64, most int) [][]float64 {
	sums := make([][]float64, min(most, len(values))+1)
	sums[0] = []float64{0}
	for i, v := range values {
		for j := min(i+1, most); j >= 1; j-- {
			for _, s := range sums[j-1] {
				sums[j] = append(sums[j], s+v)
			}
		}
	}
	return sums
}

// allSums returns every sum of one value of a and one of b.
func allSums(a, b []float64) []float64 {
	out := make([]float64, 0, len(a)*len(b))
	for _, v := range a {
		for _, w := range b {
			out = append(out, v+w)
		}
	}
	return out
}

// choose returns n choose k, to about 13 digits.
func choose(n, k int) float64 {
	if k < 0 || k > n {
		return 0
	}
	return math.Exp(logChoose(n, k))
}

// logChoose returns the logarithm of n choose k, for 0 <= k <= n.
func logChoose(n, k int) float64 {
	return logFactorial(n) - logFactorial(k) - logFactorial(n-k)
}

func logFactorial(n int) float64 {
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}
