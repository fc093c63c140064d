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
	if t*t < df { // the far form would lose digits by 1 - small
		return 0.5 - mathext.RegIncBeta(0.5, df/2, t*t/(df+t*t))/2
	}
	return mathext.RegIncBeta(df/2, 0.5, df/(df+t*t)) / 2
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
	t := -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
	return -polishT(t, p, df)
}

// polishT improves t > 0 with P(T >= t) = p by Newton steps on the logarithm
// of the tail, which is nearly straight far out.
func polishT(t, p, df float64) float64 {
	density := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}
	for range 4 {
		tail, slope := TUpper(t, df), density.Prob(t)
		if !(tail > 0 && slope > 0) {
			return t
		}
		step := tail / slope * math.Log(tail/p)
		if !(math.Abs(step) < t/2) {
			return t
		}
		t += step
		if math.Abs(step) <= 1e-15*t {
			break
		}
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
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
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
