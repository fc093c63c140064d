package trialstat

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// ArmFigures is an arm known by its figures only, such as those of a paper.
type ArmFigures struct {
	Name  Label    `json:"name" jsonschema:"name of the arm"`
	N     int      `json:"n" jsonschema:"jars that the figures are of"`
	Mean  *float64 `json:"mean,omitempty" jsonschema:"mean of the jars, g; left out where a total is given"`
	SD    *float64 `json:"sd,omitempty" jsonschema:"standard deviation between jars, g, not the error of the mean; left out, nothing can be compared"`
	Total *float64 `json:"total,omitempty" jsonschema:"grams of all jars together, in place of a mean"`
}

// compareSummaries judges arms that are known by means and spreads, as far as they
// allow: Welch's interval and nothing about losses, places or the lot.
//
// Source: Welch (1947); Fieller (1954); Bonferroni for several comparisons; Fisher's and
// Welch's analysis of variance in the working.
func compareSummaries(in CompareInput) (figure.Answer[CompareResult], error) {
	c, of, err := newSummaries(in)
	if err != nil {
		return figure.Answer[CompareResult]{}, err
	}
	pairs := c.pairs()
	c.settleSummaries(of, len(pairs))
	for _, pair := range pairs {
		c.result.Comparisons = append(c.result.Comparisons, c.compareFigures(of, pair, len(pairs)))
	}
	if len(pairs) > 1 {
		holm(c.result.Comparisons)
	}
	first := c.result.Comparisons[0]
	c.result.Efficiency, c.result.Ending, c.result.Sentence = 1, first.Ending, first.Sentence
	if n := len(pairs) - 1; n > 0 {
		c.result.Sentence = strings.TrimSuffix(first.Sentence, ".") + "; " + figure.Count(n, "more comparison is", "more comparisons are") + " listed."
	}
	c.overall(of)
	c.doubt(figure.Care, "figures_only", "From figures only",
		"This rests on means and spreads as they were given, not on jars: what was lost, where jars stood and whether they were placed by lot can not be checked. Make sure that the spread is that between jars, not the error of the mean, which is smaller by the root of their number.")
	return c.answer(), nil
}

func newSummaries(in CompareInput) (*comparing, []stats.Summary, error) {
	if len(in.Rows) > 0 {
		return nil, nil, figure.Faultf("arms", "give jars or figures of arms, not both", "the input has %d jars and the figures of %d arms", len(in.Rows), len(in.Arms))
	}
	if n := len(in.Arms); n < minArms || n > maxArms {
		return nil, nil, figure.Faultf("arms", "give the figures of 2 to 12 arms", "the figures of %s are given", figure.Count(n, "arm", "arms"))
	}
	arms := slices.Clone(in.Arms)
	slices.SortStableFunc(arms, func(a, b ArmFigures) int { return strings.Compare(a.Name.Trimmed(), b.Name.Trimmed()) })
	s := &sheet{control: -1}
	var of []stats.Summary
	for i, a := range arms {
		name := a.Name.Trimmed()
		sum, err := a.summary(name)
		if err != nil {
			return nil, nil, err
		}
		if name == "" || i > 0 && name == s.names[i-1] {
			return nil, nil, figure.Faultf("arms", "give each arm a name of its own", "two arms are called %q, or one has no name", brief(name))
		}
		if name == in.Control.Trimmed() {
			s.control = i
		}
		s.names, of = append(s.names, name), append(of, sum)
	}
	if in.Control.Trimmed() != "" && s.control < 0 {
		return nil, nil, figure.Faultf("control", "write one of the arms: "+listed(short(s.names)), "no figures are of arm %q", brief(in.Control.Trimmed()))
	}
	c := &comparing{sheet: s, jars: s, unit: aJar, matters: 20, cautions: []figure.Caution{}, working: []figure.Step{}}
	if err := c.ask(in); err != nil {
		return nil, nil, err
	}
	if !c.outcome.means() {
		return nil, nil, figure.Faultf("primary", "give one row for each jar, or use the calculator yields for totals", "shares and scores can not be judged from means and spreads")
	}
	for _, f := range factors {
		c.columns = append(c.columns, c.column(f))
	}
	c.result = CompareResult{
		Arms: []ArmSummary{}, Aliased: []string{}, PartlyAliased: []Aliasing{}, BlockBy: []string{}, Comparisons: []Comparison{}, Trends: []Trend{}, Interactions: []Interaction{},
		Unit: c.outcome.unit(), MattersPct: c.matters, Differ: append([]string{}, in.ArmsDifferIn...), Figures: true,
	}
	c.describeFigures(of)
	return c, of, nil
}

// summary reads the figures of one arm; an SD that is not given is NaN.
func (a ArmFigures) summary(name string) (stats.Summary, error) {
	s := stats.Summary{N: a.N, Mean: orNaN(a.Mean), SD: orNaN(a.SD)}
	if a.Mean == nil && a.Total != nil && a.N > 0 {
		s.Mean = *a.Total / float64(a.N)
	}
	switch {
	case a.N < 1 || a.N > maxJars:
		return s, figure.Faultf("arms", "write how many jars the figures are of, 1 to 100000", "%s is of %d jars", brief(name), a.N)
	case !(s.Mean >= 0 && s.Mean <= maxGrams):
		return s, figure.Faultf("arms", "write the mean or the total in grams, 0 or more", "%s has no mean and no total that can be read", brief(name))
	case a.SD != nil && !(s.SD >= 0 && s.SD <= maxGrams):
		return s, figure.Faultf("arms", "write the standard deviation in grams, 0 or more, or leave it out", "%s has a spread of %s g", brief(name), plain(s.SD))
	}
	return s, nil
}

func (c *comparing) describeFigures(of []stats.Summary) {
	for i, s := range of {
		a := ArmSummary{Name: c.names[i], Inoculated: s.N, Figures: s.N, Mean: maybe(s.Mean), SD: maybe(s.SD)}
		if s.Mean > 0 {
			a.CVPct = maybe(100 * s.SD / s.Mean)
		}
		switch c.primary {
		case PerInoculated:
			a.MeanInoculated = a.Mean
		case PerPicked:
			a.MeanPicked, a.Picked = a.Mean, s.N
		}
		c.result.Arms = append(c.result.Arms, a)
	}
}

// settleSummaries finds the jars that would settle the difference that matters.
func (c *comparing) settleSummaries(of []stats.Summary, several int) {
	squares, df := 0.0, 0
	for _, s := range of {
		if s.N > 1 && !math.IsNaN(s.SD) {
			squares += float64(s.N-1) * s.SD * s.SD
			df += s.N - 1
		}
	}
	mean := of[c.pairs()[0][1]].Mean
	if df < 4 || !(squares > 0 && mean > 0) {
		return
	}
	spread := math.Sqrt(squares / float64(df))
	if n := jarsNeeded(c.matters/100*mean/spread, (1-confidence)/float64(several), settlePower, 1); n > 0 {
		c.result.JarsToSettle = &n
	}
	c.step("spread between jars, pooled", "√(Σ(n − 1)·SD² / Σ(n − 1))", spread, c.outcome.unit(), "df "+whole(df))
}

func (c *comparing) compareFigures(of []stats.Summary, pair [2]int, several int) Comparison {
	b, a := of[pair[0]], of[pair[1]]
	out := Comparison{Arms: c.armNames(pair), Per: c.primary, Aliased: []string{}, Efficiency: 1}
	j := judgement{pair: pair, several: several, main: estimated{value: b.Mean - a.Mean, control: a.Mean}}
	if a.Mean > 0 {
		j.main.percent.Value = maybe(100 * (b.Mean - a.Mean) / a.Mean)
	}
	out.Difference.Value, out.Difference.Pct, out.Percent.Value = maybe(j.main.value), j.main.percent.Value, j.main.percent.Value
	out.Ending, out.Sentence = NoComparison, c.refuseFigures(of, pair)
	if out.Sentence != "" {
		return out
	}
	level := 1 - (1-confidence)/float64(several)
	var err error
	if j.main.plain, err = stats.WelchOf(a, b, confidence); err == nil {
		j.main.joint, err = stats.WelchOf(a, b, level)
	}
	if err != nil {
		out.Sentence = fmt.Sprintf("%s and %s can not be compared: no spread is given but 0, which leaves nothing to judge by.", brief(c.names[pair[0]]), brief(c.names[pair[1]]))
		return out
	}
	va, vb := a.SD*a.SD/float64(a.N), b.SD*b.SD/float64(b.N)
	j.main.percent = asPercent(stats.Fieller(b.Mean, a.Mean, vb, va, 0, j.main.plain.DF, confidence))
	j.main.shared = asPercent(stats.Fieller(b.Mean, a.Mean, vb, va, 0, j.main.plain.DF, level))
	out.Percent = j.main.percent
	out.Difference.Low, out.Difference.High, out.Difference.PWelch = maybe(j.main.plain.Low), maybe(j.main.plain.High), maybe(j.main.plain.P)
	if several > 1 {
		out.Difference.JointLow, out.Difference.JointHigh = maybe(j.main.joint.Low), maybe(j.main.joint.High)
	}
	out.Ending, out.Sentence = c.verdict(j, Comparison{}, brief(c.names[pair[0]]), brief(c.names[pair[1]]))
	out.Sentence = "From figures only: " + out.Sentence
	return out
}

// refuseFigures says why two arms can not be compared, "" if they can.
func (c *comparing) refuseFigures(of []stats.Summary, pair [2]int) string {
	b, a := brief(c.names[pair[0]]), brief(c.names[pair[1]])
	for _, arm := range pair {
		if math.IsNaN(of[arm].SD) {
			return fmt.Sprintf("%s and %s can not be compared: no spread between jars is given for %s, and the same totals fit jars that differ clearly and jars that do not; weigh jars one by one, or find the standard deviation.", b, a, brief(c.names[arm]))
		}
	}
	for _, arm := range pair {
		if n := of[arm].N; n < leastJars {
			return fmt.Sprintf("%s and %s are described, not compared: %s has %s, and a verdict needs %d in each arm.", b, a, brief(c.names[arm]), jars(n), leastJars)
		}
	}
	return ""
}

// overall writes the analysis of variance of all arms into the working.
func (c *comparing) overall(of []stats.Summary) {
	if a, err := stats.ANOVAOf(of); err == nil {
		c.step("F of all arms, one spread", "between arms / within arms", a.F, "", fmt.Sprintf("Fisher (1925), %g and %g degrees of freedom, p %.4g", a.DF1, a.DF2, a.P))
	}
	if w, err := stats.WelchANOVAOf(of); err == nil {
		c.step("F of all arms, each its spread", "weighted by n/SD²", w.F, "", fmt.Sprintf("Welch (1951), %g and %.4g degrees of freedom, p %.4g", w.DF1, w.DF2, w.P))
	}
}
