package trialstat

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"pinset/internal/calc/stats"
)

// noticed returns the power of the two-sided t test at alpha: the chance that a
// true difference of d standard deviations between two arms of n jars is
// noticed, in either direction, with df degrees of freedom.
//
// NaN unless n >= 1, df > 0 and 0 < alpha < 1.
//
// Source: the noncentral t distribution as a normal over a chi: with s the
// estimated spread in units of the true one, the power is
// ∫ [Q(t·s − δ) + Q(t·s + δ)] f(s) ds, δ = d·√(n/2), t the central t quantile,
// f the density of √(χ²(df)/df); by Gauss-Legendre over the range of s that
// holds all but 1e-16 of it, in pieces. Lehmann and Romano, Testing Statistical Hypotheses
// (3rd ed. 2005), 5.2.
func noticed(d float64, n int, df, alpha float64) float64 {
	t := stats.TQuantile(1-alpha/2, df)
	if !(n >= 1 && t > 0) {
		return math.NaN()
	}
	delta := math.Abs(d) * math.Sqrt(float64(n)/2)
	scale := chiScale(df)
	f := func(s float64) float64 {
		if s <= 0 {
			return 0
		}
		density := math.Exp(scale + (df-1)*math.Log(s) - df/2*(s*s-1))
		return density * (stats.NormalUpper(t*s-delta) + stats.NormalUpper(t*s+delta))
	}
	reach := 9 / math.Sqrt(2*df)
	low, high := math.Max(0, 1-reach), 1+1.3*reach
	// The normal tail falls from 1 to 0 where t·s passes δ; each side and the fall
	// itself are smooth.
	cuts := []float64{low, min(max((delta-8)/t, low), high), min(max((delta+8)/t, low), high)}
	sum := 0.0
	for k, to := range cuts[1:] {
		if from := cuts[k]; to > from {
			sum += quad.Fixed(f, from, to, 80, quad.Legendre{}, 0)
		}
	}
	return math.Min(1, sum)
}

// chiScale returns the logarithm of the density of √(χ²(df)/df) at 1, by which
// it is scaled: ln 2 + m·ln m − ln Γ(m) − m with m = df/2. From m = 40 on by
// Stirling's series, where the terms would cancel; its first neglected term is
// under 1e-14 there.
//
// Source: Abramowitz and Stegun (1972) 26.4.1, 6.1.41.
func chiScale(df float64) float64 {
	m := df / 2
	if m < 40 {
		lg, _ := math.Lgamma(m)
		return math.Ln2 + m*math.Log(m) - lg - m
	}
	return math.Ln2 + math.Log(m/(2*math.Pi))/2 - 1/(12*m) + 1/(360*m*m*m) - 1/(1260*m*m*m*m*m)
}

// spentOn returns the degrees of freedom of two arms of n jars in so many
// blocks.
func spentOn(n, blocks int) float64 { return float64(2*n - 2 - max(0, blocks-1)) }

// detectable returns the difference in standard deviations that two arms of n
// jars in so many blocks notice with the given power; NaN without degrees of
// freedom.
func detectable(n, blocks int, alpha, power float64) float64 {
	df := spentOn(n, blocks)
	if !(df >= 1) {
		return math.NaN()
	}
	low, high := 0.0, 1.0
	for noticed(high, n, df, alpha) < power {
		if high *= 2; high > 1e9 {
			return math.NaN()
		}
	}
	for range 60 {
		mid := (low + high) / 2
		if noticed(mid, n, df, alpha) < power {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// mostJars is where jarsNeeded gives up.
const mostJars = 1_000_000

// jarsNeeded returns the smallest number of jars an arm, at least 2, with which
// a difference of d standard deviations is noticed with the given power; 0 if
// that is more than a million.
func jarsNeeded(d, alpha, power float64, blocks int) int {
	enough := func(n int) bool {
		df := spentOn(n, blocks)
		return df >= 1 && noticed(d, n, df, alpha) >= power
	}
	high := 2
	for !enough(high) {
		if high *= 2; high > mostJars || !(d > 0) {
			return 0
		}
	}
	low := max(1, high/2)
	for high-low > 1 {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
