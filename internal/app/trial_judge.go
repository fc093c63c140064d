package app

import (
	"encoding/json"
	"fmt"
	"slices"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// judging is all that a verdict is made from: what it does not hold can not
// change the verdict.
type judging struct {
	Table    trialstat.CompareInput
	Trial    lab.Trial // as the shelf may see it
	Blind    bool      // the key is closed
	Drawn    []byte    // design that the places were drawn by, nil if they are not to be drawn again
	Cautions []figure.Caution
}

// verdict judges the evidence, unless the same was judged before.
func (ev evidence) verdict() (Verdict, error) {
	return ev.known.verdict(judging{ev.input(), ev.trial, ev.mask.closed(), ev.drawn(), ev.cautions})
}

// drawn returns the design of the draw that allotted the trial, nil if there was
// none, if jars have left the trial since, or if it was drawn anew and jar
// numbers no longer follow the load.
func (ev evidence) drawn() []byte {
	if ev.allotment == nil || ev.allotment.Succeeds != "" || len(ev.batches) != 1 || ev.mask.closed() {
		return nil
	}
	for _, j := range ev.jars {
		if !j.Blank && j.Inoculated.IsZero() {
			return nil
		}
	}
	return ev.allotment.Design
}

// verdict judges.
func (j judging) verdict() (Verdict, error) {
	if len(j.Table.Rows) == 0 {
		return j.notBegun(), nil
	}
	if len(j.Trial.Differ) == 0 {
		j.Cautions = append(slices.Clip(j.Cautions), treatmentAssumed(j.Trial))
	}
	v, err := trialstat.CompareWith(j.Table, j.redraw())
	switch {
	case err != nil:
		return v, err
	case j.Blind:
		return j.withheld(v), nil
	}
	v.Cautions = append(v.Cautions, j.Cautions...)
	return v, nil
}

// notBegun is the verdict of a trial of which no jar is inoculated yet.
func (j judging) notBegun() Verdict {
	v := Verdict{Cautions: []figure.Caution{}, Working: []figure.Step{}, Result: CompareResult{
		Comparisons: []trialstat.Comparison{}, Aliased: []string{}, PartlyAliased: []trialstat.Aliasing{}, BlockBy: []string{},
		Trends: []trialstat.Trend{}, Interactions: []trialstat.Interaction{},
		Ending: trialstat.Running, Sentence: "No verdict yet: no jar of this trial is inoculated.",
		MattersPct: j.Trial.Matters, Differ: words(j.Trial.Differ),
	}}
	for _, a := range j.Trial.Arms {
		v.Result.Arms = append(v.Result.Arms, ArmSummary{Name: a.Name})
	}
	return v
}

// withheld is the verdict of a blind trial: what the jars gave by letter, and
// no comparison.
func (j judging) withheld(v Verdict) Verdict {
	growing, all := 0, 0
	for _, a := range v.Result.Arms {
		growing, all = growing+a.Growing, all+a.Inoculated
	}
	v.Result.Comparisons, v.Result.Ending = []trialstat.Comparison{}, trialstat.Running
	v.Result.Trends, v.Result.Interactions = []trialstat.Trend{}, []trialstat.Interaction{}
	v.Result.Aliased, v.Result.PartlyAliased = []string{}, []trialstat.Aliasing{}
	v.Result.JarsToSettle = nil
	v.Working, v.Cautions = []figure.Step{}, append([]figure.Caution{}, j.Cautions...)
	v.Result.Sentence = fmt.Sprintf("This trial is blind: its arms go by letters, and the verdict is read when the key is opened. All jars are done, %d of them.", all)
	if growing > 0 {
		v.Result.Sentence = fmt.Sprintf("This trial is blind: its arms go by letters until the key is opened. %s.", figure.Of(growing, all, "jar", "still grows", "still grow"))
	}
	return v
}

// treatmentAssumed says that nobody said what the arms differ in.
func treatmentAssumed(t lab.Trial) figure.Caution {
	return figure.Caution{
		Code: "treatment_assumed", Title: "What the arms differ in was not said", Weight: figure.Care,
		Text: fmt.Sprintf("The arms of %s are taken to differ in a treatment. If they differ in their recipe, culture or container, the verdict may rest on the wrong thing: say so when the sheet is taken in.", t.Name),
	}
}

// redraw returns the draw that allotted the trial, to be run again by the
// randomisation test, or nil if there is none to be run.
func (j judging) redraw() func(rep int) []int {
	if j.Drawn == nil || j.Table.Seed == nil {
		return nil
	}
	var design trialstat.Design
	if err := json.Unmarshal(j.Drawn, &design); err != nil {
		return nil
	}
	draw, err := trialstat.Redraw(design, *j.Table.Seed)
	if err != nil {
		return nil
	}
	sorted := j.sortedArms()
	return func(rep int) []int {
		arms := draw(rep)
		for i, a := range arms {
			arms[i] = sorted[a]
		}
		return arms
	}
}

// sortedArms returns, for each arm of the trial, its place among the arms
// sorted by name.
func (j judging) sortedArms() []int {
	names := make([]string, len(j.Trial.Arms))
	for i, a := range j.Trial.Arms {
		names[i] = a.Name
	}
	sorted := slices.Sorted(slices.Values(names))
	place := make([]int, len(names))
	for i, n := range names {
		place[i] = slices.Index(sorted, n)
	}
	return place
}

func label(s string) trialstat.Label { return trialstat.Label(s) }
