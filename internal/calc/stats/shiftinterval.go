package stats

import (
	"fmt"
	"math"
	"slices"
)

// PermutationShift returns the interval of the shift b - a that the permutation
// test of means does not reject: all d for which b less d and a could have been
// dealt out as they are, with a chance above (1-level)/2 on either side.
//
// ErrFew for an empty arm; ErrUnbounded if the arms are so small that no deal is
// rare enough for the level; ErrRange for values that are not finite, a level
// outside 0..1, or arms too large to count (above 20 jars each off a decimal grid).
//
// Source: inversion of Pitman's test (1937); the limits are order statistics of
// (difference of the sums swapped)/(number swapped).
func PermutationShift(a, b []float64, level float64) (low, high float64, err error) {
	if err := arms(a, b, 1); err != nil {
		return 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, err
	}
	s, ok := newSwaps(a, b)
	if !ok {
		return 0, 0, fmt.Errorf("stats: shift of %d and %d values: too many to count: %w", len(a), len(b), ErrRange)
	}
	need := math.Floor((1 - level) / 2 * choose(len(a)+len(b), len(a)) * (1 + 1e-12))
	if need < 1 {
		return 0, 0, fmt.Errorf("stats: shift of %d and %d values at level %g: %w", len(a), len(b), level, ErrUnbounded)
	}
	low = bisect(s.least, s.most, func(d float64) bool { return s.count(d, true) >= need })
	high = bisect(s.most, s.least, func(d float64) bool { return s.count(d, false) >= need })
	return low * s.step, high * s.step, nil
}

// bisect returns the point nearest to from at which ok holds, given that it
// holds from there on to to.
func bisect(from, to float64, ok func(float64) bool) float64 {
	if ok(from) {
		return from
	}
	for range 200 {
		mid := from + (to-from)/2
		if mid == from || mid == to {
			break
		}
		if ok(mid) {
			to = mid
		} else {
			from = mid
		}
	}
	return to
}

// swaps holds, by number of values swapped, the sums that leave b and the sums
// that come from a, in steps.
type swaps struct {
	out, in     []weighted
	least, most float64 // bounds of all differences of single values
	step        float64
}

// weighted are sorted sums and, for each, how often it or a lower one occurs.
type weighted struct{ sums, upTo []float64 }

// maxOffGrid is the largest arm whose subsets are listed one by one.
const maxOffGrid = 20

func newSwaps(a, b []float64) (swaps, bool) {
	base := math.Min(slices.Min(a), slices.Min(b))
	values := [][]float64{relative(b, base), relative(a, base)}
	k := min(len(a), len(b))
	s := swaps{step: 1}
	units, step := grid(values)
	switch {
	case units != nil && shiftWork(units, []int{k, k}) < maxShift:
		s.step = step
		s.out, s.in = bySize(subsetTable(units[0], k)), bySize(subsetTable(units[1], k))
	case max(len(a), len(b)) <= maxOffGrid:
		s.out, s.in = listed(subsetSums(values[0], k)), listed(subsetSums(values[1], k))
	default:
		return s, false
	}
	s.least = (slices.Min(values[0]) - slices.Max(values[1])) / s.step
	s.most = (slices.Max(values[0]) - slices.Min(values[1])) / s.step
	return s, true
}

func relative(x []float64, base float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - base
	}
	return out
}

// bySize turns ways per sum into weighted sums.
func bySize(table [][]float64) []weighted {
	out := make([]weighted, len(table))
	for r, ways := range table {
		all := 0.0
		for s, w := range ways {
			if w > 0 {
				all += w
				out[r].sums, out[r].upTo = append(out[r].sums, float64(s)), append(out[r].upTo, all)
			}
		}
	}
	return out
}

// listed turns lists of sums into weighted sums.
func listed(sums [][]float64) []weighted {
	out := make([]weighted, len(sums))
	for r, list := range sums {
		slices.Sort(list)
		out[r] = weighted{list, make([]float64, len(list))}
		for i := range list {
			out[r].upTo[i] = float64(i + 1)
		}
	}
	return out
}

// count returns the number of swaps whose mean difference is at most d, or, if
// not below, at least d.
func (s swaps) count(d float64, below bool) float64 {
	var n float64
	for r := 1; r < len(s.out); r++ {
		out, in := s.out[r], s.in[r]
		all := in.upTo[len(in.upTo)-1]
		j, before := 0, 0.0 // in.sums[:j] are below the bar
		for i, v := range out.sums {
			bar := v - float64(r)*d
			for j < len(in.sums) && (in.sums[j] < bar || !below && in.sums[j] == bar) {
				j++
			}
			under := 0.0
			if j > 0 {
				under = in.upTo[j-1]
			}
			if below {
				under = all - under
			}
			n += (out.upTo[i] - before) * under
			before = out.upTo[i]
		}
	}
	return n
}
