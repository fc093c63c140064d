package stats

import (
	"math"
	"slices"
)

// Bounds of the additions of the shift algorithm: half a second of work, what a
// page may wait for, and what a rounded answer may cost. maxCells bounds its table.
const (
	maxShift   = 1e9
	quickShift = 5e8
	roundShift = 2e8
	maxCells   = 2e7
)

// maxHalves bounds the length of either list of half sums.
const maxHalves = 1 << 21

// grid returns the values as whole multiples of the largest step that holds them
// all, and that step; nil if they do not lie on a decimal grid.
func grid(values [][]float64) (units [][]int, step float64) {
	for digits := range 10 {
		step = math.Pow10(-digits)
		if units := multiples(values, step, 1e-6); units != nil {
			by := shrink(units)
			return units, step * float64(by)
		}
	}
	return nil, 0
}

// shrink divides units by their greatest common divisor and returns it.
func shrink(units [][]int) int {
	all := 0
	for _, in := range units {
		for _, u := range in {
			all = gcd(all, u)
		}
	}
	if all == 0 {
		return 1
	}
	for _, in := range units {
		for i := range in {
			in[i] /= all
		}
	}
	return all
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// multiples returns the values over step, rounded; nil if one is further than
// slack from whole.
func multiples(values [][]float64, step, slack float64) [][]int {
	units := make([][]int, len(values))
	for b, in := range values {
		units[b] = make([]int, len(in))
		for i, v := range in {
			q := v / step
			r := math.Round(q)
			if !(math.Abs(q-r) <= slack) || r > 1e15 {
				return nil
			}
			units[b][i] = int(r)
		}
	}
	return units
}

// largest returns the greatest sum of k of the values.
func largest(values []int, k int) int {
	s := slices.Clone(values)
	slices.Sort(s)
	sum := 0
	for _, v := range s[len(s)-k:] {
		sum += v
	}
	return sum
}

// shiftWork estimates the additions of byShift, +Inf if its table is too large.
func shiftWork(units [][]int, chosen []int) float64 {
	work, sofar := 0.0, 0.0
	for b, in := range units {
		top := float64(largest(in, chosen[b]) + 1)
		if top*float64(chosen[b]+1) > maxCells || sofar+top > maxCells {
			return math.Inf(1)
		}
		work += top * float64(chosen[b]) * float64(len(in)) / 2
		if b > 0 {
			work += top * sofar
		}
		sofar += top
	}
	return work
}

// wholeDistance returns how far the chosen sum is from its mean over all deals,
// in grid units, less the tolerance for ties.
func wholeDistance(units [][]int, taken [][]bool, chosen []int) float64 {
	sum := 0
	for b, in := range units {
		for i, u := range in {
			if taken[b][i] {
				sum += u
			}
		}
	}
	far := math.Abs(float64(sum) - wholeCentre(units, chosen))
	return far - tieShare*math.Max(far, 1)
}

// wholeCentre returns the mean of the chosen sum over all deals, in grid units.
func wholeCentre(units [][]int, chosen []int) float64 {
	var mean total
	for b, in := range units {
		sum := 0
		for _, u := range in {
			sum += u
		}
		mean.add(float64(sum) * float64(chosen[b]) / float64(len(in)))
	}
	return mean.value()
}

// byShift counts the share of deals whose sum is at least far from its mean: the
// number of ways to reach each sum within a block, block upon block.
func byShift(units [][]int, chosen []int, far float64) float64 {
	ways := []float64{1}
	for b, in := range units {
		ways = tame(convolve(ways, tame(subsetWays(in, chosen[b]))))
	}
	centre := wholeCentre(units, chosen)
	var hits, all total
	for s, w := range ways {
		all.add(w)
		if math.Abs(float64(s)-centre) >= far {
			hits.add(w)
		}
	}
	return hits.value() / all.value()
}

// tame scales ways by a power of 2 if they threaten to overflow.
func tame(ways []float64) []float64 {
	_, exp := math.Frexp(slices.Max(ways))
	if exp < 400 {
		return ways
	}
	halve(ways, exp)
	return ways
}

// subsetWays returns, for each sum, the number of ways to choose k of the values,
// which are not negative; all over a common power of 2 where there are many
// values.
func subsetWays(values []int, k int) []float64 { return subsetTable(values, k)[k] }

// subsetTable returns subsetWays for every size up to k.
func subsetTable(values []int, k int) [][]float64 {
	order := slices.Clone(values)
	slices.Sort(order)
	top := largest(order, k)
	table := make([][]float64, k+1)
	for j := range table {
		table[j] = make([]float64, top+1)
	}
	table[0][0] = 1
	reach := make([]int, k+1) // largest sum of j of the values so far
	for i, v := range order {
		for j := min(i+1, k); j >= 1; j-- {
			from, to := table[j-1][:reach[j-1]+1], table[j][v:]
			for s, w := range from {
				to[s] += w
			}
			reach[j] = max(reach[j], reach[j-1]+v)
		}
		if i%500 == 499 { // at most 500 doublings since the last
			for j := range table {
				halve(table[j][:reach[j]+1], 500)
			}
		}
	}
	return table
}

func halve(x []float64, times int) {
	for i := range x {
		x[i] = math.Ldexp(x[i], -times)
	}
}

// convolve returns the ways to reach each sum of one from a and one from b.
func convolve(a, b []float64) []float64 {
	if len(a) == 1 && a[0] == 1 {
		return b
	}
	out := make([]float64, len(a)+len(b)-1)
	for i, w := range a {
		if w == 0 {
			continue
		}
		to := out[i : i+len(b)]
		for j, v := range b {
			to[j] += w * v
		}
	}
	return out
}

// rounded counts deals on the finest grid that the work allows. Only the sums are
// rounded, the observed distance is not, so that the errors average out.
func (d *deal) rounded() (float64, bool) {
	var top float64
	for _, in := range d.values {
		top = math.Max(top, slices.Max(in))
	}
	if top == 0 {
		return 1, true
	}
	far, _ := d.distance()
	for parts := 64000.0; parts >= 60; parts /= 2 {
		step := top / parts
		units := multiples(d.values, step, 1)
		if shiftWork(units, d.chosen) <= roundShift {
			return byShift(units, d.chosen, far/step), true
		}
	}
	return 0, false
}
