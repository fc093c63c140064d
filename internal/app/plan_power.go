package app

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// sayPower says what the trial can and can not show, as it is laid out.
func (p *Plan) sayPower(alias trialstat.AliasResult) error {
	in := p.powerInput(alias)
	answer, err := trialstat.Plan(in)
	if err != nil {
		return err
	}
	p.Power, p.Working = answer.Result.Sentence, answer.Working
	p.Cautions = append(p.Cautions, answer.Cautions...)
	if p.input.Spread == 0 || p.input.Loss == 0 {
		p.Cautions = append(p.Cautions, p.usual.caution())
	}
	p.sayJars(answer.Result)
	if err := p.sayLevels(in); err != nil {
		return err
	}
	if err := p.sayCooks(answer.Result); err != nil {
		return err
	}
	return p.drawCurve(in, answer.Result)
}

// powerInput is the plan with its spread and loss: as typed, else as the farm's
// own jars showed, leaning on the common ones while they are few.
func (p *Plan) powerInput(alias trialstat.AliasResult) trialstat.PlanInput {
	p.Spread, p.Loss = p.input.Spread, p.input.Loss
	if p.Spread == 0 {
		p.Spread = p.usual.cv
	}
	if p.Loss == 0 {
		p.Loss = p.usual.loss
	}
	in := trialstat.PlanInput{Arms: len(p.arms), JarsPerArm: p.input.Jars, MattersPct: &p.Trial.Matters, CVPct: &p.Spread, LossPct: &p.Loss, Primary: primaries[p.Trial.Primary]}
	p.doubtPower()
	p.Unit, p.Each = lab.OnJar, p.input.Jars
	if u := p.wholly(); u != nil {
		in.Units = p.unitsIn(*u)
		in.Arms, p.Unit, p.Each = len(u.Levels), u.On, in.Units.Each
		return in
	}
	e, blocks := p.within(alias)
	in.Efficiency, in.Blocks, in.Cooks = &e, &blocks, p.cooksShared()
	return in
}

// cooksShared counts the cooks that hold every arm.
func (p *Plan) cooksShared() int {
	held := make(map[int]map[int]bool)
	for _, s := range p.Slots {
		if s.Blank {
			continue
		}
		if held[s.Cook] == nil {
			held[s.Cook] = make(map[int]bool)
		}
		held[s.Cook][s.arm] = true
	}
	n := 0
	for _, arms := range held {
		if len(arms) == len(p.arms) {
			n++
		}
	}
	return n
}

// wholly returns the unit that everything the arms differ in sits on, nil if
// something sits on the jar.
func (p *Plan) wholly() *PlanUnit {
	if len(p.Units) == 0 || len(p.Units) < len(p.Trial.Details.Factors) {
		return nil
	}
	return &p.Units[0]
}

// unitsIn are the units of a factor as the power counts them.
func (p *Plan) unitsIn(u PlanUnit) *trialstat.PlanUnits {
	each := max(1, u.Least())
	jars := float64(p.input.Jars) * float64(len(p.arms)) / float64(len(u.Levels)) / float64(each)
	return &trialstat.PlanUnits{Word: string(u.On), Many: u.On.Many(), Each: each, Jars: jars}
}

// within returns the least efficiency of the comparisons that can be made, and how
// many places their jars are compared within: cooks and layers, as the verdict does.
func (p *Plan) within(alias trialstat.AliasResult) (efficiency float64, blocks int) {
	efficiency, blocks = 0, 1
	for _, e := range alias.Pairs {
		if e.Efficiency > 0 && (efficiency == 0 || e.Efficiency < efficiency) {
			efficiency = e.Efficiency
		}
	}
	if *p.Efficiency == 0 && len(p.Units) == 0 {
		efficiency = 0
	}
	var arm, cell []int
	cells := make([]map[int]bool, len(p.arms))
	for _, s := range p.Slots {
		if s.Blank {
			continue
		}
		at := s.Cook*1000 + s.Layer
		arm, cell = append(arm, s.arm), append(cell, at)
		if cells[s.arm] == nil {
			cells[s.arm] = make(map[int]bool)
		}
		cells[s.arm][at] = true
	}
	fit, err := stats.FitBlocks(make([]float64, len(arm)), arm, cell, len(p.arms))
	if err != nil {
		return efficiency, blocks
	}
	for a := range p.arms {
		for b := range a {
			if e := fit.Efficiency(a, b); e > 0 {
				efficiency, blocks = min(efficiency, e), max(blocks, len(both(cells[a], cells[b])))
			}
		}
	}
	return efficiency, blocks
}

// both is what is in a or in b.
func both(a, b map[int]bool) map[int]bool {
	out := maps.Clone(a)
	maps.Copy(out, b)
	return out
}

// sayJars says how many jars to start for the difference that matters, and how
// many are left of those planned.
func (p *Plan) sayJars(r trialstat.PlanResult) {
	if n := r.JarsForMatters; n != nil && p.Loss > 0 {
		p.addSentence(fmt.Sprintf("These are jars to start: %d an arm for a difference of %g %s, with a loss of %.0f %% reckoned in.", *n, p.Trial.Matters, lab.MattersUnit(p.Trial.Primary), p.Loss))
	}
	if n := r.LeftJars; n != nil && *n < p.input.Jars {
		p.addSentence(fmt.Sprintf("Of %d started in each arm %d or more are left in every arm in 9 of 10 such trials.", p.input.Jars, *n))
	}
}

// sayLevels says of each factor of a crossing what its levels can show, over all
// levels of the others.
func (p *Plan) sayLevels(in trialstat.PlanInput) error {
	if len(p.Trial.Details.Factors) < 2 {
		return nil
	}
	for k, f := range p.Trial.Details.Factors {
		one := in
		one.Arms, one.Units = len(f.Levels), nil
		one.JarsPerArm = p.input.Jars * len(p.arms) / len(f.Levels)
		if i := slices.IndexFunc(p.Units, func(u PlanUnit) bool { return u.Factor == f.Name }); i >= 0 {
			if p.Units[i].Least() < 2 {
				continue // said already
			}
			one.Units = p.unitsIn(p.Units[i])
		} else if in.Units != nil {
			continue
		}
		answer, err := trialstat.Plan(one)
		if err != nil {
			return err
		}
		if one.Units == nil || p.Unit == lab.OnJar || k > 0 {
			p.addSentence(fmt.Sprintf("%s, over all else: %s", capital(f.Name), lowered(answer.Result.Sentence, one)))
		}
		if one.Units != nil {
			p.addCautions(answer.Cautions)
		}
	}
	return nil
}

// lowered is the sentence of a level within one of its own.
func lowered(s string, in trialstat.PlanInput) string {
	if in.Units == nil && strings.HasPrefix(s, "With ") {
		return fmt.Sprintf("with %d jars to a level", in.JarsPerArm) + s[len(fmt.Sprintf("With %d jars an arm", in.JarsPerArm)):]
	}
	return strings.ToLower(s[:1]) + s[1:]
}

func (p *Plan) addCautions(of []figure.Caution) {
	for _, c := range of {
		if !slices.ContainsFunc(p.Cautions, func(x figure.Caution) bool { return x.Code == c.Code && x.Text == c.Text }) {
			p.Cautions = append(p.Cautions, c)
		}
	}
}

// sayCooks says that cooks come before jars, with their numbers.
func (p *Plan) sayCooks(r trialstat.PlanResult) error {
	if p.Unit == lab.OnCook || slices.ContainsFunc(p.Units, func(u PlanUnit) bool { return u.On == lab.OnCook }) {
		return nil
	}
	one := len(p.input.Cooks) == 1
	if one {
		p.addSentence("All jars stand in one cook: whatever comes out holds for this cook.")
	}
	if p.input.Jars < 2 || p.input.Jars > 1000 || !p.byGrams() && p.Trial.Primary != lab.ByPins {
		return nil // shares and colours are judged jar by jar
	}
	cv := r.CVInoculatedPct
	if p.Trial.Primary == lab.PerPicked {
		cv = p.Spread
	}
	answer, err := trialstat.Runs(trialstat.RunsInput{JarsPerArm: p.input.Jars, Cooks: len(p.input.Cooks), CVPct: cv, EffectPct: &p.Trial.Matters})
	if err != nil {
		return err
	}
	p.Ways = answer.Result.Runs
	p.addSentence(answer.Result.Sentence)
	return nil
}

// The curve reaches this far, in so many steps.
const (
	curveLeast = 24
	curveMost  = 120
	curveSteps = 24
)

// drawCurve works out the chance for numbers of jars, or of units, around the
// planned one.
func (p *Plan) drawCurve(in trialstat.PlanInput, r trialstat.PlanResult) error {
	enough, top := r.JarsForMatters, curveLeast
	if in.Units != nil {
		enough, top = r.UnitsForMatters, curveLeast/2
	}
	if enough != nil {
		top = max(top, min(curveMost, *enough+*enough/5))
	}
	top = max(top, min(curveMost, 2*p.Each), p.Each)
	step := max(1, (top+curveSteps-1)/curveSteps)
	var counts []int
	for n := 2; n <= top; n += step {
		counts = append(counts, n)
	}
	if !slices.Contains(counts, p.Each) && p.Each >= 2 {
		counts = append(counts, p.Each)
		slices.Sort(counts)
	}
	for _, n := range counts {
		if in.Units == nil && n < in.Cooks {
			continue // not every cook would hold every arm
		}
		in.JarsPerArm = n
		if in.Units != nil {
			u := *in.Units
			u.Each = n
			in.Units, in.JarsPerArm = &u, p.input.Jars
		}
		answer, err := trialstat.Plan(in)
		if err != nil {
			return err
		}
		if c := answer.Result.Power; c != nil {
			p.Curve = append(p.Curve, PlanChance{n, *c})
		}
	}
	return nil
}

// doubtPower says what the chance of a plan is of, where it is reckoned for grams and
// something else decides.
func (p *Plan) doubtPower() {
	pins, units := p.Trial.Primary == lab.ByPins, p.wholly() != nil && !p.byGrams()
	if !pins && !units {
		return
	}
	text := "What so many can show is reckoned for grams per jar inoculated. The " + lab.OutcomeWords(p.Trial.Primary) + " may need more."
	if pins {
		text += " Counts scatter from jar to jar by a rule of their own, and a plan knows the spread of grams only: take it as a hint."
	}
	p.Cautions = append(p.Cautions, figure.Caution{Code: "power_of_grams", Title: "Reckoned for grams", Weight: figure.Care, Text: text})
}

// byGrams reports whether grams decide.
func (p *Plan) byGrams() bool {
	return p.Trial.Primary == lab.PerInoculated || p.Trial.Primary == lab.PerPicked
}
