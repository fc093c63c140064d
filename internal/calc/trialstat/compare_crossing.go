package trialstat

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// mostFactors bounds a crossing.
const mostFactors = 3

// Interaction is whether the difference between two levels of one factor depends on
// that of another: the difference of two differences, over all levels of a third.
type Interaction struct {
	Factors  []string `json:"factors"` // [first, second]
	Levels   []string `json:"levels"`  // [b, control of the first, b, control of the second]
	Value    *float64 `json:"value"`
	Low      *float64 `json:"low"` // 95 %, of all interactions of the two factors together
	High     *float64 `json:"high"`
	P        *float64 `json:"p"`
	Ending   Ending   `json:"ending"`
	Sentence string   `json:"sentence"`
}

// levels are the columns of a crossing of a row.
func (r *CompareRow) levels() []*Label {
	return []*Label{&r.Level1, &r.Level2, &r.Level3}
}

// filled names the arms by their levels where they are not named, and counts the
// factors that are crossed.
func (in CompareInput) filled() (CompareInput, int, error) {
	crossed := 0
	for i := range in.Rows {
		for k, l := range in.Rows[i].levels() {
			if l.Trimmed() != "" {
				crossed = max(crossed, k+1)
			}
		}
	}
	if crossed == 0 && len(in.Factors) < 2 {
		return in.armsByDose(), 0, nil
	}
	crossed = max(crossed, len(in.Factors))
	if crossed > mostFactors {
		return in, 0, figure.Faultf("factors", "cross at most 3 things", "%d factors are given", crossed)
	}
	rows := slices.Clone(in.Rows)
	for i := range rows {
		var names []string
		for k, l := range rows[i].levels()[:crossed] {
			name := l.Trimmed()
			if name == "" {
				return in, 0, figure.Faultf(rowField(i, "level"+strconv.Itoa(k+1)), "write which level of "+in.factorName(k)+" it has", "row %d has no level of %s", i+1, in.factorName(k))
			}
			names = append(names, name)
		}
		if rows[i].Arm.Trimmed() == "" {
			rows[i].Arm = Label(strings.Join(names, ", "))
		}
	}
	in.Rows = rows
	if crossed == 1 {
		in.Rows, in.Unit = in.dosesOf(0), in.unitOf(0)
	}
	return in, crossed, nil
}

// armsByDose names arms by their dose where only that is given.
func (in CompareInput) armsByDose() CompareInput {
	rows := slices.Clone(in.Rows)
	for i := range rows {
		if rows[i].Arm.Trimmed() == "" && rows[i].Dose != nil {
			rows[i].Arm = Label(plain(*rows[i].Dose))
		}
	}
	in.Rows = rows
	return in
}

func (in CompareInput) factorName(k int) string {
	if k < len(in.Factors) && in.Factors[k].Name.Trimmed() != "" {
		return brief(in.Factors[k].Name.Trimmed())
	}
	return "level" + strconv.Itoa(k+1)
}

// unitOf is what a factor is set on; what was said for the whole table if nothing.
func (in CompareInput) unitOf(k int) string {
	if k < len(in.Factors) && in.Factors[k].On != "" {
		return in.Factors[k].On
	}
	return in.Unit
}

// dosesOf returns the rows with the levels of factor k as doses, if all of them are
// numbers and no dose is given.
func (in CompareInput) dosesOf(k int) []CompareRow {
	rows := slices.Clone(in.Rows)
	for i := range rows {
		x, err := strconv.ParseFloat(rows[i].levels()[k].Trimmed(), 64)
		if err != nil || rows[i].Dose != nil && k == 0 {
			return in.Rows
		}
		rows[i].Dose = &x
	}
	return rows
}

// compareCrossing judges each factor of a crossing by itself, over all levels of the
// others, and whether they depend on each other. A factor that is set on whole cooks,
// shelves or makings is judged by their means; one that sits on jars within them.
//
// Source: Montgomery, Design and Analysis of Experiments (2013), chapters 5 and 14.4
// (from memory); variances as in Compare.
func compareCrossing(in CompareInput, crossed int) (figure.Answer[CompareResult], error) {
	none := figure.Answer[CompareResult]{}
	whole := in
	whole.Unit, whole.Factors = aJar.word, nil
	all, err := newComparing(whole, nil)
	if err != nil {
		return none, err
	}
	all.dose = nil
	all.alias()
	all.summarise()
	out := all.answer()
	out.Cautions, out.Working = []figure.Caution{}, []figure.Step{}
	for k := range crossed {
		c, err := judged(in.factorAlone(k, crossed), nil)
		if err != nil {
			return none, err
		}
		out = withFactor(out, c, in.factorName(k), k == 0)
	}
	if out.Result.Interactions, err = in.interactions(crossed); err != nil {
		return none, err
	}
	r := &out.Result
	if n := len(r.Comparisons) + len(r.Interactions) - 1; n > 0 {
		r.Sentence = strings.TrimSuffix(r.Sentence, ".") + "; " + figure.Count(n, "more comparison is", "more comparisons are") + " listed."
	}
	return out, nil
}

// factorAlone is the table with the levels of factor k as its arms.
func (in CompareInput) factorAlone(k, crossed int) CompareInput {
	out := in
	out.Unit, out.Rows, out.Control = in.unitOf(k), slices.Clone(in.dosesOf(k)), ""
	out.Factors = nil
	if k < len(in.Factors) {
		out.Factors = in.Factors[k : k+1]
	}
	if out.Unit == "" {
		out.Unit = aJar.word
	}
	for i := range out.Rows {
		row := &out.Rows[i]
		levels := row.levels()
		var others []string
		for j, l := range levels[:crossed] {
			if j != k {
				others = append(others, l.Trimmed())
			}
		}
		name := levelName(in.factorName(k), levels[k].Trimmed(), out.Factors)
		if in.Control.Trimmed() != "" && in.Rows[i].Arm.Trimmed() == in.Control.Trimmed() {
			out.Control = name
		}
		row.Arm, row.others = name, Label(strings.Join(others, ", "))
		for _, l := range row.levels() {
			*l = ""
		}
	}
	out.crossing = true
	return out
}

// levelName calls a level by its factor: "broth malt", "hold 90 min".
func levelName(factor, level string, of []CompareFactor) Label {
	if _, err := strconv.ParseFloat(level, 64); err == nil && len(of) > 0 {
		level = doseWordOf(level, of[0].Unit)
	}
	return Label(strings.TrimSpace(factor + " " + level))
}

func doseWordOf(level, unit string) string { return strings.TrimSpace(level + " " + unit) }

// withFactor adds what one factor came to.
func withFactor(out figure.Answer[CompareResult], c *comparing, name string, first bool) figure.Answer[CompareResult] {
	r := &out.Result
	for _, x := range c.result.Comparisons {
		x.Factor = name
		r.Comparisons = append(r.Comparisons, x)
	}
	for _, t := range c.result.Trends {
		t.Factor = name
		r.Trends = append(r.Trends, t)
	}
	for _, a := range c.result.Aliased {
		if !slices.Contains(r.Aliased, a) {
			r.Aliased = append(r.Aliased, a)
		}
	}
	if first {
		r.Ending, r.Sentence = c.result.Comparisons[0].Ending, c.result.Comparisons[0].Sentence
		if len(c.result.Trends) > 0 {
			r.Ending, r.Sentence = c.result.Trends[0].Ending, c.result.Trends[0].Sentence
		}
		r.Efficiency, r.BlockBy, r.JarsToSettle = c.result.Efficiency, c.result.BlockBy, c.result.JarsToSettle
	}
	if r.Counted == nil {
		r.Counted = c.result.Counted
	}
	for _, x := range c.cautions {
		if !slices.ContainsFunc(out.Cautions, func(y figure.Caution) bool { return y.Code == x.Code && y.Text == x.Text }) {
			out.Cautions = append(out.Cautions, x)
		}
	}
	for _, s := range c.working {
		s.Step = name + ": " + s.Step
		out.Working = append(out.Working, s)
	}
	return out
}

// interactions judges every pair of factors.
func (in CompareInput) interactions(crossed int) ([]Interaction, error) {
	out := []Interaction{}
	for first := range crossed {
		for second := first + 1; second < crossed; second++ {
			of, err := in.interactionsOf(first, second)
			if err != nil {
				return nil, err
			}
			out = append(out, of...)
		}
	}
	return out, nil
}

// interactionsOf judges two factors: the arms are the pairs of their levels. They are
// set on jars unless both are set on the same whole units.
func (in CompareInput) interactionsOf(first, second int) ([]Interaction, error) {
	pairs := in
	pairs.Rows, pairs.Factors, pairs.Control, pairs.Unit = slices.Clone(in.Rows), nil, "", aJar.word
	if on := in.unitOf(first); on == in.unitOf(second) && on != "" {
		pairs.Unit = on
	}
	for i := range pairs.Rows {
		row := &pairs.Rows[i]
		l := row.levels()
		row.Arm, row.Dose = Label(l[first].Trimmed()+"\x00"+l[second].Trimmed()), nil
		for _, x := range l {
			*x = ""
		}
	}
	c, err := newComparing(pairs, nil)
	if err != nil {
		return nil, err
	}
	c.crossing = true
	c.alias()
	x := crossingOf(c, in, first, second)
	c.fit()
	return x.judge(), nil
}

// crossingPair is two factors of a crossing: where each pair of levels is among the
// arms.
type crossingPair struct {
	c      *comparing
	names  [2]string
	levels [2][]string
	labels [2][]string
	at     map[[2]string]int
}

func crossingOf(c *comparing, in CompareInput, first, second int) crossingPair {
	x := crossingPair{c: c, names: [2]string{in.factorName(first), in.factorName(second)}, at: map[[2]string]int{}}
	for arm, name := range c.names {
		a, b, _ := strings.Cut(name, "\x00")
		x.at[[2]string{a, b}] = arm
		for k, l := range []string{a, b} {
			if !slices.Contains(x.levels[k], l) {
				x.levels[k] = append(x.levels[k], l)
			}
		}
	}
	for k, f := range []int{first, second} {
		slices.Sort(x.levels[k])
		x.usualFirst(k, in, f)
		for _, l := range x.levels[k] {
			var of []CompareFactor
			if f < len(in.Factors) {
				of = in.Factors[f : f+1]
			}
			x.labels[k] = append(x.labels[k], brief(string(levelName("", l, of))))
		}
	}
	return x
}

// usualFirst puts the control's level before the others.
func (x *crossingPair) usualFirst(k int, in CompareInput, factor int) {
	for i := range in.Rows {
		if r := &in.Rows[i]; in.Control.Trimmed() != "" && r.Arm.Trimmed() == in.Control.Trimmed() {
			usual := r.levels()[factor].Trimmed()
			x.levels[k] = append([]string{usual}, slices.DeleteFunc(x.levels[k], func(l string) bool { return l == usual })...)
			return
		}
	}
}

// judge takes each level against the first, of both factors.
func (x crossingPair) judge() []Interaction {
	several := (len(x.levels[0]) - 1) * (len(x.levels[1]) - 1)
	fit, err := x.c.fitted(x.c.main, x.c.blockBy)
	var out []Interaction
	for i := 1; i < len(x.levels[0]); i++ {
		for j := 1; j < len(x.levels[1]); j++ {
			one := Interaction{
				Factors: x.names[:], Levels: []string{x.labels[0][i], x.labels[0][0], x.labels[1][j], x.labels[1][0]}, Ending: NoComparison,
			}
			if one.Sentence = x.refusal(i, j); one.Sentence == "" && err == nil && x.c.outcome.means() {
				x.judgeOne(&one, fit, i, j, several)
			}
			if one.Sentence == "" {
				one.Sentence = fmt.Sprintf("Whether %s and %s depend on each other can not be told from these jars.", x.names[0], x.names[1])
			}
			out = append(out, one)
		}
	}
	return out
}

// refusal says what is missing, "" if nothing is.
func (x crossingPair) refusal(i, j int) string {
	for _, f := range x.c.jars.fates {
		if f == growing {
			return fmt.Sprintf("Whether %s and %s depend on each other is judged when no jar grows any more.", x.names[0], x.names[1])
		}
	}
	for _, a := range []int{0, i} {
		for _, b := range []int{0, j} {
			if at, ok := x.at[[2]string{x.levels[0][a], x.levels[1][b]}]; !ok || x.c.jarsOf(at) < 2 {
				return fmt.Sprintf("Whether %s and %s depend on each other can not be told: %s with %s has fewer than 2 %s.", x.names[0], x.names[1], x.labels[0][a], x.labels[1][b], x.c.unit.many)
			}
		}
	}
	return ""
}

func (x crossingPair) judgeOne(one *Interaction, fit fitted, i, j, several int) {
	weights := make([]float64, len(x.c.names))
	for _, corner := range [][3]int{{i, j, 1}, {0, j, -1}, {i, 0, -1}, {0, 0, 1}} {
		weights[x.at[[2]string{x.levels[0][corner[0]], x.levels[1][corner[1]]}]] += float64(corner[2])
	}
	e, err := fit.Contrast(weights, 1-(1-confidence)/float64(several))
	if err != nil {
		return
	}
	one.Value, one.Low, one.High, one.P = maybe(e.Value), maybe(e.Low), maybe(e.High), maybe(e.P)
	one.Ending = NotToldApart
	x.say(one, e, several)
}

func (x crossingPair) say(one *Interaction, e stats.Estimate, several int) {
	d := decimalsFor(e.High-e.Low, e.Low, e.High, e.Value)
	unit := x.c.outcome.gram()
	l := one.Levels
	apart := fmt.Sprintf("the step from %s %s to %s was %s%s larger with %s %s than with %s, with a 95 %% interval%s of %s%s",
		x.names[0], l[1], l[0], number(e.Value, d), unit, x.names[1], l[2], l[3], widened(several), span(e.Low, e.High, d), unit)
	if e.Low > 0 || e.High < 0 {
		one.Ending = Supported
		one.Sentence = fmt.Sprintf("%s and %s depend on each other: %s; read each level of one beside those of the other.", capitalWord(x.names[0]), x.names[1], apart)
		return
	}
	one.Sentence = fmt.Sprintf("That %s and %s depend on each other could not be told: %s.", x.names[0], x.names[1], apart)
}

func capitalWord(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		return strings.ToUpper(string(r[:1])) + string(r[1:])
	}
	return s
}
