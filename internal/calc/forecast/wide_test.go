package forecast

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// simulated are quantiles of the next batch of group 0 by the whole model, with
// no approximation: draws from what is believed before, each weighed by the
// chance of all spans. Their error is about 1 % of the days with a million.
func simulated(prior Prior, groups [][]Span, chances ...float64) []float64 {
	const draws = 1_000_000
	r := rand.New(rand.NewPCG(11, 7))
	type draw struct{ day, weight float64 }
	all := make([]draw, draws)
	sum := 0.0
	for k := range all {
		mu0 := math.Log(prior.Days) + prior.Book*r.NormFloat64()
		tau := math.Abs(prior.Between * r.NormFloat64())
		sigma := math.Exp(math.Log(prior.Within) + prior.WithinSigma*r.NormFloat64())
		below := func(day, mu float64) float64 { return 0.5 * math.Erfc((mu-math.Log(day))/sigma/math.Sqrt2) }
		weight, day := 1.0, 0.0
		for i, g := range groups {
			mu := mu0 + tau*r.NormFloat64()
			for _, s := range g {
				weight *= below(s.By, mu) - below(s.After, mu)
			}
			if i == 0 {
				day = math.Exp(mu + sigma*r.NormFloat64())
			}
		}
		all[k] = draw{day, weight}
		sum += weight
	}
	slices.SortFunc(all, func(a, b draw) int {
		if a.day < b.day {
			return -1
		}
		return 1
	})
	out := make([]float64, len(chances))
	for i, p := range chances {
		so := 0.0
		for _, d := range all {
			if so += d.weight; so >= p*sum {
				out[i] = d.day
				break
			}
		}
	}
	return out
}

// Spans that are wide, or open at their beginning, count for what they say:
// the forecast is that of the whole model to 6 % of the days (what they say is
// skewed, and a normal stands for it; 1 % is chance).
func TestWideSpans(t *testing.T) {
	for name, groups := range map[string][][]Span{
		"no visit before":          {{{0, 17}}},
		"none before, three times": {{{0, 17}, {0, 18}, {0, 16}}, {{14, 16}}},
		"a long way back":          {{{6, 18}, {15, 17}, {4, 22}}, {{9, 21}, {13, 15}}},
		"late and wide":            {{{22, 40}, {24, 26}}},
	} {
		prior := UsualPrior(20)
		f := mustFit(t, prior, groups).Of(0)
		chances := []float64{0.1, 0.25, 0.5, 0.75, 0.9}
		for i, want := range simulated(prior, groups, chances...) {
			if got := f.Quantile(chances[i]); math.Abs(got-want) > 0.06*want {
				t.Errorf("%s: by day %.2f with %g, want %.2f", name, got, chances[i], want)
			}
		}
	}
}

// A first visit that shows the stage says no more than that it was not later:
// it never draws a forecast to the day of inoculation.
func TestNoVisitBefore(t *testing.T) {
	if (Span{8, 12}).Wide() || !(Span{7.9, 12}).Wide() || !(Span{0, 3}).Wide() {
		t.Error("8 to 12 days is the widest span that is taken at its middle")
	}
	none := mustFit(t, UsualPrior(20), [][]Span{{}}).Of(0)
	late := mustFit(t, UsualPrior(20), [][]Span{{{0, 60}, {0, 80}}}).Of(0)
	if a, b := none.Quantile(0.5), late.Quantile(0.5); math.Abs(a-b) > 0.5 {
		t.Errorf("stages that were there on day 60 and 80 move the forecast from day %.2f to %.2f", a, b)
	}
}
