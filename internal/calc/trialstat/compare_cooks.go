package trialstat

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/mixed"
	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// What a verdict over cooks takes.
const (
	// leastCooks is how many cooks must hold all arms of a comparison before it is
	// judged from cook to cook: two leave one degree of freedom, and an interval
	// twelve standard errors wide to either side.
	leastCooks = 3
	// leastModelDF is how many degrees of freedom cooks and arms must leave for the
	// way arms differ from cook to cook, before a model of it is worth its terms.
	leastModelDF = 5
	// mostModelCooks bounds the model; with more cooks one difference for each says
	// the same.
	mostModelCooks = 80
)

// The ways to judge from cook to cook.
const (
	PerCook    = "one_difference_per_cook"
	MixedModel = "mixed_model"
)

// OverCooks is a comparison judged from cook to cook: its value in a cook to come,
// in the unit of the result. Cooks are counted, not jars.
type OverCooks struct {
	Cooks  int    `json:"cooks"`  // that hold all arms of the comparison, 3 or more
	Method string `json:"method"` // one_difference_per_cook or mixed_model
	Why    string `json:"why"`    // that method
	Interval
	// With several comparisons, widened by Bonferroni's rule so that all hold together.
	JointLow  *float64 `json:"joint_low,omitempty"`
	JointHigh *float64 `json:"joint_high,omitempty"`
	Percent   Interval `json:"percent"` // of the control's mean as it was
	SE        *float64 `json:"se"`
	DF        *float64 `json:"df"`
	P         *float64 `json:"p"`
	// Spread is what the model finds between cooks and jars; nil without it.
	Spread *CookSpread `json:"spread"`
	// Other is the interval by the other way; nil if it is not fitted. It decides nothing.
	Other *Interval `json:"other"`
	// CooksToSettle is how many cooks like these, with as many jars, notice a
	// difference of matters_pct in 80 of 100 trials; nil above 200.
	CooksToSettle *int `json:"cooks_to_settle"`
}

// CookSpread is standard deviations, in the unit of the result. Those of a term
// that can not be told are nil.
type CookSpread struct {
	Cook      *float64 `json:"cook"`        // between cooks, whatever the arm
	CookByArm *float64 `json:"cook_by_arm"` // of one arm between cooks, beside that
	Mixing    *float64 `json:"mixing"`      // between mixings of one cook and arm
	Place     *float64 `json:"place"`       // between places in one cook
	Jar       *float64 `json:"jar"`         // between jars
}

// cookwise is a table taken apart by cook.
type cookwise struct {
	held   [][]bool        // by cook, then arm
	count  [][]int         // jars, by cook, then arm
	within []fitted        // by cook: arms within its places, nil without any
	plain  []fitted        // by cook: arms without regard to places
	model  *mixed.CooksFit // nil where cooks are too few, or it can not be fitted
	arms   int             // that have jars
	enough bool            // cooks and arms for a model
	shared bool            // some mixing served several cooks
}

// byCooks takes the table apart, once; not where jars are not what is counted.
func (c *comparing) byCooks() *cookwise {
	if c.apart == nil {
		c.apart = &cookwise{}
		if c.unit.factor == "" {
			c.takeApart(c.apart)
		}
	}
	return c.apart
}

func (c *comparing) takeApart(w *cookwise) {
	col := c.columnOf(factorCook)
	w.held, w.count = make([][]bool, len(col.levels)), make([][]int, len(col.levels))
	for k := range w.held {
		w.held[k], w.count[k] = make([]bool, len(c.names)), make([]int, len(c.names))
	}
	of := make([]scale, len(col.levels))
	for k, i := range c.main.rows {
		if at := col.codes[i]; at >= 0 {
			w.held[at][c.arm[i]] = true
			w.count[at][c.arm[i]]++
			of[at].rows, of[at].grams = append(of[at].rows, i), append(of[at].grams, c.main.grams[k])
		}
	}
	if len(of) < 2 || !c.outcome.means() {
		return
	}
	w.within, w.plain = make([]fitted, len(of)), make([]fitted, len(of))
	by := c.placesInCook()
	for at, x := range of {
		if len(by) > 0 {
			w.within[at], _ = c.fitted(x, by) // nil where its places can not carry it
		}
		w.plain[at], _ = c.fitted(x, nil)
	}
	var cooks int
	w.arms, cooks = w.armsAndCooks()
	w.shared = c.sharesMixings(col)
	if w.enough = cooks >= leastCooks && (w.arms-1)*(cooks-1) >= leastModelDF; w.enough && len(of) <= mostModelCooks {
		w.model, _ = mixed.FitCooks(c.cookJars(col)) // nil where spreads can not be told apart
	}
}

// byModel reports whether the model is asked for: with two arms, whose mixings are each
// of one cook, one difference for each cook says all that a model could.
func (w *cookwise) byModel() bool { return w.enough && (w.arms > 2 || w.shared) }

// sharesMixings reports whether a mixing served more than one cook, but not all of them.
func (c *comparing) sharesMixings(cook column) bool {
	mixing := c.columnOf(factorMixMade)
	in := make([]map[int]bool, len(mixing.levels))
	for _, i := range c.main.rows {
		made, at := mixing.codes[i], cook.codes[i]
		if made < 0 || at < 0 {
			continue
		}
		if in[made] == nil {
			in[made] = map[int]bool{}
		}
		in[made][at] = true
	}
	return slices.ContainsFunc(in, func(cooks map[int]bool) bool { return len(cooks) > 1 && len(cooks) < len(cook.levels) })
}

// armsAndCooks counts the arms that have jars, and the cooks that hold two of them.
func (w *cookwise) armsAndCooks() (arms, cooks int) {
	for arm := range w.held[0] {
		arms += yes(slices.ContainsFunc(w.held, func(held []bool) bool { return held[arm] }))
	}
	for _, held := range w.held {
		n := 0
		for _, in := range held {
			n += yes(in)
		}
		cooks += yes(n > 1)
	}
	return arms, cooks
}

func yes(b bool) int {
	if b {
		return 1
	}
	return 0
}

// placesInCook are the factors within which jars of one cook are compared.
func (c *comparing) placesInCook() []factor {
	var out []factor
	for _, f := range c.blockBy {
		if f.name != factorCook {
			out = append(out, f)
		}
	}
	return out
}

// cookJars are the rows of the model.
func (c *comparing) cookJars(cook column) []mixed.Jar {
	mixing, places := c.columnOf(factorMixMade), c.cells(c.placesInCook())
	var out []mixed.Jar
	for k, i := range c.main.rows {
		if at := cook.codes[i]; at >= 0 {
			made := mixing.codes[i]
			if made < 0 {
				made = len(mixing.levels) + at
			}
			out = append(out, mixed.Jar{Y: c.main.grams[k], Arm: c.arm[i], Cook: at, Mixing: made, Place: places[i]})
		}
	}
	return out
}

// values are those of a contrast of arms in each cook that holds all of them, within
// its places where these can carry it.
func (w *cookwise) values(weights []float64) []float64 {
	var out []float64
	for at, held := range w.held {
		if !holdsAll(held, weights) || w.plain == nil || w.plain[at] == nil {
			continue
		}
		for _, fit := range []fitted{w.within[at], w.plain[at]} {
			if fit == nil {
				continue
			}
			if v, err := fit.Value(weights); err == nil {
				out = append(out, v)
				break
			}
		}
	}
	return out
}

func holdsAll(held []bool, weights []float64) bool {
	for arm, x := range weights {
		if x != 0 && !held[arm] {
			return false
		}
	}
	return true
}

// overCooks judges a contrast of arms from cook to cook, one of several; nil where
// the design does not ask for it, or the jars do not allow it. control is the mean
// that per cent are of.
//
// Source: mixed.FitCooks, mixed.OnePerCook.
func (c *comparing) overCooks(weights []float64, control float64, several int) *OverCooks {
	w := c.byCooks()
	values := w.values(weights)
	if !c.outcome.means() || len(values) < leastCooks {
		return nil
	}
	effect, err := mixed.OnePerCook(values)
	out := &OverCooks{Cooks: len(values), Method: PerCook, Why: w.whyPlain(len(values))}
	if w.model != nil {
		if other, modelErr := w.model.Contrast(weights); modelErr == nil {
			out.Spread = w.spread()
			if w.byModel() {
				effect, other, err, modelErr = other, effect, nil, err
				out.Method, out.Why = MixedModel, w.whyModel(len(values))
			}
			if modelErr == nil {
				out.Other = intervalOf(other, confidence)
			}
		}
	}
	if err != nil {
		return nil
	}
	out.fill(effect, control, several)
	if x := out.Decides(); x.Value == nil || x.Low == nil || x.High == nil {
		return nil // beyond what a number holds
	}
	if control > 0 {
		out.CooksToSettle = cooksToSettle(c.matters/100*control, effect.SE*math.Sqrt(float64(len(values))), several)
	}
	return out
}

func intervalOf(e mixed.Effect, level float64) *Interval {
	low, high := e.Interval(level)
	return &Interval{maybe(e.Value), maybe(low), maybe(high)}
}

func (o *OverCooks) fill(e mixed.Effect, control float64, several int) {
	o.Interval = *intervalOf(e, confidence)
	o.SE, o.DF, o.P = maybe(e.SE), maybe(e.DF), maybe(e.P)
	wide := *intervalOf(e, 1-(1-confidence)/float64(several))
	if several > 1 {
		o.JointLow, o.JointHigh = wide.Low, wide.High
	}
	if control > 0 {
		o.Percent = o.Interval.times(100 / control)
	}
}

// times multiplies an interval by a number above 0.
func (x Interval) times(by float64) Interval {
	of := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		return maybe(*v * by)
	}
	return Interval{of(x.Value), of(x.Low), of(x.High)}
}

// Decides is the interval that the ending rests on.
func (o *OverCooks) Decides() Interval {
	if o.JointLow != nil && o.JointHigh != nil {
		return Interval{o.Value, o.JointLow, o.JointHigh}
	}
	return o.Interval
}

func (w *cookwise) whyPlain(cooks int) string {
	switch {
	case w.byModel():
		return "Taken as one difference for each cook: the spreads of a model could not be told apart in these jars."
	case w.arms > 2 || w.shared:
		return fmt.Sprintf("Taken as one difference for each cook: %d cooks are too few for a model of how they differ.", cooks)
	}
	return fmt.Sprintf("Taken as one difference for each of %d cooks: with two arms a model of the cooks says no more.", cooks)
}

func (w *cookwise) whyModel(cooks int) string {
	terms := []string{"cook", "cook by arm"}
	if w.model.Mixings {
		terms = append(terms, "mixing")
	}
	if w.model.Places {
		terms = append(terms, "place")
	}
	why := fmt.Sprintf("%d arms tell together how arms differ between cooks", w.arms)
	if w.arms == 2 {
		why = "a mixing served several cooks"
	}
	return fmt.Sprintf("Taken by a model of %d cooks in which %s vary at random (REML, degrees of freedom of Kenward and Roger), as %s.", cooks, listed(terms), why)
}

func (w *cookwise) spread() *CookSpread {
	sd := func(v float64, told bool) *float64 {
		if !told {
			return nil
		}
		return maybe(math.Sqrt(v))
	}
	m := w.model
	return &CookSpread{sd(m.Cook, true), sd(m.CookByArm, true), sd(m.Mixing, m.Mixings), sd(m.Place, m.Places), sd(m.Jar, true)}
}

// cooksToSettle is the fewest cooks that notice a difference in 80 of 100 trials, nil
// above 200. sd is that of one cook's difference.
func cooksToSettle(difference, sd float64, several int) *int {
	alpha := (1 - confidence) / float64(several)
	return leastOf(leastCooks, maxUnits, func(n int) bool {
		p, err := stats.PowerPairs(difference/sd, float64(n), alpha)
		return err == nil && p >= settlePower
	})
}

// against are the weights of the first arm of a pair less the second.
func (c *comparing) against(pair [2]int) []float64 {
	weights := make([]float64, len(c.names))
	weights[pair[0]], weights[pair[1]] = 1, -1
	return weights
}

// sayToSettle says how many cooks would tell the arms apart, if that is more than
// there were.
func (c *comparing) sayToSettle(o *OverCooks) string {
	if n := o.CooksToSettle; n != nil && *n > o.Cooks {
		return fmt.Sprintf("; about %d cooks with as many jars each would settle a difference of %s %%", *n, plain(c.matters))
	}
	return ""
}

// overCooks is what is said on a pair, with the figures from cook to cook.
func (e estimated) overCooks(o *OverCooks) estimated {
	x := o.Decides()
	e.value, e.joint.Low, e.joint.High = *x.Value, *x.Low, *x.High
	e.shared = Interval{}
	if e.control > 0 {
		e.shared = x.times(100 / e.control)
	}
	return e
}

func fromCookToCook(o *OverCooks) string {
	if o == nil {
		return ""
	}
	return " from cook to cook"
}

// inTheseCooks says what the jars of these cooks leave out, where cooks to come may
// show it.
func (c *comparing) inTheseCooks(e estimated) string {
	low, high := e.joint.Low, e.joint.High
	if !(low > 0 || high < 0) {
		return ""
	}
	return fmt.Sprintf(", though jar by jar in these cooks alone it is %s%s", span(low, high, decimalsFor(high-low, low, high)), c.outcome.gram())
}

// cautionCooks says where cooks to come may show what the jars of these leave out, and
// where the two ways to judge from cook to cook come to different ends.
func (c *comparing) cautionCooks() {
	for _, x := range c.result.Comparisons {
		o := x.ByCook
		if o == nil || x.Ending == Supported || !clear0(Interval{Low: x.Difference.Low, High: x.Difference.High}) {
			continue
		}
		c.doubt(figure.Care, "cook_to_cook", "From cook to cook it may differ",
			"Jar by jar %s − %s is %s%s in these %d cooks, from cook to cook anything from %s%s: a new cook may show no difference. That decides; more cooks say more than more jars.",
			brief(x.Arms[0]), brief(x.Arms[1]), spanOf(x.Difference.Low, x.Difference.High), c.outcome.gram(), o.Cooks, spanOf(o.Low, o.High), c.outcome.gram())
		break
	}
	for _, x := range c.result.Comparisons {
		if o := x.ByCook; o != nil && o.Other != nil && clear0(*o.Other) != clear0(o.Interval) {
			c.doubt(figure.Note, "ways_differ", "Two ways, two ends",
				"One difference for each cook gives %s%s for %s − %s, the model that decides %s%s. Where one of them leaves 0 out and the other does not, believe neither too much.",
				spanOf(o.Other.Low, o.Other.High), c.outcome.gram(), brief(x.Arms[0]), brief(x.Arms[1]), spanOf(o.Low, o.High), c.outcome.gram())
			break
		}
	}
}

// clear0 reports whether an interval leaves 0 out.
func clear0(x Interval) bool { return x.Low != nil && x.High != nil && (*x.Low > 0 || *x.High < 0) }

func spanOf(low, high *float64) string {
	return span(*low, *high, decimalsFor(*high-*low, *low, *high))
}

// explainCooks writes the working of what was judged from cook to cook.
func (c *comparing) explainCooks(o *OverCooks) {
	if o == nil {
		return
	}
	formula, source := "mean of one difference for each cook; s/√cooks", "Student (1908)"
	if o.Method == MixedModel {
		formula, source = "restricted maximum likelihood, cooks at random", "Patterson and Thompson (1971); Kenward and Roger (1997)"
	}
	unit := c.outcome.unit()
	c.step("cooks that hold both arms", "counted", o.Cooks, "cooks", "")
	c.step("difference from cook to cook", formula, o.Value, unit, source)
	c.step("its standard error", formula, o.SE, unit, source)
	c.step("its degrees of freedom", formula, o.DF, "", source)
	c.step("low end from cook to cook, 95 %", "difference − t·standard error", o.Low, unit, "")
	c.step("high end from cook to cook, 95 %", "difference + t·standard error", o.High, unit, "")
	if s := o.Spread; s != nil {
		c.step("spread between cooks", "√ variance of cook", s.Cook, unit, "")
		c.step("spread of an arm between cooks", "√ variance of cook by arm", s.CookByArm, unit, "")
		c.step("spread between jars", "√ residual variance", s.Jar, unit, "")
	}
}
