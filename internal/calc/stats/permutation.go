package stats

import (
	"fmt"
	"math"
)

// tieShare is the relative distance within which two statistics count as tied.
// Sums in another order differ by rounding, and a tie lost that way would make
// p too small.
const tieShare = 1e-9

// PermutationMeans returns the exact two-sided p of the difference in means
// between a and b: the share of all ways to deal the values out to two arms of
// these sizes that set the means at least as far apart. Ties are counted with a
// relative tolerance of 1e-9.
//
// ErrFew for an empty arm; ErrRange for values that are not finite, or for more
// than about 40 values that do not lie on a common decimal grid, which no exact
// way can count: use PermutationRerun.
//
// Source: Pitman, J. R. Stat. Soc. Suppl. 4 (1937) 119-130; counted by the
// shift algorithm of Streitberg and Röhmel, EDV in Medizin und Biologie 17
// (1986) 12-18, or by halves, Horowitz and Sahni, J. ACM 21 (1974) 277-292.
func PermutationMeans(a, b []float64) (p float64, err error) {
	y := append(append(make([]float64, 0, len(a)+len(b)), a...), b...)
	arm := make([]int, len(y))
	for i := len(a); i < len(arm); i++ {
		arm[i] = 1
	}
	d, err := newDeal(y, arm, nil)
	if err != nil {
		return 0, err
	}
	p, ok := d.exact(maxShift)
	if !ok {
		return 0, fmt.Errorf("stats: %d values off a common grid are too many to count: %w", len(y), ErrRange)
	}
	return p, nil
}

// PermutationBlocked returns the two-sided p of arm 1 against arm 0 when the
// arms are dealt out anew inside each block only. The statistic is the
// least-squares difference of the additive block model, that is the mean of the
// differences in the blocks weighted by n0·n1/(n0+n1). block is nil if there are
// no blocks.
//
// exact is true if p was counted over all deals, with ties to a relative 1e-9.
// Otherwise the sums were counted on a grid as fine as a tenth of a second allows,
// never coarser than 1/60 of the range of the values, which leaves p good to some
// parts in a thousand; or, for several hundred jars and more, p is from the normal
// distribution with the mean and variance of all deals. None of this uses chance.
//
// ErrFew if an arm is empty, or no block holds both arms; ErrRange for slices
// of unequal length, arm codes other than 0 and 1, or values not finite.
//
// Source: as for PermutationMeans, the blocks joined by convolution.
func PermutationBlocked(y []float64, arm, block []int) (p float64, exact bool, err error) {
	d, err := newDeal(y, arm, block)
	if err != nil {
		return 0, false, err
	}
	if p, ok := d.exact(quickShift); ok {
		return p, true, nil
	}
	if p, ok := d.rounded(); ok {
		return p, false, nil
	}
	return d.normal(), false, nil
}

// PermutationRerun returns the Monte-Carlo p of a statistic under a plan of
// allotment: (1+hits)/(1+draws), where a hit is a draw whose statistic is at
// least as far from 0 as the one observed, with ties to a relative 1e-9. A
// statistic that is NaN counts as a hit.
//
// redraw returns the arms of draw rep = 0, 1, … and must take its chance from
// rep and a seed alone; it may return the same slice each time. stat must not
// keep it. The p is 1 for no draws.
//
// Source: Phipson and Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39.
func PermutationRerun(y []float64, arm []int, draws int, redraw func(rep int) []int, stat func(y []float64, arm []int) float64) float64 {
	seen := math.Abs(stat(y, arm))
	bar := seen - tieShare*seen
	hits := 0
	for rep := range draws {
		if !(math.Abs(stat(y, redraw(rep))) < bar) {
			hits++
		}
	}
	return float64(1+hits) / float64(1+draws)
}

// deal is a two-arm comparison inside blocks: in each block, chosen jars of all
// are given the smaller arm. The statistic is the sum of their values less its
// mean, to which the block-adjusted difference of means is proportional.
type deal struct {
	values [][]float64 // per block, from 0 up
	taken  [][]bool    // per value, whether it was chosen in fact
	chosen []int       // per block, at most half of the jars
	fuzz   float64     // rounding that a sum may carry
}

// newDeal keeps the blocks that hold both arms; the others are the same in
// every deal.
func newDeal(y []float64, arm, block []int) (*deal, error) {
	if err := checkRows(y, arm, block, 2); err != nil {
		return nil, err
	}
	rows := inBlocks(block, len(y))
	d := &deal{}
	for _, in := range rows {
		values, taken, chosen := blockDeal(y, arm, in)
		if chosen == 0 {
			continue
		}
		d.values, d.taken, d.chosen = append(d.values, values), append(d.taken, taken), append(d.chosen, chosen)
	}
	if len(d.values) == 0 {
		return nil, fmt.Errorf("stats: no block holds both arms: %w", ErrFew)
	}
	for _, v := range y {
		d.fuzz = math.Max(d.fuzz, 1e-15*float64(len(y))*math.Abs(v))
	}
	return d, nil
}

// inBlocks returns the rows of each block in order of first appearance.
func inBlocks(block []int, n int) [][]int {
	place := map[int]int{}
	rows := make([][]int, 0, 1)
	for i := range n {
		code := 0
		if block != nil {
			code = block[i]
		}
		b, ok := place[code]
		if !ok {
			b = len(rows)
			place[code] = b
			rows = append(rows, nil)
		}
		rows[b] = append(rows[b], i)
	}
	return rows
}

// blockDeal returns the values of the rows in, from 0 up, and which of them the
// smaller arm has. If that is arm 0 the values are turned round, so that the
// chosen sum less its mean keeps its sign.
func blockDeal(y []float64, arm, in []int) (values []float64, taken []bool, chosen int) {
	for _, i := range in {
		chosen += arm[i]
	}
	sign := 1.0
	if 2*chosen > len(in) {
		chosen, sign = len(in)-chosen, -1
	}
	least := sign * y[in[0]]
	for _, i := range in {
		least = math.Min(least, sign*y[i])
	}
	for _, i := range in {
		values = append(values, sign*y[i]-least)
		taken = append(taken, (arm[i] == 1) == (sign > 0))
	}
	return values, taken, chosen
}

// exact counts all deals, by whichever way is cheaper, if the shift algorithm
// needs limit additions or fewer, or the halves are short enough.
func (d *deal) exact(limit float64) (float64, bool) {
	units, _ := grid(d.values)
	shift := math.Inf(1)
	if units != nil {
		shift = shiftWork(units, d.chosen)
	}
	cut, halves := d.bestCut()
	switch {
	case halves <= maxHalves && halves*40 <= shift:
		return d.byHalves(cut), true
	case shift <= limit:
		return byShift(units, d.chosen, wholeDistance(units, d.taken, d.chosen)), true
	case halves <= maxHalves:
		return d.byHalves(cut), true
	}
	return 0, false
}

// distance returns how far the chosen sum is from its mean over all deals, less
// the tolerance for ties, and that mean.
func (d *deal) distance() (far, centre float64) {
	var sum, mean total
	for b, in := range d.values {
		for i, v := range in {
			if d.taken[b][i] {
				sum.add(v)
			}
		}
		mean.add(Sum(in) * float64(d.chosen[b]) / float64(len(in)))
	}
	far, centre = math.Abs(sum.value()-mean.value()), mean.value()
	return far - math.Max(tieShare*far, d.fuzz), centre
}

// normal returns the p of the normal distribution with the mean and variance of
// all deals.
func (d *deal) normal() float64 {
	var v total
	for b, in := range d.values {
		n, k := float64(len(in)), float64(d.chosen[b])
		v.add(k * (n - k) / n * Variance(in))
	}
	if v.value() == 0 {
		return 1
	}
	far, _ := d.distance()
	return math.Min(1, 2*NormalUpper(far/math.Sqrt(v.value())))
}
