package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// defaultCookToCook is the standard deviation, from cook to cook, of the logarithm
// of the ratio of two arms, for want of own repeats (common practice, no source).
const defaultCookToCook = 0.10

// RunsInput asks what the same jars can show when they are spread over more cooks,
// each with makings of its own.
type RunsInput struct {
	JarsPerArm int      `json:"jars_per_arm"`           // over all cooks
	Cooks      int      `json:"cooks,omitempty"`        // that they are planned to stand in; 1 if left out
	CVPct      float64  `json:"cv_pct"`                 // between jars of one arm in one cook
	EffectPct  *float64 `json:"effect_pct,omitempty"`   // 20 if left out
	CookToCook *float64 `json:"cook_to_cook,omitempty"` // SD of the log ratio between cooks; 0.10 if left out
	Alpha      *float64 `json:"alpha,omitempty"`        // 0.05 if left out
}

// Run is one way to spread the jars: so many cooks of so many jars an arm.
type Run struct {
	Cooks int     `json:"cooks"`
	Jars  int     `json:"jars"` // of an arm in each cook
	Power float64 `json:"power"`
}

// RunsResult lists the ways that use every jar, the fewest cooks first.
type RunsResult struct {
	Runs []Run `json:"runs"`
	// Enough is the fewest cooks, each with as many jars of an arm as are planned for
	// one, that notice the difference with 80 % power; nil if that is more than 200.
	Enough   *Run   `json:"enough"`
	Sentence string `json:"sentence"`
}

// Runs returns the chance that a difference which holds from cook to cook is
// noticed, for each way to spread the jars of an arm evenly over two cooks or more.
// One difference of logarithms is taken for each cook, and judged by their t test:
// its variance is τ² + 2σ²/jars, σ² = ln(1 + CV²).
//
// The error is a *figure.Fault.
//
// Source: the noncentral t of stats.PowerPairs; a variance component between cooks
// as in any design with random blocks, Bailey (2008) chapter 8 (from memory).
func Runs(in RunsInput) (figure.Answer[RunsResult], error) {
	effect, tau, alpha := 20.0, defaultCookToCook, 0.05
	for _, x := range []struct {
		to   *float64
		from *float64
	}{{&effect, in.EffectPct}, {&tau, in.CookToCook}, {&alpha, in.Alpha}} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	var none figure.Answer[RunsResult]
	switch {
	case in.JarsPerArm < 2 || in.JarsPerArm > 1000:
		return none, figure.Faultf("jars_per_arm", "write 2 to 1000 jars", "%d jars an arm are asked for", in.JarsPerArm)
	case in.Cooks < 0 || in.Cooks > 1000:
		return none, figure.Faultf("cooks", "write the cooks that are planned", "%d cooks are asked for", in.Cooks)
	case !(in.CVPct > 0 && in.CVPct < 1000):
		return none, figure.Faultf("cv_pct", "write the spread between jars of one arm, such as 25", "cv_pct is %s, not between 0 and 1000", plain(in.CVPct))
	case !(effect > -100 && effect < 10000 && effect != 0):
		return none, figure.Faultf("effect_pct", "write a difference in per cent of the control, such as 20", "effect_pct is %s", plain(effect))
	case !(tau >= 0 && tau < 10):
		return none, figure.Faultf("cook_to_cook", "write a number such as 0.1", "cook_to_cook is %s, not between 0 and 10", plain(tau))
	case !(alpha > 0 && alpha < 1):
		return none, figure.Faultf("alpha", "write the share of false alarms, such as 0.05", "alpha is %s, not between 0 and 1", plain(alpha))
	}
	r := RunsResult{Runs: []Run{}}
	sigma := stats.LogSpread(in.CVPct / 100)
	power := func(cooks, jars int) (float64, error) {
		return stats.PowerPairs(math.Log1p(effect/100)/math.Sqrt(tau*tau+2*sigma*sigma/float64(jars)), float64(cooks), alpha)
	}
	for cooks := 2; cooks <= in.JarsPerArm; cooks++ {
		if in.JarsPerArm%cooks != 0 {
			continue
		}
		if p, err := power(cooks, in.JarsPerArm/cooks); err == nil {
			r.Runs = append(r.Runs, Run{Cooks: cooks, Jars: in.JarsPerArm / cooks, Power: p})
		}
	}
	each := max(1, in.JarsPerArm/max(1, in.Cooks))
	for cooks := 2; cooks <= maxUnits && r.Enough == nil; cooks++ {
		if p, err := power(cooks, each); err == nil && p >= aim {
			r.Enough = &Run{Cooks: cooks, Jars: each, Power: p}
		}
	}
	r.Sentence = r.say(in.JarsPerArm, effect)
	return figure.Answer[RunsResult]{Result: r, Cautions: []figure.Caution{}, Working: []figure.Step{
		{Step: "variance of one cook's difference", Formula: "τ² + 2·ln(1 + CV²)/jars", Value: maybe(tau*tau + 2*sigma*sigma), Unit: "at one jar, log scale", Source: ""},
		{Step: "power", Formula: "t test of one difference for each cook", Value: len(r.Runs), Unit: "ways", Source: "noncentral t"},
	}}, nil
}

func (r RunsResult) say(total int, effect float64) string {
	enough := ""
	if r.Enough != nil {
		enough = fmt.Sprintf(" To notice it in 80 of 100 takes %d cooks with %s of each arm.", r.Enough.Cooks, jars(r.Enough.Jars))
	}
	if len(r.Runs) == 0 {
		return fmt.Sprintf("%s an arm can not be spread evenly over several cooks.", jars(total)) + enough
	}
	few := r.Runs[0]
	many := few
	for _, x := range r.Runs {
		if x.Power > many.Power && (x.Jars > 1 || many.Cooks == few.Cooks) {
			many = x
		}
	}
	if many.Cooks == few.Cooks {
		return fmt.Sprintf("Of a true %s %% that holds from cook to cook, %s an arm notice %s of 100 as %d cooks of %d.",
			plain(effect), jars(total), number(100*few.Power, 0), few.Cooks, few.Jars) + enough
	}
	return fmt.Sprintf("More cooks beat more jars: of a true %s %% that holds from cook to cook, %s an arm notice %s of 100 as %d cooks of %d, and %s of 100 as %d cooks of %d, each with mixes made anew.",
		plain(effect), jars(total), number(100*few.Power, 0), few.Cooks, few.Jars, number(100*many.Power, 0), many.Cooks, many.Jars) + enough
}
