package trialstat

import (
	"errors"
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// Above says how many of 100 pairs of jars, one of either arm, the first is scored
// above the second, ties as half. 50 is no difference.
type Above struct {
	Interval
	JointLow  *float64 `json:"joint_low,omitempty"`
	JointHigh *float64 `json:"joint_high,omitempty"`
	// P is of Brunner and Munzel's test, nil where the arms do not overlap. PExact is
	// that of Wilcoxon, Mann and Whitney, ties counted, over all ways to deal the scores.
	P      *float64 `json:"p"`
	PExact *float64 `json:"p_exact"`
}

// Shift is the shifts of one arm that the lot does not rule out at 95 %. Both ends
// are nil where there are none, and Sentence says why.
type Shift struct {
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
	Sentence string   `json:"sentence"`
}

// CountRate is the ratio of two mean counts by a log-linear model within places,
// whose spread is so many times that of Poisson counts.
type CountRate struct {
	Ratio
	Spread float64 `json:"spread"`
}

// mostShift is how many jars of two arms the shifts are searched for.
const mostShift = 60

// shift inverts the permutation test of two arms that no place divides.
//
// Source: stats.PermutationShift.
func (c *comparing) shift(pair [2]int) *Shift {
	of := c.samples(pair)
	if len(c.blockBy) > 0 || len(of[0])+len(of[1]) > mostShift {
		return nil
	}
	low, high, err := stats.PermutationShift(of[0], of[1], confidence)
	switch {
	case errors.Is(err, stats.ErrUnbounded):
		return &Shift{Sentence: "By lot alone no shift can be ruled out at 95 %: there are too few ways to deal so few " + c.unit.many + "."}
	case err != nil:
		return nil
	}
	d := decimalsFor(high-low, low, high)
	return &Shift{maybe(low), maybe(high), fmt.Sprintf("By lot alone, shifts from %s%s are not ruled out at 95 %%.", span(low, high, d), c.outcome.gram())}
}

// samples are the figures of two arms, the control's first.
func (c *comparing) samples(pair [2]int) (of [2][]float64) {
	_, figures, arm := c.of(c.main, pair)
	for k, g := range figures {
		of[arm[k]] = append(of[arm[k]], g)
	}
	return of
}

// bootstrapDraws are resamples of an interval of some hundred jars: some 10 ms.
const (
	bootstrapDraws = 4000
	mostBootstrap  = 400
)

// bootstrap resamples two arms that no place divides; nil below 15 jars an arm, where
// such an interval is too narrow. Source: stats.Bootstrap.
func (c *comparing) bootstrap(pair [2]int) *Interval {
	of := c.samples(pair)
	if len(c.blockBy) > 0 || len(of[0])+len(of[1]) > mostBootstrap {
		return nil
	}
	diff, low, high, err := stats.Bootstrap(of[0], of[1], confidence, bootstrapDraws, c.seed)
	if err != nil {
		return nil
	}
	return &Interval{maybe(diff), maybe(low), maybe(high)}
}

// counts is the ratio of mean counts, nil for other outcomes and where an arm
// counts 0 throughout.
func (c *comparing) counts(pair [2]int) *CountRate {
	if c.outcome != ByCount {
		return nil
	}
	arm := make([]int, len(c.main.rows))
	for k, i := range c.main.rows {
		arm[k] = c.arm[i]
	}
	e, err := stats.QuasiPoisson(c.main.grams, arm, c.placesOf(c.main.rows), len(c.names), pair[1], pair[0], confidence)
	if err != nil {
		return nil
	}
	return &CountRate{Ratio{Interval{maybe(math.Exp(e.Value)), maybe(math.Exp(e.Low)), maybe(math.Exp(e.High))}, maybe(e.P)}, e.Spread}
}

// sharesOf compares two shares in points of a hundred jars; of whole units, their
// means are compared. Source: Newcombe (1998), method 10.
func (c *comparing) sharesOf(pair [2]int, level float64) estimated {
	if c.unit.factor != "" {
		fit, _ := c.fitted(c.main, nil)
		return c.estimate(fit, c.main, pair, level)
	}
	x1, n1 := c.didOf(pair[0])
	x0, n0 := c.didOf(pair[1])
	e := estimated{control: 100 * float64(x0) / float64(n0)}
	var d float64
	if d, e.plain.Low, e.plain.High, e.err = stats.Newcombe(x1, n1, x0, n0, confidence); e.err != nil {
		return e
	}
	_, e.joint.Low, e.joint.High, e.err = stats.Newcombe(x1, n1, x0, n0, level)
	e.value = 100 * d
	for _, x := range []*float64{&e.plain.Low, &e.plain.High, &e.joint.Low, &e.joint.High} {
		*x *= 100
	}
	e.plain.P = math.NaN()
	return e
}

// didOf counts the jars of an arm that did, of those that count.
func (c *comparing) didOf(arm int) (did, of int) {
	for k, i := range c.main.rows {
		if c.arm[i] == arm {
			of++
			if c.main.grams[k] > 0 {
				did++
			}
		}
	}
	return did, of
}

// orderOf compares two arms by the order of their scores. Source: stats.Superior.
func (c *comparing) orderOf(pair [2]int, level float64) estimated {
	of := c.samples(pair)
	s, err := stats.Superior(of[0], of[1], confidence)
	if err != nil {
		return estimated{err: err}
	}
	wide, err := stats.Superior(of[0], of[1], level)
	if err != nil {
		return estimated{err: err}
	}
	e := estimated{value: 100*s.Value - 50, control: math.NaN(), above: &Above{Interval: hundredfold(s.Value, s.Low, s.High), P: maybe(s.P)}}
	e.joint.Low, e.joint.High = 100*wide.Low-50, 100*wide.High-50
	e.above.JointLow, e.above.JointHigh = maybe(100*wide.Low), maybe(100*wide.High)
	if test, err := stats.MannWhitney(of[0], of[1]); err == nil {
		e.above.PExact = maybe(test.P)
	}
	return e
}

func hundredfold(value, low, high float64) Interval {
	return Interval{maybe(100 * value), maybe(100 * low), maybe(100 * high)}
}

// fillInOrder puts the figures of scores in place: only how often one lies above
// the other where arms are small, no p while jars are growing.
func (c *comparing) fillInOrder(out *Comparison, j judgement) {
	if j.main.err != nil {
		return
	}
	a := *j.main.above
	if j.several < 2 {
		a.JointLow, a.JointHigh = nil, nil
	}
	if j.why.kind == few {
		a = Above{Interval: Interval{Value: a.Value}}
	}
	if j.why.kind != "" {
		a.P, a.PExact = nil, nil
	}
	out.Above, out.Difference.PRandomisation = &a, a.PExact
	if j.why.kind == "" {
		if p := c.rankedByLot(j.pair); p != nil {
			out.Difference.PRandomisation = p
		}
	}
}

// verdictOfShares says what two shares come to.
func (c *comparing) verdictOfShares(j judgement, b, a string) (Ending, string) {
	e := j.main
	low, high := e.joint.Low, e.joint.High
	ending, small := c.ending(low, high, c.matters, true)
	d := clearOfZero(0, low, high, e.value)
	counts := c.sayShares(j.pair, b, a)
	scope, tail := c.scope(j.pair), c.tail(j, b, a)+"."
	interval := fmt.Sprintf("95 %% interval%s of %s points", widened(j.several), span(low, high, d))
	switch ending {
	case Supported:
		way := "more"
		if high < 0 {
			way = "fewer"
		}
		return ending, fmt.Sprintf("%s of %s %s than of %s %s: %s, and %s − %s has a %s%s%s", capitalWord(way), b, c.outcome.did(), a, scope, counts, b, a, interval, small, tail)
	case Alike:
		return ending, fmt.Sprintf("%s and %s %s alike to within %s points %s: %s, and %s − %s has a %s%s", b, a, c.outcome.did(), plain(c.matters), scope, counts, b, a, interval, tail)
	}
	return ending, fmt.Sprintf("%s and %s could not be told apart by how many %s %s: %s, and anything in the %s of %s − %s fits these %s%s%s",
		b, a, c.outcome.did(), scope, counts, interval, b, a, c.unit.many, c.toSettle(j), tail)
}

// sayShares counts what the shares are of.
func (c *comparing) sayShares(pair [2]int, b, a string) string {
	if c.unit.factor != "" {
		return fmt.Sprintf("%s of the jars and %s", percent(c.plainMean(pair[0])), percent(c.plainMean(pair[1])))
	}
	xb, nb := c.didOf(pair[0])
	xa, na := c.didOf(pair[1])
	return fmt.Sprintf("%d of %d of %s and %d of %d of %s", xb, nb, b, xa, na, a)
}

// verdictOfScores says what the order of scores comes to.
func (c *comparing) verdictOfScores(j judgement, b, a string) (Ending, string) {
	e := j.main
	low, high := e.joint.Low, e.joint.High
	ending, small := c.ending(low, high, c.matters/2, true)
	scope, tail := c.scope(j.pair), c.tail(j, b, a)+"."
	d := clearOfZero(0, e.value)
	pairs := fmt.Sprintf("in %s of 100 pairs a %s of %s scores above one of %s, ties as half, with a 95 %% interval%s of %s", number(50+e.value, d), c.unit.word, b, a, widened(j.several), span(50+low, 50+high, 0))
	switch ending {
	case Supported:
		way := "above"
		if high < 0 {
			way = "below"
		}
		return ending, fmt.Sprintf("%s scored %s %s %s: %s%s%s", b, way, a, scope, pairs, small, tail)
	case Alike:
		return ending, fmt.Sprintf("%s and %s scored the same to within %s points of a hundred pairs %s: %s%s", b, a, plain(c.matters), scope, pairs, tail)
	}
	return ending, fmt.Sprintf("%s and %s could not be told apart by their scores %s: %s%s%s", b, a, scope, pairs, c.toSettle(j), tail)
}

// settleOrder finds the jars an arm that would settle the difference that matters
// between shares or scores.
//
// Source: shares by the normal approximation with the control's share, Fleiss
// (1981) chapter 3; scores, Noether, J. Am. Stat. Assoc. 82 (1987) 645-647 (both from
// memory).
func (c *comparing) settleOrder() {
	alpha := (1 - confidence) / float64(len(c.pairs()))
	z := stats.NormalQuantile(1-alpha/2) + stats.NormalQuantile(settlePower)
	apart := c.matters / 100
	n := z * z / (6 * apart * apart / 4)
	formula := "z²/(6(matters/200)²), Noether (1987)"
	if c.outcome.share() {
		p := c.plainMean(c.pairs()[0][1]) / 100
		if math.IsNaN(p) {
			return
		}
		q := p - apart
		if q < 0 {
			q = math.Min(1, p+apart)
		}
		n, formula = z*z*(p*(1-p)+q*(1-q))/(apart*apart), "z²(p(1 − p) + q(1 − q))/matters², q = p ∓ matters"
	}
	if !(n >= 1 && n < maxJars) {
		return
	}
	jars := int(math.Ceil(n))
	c.result.JarsToSettle = &jars
	c.step(c.unit.many+" an arm to settle "+plain(c.matters)+" "+c.outcome.matter(), formula, jars, c.unit.many, "")
}

// cautionOutcome is about how shares, counts and scores are taken.
func (c *comparing) cautionOutcome() {
	c.cautionPlacesOfOrder()
	if missing := len(c.rows) - len(c.main.rows); c.outcome == ByScore && missing > 0 {
		c.doubt(figure.Care, "no_score", "Without a score", "%s without a score and are in no pair. If they were lost for a reason that has to do with the arm, look at the shares too.", wasWithout(missing, c))
	}
}

func wasWithout(n int, c *comparing) string {
	if n == 1 {
		return "1 " + c.unit.word + " is"
	}
	return c.things(n) + " are"
}
