package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// rule is a quadrature rule: nodes with their weights.
type rule struct{ at, weight []float64 }

// legendre returns panels Gauss-Legendre rules of 16 points each, side by side
// from low to high.
func legendre(low, high float64, panels int) rule {
	const points = 16
	at, weight := make([]float64, points), make([]float64, points)
	quad.Legendre{}.FixedLocations(at, weight, 0, 1)
	width := (high - low) / float64(panels)
	var r rule
	for p := range panels {
		for i := range at {
			r.at = append(r.at, low+width*(float64(p)+at[i]))
			r.weight = append(r.weight, width*weight[i])
		}
	}
	return r
}

// overSpread returns a rule for the mean over s, the ratio of an estimated to
// the true standard deviation with df degrees of freedom: its weights hold the
// density of s. df = +Inf is the single node 1.
func overSpread(df float64) rule { return overSpreadTo(df, math.Inf(1)) }

// overSpreadTo is overSpread for s up to top only.
func overSpreadTo(df, top float64) rule { return overSpreadIn(df, top, 16) }

// overSpreadIn is overSpreadTo in so many panels.
//
// The rule runs over log s, where the density is smooth even for one degree of
// freedom, as far as it is above 1e-16 of its peak.
func overSpreadIn(df, top float64, panels int) rule {
	if math.IsInf(df, 1) {
		return rule{[]float64{1}, []float64{indicator(top >= 1)}}
	}
	fall := func(v float64) float64 { return df * (v - math.Expm1(2*v)/2) } // log of density · s, 0 at the peak
	edge := func(v float64) float64 { return fall(v) + 37 }
	low, _ := root(-40/df-1, 0, edge)
	high, _ := root(0, 40/math.Min(df, 40)+1, edge)
	high = math.Max(low, math.Min(high, math.Log(top)))
	r := legendre(low, high, panels)
	if bend := math.Min(-3, high); low < bend { // few degrees: a long lower end on which little happens
		r = legendre(low, bend, (panels+1)/2)
		upper := legendre(bend, high, panels)
		r.at, r.weight = append(r.at, upper.at...), append(r.weight, upper.weight...)
	}
	peak := math.Sqrt(df/math.Pi) * math.Exp(-stirling(df/2))
	for i, v := range r.at {
		r.at[i] = math.Exp(v)
		r.weight[i] *= peak * math.Exp(fall(v))
	}
	return r
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
