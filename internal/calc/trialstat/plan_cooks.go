package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// planCooks is a trial whose verdict counts cooks.
type planCooks struct {
	arms, cooks int
	jars        float64 // of an arm in one cook
	sigma, tau  float64 // log scale
	alpha       float64 // for each comparison
}

// powerOfCooks is the power of a verdict from cook to cook, on the log scale: in each
// cook a difference has the variance τ² + 2σ²/jars. Two arms are judged by one
// difference for each cook; of more arms all tell how they differ between cooks, which
// is counted as the degrees of freedom of two groups.
//
// Source: as Runs.
func (in PlanInput) powerOfCooks(cv float64) (figure.Answer[PlanResult], error) {
	var out figure.Answer[PlanResult]
	// the checks are those of the jars
	if _, err := Power(PowerInput{Arms: in.Arms, JarsPerArm: in.JarsPerArm, CVPct: cv, EffectPct: in.MattersPct, Efficiency: in.Efficiency}); err != nil {
		return out, err
	}
	matters, e := 20.0, 1.0
	if in.MattersPct != nil {
		matters = *in.MattersPct
	}
	if in.Efficiency != nil {
		e = *in.Efficiency
	}
	p := planCooks{in.Arms, in.Cooks, e * float64(in.JarsPerArm) / float64(in.Cooks), stats.LogSpread(cv / 100), defaultCookToCook, 0.05 / float64(in.Arms-1)}
	r, effect := &out.Result, math.Log1p(matters/100)
	if p.jars > 0 {
		r.Power = maybe(p.chance(effect))
		d := p.detectable()
		r.DetectablePct, r.DetectableDownPct = maybe(100*math.Expm1(d)), maybe(-100*math.Expm1(-d))
		r.JarsForMatters, r.CooksForMatters = p.jarsFor(effect, e), p.cooksFor(effect)
	}
	r.Sentence = p.say(*r, matters)
	out.Cautions = []figure.Caution{{
		Code: "from_cook_to_cook", Title: "Cooks are counted", Weight: figure.Note,
		Text: "Three cooks and more are judged from cook to cook, so that what comes out holds for cooks to come. How far two arms lie apart from one cook to the next is taken as 10 % (common practice, no source).",
	}}
	out.Working = []figure.Step{
		{Step: "variance of one cook's difference", Formula: "τ² + 2·ln(1 + CV²)/jars", Value: maybe(p.apart() * p.apart()), Unit: "log scale", Source: ""},
		{Step: "power", Formula: "t test over cooks", Value: r.Power, Unit: "", Source: "noncentral t, Lehmann and Romano (2005), 5.2"},
	}
	return out, nil
}

// apart is the standard deviation of one cook's difference.
func (p planCooks) apart() float64 { return math.Sqrt(p.tau*p.tau + 2*p.sigma*p.sigma/p.jars) }

// chance is that to notice a difference of logarithms.
func (p planCooks) chance(effect float64) float64 {
	n := float64(p.cooks)
	var power float64
	var err error
	if p.arms > 2 && (p.arms-1)*(p.cooks-1) >= leastModelDF {
		power, err = stats.PowerT(effect*math.Sqrt2/p.apart(), n, n, 0, p.alpha)
	} else {
		power, err = stats.PowerPairs(effect/p.apart(), n, p.alpha)
	}
	if err != nil {
		return math.NaN()
	}
	return power
}

// detectable is the difference of logarithms that is noticed with 80 % power, by false
// position with the Illinois step.
func (p planCooks) detectable() float64 {
	off := func(d float64) float64 { return p.chance(d) - aim }
	low, high := 0.0, 3*p.apart()
	for off(high) < 0 && high < 100 {
		low, high = high, 2*high
	}
	atLow, atHigh := off(low), off(high)
	for range 60 {
		mid := high - atHigh*(high-low)/(atHigh-atLow)
		at := off(mid)
		if math.Abs(at) < 1e-12 || math.Abs(high-low) < 1e-14 {
			return mid
		}
		if at*atHigh < 0 {
			low, atLow = high, atHigh
		} else {
			atLow /= 2
		}
		high, atHigh = mid, at
	}
	return high
}

// jarsFor is how many jars of an arm, spread over the same cooks, notice a difference
// with 80 % power; nil where 200 in each do not.
func (p planCooks) jarsFor(effect, efficiency float64) *int {
	n := leastOf(1, maxUnits, func(each int) bool {
		more := p
		more.jars = efficiency * float64(each)
		return more.chance(effect) >= aim
	})
	if n == nil {
		return nil
	}
	jars := *n * p.cooks
	return &jars
}

// cooksFor is how many cooks of as many jars do.
func (p planCooks) cooksFor(effect float64) *int {
	return leastOf(leastCooks, maxUnits, func(n int) bool {
		more := p
		more.cooks = n
		return more.chance(effect) >= aim
	})
}

// leastOf is the least number from low to high that is enough, where more never is
// less so; nil if none is.
func leastOf(low, high int, enough func(n int) bool) *int {
	if !enough(high) {
		return nil
	}
	for low < high {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return &high
}

func (p planCooks) say(r PlanResult, matters float64) string {
	if r.Power == nil {
		return "Laid out like this no difference could be judged: something else moves with the arms."
	}
	out := fmt.Sprintf("Over %d cooks the verdict counts cooks: a true difference of %s %% would be noticed in about %s of 100 such trials", p.cooks, plain(round6(matters)), number(100**r.Power, 0))
	out += sayDetectable(r.DetectablePct, r.DetectableDownPct)
	switch {
	case r.CooksForMatters != nil && *r.CooksForMatters > p.cooks:
		out += fmt.Sprintf(", or there must be %d cooks with as many jars each", *r.CooksForMatters)
		if r.JarsForMatters == nil {
			out += "; more jars in these cooks would not do"
		}
	case r.CooksForMatters == nil:
		out += fmt.Sprintf("; %d cooks with as many jars each would not do", maxUnits)
	}
	return out + "."
}
