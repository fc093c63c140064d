package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// PlanUnits is what a factor is set on as a whole: so many cooks, shelves or makings
// for each level.
type PlanUnits struct {
	Word  string   `json:"word"` // of one of them, such as "cook"
	Many  string   `json:"many"`
	Each  int      `json:"each"`            // for each level
	Jars  float64  `json:"jars"`            // in one, of one arm
	Apart *float64 `json:"apart,omitempty"` // SD of the logarithm from one to the next; 0.10 if left out
}

// defaultApart is the standard deviation of the logarithm from one cook, shelf or
// making to the next (common practice, no source).
const defaultApart = 0.10

// most units that are looked through for enough.
const maxUnits = 200

// powerOfUnits is the power where units and not jars are counted: the t test of two
// means of units, each unit with the variance τ² + σ²/jars on the log scale.
//
// Source: as Runs; a split plot, where the whole plots are compared among
// themselves, Bailey, Design of Comparative Experiments (2008), 8.3 (from memory).
func (in PlanInput) powerOfUnits(cv float64) (figure.Answer[PlanResult], error) {
	var out figure.Answer[PlanResult]
	u := *in.Units
	apart, matters := defaultApart, 20.0
	if u.Apart != nil {
		apart = *u.Apart
	}
	if in.MattersPct != nil {
		matters = *in.MattersPct
	}
	switch {
	case in.Arms < minArms || in.Arms > maxArms:
		return out, figure.Faultf("arms", "compare 2 to 12 levels", "%d levels are asked for", in.Arms)
	case u.Each < 1 || u.Each > maxJars || !(u.Jars > 0 && u.Jars <= maxJars):
		return out, figure.Faultf("units", "give each level one or more, with jars in it", "%d %s of %s jars are asked for", u.Each, brief(u.Many), plain(u.Jars))
	case !(apart >= 0 && apart < 10):
		return out, figure.Faultf("apart", "write a number such as 0.1", "apart is %s, not between 0 and 10", plain(apart))
	}
	alpha := 0.05 / float64(in.Arms-1)
	sigma := stats.LogSpread(cv / 100)
	sd := math.Sqrt(apart*apart + sigma*sigma/u.Jars)
	effect := math.Log1p(matters/100) / sd
	r := &out.Result
	if u.Each > 1 {
		r.Power = maybe(noticed(effect, u.Each, 1, alpha))
		d := detectable(u.Each, 1, alpha, aim) * sd
		r.DetectablePct, r.DetectableDownPct = maybe(100*math.Expm1(d)), maybe(-100*math.Expm1(-d))
	}
	for n := 2; n <= maxUnits; n++ {
		if noticed(effect, n, 1, alpha) >= aim {
			r.UnitsForMatters = &n
			break
		}
	}
	r.Sentence = u.say(*r, matters)
	out.Cautions = u.cautions()
	out.Working = []figure.Step{
		{Step: "variance of one " + u.Word, Formula: "τ² + ln(1 + CV²)/jars", Value: sd * sd, Unit: "log scale", Source: ""},
		{Step: "power", Formula: "t test of " + u.Many + ", 2n − 2 degrees of freedom", Value: r.Power, Unit: "", Source: "noncentral t, Lehmann and Romano (2005), 5.2"},
	}
	return out, nil
}

func (u PlanUnits) say(r PlanResult, matters float64) string {
	if r.Power == nil {
		return fmt.Sprintf("With one %s to a level no difference could be judged, however many jars stand in it: a difference between two %s would look exactly the same.", u.Word, u.Many)
	}
	out := fmt.Sprintf("With %d %s to a level, a true difference of %s %% would be noticed in about %s of 100 such trials", u.Each, u.Many, plain(round6(matters)), number(100**r.Power, 0))
	out += sayDetectable(r.DetectablePct, r.DetectableDownPct)
	if r.UnitsForMatters != nil && *r.UnitsForMatters > u.Each {
		out += fmt.Sprintf(", or there must be %d %s to a level", *r.UnitsForMatters, u.Many)
	}
	return out + "."
}

func (u PlanUnits) cautions() []figure.Caution {
	out := []figure.Caution{{
		Code: "unit", Title: fmt.Sprintf("The %s is the unit", u.Word), Weight: figure.Note,
		Text: fmt.Sprintf("All jars of a %s have one level, so %s are counted and not jars. More jars in each make it a little surer; more %s much. How far %s lie apart by themselves is taken as 10 %%.", u.Word, u.Many, u.Many, u.Many),
	}}
	switch {
	case u.Each == 1:
		out = append(out, figure.Caution{
			Code: "one_unit", Title: fmt.Sprintf("One %s to a level", u.Word), Weight: figure.Care,
			Text: fmt.Sprintf("Plan two or more %s for each level, by lot. With one, what comes out is described and not judged.", u.Many),
		})
	case u.Each < leastJars:
		out = append(out, figure.Caution{
			Code: "few_units", Title: fmt.Sprintf("Few %s", u.Many), Weight: figure.Care,
			Text: fmt.Sprintf("With %d %s to a level the lot alone could set them as far apart as they get in 1 of %s deals.", u.Each, u.Many, number(dealsOf(u.Each)/2, 0)),
		})
	}
	return out
}

// dealsOf counts the ways to deal 2n units to two levels.
func dealsOf(n int) float64 {
	out := 1.0
	for k := 1; k <= n; k++ {
		out = out * float64(n+k) / float64(k)
	}
	return out
}
