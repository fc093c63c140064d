package trialstat

import "pinset/internal/calc/stats"

// The randomisation p is counted over maxDraws draws or deals, fewer where jars
// times draws would pass drawnJars, or for deals over all comparisons dealtJars:
// each some 0.1 s.
const (
	maxDraws  = 4999
	minDraws  = 199
	drawnJars = 2_000_000
	dealtJars = 4_000_000
)

// All deals are counted for up to mostCounted jars over all comparisons, which
// takes some 0.05 s, and from manyJars jars on, where stats goes by the normal
// distribution. In between, seeded deals must do.
const (
	mostCounted = 120
	manyJars    = 400
)

// How a randomisation p came about.
const (
	byDraw  = "runs of the draw of the allotment"
	byDeals = "all ways to deal the two arms out anew within the same place"
	bySome  = "seeded deals of the two arms within the same place"
)

// randomised returns the randomisation p of a pair on the primary.
//
// Of two arms whose draw is known, it is over runs of that draw. Else it is over
// the ways to deal the jars of the two arms out anew within the same cook and
// layer: those keep every count, so they are layouts of the same draw with the
// other arms held where they are.
func (c *comparing) randomised(pair [2]int) *float64 {
	if c.redraw != nil && len(c.names) == 2 {
		return c.redrawn(pair)
	}
	rows, grams, arm := c.of(c.main, pair)
	s := newContrast(rows, c.blocks, [2]int{1, 0})
	c.how = byDeals
	if n := len(rows); n*len(c.pairs()) > mostCounted && n < manyJars {
		c.how = bySome
		c.draws = max(minDraws, min(maxDraws, dealtJars/n/len(c.pairs())))
		return maybe(stats.PermutationRerun(grams, arm, c.draws, dealing(s.block, arm, c.seed), s.of))
	}
	p, _, err := stats.PermutationBlocked(grams, arm, s.block)
	if err != nil {
		return nil
	}
	return maybe(p)
}

// redrawn is the p over runs of the draw of the allotment; nil if that is of
// another table.
func (c *comparing) redrawn(pair [2]int) *float64 {
	c.how = byDraw
	rows, grams, arm := c.of(c.main, pair)
	s := newContrast(rows, c.blocks, [2]int{1, 0})
	anew := make([]int, len(rows))
	c.draws = max(minDraws, min(maxDraws, drawnJars/len(c.rows)))
	p := stats.PermutationRerun(grams, arm, c.draws, func(rep int) []int {
		all := c.redraw(rep)
		if len(all) != len(c.rows) {
			c.unlike = true
			return arm
		}
		for k, i := range rows {
			anew[k] = all[i]
		}
		return anew
	}, s.of)
	if c.unlike {
		return nil
	}
	return maybe(p)
}

// dealing returns a redraw that deals the arms out anew within each block.
func dealing(block, arm []int, seed uint64) func(rep int) []int {
	var in [][]int // jars by block
	for k, b := range block {
		for b >= len(in) {
			in = append(in, nil)
		}
		in[b] = append(in[b], k)
	}
	out, hand := make([]int, len(arm)), make([]int, 0, len(arm))
	return func(rep int) []int {
		l := newChance(seed, uint64(rep))
		for _, jars := range in {
			hand = hand[:0]
			for _, k := range jars {
				hand = append(hand, arm[k])
			}
			shuffle(l, hand)
			for i, k := range jars {
				out[k] = hand[i]
			}
		}
		return out
	}
}

// contrast is the difference of two arms within blocks: the mean of the
// differences in the blocks, weighted by n0·n1/(n0+n1).
type contrast struct {
	block []int // by jar
	pair  [2]int
	sums  []armSums
}

type armSums struct{ n, grams [2]float64 }

func newContrast(rows, blocks []int, pair [2]int) *contrast {
	s := &contrast{block: make([]int, len(rows)), pair: pair}
	seen := map[int]int{}
	for k, i := range rows {
		if blocks == nil {
			continue
		}
		code, ok := seen[blocks[i]]
		if !ok {
			code = len(seen)
			seen[blocks[i]] = code
		}
		s.block[k] = code
	}
	s.sums = make([]armSums, max(1, len(seen)))
	return s
}

// of returns the contrast of y, NaN where no block holds both arms.
func (s *contrast) of(y []float64, arm []int) float64 {
	clear(s.sums)
	for k, a := range arm {
		side := 0
		switch a {
		case s.pair[0]:
			side = 1
		case s.pair[1]:
		default:
			continue
		}
		b := &s.sums[s.block[k]]
		b.n[side]++
		b.grams[side] += y[k]
	}
	var top, weights float64
	for _, b := range s.sums {
		if b.n[0] == 0 || b.n[1] == 0 {
			continue
		}
		w := b.n[0] * b.n[1] / (b.n[0] + b.n[1])
		top += w * (b.grams[1]/b.n[1] - b.grams[0]/b.n[0])
		weights += w
	}
	return top / weights
}
