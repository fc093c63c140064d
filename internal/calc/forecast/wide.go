package forecast

import (
	"math"

	"pinset/internal/calc/stats"
)

// site is a span that is wide: no visit before the one that showed the stage,
// or one long before. What it says is the normal of log days that has the same
// mean and variance as all else, cut off at both ends of the span.
type site struct {
	group int
	span  Span
	says  datum
	known bool // it says anything
}

// sweeps is how often each wide span is weighed anew against the others.
const sweeps = 3

// settle returns the groups with what their wide spans say.
//
// This is expectation propagation over those spans. Source: Minka, Proc. 17th
// Conf. Uncertainty in AI (2001) 362 (from memory); the tests compare it with
// a simulation of the whole model.
func settle(prior Prior, groups [][]datum, wide []site) [][]datum {
	if len(wide) == 0 {
		return groups
	}
	for range sweeps {
		for i := range wide {
			others := Model{groups: join(groups, wide, i)}
			others.weigh(prior, coarseNodes)
			wide[i].says, wide[i].known = others.Of(wide[i].group).within(wide[i].span)
		}
	}
	return join(groups, wide, -1)
}

// join returns the groups with the sites that say anything, but for one.
func join(groups [][]datum, wide []site, without int) [][]datum {
	out := make([][]datum, len(groups))
	for i, g := range groups {
		out[i] = g[:len(g):len(g)]
	}
	for i, s := range wide {
		if s.known && i != without {
			out[s.group] = append(out[s.group], s.says)
		}
	}
	return out
}

// within returns what it says of a day that it lies within a span, to who
// expects f; and whether it says anything. A span far from all that is
// expected is taken at its middle.
func (f Forecast) within(s Span) (datum, bool) {
	mean, variance := f.moments()
	sd := math.Sqrt(variance)
	a, b := s.logs()
	if s.After <= 0 {
		a = math.Inf(-1)
	}
	low, high := (a-mean)/sd, (b-mean)/sd
	chance := stats.NormalUpper(low) - stats.NormalUpper(high)
	if chance < 1e-6 {
		return s.datum(), true
	}
	at := func(z float64) (density, times float64) {
		if math.IsInf(z, 0) {
			return 0, 0
		}
		d := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / chance
		return d, z * d
	}
	dLow, zLow := at(low)
	dHigh, zHigh := at(high)
	shift := dLow - dHigh
	left := 1 + zLow - zHigh - shift*shift // share of the variance that is left
	if !(left > 0 && left < 1-1e-6) {
		return datum{}, false
	}
	extra := variance * left / (1 - left) // 1 / (1/(variance·left) - 1/variance)
	return datum{mean + sd*shift/(1-left), extra}, true
}

// moments are mean and variance of log days, of a forecast that is not cut.
func (f Forecast) moments() (mean, variance float64) {
	mean = f.middle()
	for _, p := range f.parts {
		variance += p.weight * (p.sd*p.sd + (p.mean-mean)*(p.mean-mean))
	}
	return mean, variance
}
