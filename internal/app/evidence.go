package app

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// Evidence is what the evidence picture of a trial is drawn from: the same
// jars that the verdict rests on.
type Evidence struct {
	Arms    []EvidenceArm // in the trial's order
	Jars    []EvidenceJar
	Matters *float64 // smallest difference that matters, grams per jar; nil if not known
}

// EvidenceArm is the mean of one arm with its own 95 % interval.
type EvidenceArm struct {
	Name            string
	Mean, Low, High *float64 // grams per jar of the primary; nil if not known
}

// EvidenceJar is one jar of the comparison.
type EvidenceJar struct {
	Name  string
	Arm   int    // index into Arms
	Place string // cook and layer
	Cook  string // "" if not known
	Grams float64
	Lost  bool // counted as 0 g
}

// evidencePicture gathers what the picture shows. Jars that still grow, and
// for grams per jar picked those that were not, are not in it.
func (ev evidence) evidencePicture(v Verdict) Evidence {
	var out Evidence
	for _, a := range ev.trial.Arms {
		out.Arms = append(out.Arms, armMean(a.Name, v.Result, ev.trial.Primary))
	}
	for _, j := range ev.jars {
		arm := slices.IndexFunc(ev.trial.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(j.Arm) })
		picked := j.Fate == lab.Picked || j.Fate == lab.Spent
		if j.Blank || arm < 0 || j.Fate == lab.Growing || j.Inoculated.IsZero() || picked && j.Picks == 0 {
			continue
		}
		if ev.trial.Primary == lab.PerPicked && !picked {
			continue
		}
		jar := EvidenceJar{Name: fmt.Sprintf("%s·%d", ev.batches[j.Batch], j.Number), Arm: arm, Place: ev.place(j.Jar), Lost: j.Fate == lab.Lost}
		if j.Cook != "" {
			jar.Cook = ev.cooks[j.Cook].String()
		}
		if picked {
			jar.Grams = float64(j.Grams)
		}
		out.Jars = append(out.Jars, jar)
	}
	out.Matters = mattersGrams(v.Result)
	return out
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
func armMean(name string, r CompareResult, primary string) EvidenceArm {
	out := EvidenceArm{Name: name}
	i := slices.IndexFunc(r.Arms, func(a trialstat.ArmSummary) bool { return lab.NameKey(a.Name) == lab.NameKey(name) })
	if i < 0 {
		return out
	}
	a := r.Arms[i]
	n := a.Inoculated - a.Growing
	out.Mean = a.MeanInoculated
	if primary == lab.PerPicked {
		n, out.Mean = a.Picked, a.MeanPicked
	}
	if out.Mean == nil || a.SD == nil || n < 2 {
		return out
	}
	half := stats.TQuantile(0.975, float64(n-1)) * *a.SD / math.Sqrt(float64(n))
	low, high := *out.Mean-half, *out.Mean+half
	out.Low, out.High = &low, &high
	return out
}

// mattersGrams turns the difference that matters from per cent of the usual
// arm's mean into grams.
func mattersGrams(r CompareResult) *float64 {
	if len(r.Comparisons) == 0 {
		return nil
	}
	usual := r.Comparisons[0].Arms[1]
	for _, a := range r.Arms {
		if a.Name == usual && a.MeanInoculated != nil {
			mean := *a.MeanInoculated
			if r.Comparisons[0].Per == lab.PerPicked && a.MeanPicked != nil {
				mean = *a.MeanPicked
			}
			grams := r.MattersPct / 100 * mean
			return &grams
		}
	}
	return nil
}
