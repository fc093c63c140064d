package pool

import (
	"errors"
	"fmt"
	"math"

	"pinset/internal/calc/stats"
)

// Trial is one estimate of the contrast and its standard error, on a scale on
// which estimates are about normal.
type Trial struct{ Estimate, SE float64 }

// Errors of this package.
var (
	// ErrFew says that too few trials are given.
	ErrFew = errors.New("too few trials")
	// ErrRange says that an estimate or a standard error is no number, or that
	// the latter is not above 0.
	ErrRange = errors.New("trial out of range")
)

func check(trials []Trial, least int) error {
	if len(trials) < least {
		return fmt.Errorf("pool: %d of at least %d trials: %w", len(trials), least, ErrFew)
	}
	for i, t := range trials {
		if !(t.SE > 0) || math.IsInf(t.SE, 0) || math.IsNaN(t.Estimate) || math.IsInf(t.Estimate, 0) {
			return fmt.Errorf("pool: trial %d is %g with standard error %g: %w", i, t.Estimate, t.SE, ErrRange)
		}
	}
	return nil
}

// Meta is a random-effects mean with the interval of Hartung and Knapp.
type Meta struct {
	Mean, SE, Low, High, P float64
	Tau2                   float64 // variance between trials
	NextLow, NextHigh      float64 // of the true contrast of a new trial
	Q, I2                  float64 // I2 0..1, by this tau2
	// Narrow says that trials lie so close together that the interval is narrower
	// than the normal one of trials that do not differ at all.
	Narrow bool
}

// REML returns the mean over at least two trials. The variance between trials
// is that of restricted maximum likelihood.
//
// ErrFew, ErrRange.
//
// Source: Viechtbauer, J. Educ. Behav. Stat. 30 (2005) 261 for the score; Knapp
// and Hartung, Statistics in Medicine 22 (2003) 2693; the interval of a new
// trial with k − 1 degrees of freedom; I2 as metafor's (all from memory).
func REML(trials []Trial, level float64) (Meta, error) {
	if err := check(trials, 2); err != nil {
		return Meta{}, err
	}
	m := Meta{Tau2: remlTau2(trials)}
	k := float64(len(trials))
	fixed, _, _ := weighted(trials, 0)
	mean, sw, off := weighted(trials, m.Tau2)
	m.Mean, m.SE = mean, math.Sqrt(off/(k-1)/sw)
	reach := stats.TQuantile((1+level)/2, k-1)
	m.Low, m.High = mean-reach*m.SE, mean+reach*m.SE
	m.Narrow = reach*m.SE < stats.NormalQuantile((1+level)/2)/math.Sqrt(sw)
	m.P = 2 * stats.TUpper(math.Abs(mean)/m.SE, k-1)
	wide := reach * math.Sqrt(m.Tau2+m.SE*m.SE)
	m.NextLow, m.NextHigh = mean-wide, mean+wide
	var s1, s2 float64
	for _, t := range trials {
		w := 1 / (t.SE * t.SE)
		s1, s2 = s1+w, s2+w*w
		m.Q += w * (t.Estimate - fixed) * (t.Estimate - fixed)
	}
	typical := (k - 1) * s1 / (s1*s1 - s2)
	m.I2 = m.Tau2 / (m.Tau2 + typical)
	return m, nil
}

// weighted returns the mean weighted by 1/(SE² + tau2), the sum of weights and
// the weighted sum of squares about it.
func weighted(trials []Trial, tau2 float64) (mean, sw, off float64) {
	sum := 0.0
	for _, t := range trials {
		w := 1 / (t.SE*t.SE + tau2)
		sw, sum = sw+w, sum+w*t.Estimate
	}
	mean = sum / sw
	for _, t := range trials {
		off += (t.Estimate - mean) * (t.Estimate - mean) / (t.SE*t.SE + tau2)
	}
	return mean, sw, off
}

// remlTau2 is where the score of the restricted likelihood is 0, or 0.
func remlTau2(trials []Trial) float64 {
	score := func(tau2 float64) float64 {
		mean, sw, _ := weighted(trials, tau2)
		sum, squares := 0.0, 0.0
		for _, t := range trials {
			w := 1 / (t.SE*t.SE + tau2)
			squares += w * w
			sum += w*w*(t.Estimate-mean)*(t.Estimate-mean) - w
		}
		return sum + squares/sw
	}
	if !(score(0) > 0) {
		return 0
	}
	low, high := 0.0, trials[0].SE*trials[0].SE
	for score(high) > 0 {
		low, high = high, 2*high
	}
	for range 200 {
		middle := (low + high) / 2
		if middle == low || middle == high {
			break
		}
		if score(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
