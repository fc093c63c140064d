package trialstat

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// leastDoses is how many doses make a ladder.
const leastDoses = 3

// Trend is the straight line through a ladder of doses, adjusted for place, each
// dose with a spread of its own.
type Trend struct {
	Factor  string   `json:"factor,omitempty"` // of a crossing
	Unit    string   `json:"unit,omitempty"`   // of the doses, such as mm
	From    float64  `json:"from"`             // the lowest dose
	To      float64  `json:"to"`               // the highest
	PerUnit Interval `json:"per_unit"`         // for one unit of dose
	Over    Interval `json:"over"`             // from the lowest dose to the highest
	P       *float64 `json:"p"`
	// ByCook is the change over the whole ladder judged from cook to cook. It decides
	// where it is there.
	ByCook   *OverCooks  `json:"by_cook"`
	EachCook []CookApart `json:"each_cook"` // the same in each cook, for two or more
	// PRandomisation is the share of the ways to deal the doses out anew within the
	// same place that would give as steep a line.
	PRandomisation *float64 `json:"p_randomisation"`
	Ending         Ending   `json:"ending"`
	Sentence       string   `json:"sentence"`
}

// doses returns the dose of each arm, nil unless the arms are a ladder: three or
// more, each with one dose of its own.
func (s *sheet) doses() ([]float64, error) {
	out := make([]float64, len(s.names))
	seen := make([]bool, len(s.names))
	any := false
	for i, r := range s.rows {
		if r.Dose == nil {
			continue
		}
		any = true
		if !(*r.Dose >= 0 && *r.Dose <= maxGrams) {
			return nil, figure.Faultf(rowField(i, "dose"), "write a dose of 0 or more", "the dose of %s is %s", s.jar(i), plain(*r.Dose))
		}
		if a := s.arm[i]; seen[a] && out[a] != *r.Dose {
			return nil, figure.Faultf(rowField(i, "dose"), "give every jar of an arm the same dose", "%s has the dose %s, others of its arm %s", s.jar(i), plain(*r.Dose), plain(out[a]))
		}
		out[s.arm[i]], seen[s.arm[i]] = *r.Dose, true
	}
	if !any || slices.Contains(seen, false) || len(out) < leastDoses {
		return nil, nil
	}
	sorted := slices.Sorted(slices.Values(out))
	if len(slices.Compact(sorted)) < len(out) {
		return nil, nil // two arms of one dose differ in something else
	}
	return out, nil
}

// climb judges the ladder, if the arms are one: it then decides.
//
// Source: linear contrast, Montgomery, Design and Analysis of Experiments (2013), 3.5
// (from memory); its variance, stats.BlockFit; the randomisation p, Pitman (1937).
func (c *comparing) climb() {
	if c.dose == nil || !c.outcome.means() {
		return
	}
	t := Trend{EachCook: []CookApart{}, Unit: c.doseUnit, From: slices.Min(c.dose), To: slices.Max(c.dose)}
	weights, end := c.ladderWeights()
	if why := c.ladderRefusal(); why != "" {
		t.Ending, t.Sentence = end, why
	} else {
		c.fitTrend(&t, weights)
	}
	c.result.Trends = []Trend{t}
	c.result.Ending, c.result.Sentence = t.Ending, t.Sentence
	if n := len(c.result.Comparisons); n > 0 {
		c.result.Sentence = t.Sentence[:len(t.Sentence)-1] + "; " + figure.Count(n, "comparison of two doses is", "comparisons of two doses are") + " listed."
	}
}

// ladderWeights are what the mean of each arm counts in the slope, and how a ladder
// that can not be judged ends.
func (c *comparing) ladderWeights() ([]float64, Ending) {
	mean, squares := stats.Mean(c.dose), 0.0
	weights := make([]float64, len(c.dose))
	for g, d := range c.dose {
		squares += (d - mean) * (d - mean)
		weights[g] = d - mean
	}
	for g := range weights {
		weights[g] /= squares
	}
	for _, f := range c.jars.fates {
		if f == growing {
			return weights, Running
		}
	}
	return weights, NoComparison
}

// ladderRefusal says why a ladder can not be judged, "" if it can.
func (c *comparing) ladderRefusal() string {
	still := 0
	for i, f := range c.jars.fates {
		if f == growing {
			still++
		}
		if f == picked && math.IsNaN(c.jars.figure(i, c.primary)) {
			without, mend := c.outcome.lacks()
			return fmt.Sprintf("The ladder can not be judged: %s was picked without %s; %s, or correct the fate.", c.jars.jar(i), without, mend)
		}
	}
	if still > 0 {
		return fmt.Sprintf("No verdict on the ladder yet: %s still growing; it is judged when every jar is picked, barren or lost.", figure.Of(still, len(c.jars.rows), "jar", "is", "are"))
	}
	for arm, name := range c.names {
		if n := c.jarsOf(arm); n < leastJars {
			return fmt.Sprintf("The ladder is described, not judged: %s has %s, and a verdict needs %d of each dose%s.", brief(name), c.thingsPer(n), leastJars, c.unitNote())
		}
	}
	for i, p := range c.aliasing {
		if c.refuses(p) {
			return fmt.Sprintf("The ladder can not be judged: the %s changed with the doses; next time, %s.", p.factor.word, c.aliasing[i].Repair)
		}
	}
	return ""
}

func (c *comparing) fitTrend(t *Trend, weights []float64) {
	t.Ending = NoComparison
	fit, err := c.fitted(c.main, c.blockBy)
	var e stats.Estimate
	if err == nil {
		e, err = fit.Contrast(weights, confidence)
	}
	if err != nil {
		t.Sentence = fmt.Sprintf("The ladder can not be judged: the doses moved with the places, or the %s of a dose do not differ at all; spread every dose over every place, by lot.", c.unit.many)
		return
	}
	width := t.To - t.From
	t.PerUnit = Interval{maybe(e.Value), maybe(e.Low), maybe(e.High)}
	t.Over = Interval{maybe(e.Value * width), maybe(e.Low * width), maybe(e.High * width)}
	t.P, t.PRandomisation = maybe(e.P), c.trendByLot()
	over := make([]float64, len(weights))
	for g, w := range weights {
		over[g] = w * width
	}
	t.ByCook = c.overCooks(over, c.plainMean(slices.Index(c.dose, t.From)), 1)
	t.EachCook = c.eachCook(over)
	c.sayTrend(t, e, width)
	c.step("rise for one unit of dose", "Σ(dose − mean dose)·mean of the arm / Σ(dose − mean dose)²", e.Value, c.outcome.unit(), "linear contrast, Montgomery (2013), 3.5")
	c.step("standard error of the rise", "√Σ c²·e²/(1 − h), HC2", e.SE, c.outcome.unit(), "MacKinnon and White (1985)")
	c.step("degrees of freedom of the rise", "tr(AS)²/tr(ASAS), each dose with its own variance", e.DF, "", "Satterthwaite (1946)")
}

// trendByLot is the randomisation p of the slope: doses are dealt anew within the
// same place.
func (c *comparing) trendByLot() *float64 {
	dose := make([]float64, len(c.main.rows))
	for k, i := range c.main.rows {
		dose[k] = c.dose[c.arm[i]]
	}
	left := stats.NewPlaces(c.placesOf(c.main.rows), len(dose)).Left(c.main.grams)
	draws := max(minDraws, min(maxDraws, dealtJars/len(dose)))
	p, err := stats.PermutationTrend(left, dose, blocksOf(c.main.rows, c.blocks), draws, c.seed)
	if err != nil {
		return nil
	}
	return maybe(p)
}

// sayTrend says what the line comes to, from the lowest dose to the highest.
func (c *comparing) sayTrend(t *Trend, e stats.Estimate, width float64) {
	fits, settle := c.unit.many, ""
	if x := t.ByCook; x != nil {
		jars := estimated{joint: stats.Estimate{Low: e.Low * width, High: e.High * width}}
		fits, settle = "cooks", c.inTheseCooks(jars)+c.sayToSettle(x)
		e.Value, e.Low, e.High = *x.Value/width, *x.Low/width, *x.High/width
	}
	low, high := e.Low*width, e.High*width
	base := c.plainMean(slices.Index(c.dose, t.From))
	margin := c.matters / 100 * base
	var small string
	t.Ending, small = c.ending(low, high, margin, base > 0)
	d := decimalsFor(high-low, low, high, e.Value*width)
	unit := c.outcome.gram()
	from := fmt.Sprintf("from %s to %s", plain(t.From), doseWord(t.To, t.Unit))
	interval := fmt.Sprintf("95 %% interval of %s%s%s, or %s%s for each %s", span(low, high, d), unit, fromCookToCook(t.ByCook),
		number(e.Value, decimalsFor(e.High-e.Low, e.Value)), unit, orUnit(t.Unit))
	per := c.outcome.unit()[len("g "):]
	if c.outcome == ByCount {
		per = "per jar inoculated"
	}
	subject, scope := "grams", c.scopeOf(func(int) bool { return true })
	if c.outcome == ByCount {
		subject = "counts"
	}
	tail := c.unitNote() + "."
	switch t.Ending {
	case Supported:
		way := "rose"
		if high < 0 {
			way = "fell"
		}
		t.Sentence = fmt.Sprintf("%s %s with the dose in a line by %s%s %s %s %s, with a %s%s%s", capitalWord(subject), way, number(math.Abs(e.Value*width), d), unit, per, from, scope, interval, small, tail)
	case Alike:
		t.Sentence = fmt.Sprintf("No rise or fall that matters: in a line, %s changed by %s%s %s %s %s, and the %s lies inside ±%s%s%s", subject, number(e.Value*width, d), unit, per, from, scope, interval, number(margin, max(d, decimalsFor(margin))), unit, tail)
	default:
		t.Sentence = fmt.Sprintf("No rise or fall with the dose could be told: in a line, %s changed by %s%s %s %s %s, and anything in the %s fits these %s%s%s", subject, number(e.Value*width, d), unit, per, from, scope, interval, fits, settle, tail)
	}
}

func doseWord(dose float64, unit string) string {
	if unit == "" {
		return plain(dose)
	}
	return plain(dose) + " " + unit
}

func orUnit(unit string) string {
	if unit == "" {
		return "unit of dose"
	}
	return unit
}
