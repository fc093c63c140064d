package trialstat

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// compareAll fills in the comparisons, then what holds over several of them.
func (c *comparing) compareAll() {
	pairs := c.pairs()
	main, _ := c.fitted(c.main, c.blockBy)
	beside, _ := c.fitted(c.beside, c.blockBy)
	var judged []judgement
	for _, pair := range pairs {
		j := judgement{pair: pair, several: len(pairs)}
		out := Comparison{Arms: c.armNames(pair), Per: c.primary, Aliased: []string{}, EachCook: []CookApart{}}
		for _, p := range c.aliasing {
			if p.pair == pair && p.full && !c.manyMakings(p) {
				out.Aliased = append(out.Aliased, p.Factor)
			}
		}
		if main != nil {
			out.Efficiency = tidy(main.Efficiency(pair[1], pair[0]))
		}
		j.why = c.whyNot(pair)
		if j.why.alias == nil {
			j.main = c.estimated(main, pair, len(pairs))
			if j.why.kind == "" {
				j.why = j.main.whyNot(c, pair)
			}
			c.fillIn(&out, j, beside)
			c.shares(&out, pair)
			if j.why.kind != running && j.why.kind != unweighed {
				out.EachCook = c.eachCook(c.against(pair))
			}
		} else {
			out.Efficiency = 0
		}
		judged = append(judged, j)
		c.result.Comparisons = append(c.result.Comparisons, out)
	}
	if len(pairs) > 1 {
		holm(c.result.Comparisons)
		c.commonSpread()
	}
	for k := range c.result.Comparisons {
		out := &c.result.Comparisons[k]
		out.Ending, out.Sentence = c.end(judged[k], *out)
	}
	first := c.result.Comparisons[0]
	c.result.Efficiency, c.result.Ending, c.result.Sentence = first.Efficiency, first.Ending, first.Sentence
	if n := len(pairs) - 1; n > 0 {
		c.result.Sentence = strings.TrimSuffix(first.Sentence, ".") + "; " + figure.Count(n, "more comparison is", "more comparisons are") + " listed."
	}
	c.explain(judged[0], first)
}

// estimated compares two arms on the primary, by the method of its outcome.
func (c *comparing) estimated(fit fitted, pair [2]int, several int) estimated {
	bonferroni := 1 - (1-confidence)/float64(several)
	switch {
	case c.outcome.share():
		return c.sharesOf(pair, bonferroni)
	case c.outcome == ByScore:
		return c.orderOf(pair, bonferroni)
	}
	return c.estimate(fit, c.main, pair, c.jointLevel(fit, pair, several))
}

// leastJoint is how many jars each arm needs for the methods of Games and Howell
// and of Hasler and Hothorn, which are too bold with fewer (from memory).
const leastJoint = 6

// jointLevel is the level of the t interval of one pair at which the intervals
// of all pairs hold together with 95 %.
//
// Each arm keeps a spread of its own, so for all pairs of arms that no place
// divides the level is that of Games and Howell, and against a control that of
// Dunnett's method as Hasler and Hothorn put it, within places too: both take the
// variance and degrees of freedom that a plain comparison has already. Else it is
// Bonferroni's.
func (c *comparing) jointLevel(fit fitted, pair [2]int, several int) float64 {
	level := 1 - (1-confidence)/float64(several)
	method := c.jointMethod()
	if fit == nil || method == byBonferroni {
		return level
	}
	e, err := fit.Difference(pair[1], pair[0], confidence)
	if err != nil {
		return level
	}
	joint := math.NaN()
	if method == byGamesHowell {
		q := rangeQuantile(len(c.names), e.DF, math.Sqrt2*stats.TQuantile((1+level)/2, e.DF))
		joint = 1 - 2*stats.TUpper(q/math.Sqrt2, e.DF)
	} else if loads := c.loads(fit); loads != nil {
		joint = 1 - 2*stats.TUpper(stats.ManyToOneQuantile(confidence, loads, e.DF), e.DF)
	}
	if joint > confidence && joint < level {
		return joint
	}
	return level
}

// loads are those of all arms against the control, nil if they can not be said.
func (c *comparing) loads(fit fitted) []float64 {
	var arms []int
	for _, pair := range c.pairs() {
		arms = append(arms, pair[0])
	}
	loads, err := fit.Loads(c.control, arms)
	if err != nil {
		return nil
	}
	return loads
}

// rangeQuantile is the studentized range that k means exceed in 5 % of cases, by
// secants from a start that is close. It is NaN if they do not settle. A search
// that knows no start takes twenty times as long, for each of up to 66 pairs.
func rangeQuantile(k int, df, start float64) float64 {
	off := func(q float64) float64 {
		return math.Log(stats.StudentizedRangeUpper(q, k, df) / (1 - confidence))
	}
	a, b := start, 0.97*start
	fa, fb := off(a), off(b)
	for range 20 {
		next := b - fb*(b-a)/(fb-fa)
		if math.Abs(next-b) < 1e-6*b { // the step after it is far smaller
			return next
		}
		a, fa = b, fb
		b, fb = next, off(next)
	}
	return math.NaN()
}

// The methods of the joint interval, as the working names them.
const (
	byGamesHowell = "Games and Howell (1976)"
	byHothorn     = "Dunnett (1955) with each arm's own spread, Hasler and Hothorn (2008)"
	byBonferroni  = "Bonferroni"
)

// jointMethod names the method of the joint interval. It follows from the plan
// and the number of jars alone, never from what they weigh.
func (c *comparing) jointMethod() string {
	if len(c.names) < 3 || !c.outcome.means() || c.control < 0 && len(c.blockBy) > 0 {
		return byBonferroni
	}
	for arm := range c.names {
		if c.jarsOf(arm) < leastJoint {
			return byBonferroni
		}
	}
	if c.control >= 0 {
		return byHothorn
	}
	return byGamesHowell
}

// commonSpread fills in Dunnett's interval with one spread for all arms, where no
// place divides them: printed beside, it decides nothing.
func (c *comparing) commonSpread() {
	if c.jointMethod() != byHothorn || len(c.blockBy) > 0 {
		return
	}
	groups := make([][]float64, len(c.names))
	for k, i := range c.main.rows {
		groups[c.arm[i]] = append(groups[c.arm[i]], c.main.grams[k])
	}
	all, err := stats.Dunnett(groups, c.control, confidence)
	if err != nil {
		return
	}
	for k, d := range all { // both in the order of arms, the control left out
		if x := &c.result.Comparisons[k]; x.Difference.PWelch != nil {
			x.CommonSpread = &CommonSpread{Low: d.Low, High: d.High, P: d.P}
		}
	}
}

// tidy takes the rounding out of an efficiency that is 1.
func tidy(e float64) float64 {
	if math.Abs(e-1) < 1e-12 {
		return 1
	}
	return e
}

// judgement is a comparison on its way to its sentence.
type judgement struct {
	pair    [2]int
	several int // comparisons in all
	main    estimated
	why     refusal
}

// estimated is what one scale says on one pair.
type estimated struct {
	err     error
	value   float64
	control float64 // the control's mean, adjusted as the difference is
	plain   stats.Estimate
	joint   stats.Estimate // at the level of all comparisons together
	percent Interval       // at 95 %
	shared  Interval       // percent at the joint level
	above   *Above         // of scores
}

// estimate compares two arms on one scale.
func (c *comparing) estimate(fit fitted, x scale, pair [2]int, level float64) estimated {
	if fit == nil {
		return estimated{err: stats.ErrFew}
	}
	var e estimated
	e.plain, e.err = fit.Difference(pair[1], pair[0], confidence)
	if e.err != nil {
		e.roughly(x, c.sheet, pair)
		return e
	}
	e.joint, _ = fit.Difference(pair[1], pair[0], level)
	e.value = e.plain.Value
	mb, ma, vb, va, cov, err := fit.PairMeans(pair[1], pair[0])
	if err != nil {
		e.control = math.NaN()
		return e
	}
	e.control = ma
	e.percent = asPercent(stats.Fieller(mb, ma, vb, va, cov, e.plain.DF, confidence))
	e.shared = asPercent(stats.Fieller(mb, ma, vb, va, cov, e.plain.DF, level))
	if e.percent.Value == nil && ma > 0 {
		e.percent.Value = maybe(100 * (mb - ma) / ma)
		e.shared.Value = e.percent.Value
	}
	return e
}

// roughly takes the plain means where there is no interval.
func (e *estimated) roughly(x scale, s *sheet, pair [2]int) {
	_, grams, arm := s.of(x, pair)
	var of [2][]float64
	for k, g := range grams {
		of[arm[k]] = append(of[arm[k]], g)
	}
	e.control = stats.Mean(of[0])
	e.value = stats.Mean(of[1]) - e.control
	if e.control > 0 {
		e.percent.Value = maybe(100 * e.value / e.control)
	}
}

func asPercent(ratio, low, high float64, err error) Interval {
	if err != nil {
		return Interval{}
	}
	return Interval{maybe(100 * (ratio - 1)), maybe(100 * (low - 1)), maybe(100 * (high - 1))}
}

// fillIn puts the figures of a comparison in place, as far as they can be said:
// only the value where arms are too small, no p while jars are growing.
func (c *comparing) fillIn(out *Comparison, j judgement, beside fitted) {
	if j.why.kind == unweighed {
		return
	}
	e := j.main
	if c.outcome == ByScore {
		c.fillInOrder(out, j)
		return
	}
	out.Difference.Value, out.Difference.Pct = maybe(e.value), e.percent.Value
	out.Percent.Value = e.percent.Value
	if e.err != nil || j.why.kind == few {
		return
	}
	out.Percent = e.percent
	out.Difference.Low, out.Difference.High = maybe(e.plain.Low), maybe(e.plain.High)
	if j.several > 1 {
		out.Difference.JointLow, out.Difference.JointHigh = maybe(e.joint.Low), maybe(e.joint.High)
	}
	if also := c.estimate(beside, c.beside, j.pair, confidence); also.err == nil {
		out.Also = &Beside{Per: c.beside.per, Percent: also.percent}
		out.Also.Difference = Difference{
			Value: maybe(also.value), Pct: also.percent.Value,
			Low: maybe(also.plain.Low), High: maybe(also.plain.High), PWelch: maybe(also.plain.P),
		}
	}
	c.fillInTests(out, j)
}

// fillInTests puts in what stands beside the interval, once no jar is growing.
func (c *comparing) fillInTests(out *Comparison, j judgement) {
	if j.why.kind == running {
		if out.Also != nil {
			out.Also.Difference.PWelch = nil
		}
		return
	}
	out.Difference.PRandomisation = c.randomised(j.pair)
	if !c.outcome.means() {
		out.WithinPlaces = c.shareWithin(j.pair)
		return
	}
	out.Difference.PWelch = maybe(j.main.plain.P)
	out.Ratio = c.ratio(j.pair)
	out.Shift, out.Bootstrap = c.shift(j.pair), c.bootstrap(j.pair)
	out.Counts = c.counts(j.pair)
	out.ByCook = c.overCooks(c.against(j.pair), j.main.control, j.several)
}

// ratio compares the logarithms of picked jars, nil where a zero is in.
func (c *comparing) ratio(pair [2]int) *Ratio {
	x := c.scale(PerPicked)
	logs := scale{per: x.per}
	for k, g := range x.grams {
		in := c.arm[x.rows[k]] == pair[0] || c.arm[x.rows[k]] == pair[1]
		if in && !(g > 0) {
			return nil
		}
		if g > 0 {
			logs.rows, logs.grams = append(logs.rows, x.rows[k]), append(logs.grams, math.Log(g))
		}
	}
	fit, err := c.fitted(logs, c.blockBy)
	if err != nil {
		return nil
	}
	e, err := fit.Difference(pair[1], pair[0], confidence)
	if err != nil {
		return nil
	}
	return &Ratio{Interval{maybe(math.Exp(e.Value)), maybe(math.Exp(e.Low)), maybe(math.Exp(e.High))}, maybe(e.P)}
}

// holm fills in Holm's p over all comparisons that have one.
func holm(all []Comparison) {
	var order []int
	for k, x := range all {
		if x.Difference.PWelch != nil {
			order = append(order, k)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Compare(*all[i].Difference.PWelch, *all[j].Difference.PWelch)
	})
	top := 0.0
	for rank, k := range order {
		top = max(top, min(1, float64(len(order)-rank)**all[k].Difference.PWelch))
		all[k].Difference.PHolm = maybe(top)
	}
}

// whyNot names what stands against a verdict before any figure is looked at.
func (c *comparing) whyNot(pair [2]int) refusal {
	still := 0
	var bare []int
	for i, f := range c.jars.fates {
		if f == growing { // of any arm: a trial is judged once
			still++
		}
		if arm := c.jars.arm[i]; f == picked && math.IsNaN(c.jars.figure(i, c.primary)) && (arm == pair[0] || arm == pair[1]) {
			bare = append(bare, i)
		}
	}
	switch {
	case still > 0:
		return refusal{kind: running, rows: still, all: len(c.jars.rows), alias: c.refusedBy(pair)}
	case len(bare) > 0:
		return refusal{kind: unweighed, jars: bare}
	}
	if p := c.refusedBy(pair); p != nil {
		return refusal{kind: aliased, alias: p}
	}
	for _, arm := range pair {
		if n := c.jarsOf(arm); n < leastJars {
			return refusal{kind: few, arm: arm, rows: n}
		}
	}
	return refusal{}
}

// whyNot names why a pair has no interval.
func (e estimated) whyNot(c *comparing, pair [2]int) refusal {
	switch {
	case e.err == nil:
		return refusal{}
	case errors.Is(e.err, stats.ErrFlat):
		zero := e.control == 0 && e.value == 0
		return refusal{kind: flat, zero: zero}
	}
	return refusal{kind: thin}
}
