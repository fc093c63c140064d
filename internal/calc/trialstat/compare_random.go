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
// other arms held where they are. The statistic is the difference within the
// places, as they are fitted.
func (c *comparing) randomised(pair [2]int) *float64 {
	rows, grams, arm := c.of(c.main, pair)
	places := stats.NewPlaces(c.placesOf(rows), len(rows))
	left := places.Left(grams)
	if c.redraw != nil && len(c.names) == 2 {
		return c.redrawn(rows, arm, left, places)
	}
	if len(c.blockBy) > 1 {
		grams = left // within one place the sums of grams order deals alike, and lie on the grid of the scale
	}
	c.how = byDeals
	block := blocksOf(rows, c.lotBlocks())
	if n := len(rows); n*len(c.pairs()) > mostCounted && n < manyJars {
		c.how = bySome
		c.draws = max(minDraws, min(maxDraws, dealtJars/n/len(c.pairs())))
		p, err := stats.PermutationDraws(grams, arm, block, c.draws, c.seed)
		if err != nil {
			return nil
		}
		return maybe(p)
	}
	p, _, err := stats.PermutationBlocked(grams, arm, block)
	if err != nil {
		return nil
	}
	return maybe(p)
}

// redrawn is the p over runs of the draw of the allotment; nil if that is of
// another table.
func (c *comparing) redrawn(rows, arm []int, left []float64, places stats.Places) *float64 {
	c.how = byDraw
	anew := make([]int, len(rows))
	c.draws = max(minDraws, min(maxDraws, drawnJars/len(c.rows)))
	p := stats.PermutationRerun(left, arm, c.draws, func(rep int) []int {
		all := c.redraw(rep)
		if len(all) != len(c.rows) {
			c.unlike = true
			return arm
		}
		for k, i := range rows {
			anew[k] = all[i]
		}
		return anew
	}, places.Apart)
	if c.unlike {
		return nil
	}
	return maybe(p)
}

// blocksOf are the blocks of some rows, nil if there are none.
func blocksOf(rows, blocks []int) []int {
	if blocks == nil {
		return nil
	}
	out := make([]int, len(rows))
	for k, i := range rows {
		out[k] = blocks[i]
	}
	return out
}
