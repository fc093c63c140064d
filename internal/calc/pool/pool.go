package pool

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// PoolInput holds the same contrast from several cooks, trials or seasons.
type PoolInput struct {
	Trials  []PoolTrial `json:"trials" jsonschema:"one for each cook, trial or season; with rank, one for each recipe or culture against the same control"`
	Scale   string      `json:"scale,omitempty" jsonschema:"what the estimates are: a ratio (if left out), a difference in per cent, or a difference in a unit"`
	Typical *float64    `json:"typical,omitempty" jsonschema:"usual value of the control in that unit; needed with the scale difference"`
	Rank    bool        `json:"rank,omitempty" jsonschema:"the rows are recipes or cultures to be put in order, not repeats of one comparison"`
}

// PoolTrial is one estimate with its 95 % interval or its standard error.
type PoolTrial struct {
	Name     figure.Label `json:"name" jsonschema:"what it is called"`
	Estimate float64      `json:"estimate" jsonschema:"the contrast, on the scale"`
	Low      *float64     `json:"low,omitempty" jsonschema:"low end of its 95 % interval"`
	High     *float64     `json:"high,omitempty" jsonschema:"high end of its 95 % interval"`
	SE       *float64     `json:"se,omitempty" jsonschema:"its standard error, in place of low and high; of the logarithm for a ratio"`
	Imported bool         `json:"imported,omitempty" jsonschema:"it is from elsewhere: published, or from a friend"`
}

// PoolResult is what the trials add up to, on the scale of the input.
type PoolResult struct {
	Mean Band `json:"mean"`
	Next Band `json:"next"` // the true contrast of the next grow
	// Spread is how far trials differ beyond chance: a standard deviation, of the
	// logarithm for ratios and per cent.
	Spread  Band           `json:"spread"`
	MeanOwn *Band          `json:"mean_own"` // without what was imported; nil if nothing was, or nothing else is there
	Above   float64        `json:"chance_above"`
	Trials  []PooledTrial  `json:"trials"`
	Ranking []figure.Label `json:"ranking"` // best first, after shrinking; empty unless asked for
	REML    *RemlResult    `json:"reml"`    // nil for one trial
	// Sentence says it in words.
	Sentence string `json:"sentence"`
}

// Band is a value with its 95 % interval.
type Band struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// PooledTrial is one trial as it was given and as the others make it.
type PooledTrial struct {
	Name     figure.Label `json:"name"`
	Given    Band         `json:"given"`
	Shrunk   Band         `json:"shrunk"`
	Weight   float64      `json:"weight"` // share in the mean of REML, 0..1
	Imported bool         `json:"imported"`
}

// RemlResult is the mean by restricted maximum likelihood with the interval of
// Hartung and Knapp.
type RemlResult struct {
	Mean Band    `json:"mean"`
	Next Band    `json:"next"`
	P    float64 `json:"p"`
	Tau2 float64 `json:"tau2"`
	Q    float64 `json:"q"`
	I2   float64 `json:"i2"` // 0..1
}

const (
	level     = 0.95
	maxTrials = 500
	fewTrials = 5
)

// scaling carries a scale to one on which estimates are about normal.
type scaling struct {
	to, from func(float64) float64
	none     float64 // what says "no difference"
	prior    Prior
	word     string
}

func (in PoolInput) scaling() (scaling, error) {
	same := func(x float64) float64 { return x }
	switch in.Scale {
	case "", "ratio":
		return scaling{math.Log, math.Exp, 1, UsualPrior, "times the control"}, nil
	case "percent":
		return scaling{
			func(x float64) float64 { return math.Log1p(x / 100) }, func(x float64) float64 { return 100 * math.Expm1(x) }, 0, UsualPrior, "% more than the control",
		}, nil
	case "difference":
		if in.Typical == nil || !(*in.Typical > 0 && *in.Typical < 1e12) {
			return scaling{}, figure.Faultf("typical", "write the usual value of the control, such as 12.5", "differences in a unit can not be weighed without knowing what is usual")
		}
		u := *in.Typical
		return scaling{same, same, 0, Prior{UsualPrior.Mean * u, UsualPrior.Between * u}, "more than the control"}, nil
	}
	return scaling{}, figure.Faultf("scale", "write ratio, percent or difference", "%.40q is no scale", in.Scale)
}

// Pool returns what the same contrast adds up to over cooks, trials and
// seasons, what the next grow may show, and each trial drawn towards the
// others.
//
// The error is a *figure.Fault.
//
// Source: see Bayes and REML.
func Pool(in PoolInput) (figure.Answer[PoolResult], error) {
	s, err := in.scaling()
	if err != nil {
		return figure.Answer[PoolResult]{}, err
	}
	trials, err := in.read(s)
	if err != nil {
		return figure.Answer[PoolResult]{}, err
	}
	pooled, err := Bayes(s.prior, trials)
	if err != nil {
		return figure.Answer[PoolResult]{}, err
	}
	r := PoolResult{Mean: s.band(pooled.Mean()), Next: s.band(pooled.Next()), Trials: []PooledTrial{}, Ranking: []figure.Label{}}
	r.Spread.Value, r.Spread.Low, r.Spread.High = pooled.Spread(level)
	r.Above = pooled.Mean().Above(s.to(s.none))
	r.MeanOwn = in.own(s, trials)
	r.REML = s.reml(trials)
	in.list(&r, s, trials, pooled)
	r.Sentence = in.say(r, s)
	return figure.Answer[PoolResult]{Result: r, Cautions: in.cautions(s, trials), Working: in.working(r, s)}, nil
}

// read returns the trials on the scale that is computed on.
func (in PoolInput) read(s scaling) ([]Trial, error) {
	if len(in.Trials) == 0 || len(in.Trials) > maxTrials {
		return nil, figure.Faultf("trials", "give 1 to 500 trials", "%d trials are given", len(in.Trials))
	}
	var out []Trial
	for i, t := range in.Trials {
		field := fmt.Sprintf("trials[%d].", i)
		y := s.to(t.Estimate)
		if !usable(y) {
			return nil, figure.Faultf(field+"estimate", "write it on the scale that is named; a ratio is above 0", "the estimate %g of %s can not be", t.Estimate, t.Name)
		}
		se, err := t.error(field, s, in.Scale)
		if err != nil {
			return nil, err
		}
		out = append(out, Trial{y, se})
	}
	return out, nil
}

func usable(x float64) bool { return !math.IsNaN(x) && math.Abs(x) < 1e12 }

func (t PoolTrial) error(field string, s scaling, scale string) (float64, error) {
	if t.SE != nil && (t.Low != nil || t.High != nil) {
		return 0, figure.Faultf(field+"se", "leave one of the two out", "%s has a standard error and an interval", t.Name)
	}
	if t.SE != nil {
		if scale == "percent" {
			return 0, figure.Faultf(field+"se", "give low and high", "a standard error of per cents can not be taken to ratios")
		}
		if !(*t.SE > 0) || !usable(*t.SE) || *t.SE < 1e-9*s.prior.Between {
			return 0, figure.Faultf(field+"se", "write its standard error, above 0", "the standard error of %s is %g", t.Name, *t.SE)
		}
		return *t.SE, nil
	}
	if t.Low == nil || t.High == nil {
		return 0, figure.Faultf(field+"low", "give both ends of its 95 % interval, or se", "%s has no interval, so it can not be weighed", t.Name)
	}
	low, high := s.to(*t.Low), s.to(*t.High)
	if !(usable(low) && usable(high) && *t.Low <= t.Estimate && t.Estimate <= *t.High && high-low > 1e-8*s.prior.Between) {
		return 0, figure.Faultf(field+"low", "check the three figures and the scale", "%s has %g within %g to %g", t.Name, t.Estimate, *t.Low, *t.High)
	}
	return (high - low) / (2 * stats.NormalQuantile((1+level)/2)), nil
}

func (s scaling) band(b Belief) Band {
	low, high := b.Interval(level)
	return Band{s.from(b.Mean()), s.from(low), s.from(high)}
}

func (in PoolInput) own(s scaling, trials []Trial) *Band {
	var own []Trial
	for i, t := range in.Trials {
		if !t.Imported {
			own = append(own, trials[i])
		}
	}
	if len(own) == len(trials) || len(own) == 0 {
		return nil
	}
	p, err := Bayes(s.prior, own)
	if err != nil {
		return nil
	}
	b := s.band(p.Mean())
	return &b
}

// reml is nil where its interval can not be written.
func (s scaling) reml(trials []Trial) *RemlResult {
	m, err := REML(trials, level)
	if err != nil {
		return nil
	}
	r := &RemlResult{
		Mean: Band{s.from(m.Mean), s.from(m.Low), s.from(m.High)}, Next: Band{s.from(m.Mean), s.from(m.NextLow), s.from(m.NextHigh)},
		P: m.P, Tau2: m.Tau2, Q: m.Q, I2: m.I2,
	}
	for _, x := range []float64{r.Mean.Low, r.Mean.High, r.Next.Low, r.Next.High, r.P, r.Q, r.I2} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil
		}
	}
	return r
}

// list fills the trials as they are seen beside the others, and the ranking.
func (in PoolInput) list(r *PoolResult, s scaling, trials []Trial, pooled *Pooled) {
	tau2 := 0.0
	if r.REML != nil {
		tau2 = r.REML.Tau2
	}
	_, sw, _ := weighted(trials, tau2)
	reach := stats.NormalQuantile((1 + level) / 2)
	for i, t := range trials {
		r.Trials = append(r.Trials, PooledTrial{
			Name:   in.Trials[i].Name,
			Given:  Band{in.Trials[i].Estimate, s.from(t.Estimate - reach*t.SE), s.from(t.Estimate + reach*t.SE)},
			Shrunk: s.band(pooled.Of(i)), Weight: 1 / (t.SE*t.SE + tau2) / sw, Imported: in.Trials[i].Imported,
		})
	}
	if !in.Rank {
		return
	}
	order := slices.Clone(r.Trials)
	slices.SortStableFunc(order, func(a, b PooledTrial) int {
		switch {
		case a.Shrunk.Value > b.Shrunk.Value:
			return -1
		case a.Shrunk.Value < b.Shrunk.Value:
			return 1
		}
		return 0
	})
	for _, t := range order {
		r.Ranking = append(r.Ranking, t.Name)
	}
}

func (in PoolInput) say(r PoolResult, s scaling) string {
	if in.Rank {
		best := r.Trials[slices.IndexFunc(r.Trials, func(t PooledTrial) bool { return t.Name == r.Ranking[0] })]
		return fmt.Sprintf("%s stands first with %.3g %s after shrinking (given %.3g); its 95 %% interval is %.3g to %.3g.",
			best.Name, best.Shrunk.Value, s.word, best.Given.Value, best.Shrunk.Low, best.Shrunk.High)
	}
	out := fmt.Sprintf("Over %d trials the mean is %.3g %s (95 %% interval %.3g to %.3g); the next grow may show %.3g to %.3g",
		len(r.Trials), r.Mean.Value, s.word, r.Mean.Low, r.Mean.High, r.Next.Low, r.Next.High)
	if r.Mean.Low <= s.none && r.Mean.High >= s.none {
		return out + ". Not distinguishable from no difference."
	}
	return out + "."
}

func (in PoolInput) cautions(s scaling, trials []Trial) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title string, weight figure.Weight, text string, args ...any) {
		out = append(out, figure.Caution{Code: code, Title: title, Weight: weight, Text: fmt.Sprintf(text, args...)})
	}
	if len(trials) < fewTrials {
		add("few_trials", "Few trials", figure.Care, "How far trials differ can be read from about %d on. Of %s it rests mostly on what was believed before, and is wide. Repeat it.", fewTrials, figure.Counted(len(trials), "trial"))
	}
	if in.Rank {
		add("winners_curse", "The first is flattered", figure.Care, "Of many that are tried, the one that comes out first was also lucky. The figures are drawn towards each other for that; repeat the first two before you change over.")
	}
	if m, err := REML(trials, level); err == nil && m.Narrow {
		add("closer_than_chance", "Trials closer than chance sets them", figure.Note, "The estimates lie so close together that the interval of Hartung and Knapp is narrower than if trials could not differ at all. Read the mean's own interval, not that one.")
	}
	imported := 0
	for i, t := range in.Trials {
		if t.Imported {
			imported++
		}
		if t.Low == nil || t.High == nil {
			continue
		}
		middle := (s.to(*t.Low) + s.to(*t.High)) / 2
		if math.Abs(middle-trials[i].Estimate) > 0.5*trials[i].SE {
			add("lopsided", "An interval does not fit the scale", figure.Care, "The estimate of %s does not lie in the middle of its interval on this scale. Is it a ratio, per cent or a difference?", t.Name)
		}
	}
	if imported > 0 {
		beside := " The mean without them stands beside."
		if in.Rank || imported == len(trials) {
			beside = ""
		}
		add("imported", "Trials from elsewhere", figure.Care, "%s from elsewhere: other rooms, other cultures, and published more readily when they came out well.%s", figure.Of(imported, len(trials), "trial", "is", "are"), beside)
	}
	return out
}

func (in PoolInput) working(r PoolResult, s scaling) []figure.Step {
	out := []figure.Step{
		{Step: "prior of the mean", Formula: "normal about no difference, standard deviation", Value: s.prior.Mean, Unit: "", Source: "doc/methods/pool.md"},
		{Step: "prior of the spread between trials", Formula: "half-normal, scale", Value: s.prior.Between, Unit: "", Source: "doc/methods/pool.md"},
		{Step: "mean", Formula: "Σ over spreads of p(spread)·normal(mean given spread)", Value: r.Mean, Unit: "", Source: "Gelman et al. (2013), 5.4"},
		{Step: "next grow", Formula: "the same with spread² added to the variance", Value: r.Next, Unit: "", Source: "Gelman et al. (2013), 5.4"},
	}
	if r.REML != nil {
		out = append(out,
			figure.Step{Step: "variance between trials", Formula: "root of the restricted likelihood's score", Value: r.REML.Tau2, Unit: "", Source: "Viechtbauer (2005)"},
			figure.Step{Step: "mean beside it", Formula: "Σ y/(SE² + τ²) / Σ 1/(SE² + τ²), t with k − 1 degrees", Value: r.REML.Mean, Unit: "", Source: "Knapp and Hartung (2003)"})
	}
	return out
}
