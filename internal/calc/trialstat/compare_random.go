package trialstat

import "pinset/internal/calc/stats"

// The randomisation p is counted over maxDraws redraws, fewer where jars times
// draws would pass drawnJars.
const (
	maxDraws  = 4999
	minDraws  = 199
	drawnJars = 20_000_000
)

// randomised returns the randomisation p of a pair on the primary: over the
// redrawn layouts if the draw is known, else over all ways to deal the two arms
// out anew within the same cook and layer.
func (c *comparing) randomised(pair [2]int) *float64 {
	rows, grams, arm := c.of(c.main, pair)
	var block []int
	if c.blocks != nil {
		block = make([]int, len(rows))
		for k, i := range rows {
			block[k] = c.blocks[i]
		}
	}
	if c.redraw == nil {
		p, _, err := stats.PermutationBlocked(grams, arm, block)
		if err != nil {
			return nil
		}
		return maybe(p)
	}
	c.drawAll()
	if len(c.draws) == 0 {
		return nil
	}
	// Under a redraw other jars may be of the two arms, so all of them are in.
	rows, grams = c.main.rows, c.main.grams
	now := make([]int, len(rows))
	for k, i := range rows {
		now[k] = c.arm[i]
	}
	s := newContrast(rows, c.blocks, pair)
	redrawn := make([]int, len(rows))
	p := stats.PermutationRerun(grams, now, len(c.draws), func(rep int) []int {
		for k, i := range rows {
			redrawn[k] = int(c.draws[rep][i])
		}
		return redrawn
	}, s.of)
	return maybe(p)
}

// drawAll keeps the redrawn arms of every row.
func (c *comparing) drawAll() {
	if c.draws != nil {
		return
	}
	n := max(minDraws, min(maxDraws, drawnJars/len(c.rows)))
	c.draws = make([][]int8, 0, n)
	for rep := range n {
		arms := c.redraw(rep)
		if len(arms) != len(c.rows) {
			c.draws = c.draws[:0]
			return
		}
		kept := make([]int8, len(arms))
		for i, a := range arms {
			kept[i] = int8(a)
		}
		c.draws = append(c.draws, kept)
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
	s := &contrast{block: make([]int, len(rows)), pair: pair, sums: make([]armSums, 1)}
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
