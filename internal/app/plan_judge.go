package app

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// judge says what the plan can and can not show, before a jar is filled.
func (p *Plan) judge() error {
	p.Cautions = append(p.Cautions, pressureCaution)
	if p.input.BlanksPerCook == 0 {
		p.Cautions = append(p.Cautions, figure.Caution{
			Code: "no_blanks", Title: "No blanks", Weight: figure.Note,
			Text: "Without a blank jar in each cook, a cook that did not hold and a dirty culture look the same.",
		})
	}
	if p.Trial == nil {
		return nil
	}
	alias, err := trialstat.Alias(trialstat.AliasInput{ArmsDifferIn: words(p.Trial.Differ), Rows: p.rows(), Control: label(p.Trial.Control)})
	if err != nil {
		return err
	}
	p.sayAliasing(alias)
	p.sayUnsaidDifferences()
	return p.sayPower()
}

func words[S ~string](of []S) []string {
	out := make([]string, len(of))
	for i, w := range of {
		out[i] = string(w)
	}
	return out
}

// rows is the plan as a plain table, one row for each jar of an arm.
func (p *Plan) rows() []trialstat.CompareRow {
	var rows []trialstat.CompareRow
	for _, s := range p.Slots {
		if s.Blank {
			continue
		}
		a := p.arms[s.arm]
		rows = append(rows, trialstat.CompareRow{
			Jar: label(strconv.Itoa(s.Number)), Arm: label(s.Arm), Fate: string(lab.Growing),
			Cook: label("cook " + strconv.Itoa(s.Cook)), Layer: label(strconv.Itoa(s.Layer)), Shelf: label(s.Shelf),
			Culture: label(a.culture.Name), Container: label(a.container.Name), Recipe: label(a.recipe.String()),
			Treatment: label(a.Treatment), MixMade: label(s.MixMade),
		})
	}
	return rows
}

// sayAliasing names every factor that moves with the arms, and offers the
// layout by lot where that mends it.
func (p *Plan) sayAliasing(alias trialstat.AliasResult) {
	worst := 1.0
	byLot := false
	for _, a := range alias.Full {
		switch {
		case a.Factor == "mix_made":
			p.sayOneMaking()
			continue
		case slices.Contains(words(lab.Factors), a.Factor):
			p.addSentence(fmt.Sprintf("The %s changes together with the %s: this compares the packages, not the %s alone.",
				a.Factor, join2(words(p.Trial.Differ)), join2(words(p.Trial.Differ))))
		default:
			worst = 0
			byLot = true
			p.addSentence(fmt.Sprintf("%s and the arms are the same thing here: a difference could be either's, and no verdict will be possible.", capital(spaced(a.Factor))))
		}
		if !slices.Contains(p.Aliased, a.Factor) {
			p.Aliased = append(p.Aliased, a.Factor)
		}
	}
	for _, a := range alias.Partly {
		worst = min(worst, a.Efficiency)
		byLot = byLot || p.placedByHand()
		if !slices.Contains(p.PartlyAliased, a.Factor) {
			p.PartlyAliased = append(p.PartlyAliased, a.Factor)
			p.addSentence(fmt.Sprintf("%s goes partly with the arms: comparing within the same %s keeps %.0f %% of what the jars could tell.", capital(spaced(a.Factor)), spaced(a.Factor), 100*a.Efficiency))
		}
	}
	p.Efficiency = &worst
	if byLot && p.placedByHand() {
		p.offerLot()
	}
}

func (p *Plan) addSentence(s string) {
	if !slices.Contains(p.Sentences, s) {
		p.Sentences = append(p.Sentences, s)
	}
}

// sayOneMaking says that each mix is made once, and offers a making for each cook.
func (p *Plan) sayOneMaking() {
	manyMakings := p.input.MakePerCook && len(p.input.Cooks) > 1
	if manyMakings || !slices.Contains(p.Trial.Differ, lab.ByRecipe) {
		return
	}
	s := "One mixing each: a weighing slip would look the same as a better recipe."
	if len(p.input.Cooks) > 1 {
		s += " Make each mix anew for every cook and the slip shows."
	}
	p.addSentence(s)
	p.Cautions = append(p.Cautions, figure.Caution{Code: "one_making", Title: "One mixing each", Text: s, Weight: figure.Care})
}

// sayPower says what so many jars can and can not show.
func (p *Plan) sayPower() error {
	in := p.powerInput()
	answer, err := trialstat.Plan(in)
	if err != nil {
		return err
	}
	p.Power, p.Working = answer.Result.Sentence, answer.Working
	p.Cautions = append(p.Cautions, answer.Cautions...)
	if p.usual.own() && (p.input.Spread == 0 || p.input.Loss == 0) {
		p.Cautions = append(p.Cautions, p.usual.caution())
	}
	p.sayJars(answer.Result)
	return p.drawCurve(in, answer.Result.JarsForMatters)
}

// powerInput is the plan with its spread and loss: as typed, else as the
// farm's own jars showed, else the common ones.
func (p *Plan) powerInput() trialstat.PlanInput {
	blocks := len(p.cells())
	in := trialstat.PlanInput{Arms: len(p.arms), JarsPerArm: p.input.Jars, Blocks: &blocks, MattersPct: &p.Trial.Matters}
	p.Spread, p.Loss = p.input.Spread, p.input.Loss
	if p.usual.own() {
		if p.Spread == 0 {
			p.Spread = p.usual.cv
		}
		if p.Loss == 0 {
			p.Loss = p.usual.loss
		}
	}
	if p.Spread > 0 {
		in.CVPct = &p.Spread
	} else {
		p.Spread = commonCV
	}
	if p.Loss > 0 {
		in.LossPct = &p.Loss
	}
	return in
}

// sayJars says how many jars to start for the difference that matters, and
// that cooks come before jars.
func (p *Plan) sayJars(r trialstat.PlanResult) {
	if n := r.JarsForMatters; n != nil && p.Loss > 0 {
		p.addSentence(fmt.Sprintf("These are jars to start: %d an arm for a difference of %g %%, with a loss of %.0f %% reckoned in.", *n, p.Trial.Matters, p.Loss))
	}
	if len(p.input.Cooks) == 1 {
		p.addSentence("All jars stand in one cook: whatever comes out holds for this cook. The same jars spread over more cooks, each mix made anew, say more than more jars in one.")
	}
}

// The curve reaches this far, in so many steps.
const (
	curveLeast = 24
	curveMost  = 120
	curveSteps = 24
)

// drawCurve works out the chance for numbers of jars around the planned one.
func (p *Plan) drawCurve(in trialstat.PlanInput, enough *int) error {
	top := curveLeast
	if enough != nil {
		top = max(top, min(curveMost, *enough+*enough/5))
	}
	top = max(top, min(curveMost, 2*p.input.Jars), p.input.Jars)
	step := max(1, (top+curveSteps-1)/curveSteps)
	var jars []int
	for n := 2; n <= top; n += step {
		jars = append(jars, n)
	}
	if !slices.Contains(jars, p.input.Jars) && p.input.Jars >= 2 {
		jars = append(jars, p.input.Jars)
		slices.Sort(jars)
	}
	for _, n := range jars {
		in.JarsPerArm = n
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

// offerLot offers the same plan with every arm spread by lot.
func (p *Plan) offerLot() {
	repaired := p.input
	repaired.Arms = slices.Clone(p.input.Arms)
	for i := range repaired.Arms {
		repaired.Arms[i].Cook, repaired.Arms[i].Layer = 0, 0
	}
	repaired.Seed = strconv.FormatUint(p.Seed, 10)
	p.Repair = &repaired
	p.RepairText = "Spread every arm over all cooks and layers by lot: the same jars, and the layer no longer speaks for an arm."
}

// sayUnsaidDifferences names what the arms differ in besides what was said.
func (p *Plan) sayUnsaidDifferences() {
	really := p.Trial.Differing()
	for _, d := range really {
		if !slices.Contains(p.Trial.Differ, d) && d == lab.ByTreatment {
			p.addSentence("The arms also differ in treatment: this compares the packages.")
		}
	}
	if len(p.Trial.Differ) > 1 {
		p.addSentence(fmt.Sprintf("The arms differ in %s at once: this compares the packages; which of them did it can not be told.", join2(words(p.Trial.Differ))))
	}
	for _, d := range p.Trial.Differ {
		if !slices.Contains(really, d) {
			p.addSentence(fmt.Sprintf("The arms are said to differ in %s, but all have the same.", d))
		}
	}
}

// join2 prints "recipe", "recipe and culture", "recipe, culture and container".
func join2(of []string) string {
	if n := len(of); n > 1 {
		return strings.Join(of[:n-1], ", ") + " and " + of[n-1]
	}
	return strings.Join(of, "")
}

func spaced(s string) string {
	return strings.NewReplacer("+", " and ", "mix_made", "making of the mix", "_", " ").Replace(s)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
