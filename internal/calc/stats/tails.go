package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// NormalUpper returns P(Z >= z) for a standard normal Z. It keeps its digits
// far out: 9.48e-18 at 8.5, where one less the distribution function is 0.
func NormalUpper(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// NormalQuantile returns z with P(Z <= z) = p, for 0 < p < 1; otherwise NaN.
func NormalQuantile(p float64) float64 {
	if !(p > 0 && p < 1) {
		return math.NaN()
	}
	return distuv.UnitNormal.Quantile(p)
}

// TUpper returns P(T >= t) for Student's t with df > 0 degrees of freedom, df
// not necessarily whole; df = +Inf gives the normal. NaN for other df.
//
// Source: DLMF 8.17 with Abramowitz and Stegun (1972) 26.7.1.
func TUpper(t, df float64) float64 {
	if !(df > 0) || math.IsNaN(t) {
		return math.NaN()
	}
	if math.IsInf(df, 1) {
		return NormalUpper(t)
	}
	if t < 0 {
		return 1 - TUpper(-t, df)
	}
	if math.IsInf(t, 1) {
		return 0
	}
	if df >= 1e10*(1+t*t*t*t) { // the normal, to 1e-10
		return NormalUpper(t)
	}
	far := df + t*t
	if math.IsInf(far, 1) {
		return incBeta(df/2, 0.5, df/t/t, 1) / 2
	}
	return incBeta(df/2, 0.5, df/far, t*t/far) / 2
}

// TQuantile returns t with P(T <= t) = p for Student's t with df > 0 degrees of
// freedom and 0 < p < 1; otherwise NaN.
func TQuantile(p, df float64) float64 {
	switch {
	case !(p > 0 && p < 1) || !(df > 0):
		return math.NaN()
	case math.IsInf(df, 1):
		return NormalQuantile(p)
	case p == 0.5:
		return 0
	case p > 0.5:
		return -TQuantile(1-p, df)
	}
	return -upperT(p, df)
}

// upperT returns t > 0 with P(T >= t) = p, for 0 < p < 0.5, by Newton steps on
// the logarithms of tail and t: far out a straight line. Steps that leave the
// bracket are halved.
func upperT(p, df float64) float64 {
	density := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}
	low, high := 0.0, math.Inf(1)
	t := NormalQuantile(1 - p)
	for range 200 {
		tail := TUpper(t, df)
		if tail > p {
			low = t
		} else {
			high = t
		}
		step := math.Log(tail/p) * tail / (t * density.Prob(t))
		next := t * math.Exp(step)
		if !(next > low && next < high) {
			switch {
			case math.IsInf(high, 1):
				next = 2*t + 1e-300
			case low == 0:
				next = t / 2
			default:
				next = low + (high-low)/2
			}
		}
		if math.Abs(next-t) <= 2e-16*t {
			return next
		}
		t = next
	}
	return t
}

// FUpper returns P(F >= f) for the F distribution with d1 and d2 > 0 degrees of
// freedom; d2 = +Inf gives chi-squared over d1. NaN for other degrees.
//
// Source: Abramowitz and Stegun (1972) 26.6.2, with the arguments of the
// incomplete beta swapped so that small tails keep their digits.
func FUpper(f, d1, d2 float64) float64 {
	switch {
	case !(d1 > 0 && d2 > 0) || math.IsInf(d1, 1) || math.IsNaN(f):
		return math.NaN()
	case f <= 0:
		return 1
	case math.IsInf(f, 1):
		return 0
	case math.IsInf(d2, 1):
		return ChiSquaredUpper(f*d1, d1)
	}
	return incBeta(d2/2, d1/2, d2/(d2+d1*f), d1*f/(d2+d1*f))
}

// ChiSquaredUpper returns P(X >= x) for chi-squared with df > 0 degrees of
// freedom; NaN for other df.
//
// Source: Abramowitz and Stegun (1972) 26.4.19.
func ChiSquaredUpper(x, df float64) float64 {
	switch {
	case !(df > 0) || math.IsInf(df, 1) || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}
