package app

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// PlanFactor is one thing that arms cross, as typed.
type PlanFactor struct {
	Name   string   `json:"name"`
	Is     string   `json:"is,omitempty"`   // recipe, culture, container or treatment; treatment if left out
	On     string   `json:"on,omitempty"`   // jar, cook, shelf or making; jar if left out
	Unit   string   `json:"unit,omitempty"` // of levels that are numbers
	Levels []string `json:"levels"`
}

// PlanOver is something besides cook, layer and shelf that every arm is spread
// over, as typed.
type PlanOver struct {
	Is     string   `json:"is"` // culture lot, person, day or room
	Levels []string `json:"levels"`
}

// crossed reads the factors of a plan and fills in the arms that they make.
func crossed(in PlanInput) (PlanInput, []lab.TrialFactor, error) {
	if len(in.Factors) == 0 {
		return in, nil, nil
	}
	var factors []lab.TrialFactor
	var levels [][]string
	in.Differ = nil
	for k, x := range in.Factors {
		f, err := lab.NewTrialFactor(factorField(k), x.Name, x.Is, x.On, x.Unit, x.Levels)
		if err != nil {
			return in, nil, err
		}
		factors, levels = append(factors, f), append(levels, f.Levels)
		if !slices.Contains(in.Differ, string(f.Is)) {
			in.Differ = append(in.Differ, string(f.Is))
		}
	}
	names, codes, err := trialstat.Crossing(levels)
	if err != nil {
		return in, nil, atField("factors", err)
	}
	if in.Arms, err = crossArms(in.Arms, factors, names, codes); err != nil {
		return in, nil, err
	}
	return in, factors, nil
}

func factorField(k int) string { return fmt.Sprintf("factor%d", k+1) }

// crossArms names the arms of a crossing and gives each what its levels stand for.
// Arms that were typed keep their names, places and records.
func crossArms(typed []PlanArm, factors []lab.TrialFactor, names []string, codes [][]int) ([]PlanArm, error) {
	if len(typed) > 0 && len(typed) != len(names) {
		return nil, lab.Invalidf("arms", "leave the arms out, or name one for each combination", "the levels make %d arms and %d are named", len(names), len(typed))
	}
	out := make([]PlanArm, len(names))
	for i := range names {
		a := PlanArm{}
		at := codes[i]
		if len(typed) > 0 {
			a = typed[i]
			if len(a.Levels) > 0 {
				var err error
				if at, err = levelsTyped(a, factors); err != nil {
					return nil, err
				}
			}
		}
		a.Levels = nil
		for k, f := range factors {
			a.Levels = append(a.Levels, f.Levels[at[k]])
		}
		a.Name = firstOf(strings.TrimSpace(a.Name), strings.Join(a.Levels, ", "))
		if err := a.fillFrom(factors, i); err != nil {
			return nil, err
		}
		out[i] = a
	}
	return out, nil
}

// levelsTyped reads the levels that an arm was typed with.
func levelsTyped(a PlanArm, factors []lab.TrialFactor) ([]int, error) {
	if len(a.Levels) != len(factors) {
		return nil, lab.Invalidf("arms", "give each arm one level of each factor", "arm %s states %d levels of %d factors", a.Name, len(a.Levels), len(factors))
	}
	out := make([]int, len(factors))
	for k, f := range factors {
		if out[k] = f.Find(a.Levels[k]); out[k] < 0 {
			return nil, lab.Invalidf("arms", "choose one of "+strings.Join(f.Levels, ", "), "arm %s has %s at %.40q", a.Name, f.Name, a.Levels[k])
		}
	}
	return out, nil
}

// fillFrom gives an arm the records that its levels are the names of. Where two
// factors are of one record, such as two of the recipe, the arm must name it.
func (a *PlanArm) fillFrom(factors []lab.TrialFactor, i int) error {
	var treated []string
	of := map[lab.Factor][]string{}
	for k, f := range factors {
		of[f.Is] = append(of[f.Is], a.Levels[k])
		if f.Is == lab.ByTreatment {
			treated = append(treated, f.Name+" "+a.Levels[k])
		}
	}
	for _, x := range []struct {
		is lab.Factor
		to *string
	}{{lab.ByRecipe, &a.Recipe}, {lab.ByCulture, &a.Culture}, {lab.ByContainer, &a.Container}} {
		switch levels := of[x.is]; {
		case len(levels) == 0 || strings.TrimSpace(*x.to) != "":
		case len(levels) == 1:
			*x.to = levels[0]
		default:
			return lab.Invalidf(fmt.Sprintf("arm%d_%s", i+1, x.is), "choose the "+string(x.is)+" of each arm", "%d of the factors are of the %s, so its levels do not name that of %s", len(levels), x.is, a.Name)
		}
	}
	if strings.TrimSpace(a.Treatment) == "" {
		a.Treatment = strings.Join(treated, ", ")
	}
	return nil
}

// spreadOver reads what else arms are spread over.
func spreadOver(in PlanInput) ([]lab.TrialOver, error) {
	var out []lab.TrialOver
	for _, x := range in.Over {
		o, err := lab.NewTrialOver("over", x.Is, x.Levels)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(y lab.TrialOver) bool { return y.Is == o.Is }) {
			return nil, lab.Invalidf("over", "name all of them at once", "%s is named twice", o.Is)
		}
		out = append(out, o)
	}
	return out, nil
}

// levelOn codes, by arm, what it has of all that is set on a unit together; nil if
// nothing is.
func (p *Plan) levelOn(on lab.Unit) []int {
	factors := p.factorsOn(on)
	if len(factors) == 0 {
		return nil
	}
	var out []int
	seen := map[string]int{}
	for _, a := range p.Trial.Arms {
		key := ""
		for _, k := range factors {
			key += fmt.Sprintf("%d/", p.Trial.LevelOf(a, k))
		}
		if _, ok := seen[key]; !ok {
			seen[key] = len(seen)
		}
		out = append(out, seen[key])
	}
	return out
}

// factorsOn lists the factors that are set on a unit.
func (p *Plan) factorsOn(on lab.Unit) []int {
	var out []int
	for k, f := range p.Trial.Details.Factors {
		if f.On == on {
			out = append(out, k)
		}
	}
	return out
}
