package trialstat

import (
	"errors"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// fitted is a fit of grams on place and arm, whatever the places.
type fitted interface {
	Efficiency(a, b int) float64
	Difference(a, b int, level float64) (stats.Estimate, error)
	Contrast(weights []float64, level float64) (stats.Estimate, error)
	Value(weights []float64) (float64, error)
	Loads(control int, arms []int) ([]float64, error)
	PairMeans(a, b int) (mb, ma, vb, va, cov float64, err error)
}

// fit chooses the factors within which jars are compared: all that within names and
// that vary, their effects added up, if that leaves every comparison that can be made
// something to stand on; else the first of them that does, else none. Jars without a
// record form a level of their own. Shares and scores are taken over all places
// together.
func (c *comparing) fit() {
	if !c.outcome.means() {
		return
	}
	var usable []factor
	for _, col := range c.columns {
		if c.within(col.name) && col.varies(c.main.rows) {
			usable = append(usable, col.factor)
		}
	}
	tries := [][]factor{usable}
	if len(usable) > 1 {
		for k := range usable {
			tries = append(tries, usable[k:k+1])
		}
	}
	for _, by := range tries {
		if len(by) > 0 && c.stands(by) {
			c.blockBy, c.blocks = by, c.cells(by)
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

// within reports whether jars are to be compared within the levels of a factor.
func (c *comparing) within(name string) bool {
	return name != c.unit.factor && slices.Contains(c.inside, name)
}

// cells codes each row by its levels of some factors.
func (c *comparing) cells(by []factor) []int {
	out := make([]int, len(c.rows))
	for _, f := range by {
		col := c.columnOf(f.name)
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
// within the factors.
func (c *comparing) stands(by []factor) bool {
	fit, err := c.fitted(c.main, by)
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

// fitted fits a scale over all arms within the levels of some factors. More than
// one factor add up; where jars times levels are too many for that, each
// combination of levels is a place of its own.
func (c *comparing) fitted(x scale, by []factor) (fitted, error) {
	arm := make([]int, len(x.rows))
	for k, i := range x.rows {
		arm[k] = c.arm[i]
	}
	if len(by) > 1 {
		fit, err := stats.FitPlaces(x.grams, arm, c.codes(x.rows, by), len(c.names))
		switch {
		case err == nil:
			return fit, nil
		case !errors.Is(err, stats.ErrRange):
			return nil, err
		}
	}
	var block []int
	if len(by) > 0 {
		block = blocksOf(x.rows, c.cells(by))
	}
	fit, err := stats.FitBlocks(x.grams, arm, block, len(c.names))
	if err != nil {
		return nil, err
	}
	return fit, nil
}

// codes are the levels of some factors, for some rows.
func (c *comparing) codes(rows []int, by []factor) [][]int {
	var out [][]int
	for _, f := range by {
		out = append(out, blocksOf(rows, c.columnOf(f.name).codes))
	}
	return out
}

// placesOf are the factors within which jars are compared, for some rows.
func (c *comparing) placesOf(rows []int) [][]int { return c.codes(rows, c.blockBy) }

// summarise counts the jars of each arm and describes what is compared.
func (c *comparing) summarise() {
	c.result.Arms = make([]ArmSummary, len(c.names))
	unweighed := make([]bool, len(c.names))
	for a, name := range c.names {
		c.result.Arms[a].Name = name
	}
	for i, f := range c.jars.fates {
		arm := &c.result.Arms[c.jars.arm[i]]
		arm.Inoculated++
		switch f {
		case growing:
			arm.Growing++
		case picked:
			arm.Picked++
			if c.jars.rows[i].Value == nil {
				unweighed[c.jars.arm[i]] = true
			}
		case barren:
			arm.Barren++
		case lost:
			arm.Lost++
		}
	}
	for _, per := range []string{PerInoculated, PerPicked} {
		figures := c.byArm(c.scale(per))
		for a, g := range figures {
			if !unweighed[a] {
				c.result.Arms[a].describe(per, g)
			}
		}
	}
	for a, g := range c.byArm(c.main) {
		if !unweighed[a] || c.primary != PerInoculated && c.primary != PerPicked {
			c.result.Arms[a].primary(g)
		}
	}
}

// byArm parts the figures of a scale by arm.
func (c *comparing) byArm(x scale) [][]float64 {
	out := make([][]float64, len(c.names))
	for k, i := range x.rows {
		out[c.arm[i]] = append(out[c.arm[i]], x.grams[k])
	}
	return out
}

func (a *ArmSummary) describe(per string, grams []float64) {
	mean, sd, cv := meanAndSpread(grams)
	if per == PerPicked {
		a.MeanPicked, a.SDPicked, a.CVPickedPct = mean, sd, cv
		return
	}
	a.MeanInoculated = mean
}

func (a *ArmSummary) primary(figures []float64) {
	a.Figures = len(figures)
	a.Mean, a.SD, a.CVPct = meanAndSpread(figures)
}

func meanAndSpread(x []float64) (mean, sd, cv *float64) {
	mean, sd = maybe(stats.Mean(x)), maybe(math.Sqrt(stats.Variance(x)))
	if mean != nil && sd != nil && *mean > 0 {
		cv = maybe(100 * *sd / *mean)
	}
	return mean, sd, cv
}

// settle finds the jars per arm that would settle the difference that matters,
// from the spread between jars and the mean that the ending is judged by, never
// from the difference seen.
func (c *comparing) settle() {
	if !c.outcome.means() {
		c.settleOrder()
		return
	}
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
	c.step("spread between "+c.unit.many+", pooled", "√(Σ(grams − mean of its arm and place)² / df)", spread, c.outcome.unit(), "df "+whole(df))
	c.step(c.unit.many+" an arm to settle "+plain(c.matters)+" %", "smallest n with power ≥ 0.8 at δ = matters · mean of "+brief(c.names[first[1]]), n, c.unit.many,
		"two-sided t test at 5 % over "+figure.Count(comparisons, "comparison", "comparisons")+", noncentral t with 2n − 2 df")
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
