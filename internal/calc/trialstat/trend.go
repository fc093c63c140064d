package trialstat

import (
	"fmt"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// TrendJar is one jar of a ladder: its dose, what it gave (0 if lost or barren),
// and the place within which it is compared, such as its cook and layer.
type TrendJar struct {
	Dose  float64 `json:"dose"`
	Grams float64 `json:"grams_g"`
	Place Label   `json:"place,omitempty"`
}

// TrendInput is a ladder: jars of 3 to 12 ordered doses.
type TrendInput struct {
	Jars []TrendJar `json:"jars"`
}

// TrendResult is the straight line through a ladder, with its 95 % interval.
type TrendResult struct {
	PerUnit  Interval `json:"per_unit"` // grams for one unit of dose
	P        *float64 `json:"p"`
	Ending   Ending   `json:"ending"` // supported if 0 lies outside the interval, else not_told_apart or no_comparison
	Sentence string   `json:"sentence"`
}

// Trend judges whether grams rise or fall with a dose: the linear contrast of the
// arms' means, adjusted for place, each arm with its own spread. It says nothing of
// a best dose in the middle. Arms of fewer than 4 jars end in no_comparison.
//
// The error is a *figure.Fault.
//
// Source: linear contrast, Montgomery, Design and Analysis of Experiments (2013),
// 3.5 (from memory); its variance, stats.BlockFit.
func Trend(in TrendInput) (figure.Answer[TrendResult], error) {
	var none, out figure.Answer[TrendResult]
	var doses []float64
	for i, j := range in.Jars {
		if !(j.Dose >= 0 && j.Dose <= maxGrams) || !(j.Grams >= 0 && j.Grams <= maxGrams) {
			return none, figure.Faultf(fmt.Sprintf("jars[%d]", i), "write a dose and grams, 0 or more", "jar %d has dose %s and %s g", i+1, plain(j.Dose), plain(j.Grams))
		}
		if !slices.Contains(doses, j.Dose) {
			doses = append(doses, j.Dose)
		}
		if len(doses) > maxArms {
			return none, figure.Faultf("jars", "a ladder has 3 to 12 doses", "there are more than 12 doses")
		}
	}
	if len(doses) < 3 {
		return none, figure.Faultf("jars", "a ladder has 3 to 12 doses; compare two as arms", "there are %d doses", len(doses))
	}
	slices.Sort(doses)
	out.Cautions, out.Working = []figure.Caution{}, []figure.Step{}
	out.Result = trendOf(in.Jars, doses)
	return out, nil
}

func trendOf(all []TrendJar, doses []float64) TrendResult {
	grams, arm, block := make([]float64, len(all)), make([]int, len(all)), make([]int, len(all))
	places, count := map[string]int{}, make([]int, len(doses))
	for i, j := range all {
		at, ok := places[j.Place.Trimmed()]
		if !ok {
			at = len(places)
			places[j.Place.Trimmed()] = at
		}
		grams[i], arm[i], block[i] = j.Grams, slices.Index(doses, j.Dose), at
		count[arm[i]]++
	}
	r := TrendResult{Ending: NoComparison}
	if least := slices.Min(count); least < leastJars {
		r.Sentence = fmt.Sprintf("The ladder is described, not judged: one dose has %s, and a verdict needs %d of each.", jars(least), leastJars)
		return r
	}
	mean, squares := stats.Mean(doses), 0.0
	weights := make([]float64, len(doses))
	for g, d := range doses {
		squares += (d - mean) * (d - mean)
		weights[g] = d - mean
	}
	for g := range weights {
		weights[g] /= squares
	}
	fit, err := stats.FitBlocks(grams, arm, block, len(doses))
	if err != nil {
		r.Sentence = "The ladder can not be judged: there are no jars."
		return r
	}
	e, err := fit.Contrast(weights, confidence)
	if err != nil {
		r.Sentence = "The ladder can not be judged: the doses moved with the places, or the jars of a dose do not differ at all; spread every dose over every place, by lot."
		return r
	}
	r.PerUnit, r.P = Interval{maybe(e.Value), maybe(e.Low), maybe(e.High)}, maybe(e.P)
	d := decimalsFor(e.High-e.Low, e.Low, e.High, e.Value)
	interval := fmt.Sprintf("%s g for each unit of dose, 95 %% interval of %s g", number(e.Value, d), span(e.Low, e.High, d))
	r.Ending = NotToldApart
	r.Sentence = "No rise or fall with the dose could be told: " + interval + "."
	if e.Low > 0 || e.High < 0 {
		r.Ending = Supported
		way := "rose"
		if e.High < 0 {
			way = "fell"
		}
		r.Sentence = fmt.Sprintf("Grams %s with the dose: %s.", way, interval)
	}
	return r
}
