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
	p.Units = p.unitsOf()
	alias, err := trialstat.Alias(trialstat.AliasInput{ArmsDifferIn: words(p.Trial.Differ), Rows: p.rows(), Control: label(p.Trial.Control), On: p.setOn()})
	if err != nil {
		return err
	}
	p.sayPacked()
	p.sayAliasing(alias)
	p.sayUnits()
	p.sayUnsaidDifferences()
	return p.sayPower(alias)
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
		p.overRow(&rows[len(rows)-1], s)
	}
	return rows
}

// overRow adds to a row what the jar has of what the arms are spread over.
func (p *Plan) overRow(row *trialstat.CompareRow, s PlanSlot) {
	for k, level := range s.Over {
		switch p.Trial.Details.Over[k].Is {
		case lab.OverLot:
			row.LC = label(level)
		case lab.OverPerson:
			row.Person = label(level)
		case lab.OverDay:
			row.Day = label(level)
		case lab.OverRoom:
			row.Room = label(level)
		}
	}
}

// sayAliasing names every factor that moves with the arms, and offers the
// layout by lot where that mends it.
func (p *Plan) sayAliasing(alias trialstat.AliasResult) {
	worst, byLot := 1.0, false
	for _, e := range alias.Pairs {
		worst = min(worst, e.Efficiency)
	}
	for _, a := range alias.Full {
		own := a.Factor == "mix_made" && slices.Contains(p.Trial.Differ, lab.ByRecipe)
		switch {
		case own:
			p.sayOneMaking()
			continue
		case slices.Contains(words(lab.Factors), a.Factor):
			p.addSentence(fmt.Sprintf("The %s changes together with the %s: this compares the packages, not the %s alone.",
				a.Factor, join2(words(p.Trial.Differ)), join2(words(p.Trial.Differ))))
		default:
			byLot = true
			p.sayAlike(a, alias)
		}
		if !slices.Contains(p.Aliased, a.Factor) {
			p.Aliased = append(p.Aliased, a.Factor)
		}
	}
	if byLot {
		p.sayStill(alias.Pairs)
	}
	for _, a := range alias.Partly {
		worst = min(worst, a.Efficiency)
		byLot = byLot || p.placedByHand()
		if !slices.Contains(p.PartlyAliased, a.Factor) {
			p.PartlyAliased = append(p.PartlyAliased, a.Factor)
			p.addSentence(fmt.Sprintf("%s goes partly with the arms: comparing within the same %s keeps %.0f %% of what the jars could tell. Smallest mend: %s.", capital(spaced(a.Factor)), spaced(a.Factor), 100*a.Efficiency, a.Repair))
		}
	}
	if p.Efficiency = &worst; worst < 0.995 && len(p.Aliased)+len(p.PartlyAliased) == 0 {
		p.addSentence(fmt.Sprintf("Laid out like this the trial keeps %.0f %% of what the jars could tell: no place holds all arms alike.", 100*worst))
	}
	if byLot && p.placedByHand() {
		p.offerLot()
	}
}

// sayAlike says once of a factor which arms it can not be told from, and the
// smallest mend. What is set on a unit of which a level has one says so itself.
func (p *Plan) sayAlike(a trialstat.Aliasing, alias trialstat.AliasResult) {
	if slices.Contains(p.Aliased, a.Factor) || slices.ContainsFunc(p.Units, func(u PlanUnit) bool { return u.column() == a.Factor && u.Least() < 2 }) {
		return
	}
	n := 0
	for _, x := range alias.Full {
		if x.Factor == a.Factor {
			n++
		}
	}
	who := "the arms"
	if n < len(alias.Pairs) {
		who = join2([]string{a.Arms[1], a.Arms[0]})
		if n > 1 {
			who += fmt.Sprintf(", and so of %d of %d pairs,", n, len(alias.Pairs))
		}
	}
	what := "are the same thing here"
	if strings.Contains(a.Factor, "+") {
		what = "can not be told apart here, though each of them alone can be told from the arms"
	}
	p.addSentence(fmt.Sprintf("%s and %s %s: a difference could be either's, and no verdict on it will be possible. Smallest mend: %s.", capital(spaced(a.Factor)), who, what, a.Repair))
}

// sayStill says what can be compared all the same.
func (p *Plan) sayStill(pairs []trialstat.PairEfficiency) {
	var still []string
	for _, e := range pairs {
		if e.Efficiency > 0 {
			still = append(still, e.Arms[0]+" with "+e.Arms[1])
		}
	}
	switch n := len(still); {
	case n == len(pairs):
	case n == 0:
		p.addSentence("What can still be said is how many grams and how many losses each arm had, without saying why.")
	case n > 6:
		p.addSentence(fmt.Sprintf("Still to be compared: %d of %d pairs of arms.", n, len(pairs)))
	default:
		p.addSentence("Still to be compared: " + join2(still) + ".")
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
	if len(p.Trial.Differ) > 1 && len(p.Trial.Details.Factors) < 2 {
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
