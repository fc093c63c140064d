package forecast

import (
	"math"
	"testing"
)

// wholeNodes are along the logarithm of days.
const wholeNodes = 240

// whole is the model with no approximation: the chance that the next batch of group 0
// comes by each of days, by sums over its four unknowns. Twice as many nodes move it
// by less than 1e-3.
func whole(prior Prior, groups [][]Span, days []float64) []float64 {
	const nTau, nSigma, nMiddle = 24, 24, 40
	book := math.Log(prior.Days)
	even := func(low, high float64, i, n int) float64 { return low + (high-low)*(float64(i)+0.5)/float64(n) }
	at := func(m int) float64 { return even(book-2.4, book+2.4, m, wholeNodes) }
	said, weights := make([][][wholeNodes]float64, nSigma), make([]float64, nSigma)
	for s := range said {
		z := even(-4, 4, s, nSigma)
		said[s], weights[s] = says(groups, days, prior.Within*math.Exp(prior.WithinSigma*z), at), math.Exp(-z*z/2)
	}
	total, out, means := 0.0, make([]float64, len(days)), make([]float64, len(groups)+len(days))
	for t := range nTau {
		tau := math.Exp(even(math.Log(0.02), math.Log(1.2), t, nTau)) // less is as if none
		for a := range nMiddle {
			middle := even(book-4*prior.Book, book+4*prior.Book, a, nMiddle)
			var share [wholeNodes]float64
			sum, first, last := 0.0, wholeNodes, 0
			for m := range share {
				if off := (at(m) - middle) / tau; math.Abs(off) < 7 {
					share[m], first, last = math.Exp(-off*off/2), min(first, m), m
					sum += share[m]
				}
			}
			off := (middle - book) / prior.Book
			before := tau * math.Exp(-off*off/2-tau*tau/(2*prior.Between*prior.Between)) // log tau: the nodes are even in it
			for s, of := range said {
				for i := range of {
					means[i] = 0
					for m := first; m <= last; m++ {
						means[i] += share[m] * of[i][m] / sum
					}
				}
				weight := before * weights[s]
				for _, x := range means[1:len(groups)] {
					weight *= x
				}
				total += weight * means[0]
				for k := range out {
					out[k] += weight * means[len(groups)+k]
				}
			}
		}
	}
	for k := range out {
		out[k] /= total
	}
	return out
}

// says is what the spans of each group say of its middle, and behind it that of the
// first with the chances by each of days.
func says(groups [][]Span, days []float64, sigma float64, at func(int) float64) [][wholeNodes]float64 {
	out := make([][wholeNodes]float64, len(groups)+len(days))
	for m := range wholeNodes {
		below := func(day float64) float64 { return 0.5 * math.Erfc((at(m)-math.Log(day))/sigma/math.Sqrt2) }
		for i, g := range groups {
			out[i][m] = 1
			for _, span := range g {
				out[i][m] *= below(span.By) - below(span.After)
			}
		}
		for k, day := range days {
			out[len(groups)+k][m] = out[0][m] * below(day)
		}
	}
	return out
}

// Against the whole model, forecasts from visits that lie close are off by a quarter of
// a point. Where spans are wide, or open at their beginning, what they say is skewed and
// a normal stands for it: windows hold what they should to 3 of 100.
func TestWideSpans(t *testing.T) {
	for name, c := range map[string]struct {
		groups [][]Span
		off    float64
	}{
		"no wide one":              {[][]Span{{{14, 17}, {16, 19}}, {{14, 16}}}, 0.0025},
		"no visit before":          {[][]Span{{{0, 17}}}, 0.035},
		"none before, three times": {[][]Span{{{0, 17}, {0, 18}, {0, 16}}, {{14, 16}}}, 0.035},
		"a long way back":          {[][]Span{{{6, 18}, {15, 17}, {4, 22}}, {{9, 21}, {13, 15}}}, 0.005},
		"late and wide":            {[][]Span{{{22, 40}, {24, 26}}}, 0.015},
	} {
		prior := UsualPrior(20)
		f := mustFit(t, prior, c.groups).Of(0)
		for _, share := range []float64{0.5, 0.8, 0.95} {
			w := f.Window(share)
			got := whole(prior, c.groups, []float64{w.Low, w.High})
			if held := got[1] - got[0]; math.Abs(held-share) > c.off {
				t.Errorf("%s: the window of %g from %.2f to %.2f holds %.4f", name, share, w.Low, w.High, held)
			}
		}
		middle := f.Quantile(0.5)
		if got := whole(prior, c.groups, []float64{0.97 * middle, 1.03 * middle}); got[0] > 0.5 || got[1] < 0.5 {
			t.Errorf("%s: the middle is put on day %.2f, 3 %% sooner come %.3f and later %.3f", name, middle, got[0], got[1])
		}
	}
}

// A first visit that shows the stage says no more than that it was not later:
// it never draws a forecast to the day of inoculation.
func TestNoVisitBefore(t *testing.T) {
	if (Span{8, 12}).Wide() || !(Span{7.98, 12}).Wide() || !(Span{0, 3}).Wide() {
		t.Error("8 to 12 days is the widest span that is taken at its middle")
	}
	none := mustFit(t, UsualPrior(20), [][]Span{{}}).Of(0)
	late := mustFit(t, UsualPrior(20), [][]Span{{{0, 60}, {0, 80}}}).Of(0)
	if a, b := none.Quantile(0.5), late.Quantile(0.5); math.Abs(a-b) > 0.5 {
		t.Errorf("stages that were there on day 60 and 80 move the forecast from day %.2f to %.2f", a, b)
	}
}
