package trialstat

import (
	"math"

	"pinset/internal/calc/stats"
)

// noticed returns the power of the two-sided t test at alpha: the chance that a
// true difference of d standard deviations between two arms of n jars in so many
// blocks is noticed, in either direction; NaN where no spread can be estimated.
func noticed(d float64, n, blocks int, alpha float64) float64 {
	p, err := stats.PowerT(d, float64(n), float64(n), float64(blocks-1), alpha)
	if err != nil {
		return math.NaN()
	}
	return p
}

// spentOn returns the degrees of freedom of two arms of n jars in so many
// blocks.
func spentOn(n, blocks int) float64 { return float64(2*n - 2 - max(0, blocks-1)) }

// detectable returns the difference in standard deviations that two arms of n
// jars in so many blocks notice with the given power; NaN without degrees of
// freedom.
func detectable(n, blocks int, alpha, power float64) float64 {
	d, err := stats.DetectableT(power, float64(n), float64(n), float64(blocks-1), alpha)
	if err != nil {
		return math.NaN()
	}
	return d
}

// jarsNeeded returns the smallest number of jars an arm, at least 2, with which
// a difference of d standard deviations is noticed with the given power; 0 if
// that is more than a million.
func jarsNeeded(d, alpha, power float64, blocks int) int {
	n, err := stats.JarsPerArm(d, power, float64(blocks-1), alpha)
	if err != nil {
		return 0
	}
	return n
}
