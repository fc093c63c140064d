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
	p, ok := d.exact()
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
// Otherwise the values were first rounded to a grid as fine as the work allows
// (never coarser than 1/500 of their range), or, for thousands of jars, p is from
// the normal distribution with the mean and variance of all deals. None of this
// uses chance.
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
	if p, ok := d.exact(); ok {
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
// are given arm 1. The statistic is the sum of their values less its mean, to
// which the block-adjusted difference of means is proportional.
type deal struct {
	values [][]float64 // per block, relative to the least value in the block
	chosen []int       // per block
	sum    float64     // observed sum over arm 1
	centre float64     // mean of that sum over all deals
}

// newDeal keeps the blocks that hold both arms; the others are the same in
// every deal.
func newDeal(y []float64, arm, block []int) (*deal, error) {
	if err := checkRows(y, arm, block, 2); err != nil {
		return nil, err
	}
	place := map[int]int{}
	var values [][]float64
	var ones [][]bool
	for i, v := range y {
		code := 0
		if block != nil {
			code = block[i]
		}
		b, ok := place[code]
		if !ok {
			b = len(values)
			place[code] = b
			values, ones = append(values, nil), append(ones, nil)
		}
		values[b] = append(values[b], v)
		ones[b] = append(ones[b], arm[i] == 1)
	}
	d := &deal{}
	var sum, centre total
	for b, in := range values {
		k := 0
		for _, one := range ones[b] {
			if one {
				k++
			}
		}
		if k == 0 || k == len(in) {
			continue
		}
		sign := 1.0
		if 2*k > len(in) { // deal out the smaller arm: fewer ways to keep
			k, sign = len(in)-k, -1
		}
		least := in[0]
		for _, v := range in {
			if sign*v < sign*least {
				least = v
			}
		}
		rel := make([]float64, len(in))
		for i, v := range in {
			rel[i] = sign * (v - least)
			if ones[b][i] == (sign > 0) {
				sum.add(rel[i])
			}
		}
		centre.add(Sum(rel) * float64(k) / float64(len(in)))
		d.values, d.chosen = append(d.values, rel), append(d.chosen, k)
	}
	if len(d.values) == 0 {
		return nil, fmt.Errorf("stats: no block holds both arms: %w", ErrFew)
	}
	d.sum, d.centre = sum.value(), centre.value()
	return d, nil
}

// exact counts all deals, by whichever way is cheaper.
func (d *deal) exact() (float64, bool) {
	shift, onGrid := math.Inf(1), false
	units, step := d.grid()
	if units != nil {
		shift, onGrid = shiftWork(units, d.chosen), true
	}
	cut, halves := d.bestCut()
	switch {
	case halves <= maxHalves && halves*40 <= shift:
		return d.byHalves(cut), true
	case onGrid && shift <= maxShift:
		return d.byShift(units, step), true
	case halves <= maxHalves:
		return d.byHalves(cut), true
	}
	return 0, false
}

// bounds returns the sums at or beyond which a deal is as far from the centre as
// the observed one.
func (d *deal) bounds() (low, high float64) {
	far := math.Abs(d.sum - d.centre)
	far -= tieShare * math.Max(far, 1e-6*math.Abs(d.centre))
	return d.centre - far, d.centre + far
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
	return math.Min(1, 2*NormalUpper(math.Abs(d.sum-d.centre)/math.Sqrt(v.value())))
}
