package trialstat

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/figure"
)

// refusal says why a comparison has no verdict. The zero value is none.
type refusal struct {
	kind  string
	rows  int           // jars still growing, or jars of the arm
	all   int           // jars in all
	jars  []int         // picked jars without a weight
	arm   int           // the arm that is too small
	alias *pairAliasing // the factor that moved with the arms
	zero  bool          // every jar gave 0 g
}

// Kinds of refusal, in the order in which they are looked for.
const (
	running   = "running"
	unweighed = "unweighed"
	aliased   = "aliased"
	few       = "few"
	flat      = "flat"
	thin      = "thin"
)

// end returns how a comparison ends, and says so in one sentence.
func (c *comparing) end(j judgement, out Comparison) (Ending, string) {
	b, a := brief(c.names[j.pair[0]]), brief(c.names[j.pair[1]])
	switch j.why.kind {
	case "":
		return c.verdict(j, out, b, a)
	case running:
		return Running, fmt.Sprintf("No verdict on %s and %s yet: %s still growing; the trial is judged when every jar is picked, barren or lost.",
			b, a, figure.Of(j.why.rows, j.why.all, "jar", "is", "are"))
	}
	return NoComparison, c.refuse(j, b, a)
}

// refuse says why there is no comparison.
func (c *comparing) refuse(j judgement, b, a string) string {
	not := fmt.Sprintf("%s and %s can not be compared: ", b, a)
	switch j.why.kind {
	case unweighed:
		var names []string
		for _, i := range j.why.jars {
			names = append(names, c.jars.jar(i))
		}
		without, mend := c.outcome.lacks()
		return not + fmt.Sprintf("%s picked without %s; %s, or correct the fate.", someOf(names)+wasWere(len(names)), without, mend)
	case aliased:
		return not + c.sayAliased(j.why.alias, b, a)
	case few:
		return fmt.Sprintf("%s and %s are described, not compared: %s has %s, and a verdict needs %d in each arm%s.",
			b, a, brief(c.names[j.why.arm]), c.thingsPer(j.why.rows), leastJars, c.unitNote())
	case flat:
		if j.why.zero {
			return not + fmt.Sprintf("no %s of either gave anything.", c.unit.word)
		}
		return not + fmt.Sprintf("within each arm every %s has the same %s, which leaves no spread to judge by; if a total was divided by the jars, weigh them one by one next time.", c.unit.word, c.outcome.figure())
	}
	return not + fmt.Sprintf("too few %s of both stood in the same %s to tell the arms from the place.", c.unit.many, listed(c.insideWords()))
}

// unitNote says what was counted in place of jars.
func (c *comparing) unitNote() string {
	if c.unit.factor == "" {
		return ""
	}
	return fmt.Sprintf("; the %s is the unit: %s, not %s", c.unit.word, c.things(len(c.rows)), jars(len(c.jars.rows)))
}

// insideWords are the words of what jars are compared within.
func (c *comparing) insideWords() []string {
	var out []string
	for _, f := range factors {
		if c.within(f.name) && f.name != factorOther {
			out = append(out, f.word)
		}
	}
	return out
}

func wasWere(n int) string {
	if n == 1 {
		return " was"
	}
	return " were"
}

// sayAliased says what moved with the arms, and how that is parted.
func (c *comparing) sayAliased(p *pairAliasing, b, a string) string {
	if len(p.with) > 0 {
		return fmt.Sprintf("%s changed with the arms, so that their effect would look exactly like a difference between %s and %s; next time, %s.", p.factor.word, b, a, p.Repair)
	}
	where := ""
	col := c.columnOf(p.factor.name)
	if at, on := c.levelsOfArm(col, p.pair[1]), c.levelsOfArm(col, p.pair[0]); len(at) == 1 && len(on) == 1 {
		where = fmt.Sprintf(" (%s: %s; %s: %s)", a, at[0], b, on[0])
	}
	return fmt.Sprintf("the %s changed with the arms%s, so a difference between %s would look exactly like one between the arms; next time, %s.",
		p.factor.word, where, p.factor.many, p.Repair)
}

// levelsOfArm names the levels of a factor that an arm's jars have.
func (c *comparing) levelsOfArm(col column, arm int) []string {
	var out []string
	seen := make([]bool, len(col.levels))
	for _, i := range c.main.rows {
		if k := col.codes[i]; c.arm[i] == arm && k >= 0 && !seen[k] {
			seen[k] = true
			out = append(out, brief(col.levels[k]))
		}
	}
	return out
}

// verdict judges by the one interval that the sentence prints.
func (c *comparing) verdict(j judgement, out Comparison, b, a string) (Ending, string) {
	switch {
	case c.outcome.share():
		return c.verdictOfShares(j, b, a)
	case c.outcome == ByScore:
		return c.verdictOfScores(j, b, a)
	}
	e, over := j.main, out.ByCook
	low, high, fits := e.joint.Low, e.joint.High, c.unit.many
	if over != nil {
		e = e.overCooks(over)
		low, high, fits = e.joint.Low, e.joint.High, "cooks"
	}
	margin := c.matters / 100 * e.control
	ending, small := c.ending(low, high, margin, e.control > 0)
	d := decimalsFor(high-low, low, high, e.value)
	unit := c.outcome.gram()
	interval := fmt.Sprintf("95 %% interval%s of %s%s%s%s", widened(j.several), span(low, high, d), unit, inPercent(e.shared, false), fromCookToCook(over))
	scope, tail := c.scope(j.pair), c.tail(j, b, a)+"."
	per := "per jar " + c.primary
	if c.outcome == ByCount {
		per = c.outcome.unit()
	}
	if ending == Supported {
		way, size := "more", e.shared
		if high < 0 {
			way = "less"
			size.Value = negated(size.Value)
		}
		return ending, fmt.Sprintf("%s gave %s%s%s %s %s than %s %s, and %s − %s has a %s%s%s",
			b, number(max(e.value, -e.value), d), unit, inPercent(size, true), way, per, a, scope, b, a, interval, small, tail)
	}
	was := fmt.Sprintf("%s − %s was %s%s%s %s", b, a, number(e.value, d), unit, inPercent(e.shared, true), per)
	if ending == Alike {
		return ending, fmt.Sprintf("%s and %s gave the same to within %s %% %s: %s, and its %s lies inside ±%s%s%s",
			b, a, plain(c.matters), scope, was, interval, number(margin, max(d, decimalsFor(margin))), unit, tail)
	}
	settle := c.toSettle(j)
	if over != nil {
		settle = c.inTheseCooks(j.main) + c.sayToSettle(over)
	}
	return ending, fmt.Sprintf("%s and %s could not be told apart %s: %s, and anything in its %s fits these %s%s%s",
		b, a, scope, was, interval, fits, settle, tail)
}

// ending is that of an interval, with a remark where what is supported does not
// matter. A margin that is not known is none.
func (c *comparing) ending(low, high, margin float64, known bool) (Ending, string) {
	within := known && low > -margin && high < margin
	switch {
	case (low > 0 || high < 0) && within:
		return Supported, fmt.Sprintf("; that is less than the %s %% that matter to you", plain(c.matters))
	case low > 0 || high < 0:
		return Supported, ""
	case within:
		return Alike, ""
	}
	return NotToldApart, ""
}

// toSettle says how many jars would tell the arms apart, if that is more than
// there were.
func (c *comparing) toSettle(j judgement) string {
	n := c.result.JarsToSettle
	if n == nil || *n <= min(c.jarsOf(j.pair[0]), c.jarsOf(j.pair[1])) {
		return ""
	}
	evenly := ""
	if slices.ContainsFunc(c.aliasing, func(p pairAliasing) bool { return p.pair == j.pair }) {
		evenly = ", spread evenly,"
	}
	return fmt.Sprintf("; about %s an arm%s would settle a difference of %s %s", c.things(*n), evenly, plain(c.matters), c.outcome.matter())
}

// inPercent writes the value of an interval, or its ends, in brackets.
func inPercent(x Interval, value bool) string {
	switch {
	case value && x.Value != nil:
		return " (" + percent(*x.Value) + ")"
	case !value && x.Low != nil && x.High != nil:
		return " (" + percentSpan(*x.Low, *x.High) + ")"
	}
	return ""
}

func negated(x *float64) *float64 {
	if x == nil {
		return nil
	}
	return maybe(-*x)
}

func widened(comparisons int) string {
	if comparisons < 2 {
		return ""
	}
	return fmt.Sprintf(", widened for %d comparisons,", comparisons)
}

// scope says over what the comparison was made.
func (c *comparing) scope(pair [2]int) string {
	return c.scopeOf(func(arm int) bool { return arm == pair[0] || arm == pair[1] })
}

func (c *comparing) scopeOf(of func(arm int) bool) string {
	cooks, makings := c.levelsOf(factorCook, of), c.levelsOf(factorMixMade, of)
	switch {
	case c.unit.factor != "" && c.unit.factor != factorCook:
		return "over " + c.things(len(c.rows))
	case cooks == 1:
		return "in this cook"
	case cooks == 0:
		return "in this trial"
	}
	over := "over"
	if cooks == 2 && c.unit.factor == "" {
		over = "in these"
	}
	if makings > 1 {
		return fmt.Sprintf("%s %d cooks and %d mixings", over, cooks, makings)
	}
	return fmt.Sprintf("%s %d cooks", over, cooks)
}

// tail adds what the reader must know in the same breath: an arm that was all
// lost, and several things that changed together.
func (c *comparing) tail(j judgement, b, a string) string {
	var out []string
	for k, arm := range j.pair {
		s := c.result.Arms[arm]
		if s.Lost == s.Inoculated {
			out = append(out, fmt.Sprintf("; all %s of %s were lost and count 0 g", jars(s.Lost), []string{b, a}[k]))
		}
	}
	out = append(out, c.unitNote())
	if things := c.together(j.pair); len(things) > 1 {
		out = append(out, fmt.Sprintf("; %s changed together, so this compares two packages and not one thing alone", listed(things)))
	}
	return strings.Join(out, "")
}

// together lists what the arms differ in: what was said, and what else among
// the things that arms can differ in moved fully with them.
func (c *comparing) together(pair [2]int) []string {
	if c.crossing {
		return nil
	}
	var out []string
	for _, f := range factors {
		said := c.differs(f.name)
		moved := slices.ContainsFunc(c.aliasing, func(p pairAliasing) bool {
			return p.pair == pair && p.full && p.factor.offers && p.factor.name == f.name
		})
		if said || moved {
			out = append(out, f.word)
		}
	}
	return out
}
