package trialstat

import (
	"errors"
	"math"
	"slices"

	"pinset/internal/calc/stats"
)

// fit chooses the factors within which jars are compared: cook and layer
// together, if that leaves every comparison that can be made something to stand
// on; else cook, else layer, else none. Jars without a record form a level of
// their own.
func (c *comparing) fit() {
	var usable []factor
	for _, col := range c.columns {
		if (col.name == factorCook || col.name == factorLayer) && col.varies(c.main.rows) {
			usable = append(usable, col.factor)
		}
	}
	tries := [][]factor{usable}
	if len(usable) == 2 {
		tries = append(tries, usable[:1], usable[1:])
	}
	for _, by := range tries {
		blocks := c.cells(by)
		if len(by) > 0 && c.stands(blocks) {
			c.blockBy, c.blocks = by, blocks
			break
		}
	}
	if len(usable) > 0 && len(c.blockBy) == 0 && c.allRefused() {
		c.blockBy, c.blocks = usable, c.cells(usable)
	}
	for _, f := range c.blockBy {
		c.result.BlockBy = append(c.result.BlockBy, f.name)
	}
}

// cells codes each row by its levels of some factors.
func (c *comparing) cells(by []factor) []int {
	out := make([]int, len(c.rows))
	for _, f := range by {
		col := c.columns[slices.IndexFunc(c.columns, func(col column) bool { return col.name == f.name })]
		seen := map[[2]int]int{}
		for i := range out {
			key := [2]int{out[i], col.codes[i]}
			code, ok := seen[key]
			if !ok {
				code = len(seen)
				seen[key] = code
			}
			out[i] = code
		}
	}
	return out
}

// stands reports whether every comparison that is not refused can be estimated
// within the blocks.
func (c *comparing) stands(blocks []int) bool {
	fit, err := c.fitted(c.main, blocks)
	if err != nil {
		return false
	}
	some := false
	for _, pair := range c.pairs() {
		if c.refusedBy(pair) != nil {
			continue
		}
		some = true
		if _, err := fit.Difference(pair[1], pair[0], confidence); errors.Is(err, stats.ErrAliased) || errors.Is(err, stats.ErrFew) && !errors.Is(err, stats.ErrFlat) && c.enough(pair) {
			return false
		}
	}
	return some
}

// enough reports whether both arms have the jars that a verdict needs.
func (c *comparing) enough(pair [2]int) bool {
	return c.jarsOf(pair[0]) >= leastJars && c.jarsOf(pair[1]) >= leastJars
}

// jarsOf counts the jars of an arm that the primary stands on.
func (c *comparing) jarsOf(arm int) int {
	n := 0
	for _, i := range c.main.rows {
		if c.arm[i] == arm {
			n++
		}
	}
	return n
}

func (c *comparing) allRefused() bool {
	for _, pair := range c.pairs() {
		if c.refusedBy(pair) == nil {
			return false
		}
	}
	return true
}

// refusedBy returns the first factor that leaves a comparison nothing to say.
func (c *comparing) refusedBy(pair [2]int) *pairAliasing {
	for i, p := range c.aliasing {
		if p.pair == pair && c.refuses(p) {
			return &c.aliasing[i]
		}
	}
	return nil
}

// fitted fits a scale over all arms within blocks coded by row.
func (c *comparing) fitted(x scale, blocks []int) (*stats.BlockFit, error) {
	arm := make([]int, len(x.rows))
	var block []int
	if blocks != nil {
		block = make([]int, len(x.rows))
	}
	for k, i := range x.rows {
		arm[k] = c.arm[i]
		if blocks != nil {
			block[k] = blocks[i]
		}
	}
	return stats.FitBlocks(x.grams, arm, block, len(c.names))
}

// summarise counts and describes each arm.
func (c *comparing) summarise() {
	c.result.Arms = make([]ArmSummary, len(c.names))
	unweighed := make([]bool, len(c.names))
	for a, name := range c.names {
		c.result.Arms[a].Name = name
	}
	for i, f := range c.fates {
		arm := &c.result.Arms[c.arm[i]]
		arm.Inoculated++
		switch f {
		case growing:
			arm.Growing++
		case picked:
			arm.Picked++
			if c.rows[i].Value == nil {
				unweighed[c.arm[i]] = true
			}
		case barren:
			arm.Barren++
		case lost:
			arm.Lost++
		}
	}
	for _, x := range []scale{c.main, c.beside} {
		grams := make([][]float64, len(c.names))
		for k, i := range x.rows {
			grams[c.arm[i]] = append(grams[c.arm[i]], x.grams[k])
		}
		for a, g := range grams {
			if !unweighed[a] {
				c.result.Arms[a].describe(x.per, g, x.per == c.primary)
			}
		}
	}
}

func (a *ArmSummary) describe(per string, grams []float64, primary bool) {
	mean := maybe(stats.Mean(grams))
	sd := maybe(math.Sqrt(stats.Variance(grams)))
	var cv *float64
	if mean != nil && sd != nil && *mean > 0 {
		cv = maybe(100 * *sd / *mean)
	}
	if per == PerPicked {
		a.MeanPicked, a.SDPicked, a.CVPickedPct = mean, sd, cv
	} else {
		a.MeanInoculated = mean
	}
	if primary {
		a.SD, a.CVPct = sd, cv
	}
}

// settle finds the jars per arm that would settle the difference that matters,
// from the spread between jars and the mean that the ending is judged by, never
// from the difference seen.
func (c *comparing) settle() {
	spread, df := c.pooledSpread()
	first := c.pairs()[0]
	mean := c.plainMean(first[1])
	if !(spread > 0 && mean > 0) {
		return
	}
	comparisons := len(c.pairs())
	n := jarsNeeded(c.matters/100*mean/spread, (1-confidence)/float64(comparisons), settlePower, 1)
	if n > 0 {
		c.result.JarsToSettle = &n
	}
	c.step("spread between jars, pooled", "√(Σ(grams − mean of its arm and place)² / df)", spread, "g", "df "+whole(df))
	c.step("jars an arm to settle "+plain(c.matters)+" %", "smallest n with power ≥ 0.8 at δ = matters · mean of "+brief(c.names[first[1]]), n, "jars",
		"two-sided t test at 5 % over "+count(comparisons, "comparison", "comparisons")+", noncentral t with 2n − 2 df")
}

// settlePower is the power that jars_to_settle plans for.
const settlePower = 0.8

// pooledSpread is the standard deviation between jars of one arm in one place,
// or of one arm where that leaves fewer than 4 degrees of freedom.
func (c *comparing) pooledSpread() (sd float64, df int) {
	for _, blocks := range [][]int{c.blocks, nil} {
		cells := map[[2]int]int{}
		var grams [][]float64
		for k, i := range c.main.rows {
			key := [2]int{c.arm[i], 0}
			if blocks != nil {
				key[1] = blocks[i]
			}
			at, ok := cells[key]
			if !ok {
				at = len(grams)
				cells[key] = at
				grams = append(grams, nil)
			}
			grams[at] = append(grams[at], c.main.grams[k])
		}
		squares, df := 0.0, 0
		for _, g := range grams {
			if len(g) > 1 {
				squares += stats.Variance(g) * float64(len(g)-1)
				df += len(g) - 1
			}
		}
		if df >= 4 {
			return math.Sqrt(squares / float64(df)), df
		}
	}
	return 0, 0
}

// plainMean is the mean of an arm on the primary, NaN without jars.
func (c *comparing) plainMean(arm int) float64 {
	var grams []float64
	for k, i := range c.main.rows {
		if c.arm[i] == arm {
			grams = append(grams, c.main.grams[k])
		}
	}
	return stats.Mean(grams)
}
