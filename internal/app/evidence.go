package app

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Evidence is what the evidence picture of a trial is drawn from: the same
// jars that the verdict rests on.
type Evidence struct {
	Arms    []EvidenceArm // in the trial's order
	Jars    []EvidenceJar
	Matters *float64 // smallest difference that matters, in the unit of the verdict; nil if not known
}

// EvidenceArm is the mean of one arm with its own 95 % interval.
type EvidenceArm struct {
	Name            string
	Mean, Low, High *float64 // of the primary, in the unit of the verdict; nil if not known
}

// EvidenceJar is one jar of the comparison.
type EvidenceJar struct {
	Name  string
	Arm   int     // index into Arms
	Place string  // cook and layer
	Cook  string  // "" if not known
	Grams float64 // or pins, per cent of a yes, or colour: what the primary outcome is
	Lost  bool    // counted as 0 g
}

// evidencePicture gathers what the picture shows. Jars that still grow, and
// for grams per jar picked those that were not, are not in it.
func (ev evidence) evidencePicture(v Verdict) Evidence {
	var out Evidence
	for _, a := range ev.trial.Arms {
		out.Arms = append(out.Arms, armMean(a.Name, v.Result))
	}
	for _, j := range ev.jars {
		arm := slices.IndexFunc(ev.trial.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(j.Arm) })
		figure, ok := ev.figureOf(j)
		if j.Blank || arm < 0 || !ok {
			continue
		}
		jar := EvidenceJar{Name: fmt.Sprintf("%s·%d", ev.batches[j.Batch], j.Number), Arm: arm, Place: ev.place(j.Jar), Lost: j.Fate == lab.Lost, Grams: figure}
		if j.Cook != "" {
			jar.Cook = ev.cooks[j.Cook].String()
		}
		out.Jars = append(out.Jars, jar)
	}
	out.Matters = mattersGrams(v.Result, ev.trial.Primary)
	return out
}

// figureOf is what a jar gives of the primary outcome, false if it has nothing yet.
func (ev evidence) figureOf(j store.JarRow) (float64, bool) {
	if j.Fate == lab.Growing || j.Inoculated.IsZero() {
		return 0, false
	}
	picked, row := j.Fate == lab.Picked || j.Fate == lab.Spent, trialstat.CompareRow{}
	ev.past[j.Jar.ID].count.into(&row, j.Fate)
	switch ev.trial.Primary {
	case lab.ByFruited:
		return yesOf(picked), true
	case lab.ByClean:
		return yesOf(j.Fate != lab.Lost), true
	case lab.ByColour:
		return valueOf(row.Score)
	case lab.ByPins:
		if picked {
			return valueOf(row.Count)
		}
		return 0, true
	}
	if picked {
		return float64(j.Grams), j.Picks > 0
	}
	return 0, ev.trial.Primary == lab.PerInoculated
}

func yesOf(yes bool) float64 {
	if yes {
		return 100
	}
	return 0
}

func valueOf(x *float64) (float64, bool) {
	if x == nil {
		return 0, false
	}
	return *x, true
}

// place says in which cook and layer a jar stood, "" if neither is known.
func (ev evidence) place(j lab.Jar) string {
	var parts []string
	if j.Cook != "" {
		parts = append(parts, ev.cooks[j.Cook].String())
	}
	if j.Layer > 0 {
		parts = append(parts, fmt.Sprintf("layer %d", j.Layer))
	}
	return strings.Join(parts, ", ")
}

// armMean returns the mean of an arm with its interval from its own spread.
// Source: Student (1908), mean ± t·s/√n.
func armMean(name string, r CompareResult) EvidenceArm {
	out := EvidenceArm{Name: name}
	i := slices.IndexFunc(r.Arms, func(a trialstat.ArmSummary) bool { return lab.NameKey(a.Name) == lab.NameKey(name) })
	if i < 0 {
		return out
	}
	a := r.Arms[i]
	out.Mean = a.Mean
	if out.Mean == nil || a.SD == nil || a.Figures < 2 {
		return out
	}
	half := stats.TQuantile(0.975, float64(a.Figures-1)) * *a.SD / math.Sqrt(float64(a.Figures))
	low, high := *out.Mean-half, *out.Mean+half
	out.Low, out.High = &low, &high
	return out
}

// mattersGrams turns the difference that matters into the unit of the figures: of
// grams and pins per cent of the usual arm's mean, of shares points; nil for colours.
func mattersGrams(r CompareResult, primary string) *float64 {
	matters := r.MattersPct
	switch {
	case len(r.Comparisons) == 0 || primary == lab.ByColour:
		return nil
	case primary == lab.ByFruited || primary == lab.ByClean:
		return &matters
	}
	usual := r.Comparisons[0].Arms[1]
	for _, a := range r.Arms {
		if a.Name == usual && a.Mean != nil {
			matters *= *a.Mean / 100
			return &matters
		}
	}
	return nil
}
