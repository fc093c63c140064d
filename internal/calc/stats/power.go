package stats

import (
	"fmt"
	"math"
)

// NoncentralTUpper returns P(T >= t) for Student's t with df > 0 degrees of
// freedom and noncentrality shift; NaN for other df. To an absolute 1e-13.
//
// Source: the definition, T = (Z+shift)/S, by Gauss-Legendre over S.
func NoncentralTUpper(t, df, shift float64) float64 {
	if !(df > 0) || math.IsNaN(t) || math.IsNaN(shift) {
		return math.NaN()
	}
	over := overSpread(df)
	var p total
	for i, s := range over.at {
		p.add(over.weight[i] * NormalUpper(t*s-shift))
	}
	return math.Min(1, p.value())
}

// PowerT returns the chance that a two-sided t test at alpha, with one common
// variance, sees a true difference of effect standard deviations between arms of
// n1 and n2 jars, either way counted. lost is the degrees of freedom that blocks
// cost: their number less one. Sizes need not be whole, for planning.
//
// ErrFew unless n1, n2 > 1 and n1+n2-2-lost > 0; ErrRange for an effect that is not
// finite, lost < 0, or alpha outside 0..1.
//
// Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 2
// (2nd ed. 1995), chapter 31.
func PowerT(effect, n1, n2, lost, alpha float64) (float64, error) {
	if err := planned(effect, n1, n2, lost, alpha); err != nil {
		return 0, err
	}
	return powerT(effect*math.Sqrt(n1*n2/(n1+n2)), n1+n2-2-lost, alpha), nil
}

// powerT is the power at the noncentrality shift, both tails.
func powerT(shift, df, alpha float64) float64 {
	q := TQuantile(1-alpha/2, df)
	return math.Min(1, NoncentralTUpper(q, df, shift)+NoncentralTUpper(q, df, -shift))
}

func planned(effect, n1, n2, lost, alpha float64) error {
	if math.IsNaN(effect) || math.IsInf(effect, 0) || !(lost >= 0) || math.IsInf(n1+n2, 1) {
		return fmt.Errorf("stats: effect %g, %g and %g jars, %g degrees lost: %w", effect, n1, n2, lost, ErrRange)
	}
	if !(n1 > 1 && n2 > 1 && n1+n2-2-lost > 0) {
		return fmt.Errorf("stats: %g and %g jars with %g degrees lost: %w", n1, n2, lost, ErrFew)
	}
	return inside(alpha)
}

// PowerPairs returns the chance that a two-sided paired t test at alpha sees a
// true mean difference of effect standard deviations of a difference, among n
// pairs, or n runs with one difference each.
//
// ErrFew unless n > 1; ErrRange as PowerT.
func PowerPairs(effect, n, alpha float64) (float64, error) {
	if err := planned(effect, n, n, n-1, alpha); err != nil {
		return 0, err
	}
	return powerT(effect*math.Sqrt(n), n-1, alpha), nil
}

// DetectableT returns the least effect, in standard deviations, that PowerT sees
// with the chance power.
//
// ErrRange also for a power that is not between alpha and 1.
func DetectableT(power, n1, n2, lost, alpha float64) (float64, error) {
	if err := planned(0, n1, n2, lost, alpha); err != nil {
		return 0, err
	}
	if !(power > alpha && power < 1) {
		return 0, fmt.Errorf("stats: power %g is not between %g and 1: %w", power, alpha, ErrRange)
	}
	df, per := n1+n2-2-lost, math.Sqrt(n1*n2/(n1+n2))
	high := 1.0
	for powerT(high, df, alpha) < power {
		high *= 2
	}
	shift, _ := root(0, high, func(s float64) float64 { return powerT(s, df, alpha) - power })
	return shift / per, nil
}

// maxJars bounds the searches for a number of jars.
const maxJars = 1 << 20

// JarsPerArm returns the least number of jars in each of two arms with which
// PowerT sees effect with the chance power.
//
// ErrRange for an effect of 0, an argument outside its range, or an answer above a
// million jars.
func JarsPerArm(effect, power, lost, alpha float64) (int, error) {
	if err := planned(effect, 2+lost, 2, lost, alpha); err != nil {
		return 0, err
	}
	if !(power > 0 && power < 1) || effect == 0 {
		return 0, fmt.Errorf("stats: effect %g with power %g: %w", effect, power, ErrRange)
	}
	return leastJars(2+int(math.Ceil(lost/2)), func(n float64) bool {
		p, err := PowerT(effect, n, n, lost, alpha)
		return err == nil && p >= power
	})
}

// leastJars returns the least n >= from at which enough holds, given that it then
// holds on.
func leastJars(from int, enough func(n float64) bool) (int, error) {
	low, high := from-1, from
	for !enough(float64(high)) {
		low = high
		if high *= 2; high > maxJars {
			return 0, fmt.Errorf("stats: more than %d jars: %w", maxJars, ErrRange)
		}
	}
	for high-low > 1 {
		if mid := (low + high) / 2; enough(float64(mid)) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, nil
}

// StartJars returns how many jars to start in each arm so that every arm keeps n
// of them with the chance sure, each jar being lost with the chance loss.
//
// ErrRange unless n, arms >= 1, 0 <= loss < 1 and 0 < sure < 1, or for an answer
// above a million jars.
//
// Source: binomial, independent losses; a whole cook lost together is not.
func StartJars(n, arms int, loss, sure float64) (int, error) {
	if n < 1 || arms < 1 || !(loss >= 0 && loss < 1) {
		return 0, fmt.Errorf("stats: %d jars in %d arms with loss %g: %w", n, arms, loss, ErrRange)
	}
	if err := inside(sure); err != nil {
		return 0, err
	}
	return leastJars(n, func(m float64) bool {
		// P(X >= n) for X binomial is an incomplete beta, DLMF 8.17.5.
		keep := 1.0
		if loss > 0 {
			keep = incBeta(float64(n), m-float64(n)+1, 1-loss, loss)
		}
		return math.Pow(keep, float64(arms)) >= sure
	})
}

// LogSpread returns the standard deviation of the logarithm of a lognormal
// quantity with the coefficient of variation cv >= 0, a share.
func LogSpread(cv float64) float64 { return math.Sqrt(math.Log1p(cv * cv)) }

// Margin is what a grower calls the same: a ratio between Low and High, with the
// spread of jars and the true ratio assumed in planning.
type Margin struct {
	Low, High float64 // 0 < Low < 1 < High
	CV        float64 // between jars, a share > 0
	Ratio     float64 // true, within the margin
	Alpha     float64 // of either one-sided test
}

func (m Margin) check() error {
	if !(m.Low > 0 && m.Low < m.Ratio && m.Ratio < m.High) || math.IsInf(m.High, 1) || !(m.CV > 0) || math.IsInf(m.CV, 1) {
		return fmt.Errorf("stats: true ratio %g, margin %g to %g, CV %g: %w", m.Ratio, m.Low, m.High, m.CV, ErrRange)
	}
	return inside(m.Alpha)
}

// PowerSame returns the chance that two arms of n1 and n2 jars are shown to be the
// same within the margin: that both one-sided t tests on the log scale pass.
//
// ErrFew as PowerT; ErrRange also for a margin that does not hold the true ratio, or
// a CV not above 0.
//
// Source: Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680; the power by
// quadrature over the estimated spread.
func PowerSame(n1, n2, lost float64, m Margin) (float64, error) {
	if err := m.check(); err != nil {
		return 0, err
	}
	if err := planned(0, n1, n2, lost, m.Alpha); err != nil {
		return 0, err
	}
	se := LogSpread(m.CV) * math.Sqrt(1/n1+1/n2)
	df := n1 + n2 - 2 - lost
	q := TQuantile(1-m.Alpha, df)
	below, above := math.Log(m.Ratio/m.Low)/se, math.Log(m.High/m.Ratio)/se
	over := overSpreadTo(df, (below+above)/(2*q))
	var p total
	for i, s := range over.at {
		p.add(over.weight[i] * (NormalUpper(q*s-above) - NormalUpper(below-q*s)))
	}
	return math.Max(0, math.Min(1, p.value())), nil
}

// JarsForSame returns the least number of jars in each of two arms with which
// PowerSame is power or more.
//
// ErrRange as PowerSame, and for a power outside 0..1 or an answer above a million
// jars.
func JarsForSame(power, lost float64, m Margin) (int, error) {
	if err := m.check(); err != nil {
		return 0, err
	}
	if err := planned(0, 2+lost, 2, lost, m.Alpha); err != nil {
		return 0, err
	}
	if err := inside(power); err != nil {
		return 0, err
	}
	return leastJars(2+int(math.Ceil(lost/2)), func(n float64) bool {
		p, err := PowerSame(n, n, lost, m)
		return err == nil && p >= power
	})
}
