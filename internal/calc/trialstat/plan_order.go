package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// mostTables bounds the jars of an arm for which all tables of two shares are counted.
const mostTables = 150

// powerOfOrder is the power of a verdict on shares, or on scores: by all tables of two
// shares, each judged as the verdict does; by Noether's formula for ranks. Jars are
// counted, whatever the cooks. Loss is the share of jars that the usual arm loses.
//
// Source: the binomial distribution and Newcombe's interval; Noether, J. Am. Statist.
// Assoc. 82 (1987) 645-647 (from memory).
func (in PlanInput) powerOfOrder(loss float64) (figure.Answer[PlanResult], error) {
	var out figure.Answer[PlanResult]
	if _, err := Power(PowerInput{Arms: in.Arms, JarsPerArm: in.JarsPerArm, CVPct: 1}); err != nil {
		return out, err // the checks are those of the jars
	}
	matters := 20.0
	if in.MattersPct != nil {
		matters = *in.MattersPct
	}
	if !(matters < 100) {
		return out, figure.Faultf("matters_pct", "write the smallest difference that matters to you, such as 20 points of a hundred", "%s points of a hundred can not lie between two arms", plain(matters))
	}
	p := orderPlan{arms: in.Arms, score: in.Primary == ByScore, usual: 1 - loss, alpha: 0.05 / float64(in.Arms-1)}
	left := in.JarsPerArm
	if p.score {
		left = max(1, int(math.Round(float64(left)*(1-loss))))
	}
	r := &out.Result
	r.Power = maybe(p.chance(left, matters/100))
	if d := p.detectable(left); d < 1 {
		r.DetectableDownPct = maybe(100 * d)
	}
	if n := p.jarsFor(matters / 100); n > 0 {
		r.JarsForMatters = &n
		if p.score {
			r.JarsForMatters = toStart(n, in.Arms, loss)
		}
	}
	r.Sentence = p.say(*r, in.JarsPerArm, in.Primary, matters)
	out.Cautions = p.cautions(in)
	out.Working = []figure.Step{p.working(*r)}
	return out, nil
}

// orderPlan is a plan of shares or of scores.
type orderPlan struct {
	arms  int
	score bool
	usual float64 // share of the usual arm that fruits, or is kept
	alpha float64 // for each comparison
}

// other is the share of an arm that lies apart: below the usual, above it where there is
// no room below.
func (p orderPlan) other(apart float64) float64 {
	if p.usual >= apart {
		return p.usual - apart
	}
	return math.Min(1, p.usual+apart)
}

// chance is that to notice a difference with n jars that count in each arm.
func (p orderPlan) chance(n int, apart float64) float64 {
	z := stats.NormalQuantile(1 - p.alpha/2)
	if p.score { // of 2n jars, halves: θ − ½ is half of above less below
		return 1 - stats.NormalUpper(apart/2*math.Sqrt(6*float64(n))-z)
	}
	if n > mostTables {
		a, b := p.usual, p.other(apart)
		return 1 - stats.NormalUpper(apart*math.Sqrt(float64(n)/(a*(1-a)+b*(1-b)))-z)
	}
	one, two := binomials(n, p.usual), binomials(n, p.other(apart))
	sum := 0.0
	for x, px := range one {
		for y, py := range two {
			if px*py < 1e-12 {
				continue
			}
			if _, low, high, err := stats.Newcombe(y, n, x, n, 1-p.alpha); err == nil && (low > 0 || high < 0) {
				sum += px * py
			}
		}
	}
	return sum
}

// binomials are the chances of 0 to n of n.
func binomials(n int, p float64) []float64 {
	out := make([]float64, n+1)
	all, _ := math.Lgamma(float64(n) + 1)
	for k := range out {
		a, _ := math.Lgamma(float64(k) + 1)
		b, _ := math.Lgamma(float64(n-k) + 1)
		logs := all - a - b
		if k > 0 {
			logs += float64(k) * math.Log(p)
		}
		if k < n {
			logs += float64(n-k) * math.Log1p(-p)
		}
		out[k] = math.Exp(logs)
	}
	return out
}

// detectable is the least difference, in steps of a point, that is noticed with 80 %
// power; 1 if none below is.
func (p orderPlan) detectable(n int) float64 {
	low, high := 0, 100 // not noticed, noticed
	for high-low > 1 {
		if mid := (low + high) / 2; p.chance(n, float64(mid)/100) >= aim {
			high = mid
		} else {
			low = mid
		}
	}
	return float64(high) / 100
}

// jarsFor is the fewest jars of an arm that notice a difference with 80 % power; 0 if
// that is more than 100 000.
func (p orderPlan) jarsFor(apart float64) int {
	high := 2
	for p.chance(high, apart) < aim {
		if high *= 2; high > maxJars {
			return 0
		}
	}
	low := high / 2
	for high-low > 1 {
		if mid := (low + high) / 2; p.chance(mid, apart) >= aim {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

func (p orderPlan) say(r PlanResult, started int, primary string, matters float64) string {
	unit, of := "points of a hundred jars", fmt.Sprintf(" and %s of 100 that %s with the usual", number(100*p.usual, 0), outcome(primary).did())
	if p.score {
		unit, of = "points of a hundred pairs", ""
	}
	out := fmt.Sprintf("With %s an arm%s, a true difference of %s %s would be noticed in about %s of 100 such trials", jars(started), of, plain(round6(matters)), unit, number(100**r.Power, 0))
	if r.DetectableDownPct != nil {
		out += fmt.Sprintf("; to be noticed in 80 of 100 it must be %s", number(*r.DetectableDownPct, 0))
	}
	if r.JarsForMatters != nil && *r.JarsForMatters > started {
		out += fmt.Sprintf(", or there must be %s an arm", jars(*r.JarsForMatters))
	}
	return out + "."
}

func (p orderPlan) cautions(in PlanInput) []figure.Caution {
	var out []figure.Caution
	if in.JarsPerArm < leastJars {
		out = append(out, figure.Caution{
			Code: "too_few_jars", Title: "Too few for a verdict", Weight: figure.Care,
			Text: fmt.Sprintf("Arms of fewer than %d jars are described, not judged. Plan more jars.", leastJars),
		})
	}
	if p.arms > 2 {
		out = append(out, severalComparisons(p.arms-1))
	}
	return out
}

func (p orderPlan) working(r PlanResult) figure.Step {
	if p.score {
		return figure.Step{Step: "power", Formula: "Φ(|θ − ½|·√(6n) − z), θ − ½ half of above less below", Value: r.Power, Unit: "", Source: "Noether (1987)"}
	}
	return figure.Step{Step: "power", Formula: "Σ of all tables whose interval leaves 0 out", Value: r.Power, Unit: "", Source: "binomial distribution; Newcombe (1998), method 10"}
}
