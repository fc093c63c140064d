package trialstat

import (
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// movedShare is how many points of a hundred jars the places may move a difference of
// shares before it is said.
const movedShare = 5

// lotBlocks are the places within which jars are dealt out anew, by row. Shares and scores
// are judged over all places together, but their lots are drawn within the same places.
func (c *comparing) lotBlocks() []int {
	if c.outcome.means() {
		return c.blocks
	}
	var by []factor
	for _, col := range c.columns {
		if c.within(col.name) && col.varies(c.main.rows) {
			by = append(by, col.factor)
		}
	}
	if len(by) == 0 {
		return nil
	}
	return c.cells(by)
}

// rankedByLot is the share of deals within the same places that set the ranks of two
// arms at least as far apart, nil where there are no places.
func (c *comparing) rankedByLot(pair [2]int) *float64 {
	blocks := c.lotBlocks()
	if blocks == nil {
		return nil
	}
	rows, scores, arm := c.of(c.main, pair)
	p, _, err := stats.PermutationBlocked(stats.Ranks(scores), arm, blocksOf(rows, blocks))
	if err != nil {
		return nil
	}
	return maybe(p)
}

// shareWithin is the difference of two shares within the same places, in points of a
// hundred jars, nil where there are none that hold both. It decides nothing.
//
// Source: Greenland and Robins, Biometrics 41 (1985) 55-68, the difference of Mantel and
// Haenszel and its variance for sparse strata (from memory).
func (c *comparing) shareWithin(pair [2]int) *Interval {
	blocks := c.lotBlocks()
	if blocks == nil || c.unit.factor != "" {
		return nil
	}
	type table struct{ did, of [2]float64 }
	var tables []table
	at := map[int]int{}
	rows, did, arm := c.of(c.main, pair)
	for k, i := range rows {
		b, known := at[blocks[i]]
		if !known {
			b = len(tables)
			at[blocks[i]] = b
			tables = append(tables, table{})
		}
		tables[b].of[arm[k]]++
		if did[k] > 0 {
			tables[b].did[arm[k]]++
		}
	}
	var weight, sum, variance float64
	for _, t := range tables {
		n0, n1 := t.of[0], t.of[1]
		if n0 == 0 || n1 == 0 {
			continue
		}
		n := n0 + n1
		weight += n0 * n1 / n
		sum += (t.did[1]*n0 - t.did[0]*n1) / n
		variance += (t.did[1]*(n1-t.did[1])*n0*n0*n0 + t.did[0]*(n0-t.did[0])*n1*n1*n1) / (n0 * n1 * n * n)
	}
	if weight == 0 {
		return nil
	}
	d, half := sum/weight, stats.NormalQuantile((1+confidence)/2)*math.Sqrt(variance)/weight
	return &Interval{maybe(100 * d), maybe(100 * (d - half)), maybe(100 * (d + half))}
}

// cautionPlacesOfOrder says how shares and scores are taken over places, and where the
// places move a share.
func (c *comparing) cautionPlacesOfOrder() {
	if c.outcome.means() || c.lotBlocks() == nil {
		return
	}
	c.doubt(figure.Note, "over_all_places", "Taken over all places", "Shares and scores are compared over all places together; they are fair as long as every arm is spread over them alike. The p by lot deals jars out within the same places.")
	for _, x := range c.result.Comparisons {
		if w := x.WithinPlaces; w != nil && x.Difference.Value != nil && math.Abs(*w.Value-*x.Difference.Value) > movedShare {
			c.doubt(figure.Care, "places_move_share", "The places have a part in it",
				"Over all places together %s − %s is %s points, within the same places %s. The arms are not spread over the places alike: read the second beside the verdict.",
				brief(x.Arms[0]), brief(x.Arms[1]), number(*x.Difference.Value, 0), number(*w.Value, 0))
			return
		}
	}
}
