package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// PowerInput asks what a plan can show.
type PowerInput struct {
	Arms       int      `json:"arms" jsonschema:"arms of the comparison, 2 to 12; with more than two each is set against the control"`
	JarsPerArm int      `json:"jars_per_arm" jsonschema:"jars in each arm that can be counted on in the end"`
	CVPct      float64  `json:"cv_pct" jsonschema:"spread between jars of one arm, standard deviation over mean"`
	EffectPct  *float64 `json:"effect_pct,omitempty" jsonschema:"true difference to notice, % of the control; 20 if left out"`
	Alpha      *float64 `json:"alpha,omitempty" jsonschema:"share of false alarms over all comparisons, both ways; 0.05 if left out"`
	Blocks     *int     `json:"blocks,omitempty" jsonschema:"cooks times layers within which jars are compared; 1 if left out"`
	LossPct    *float64 `json:"loss_pct,omitempty" jsonschema:"jars usually lost of those started; 0 % if left out"`
	Efficiency *float64 `json:"efficiency,omitempty" jsonschema:"share of the information that the layout leaves, as Alias gives it; 1 if left out"`
	Scale      string   `json:"scale,omitempty" jsonschema:"whether the spread stays the same in grams (if left out) or grows with the mean"`
}

// PowerResult is what a plan can show. Figures that can not be said are nil.
type PowerResult struct {
	Power *float64 `json:"power"` // chance to notice effect_pct, 0..1
	// DetectablePct and DetectableDownPct are the gain and the loss, in per cent
	// of the control, that are noticed with 80 % power. A loss of more than all
	// can not be.
	DetectablePct     *float64 `json:"detectable_pct"`
	DetectableDownPct *float64 `json:"detectable_down_pct"`
	JarsForEffect     *int     `json:"jars_for_effect"` // per arm, for effect_pct with 80 % power
	// StartJars is how many jars an arm to start for a 90 % chance that every arm
	// ends with jars_per_arm; StartJarsForEffect the same for jars_for_effect.
	StartJars          *int    `json:"start_jars"`
	StartJarsForEffect *int    `json:"start_jars_for_effect"`
	AlphaEach          float64 `json:"alpha_each"` // false alarms for each comparison
	Sentence           string  `json:"sentence"`
}

// planned is a checked PowerInput.
type planned struct {
	arms, jars, blocks      int
	cv, effect, loss, alpha float64 // as fractions; alpha for each comparison
	efficiency              float64
	log                     bool
}

// aim is the power that differences and jars are planned for; sureToKeep the
// chance that enough jars are left.
const (
	aim        = settlePower
	sureToKeep = 0.9
)

// Power returns what a comparison of arms of so many jars can show: the chance
// to notice a true difference, the difference that is noticed with 80 % power,
// and the jars an arm that a difference needs.
//
// The test is the two-sided t test with 2n − 2 degrees of freedom, one fewer for
// every block after the first. On the log scale a difference of e per cent is
// ln(1 + e/100)/√ln(1 + CV²) standard deviations; in grams it is (e/100)/CV.
// Several arms are each compared with a control at alpha/(arms − 1). It holds
// within one set of cooks: how effects differ from cook to cook is not in it. A
// layout that leaves the share E of the information counts like E times the jars.
//
// The error is a *figure.Fault.
//
// Source: see noticed; the log scale, Julious, Sample Sizes for Clinical Trials
// (2009), 3.3 (from memory); losses, the negative binomial distribution.
func Power(in PowerInput) (figure.Answer[PowerResult], error) {
	p, err := in.check()
	if err != nil {
		return figure.Answer[PowerResult]{}, err
	}
	r := PowerResult{AlphaEach: p.alpha}
	df := spentOn(p.jars, p.blocks)
	d := p.apart(p.effect) * math.Sqrt(p.efficiency)
	if df >= 1 && p.efficiency > 0 {
		r.Power = maybe(noticed(d, p.jars, p.blocks, p.alpha))
		r.DetectablePct, r.DetectableDownPct = p.asPct(detectable(p.jars, p.blocks, p.alpha, aim) / math.Sqrt(p.efficiency))
	}
	if n := jarsNeeded(math.Abs(d), p.alpha, aim, p.blocks); n > 0 && p.efficiency > 0 {
		r.JarsForEffect = &n
		r.StartJarsForEffect = toStart(n, p.arms, p.loss)
	}
	r.StartJars = toStart(p.jars, p.arms, p.loss)
	r.Sentence = p.say(r)
	return figure.Answer[PowerResult]{Result: r, Cautions: p.cautions(), Working: p.working(r, d, df)}, nil
}

func (in PowerInput) check() (planned, error) {
	p := planned{arms: in.Arms, jars: in.JarsPerArm, blocks: 1, effect: 0.2, alpha: 0.05, log: in.Scale == "log", efficiency: 1}
	switch {
	case in.Arms < minArms || in.Arms > maxArms:
		return p, figure.Faultf("arms", "compare 2 to 12 arms", "%d arms are asked for", in.Arms)
	case in.JarsPerArm < 1 || in.JarsPerArm > maxJars:
		return p, figure.Faultf("jars_per_arm", "write 1 to 100000 jars", "%d jars an arm are asked for", in.JarsPerArm)
	case in.Scale != "" && in.Scale != "grams" && in.Scale != "log":
		return p, figure.Faultf("scale", "write grams or log", "%q is no scale", brief(in.Scale))
	}
	var err error
	read := func(x *float64, key, mend string, low, high, or float64) float64 {
		if x == nil {
			return or
		}
		if !(*x > low && *x < high) && err == nil {
			err = figure.Faultf(key, mend, "%s is %s, not between %s and %s", key, plain(*x), plain(low), plain(high))
		}
		return *x
	}
	p.cv = read(&in.CVPct, "cv_pct", "write the spread between jars of one arm, such as 25", 0, 1000, 0) / 100
	p.effect = read(in.EffectPct, "effect_pct", "write a difference in per cent of the control, such as 20", -100, 10000, 20) / 100
	p.alpha = read(in.Alpha, "alpha", "write the share of false alarms, such as 0.05", 0, 1, 0.05) / float64(p.arms-1)
	if in.LossPct != nil && *in.LossPct != 0 {
		p.loss = read(in.LossPct, "loss_pct", "write the share of jars that are lost, from 0 up", 0, 100, 0) / 100
	}
	if in.Efficiency != nil {
		p.efficiency = *in.Efficiency
	}
	if !(p.efficiency >= 0 && p.efficiency <= 2) && err == nil { // other arms may add a little to 1
		err = figure.Faultf("efficiency", "write the share that the layout leaves, from 0 to 1", "efficiency is %s", plain(p.efficiency))
	}
	if in.Blocks != nil {
		p.blocks = *in.Blocks
	}
	if p.blocks < 1 || p.blocks > maxCells {
		return p, figure.Faultf("blocks", "write how many layers, over all cooks, hold all arms; 1 if that does not matter", "%d blocks are asked for", p.blocks)
	}
	return p, err
}

// logSD is the standard deviation of logarithms of values with this CV.
func (p planned) logSD() float64 { return math.Sqrt(math.Log1p(p.cv * p.cv)) }

// apart returns an effect in standard deviations.
func (p planned) apart(effect float64) float64 {
	if p.log {
		return math.Log1p(effect) / p.logSD()
	}
	return effect / p.cv
}

// asPct returns a difference in standard deviations as a gain and as a loss in
// per cent; no loss can be more than all.
func (p planned) asPct(d float64) (up, down *float64) {
	if p.log {
		return maybe(100 * math.Expm1(d*p.logSD())), maybe(-100 * math.Expm1(-d*p.logSD()))
	}
	up = maybe(100 * d * p.cv)
	if up != nil && *up < 100 {
		down = up
	}
	return up, down
}

// toStart returns the fewest jars an arm to start so that with a chance of 90 %
// every arm keeps n; nil if that is more than a million.
func toStart(n, arms int, loss float64) *int {
	m, err := stats.StartJars(n, arms, loss, sureToKeep)
	if err != nil {
		return nil
	}
	return &m
}

// say puts the result in one sentence.
func (p planned) say(r PowerResult) string {
	with := fmt.Sprintf("With %s an arm", jars(p.jars))
	if r.Power == nil {
		if p.efficiency == 0 {
			return with + " laid out like this no difference could be judged: something else moves with the arms."
		}
		return with + " no spread can be estimated, so no difference could be judged."
	}
	out := fmt.Sprintf("%s, a true difference of %s %% would be noticed in about %s of 100 such trials", with, plain(round6(100*p.effect)), number(100**r.Power, 0))
	out += sayDetectable(r.DetectablePct, r.DetectableDownPct)
	if r.JarsForEffect != nil && *r.JarsForEffect > p.jars {
		out += fmt.Sprintf(", or there must be %s an arm", jars(*r.JarsForEffect))
	}
	return out + "."
}

// farApart is a gain in per cent beyond which a figure would only look exact.
const farApart = 300

// sayDetectable says how large a difference must be to be noticed.
func sayDetectable(up, down *float64) string {
	switch {
	case up == nil:
		return ""
	case *up > farApart:
		return "; to be noticed in 80 of 100 it must be more than fourfold"
	case down == nil:
		return fmt.Sprintf("; to be noticed in 80 of 100 it must be %s more", percent(*up))
	}
	return fmt.Sprintf("; to be noticed in 80 of 100 it must be %s more or %s less", percent(*up), percent(*down))
}

// round6 takes the rounding of a share times 100 out of a typed per cent.
func round6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func severalComparisons(n int) figure.Caution {
	return figure.Caution{
		Code: "several_comparisons", Title: "Several comparisons", Weight: figure.Note,
		Text: fmt.Sprintf("%d arms are each compared with a control, so each comparison has %s of the false alarms. Fewer arms show more.", n, percent(100/float64(n))),
	}
}

func (p planned) cautions() []figure.Caution {
	out := []figure.Caution{{
		Code: "one_set_of_cooks", Title: "Within these cooks", Weight: figure.Note,
		Text: "This is the chance within one set of cooks. Effects differ from cook to cook, so the same jars over more cooks say more.",
	}}
	if p.jars < leastJars {
		out = append(out, figure.Caution{
			Code: "too_few_jars", Title: "Too few for a verdict", Weight: figure.Care,
			Text: fmt.Sprintf("Arms of fewer than %d jars are described, not judged: the lot alone could set 3 against 3 as far apart as they get in 1 of 10 layouts. Plan more jars.", leastJars),
		})
	}
	if p.arms > 2 {
		out = append(out, severalComparisons(p.arms-1))
	}
	if p.loss > 0 {
		out = append(out, figure.Caution{
			Code: "losses_apart", Title: "Losses are not in the power", Weight: figure.Care,
			Text: "The power is that of the jars that are left. Per jar inoculated, where a lost jar counts 0 g, the spread is larger and less is noticed.",
		})
	}
	return out
}

func (p planned) working(r PowerResult, d, df float64) []figure.Step {
	scale := "(effect/100)/(CV/100)"
	if p.log {
		scale = "ln(1 + effect/100)/√ln(1 + (CV/100)²)"
	}
	return []figure.Step{
		{Step: "information that the layout leaves", Formula: "E", Value: p.efficiency, Unit: "", Source: "John and Williams (1995), 2.2"},
		{Step: "difference in standard deviations", Formula: scale + "·√E", Value: maybe(d), Unit: "", Source: ""},
		{Step: "degrees of freedom", Formula: "2n − 2 − (blocks − 1)", Value: df, Unit: "", Source: ""},
		{Step: "false alarms for each comparison", Formula: "alpha/(arms − 1)", Value: p.alpha, Unit: "", Source: "Bonferroni"},
		{Step: "power", Formula: "P(|t| > t(1 − alpha/2)), δ = d·√(n/2)", Value: r.Power, Unit: "", Source: "noncentral t, Lehmann and Romano (2005), 5.2"},
		{Step: "jars to start", Formula: "smallest m with P(at least n of m are kept)^arms ≥ 0.9", Value: r.StartJars, Unit: "jars", Source: "binomial distribution"},
	}
}
