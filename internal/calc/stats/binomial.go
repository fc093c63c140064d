package stats

import (
	"fmt"
	"math"
)

// BetaQuantile returns x with I_x(a, b) = p for a, b > 0 and 0 <= p <= 1;
// otherwise NaN.
func BetaQuantile(p, a, b float64) float64 {
	switch {
	case !(a > 0 && b > 0 && p >= 0 && p <= 1):
		return math.NaN()
	case p == 0 || p == 1:
		return p
	}
	x, _ := root(0, 1, func(x float64) float64 { return incBeta(a, b, x, 1-x) - p })
	return x
}

// ClopperPearson returns the interval of a share of x in n that holds the level
// whatever the true share; it is the widest of the usual ones.
//
// ErrFew for n = 0; ErrRange unless 0 <= x <= n and 0 < level < 1.
//
// Source: Clopper and Pearson, Biometrika 26 (1934) 404-413.
func ClopperPearson(x, n int, level float64) (low, high float64, err error) {
	return betaInterval(x, n, level, 0, 1)
}

// Jeffreys returns the equal-tailed interval of a share of x in n from the prior
// Beta(½, ½), with the end 0 for x = 0 and 1 for x = n.
//
// Errors are those of ClopperPearson.
//
// Source: Brown, Cai and DasGupta, Stat. Sci. 16 (2001) 101-133, section 4.1.2.
func Jeffreys(x, n int, level float64) (low, high float64, err error) {
	return betaInterval(x, n, level, 0.5, 0.5)
}

// betaInterval takes its ends from Beta(x+near, n-x+far) and its mirror.
func betaInterval(x, n int, level, near, far float64) (low, high float64, err error) {
	if err := counts(x, n); err != nil {
		return 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, err
	}
	tail, a, b := (1-level)/2, float64(x), float64(n-x)
	low, high = 0, 1
	if x > 0 {
		low = BetaQuantile(tail, a+near, b+far)
	}
	if x < n {
		high = 1 - BetaQuantile(tail, b+near, a+far)
	}
	return low, high, nil
}

// MiettinenNurminen returns x1/n1 - x2/n2 with its score interval: the
// differences that a chi-squared test with the shares fitted under them does not
// reject.
//
// ErrFew if a group is empty; ErrRange unless 0 <= x <= n and 0 < level < 1.
//
// Source: Miettinen and Nurminen, Stat. Med. 4 (1985) 213-226, equations 8-10 and
// appendix I.
func MiettinenNurminen(x1, n1, x2, n2 int, level float64) (diff, low, high float64, err error) {
	if err := pair(x1, n1, x2, n2); err != nil {
		return 0, 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, 0, err
	}
	const edge = 1e-12
	z := NormalQuantile((1 + level) / 2)
	diff = float64(x1)/float64(n1) - float64(x2)/float64(n2)
	score := func(d float64) float64 { return scoreOf(x1, n1, x2, n2, d) }
	low, high = -1, 1
	if score(-1+edge) > z {
		low, _ = root(-1+edge, math.Max(diff-edge, -1+edge), func(d float64) float64 { return math.Min(score(d), 1e6) - z })
	}
	if score(1-edge) < -z {
		high, _ = root(math.Min(diff+edge, 1-edge), 1-edge, func(d float64) float64 { return math.Max(score(d), -1e6) + z })
	}
	return diff, low, high, nil
}

// scoreOf returns how many standard errors the observed difference is from d,
// the errors being those of the shares fitted under d.
func scoreOf(x1, n1, x2, n2 int, d float64) float64 {
	a, m, b, n := float64(x1), float64(n1), float64(x2), float64(n2)
	all, hits := m+n, a+b
	l2 := (m+2*n)*d - all - hits
	l1 := (n*d-all-2*b)*d + hits
	l0 := b * d * (1 - d)
	third := l2 / (3 * all)
	q := third*third*third - l1*l2/(6*all*all) + l0/(2*all)
	p := math.Copysign(math.Sqrt(math.Max(0, third*third-l1/(3*all))), q)
	turn := 0.0
	if p != 0 {
		turn = (math.Pi + math.Acos(math.Max(-1, math.Min(1, q/(p*p*p))))) / 3
	}
	r2 := math.Max(0, math.Min(1, 2*p*math.Cos(turn)-third))
	r1 := math.Max(0, math.Min(1, r2+d))
	v := (r1*(1-r1)/m + r2*(1-r2)/n) * all / (all - 1)
	gap := a/m - b/n - d
	if math.Abs(gap) < 1e-15 {
		return 0
	}
	if !(v > 0) {
		return math.Copysign(math.Inf(1), gap)
	}
	return gap / math.Sqrt(v)
}

// probTie is the relative difference within which two table probabilities count
// as tied, as is usual in exact tests.
const probTie = 1e-7

// hypergeometric returns the probabilities of x1 = low, low+1, … in a 2x2 table
// with rows n1 and n2 and m in the first column.
func hypergeometric(n1, n2, m int) (p []float64, low int) {
	low = max(0, m-n2)
	all := logChoose(n1+n2, m)
	var sum total
	for x := low; x <= min(n1, m); x++ {
		v := math.Exp(logChoose(n1, x) + logChoose(n2, m-x) - all)
		p = append(p, v)
		sum.add(v)
	}
	for i := range p { // takes out the rounding of the logarithms' offset
		p[i] /= sum.value()
	}
	return p, low
}

// Fisher returns the exact two-sided p that the shares x1 of n1 and x2 of n2
// differ: the chance, with all totals given, of a table no likelier than the one
// seen. mid counts tables as likely as that one half; it is less cautious.
//
// ErrFew if a group is empty; ErrRange unless 0 <= x <= n.
//
// Source: Fisher (1925 and later editions), section 21.02; mid-p by Lancaster, J.
// Am. Stat. Assoc. 56 (1961) 223-234.
func Fisher(x1, n1, x2, n2 int) (p, mid float64, err error) {
	if err := pair(x1, n1, x2, n2); err != nil {
		return 0, 0, err
	}
	probs, low := hypergeometric(n1, n2, x1+x2)
	less, tied := unlikely(probs, probs[x1-low])
	return math.Min(1, less+tied), less + tied/2, nil
}

// unlikely sums the probabilities below and at p.
func unlikely(probs []float64, p float64) (less, tied float64) {
	var below, at total
	for _, v := range probs {
		switch {
		case v < p*(1-probTie):
			below.add(v)
		case v <= p*(1+probTie):
			at.add(v)
		}
	}
	return below.value(), at.value()
}

// Stratum is a 2x2 table: X1 of N1 in the first arm, X2 of N2 in the second.
type Stratum struct{ X1, N1, X2, N2 int }

// Strata is the outcome of comparing shares within strata.
type Strata struct {
	OddsRatio  float64 // common odds ratio of arm 1 to arm 2, +Inf if arm 2 has none
	ChiSquared float64 // without continuity correction, one degree of freedom
	P          float64 // of ChiSquared
	ExactP     float64 // two-sided, all totals within strata given
}

// MantelHaenszel compares the shares of two arms within strata. Strata in which
// only one arm, or only one outcome, occurs tell nothing.
//
// ErrFew if no stratum tells anything; ErrRange unless 0 <= x <= n.
//
// Source: Mantel and Haenszel, J. Natl. Cancer Inst. 22 (1959) 719-748; exact by
// convolution, Mehta, Patel and Gray, J. Am. Stat. Assoc. 80 (1985) 969-973.
func MantelHaenszel(strata []Stratum) (Strata, error) {
	var excess, variance, for1, for2 total
	probs, at := []float64{1}, 0
	for _, s := range strata {
		if s.N1 == 0 || s.N2 == 0 {
			continue
		}
		if err := pair(s.X1, s.N1, s.X2, s.N2); err != nil {
			return Strata{}, err
		}
		m, n1, n2 := float64(s.X1+s.X2), float64(s.N1), float64(s.N2)
		n := n1 + n2
		excess.add(float64(s.X1) - n1*m/n)
		variance.add(n1 * n2 * m * (n - m) / (n * n * (n - 1)))
		for1.add(float64(s.X1) * float64(s.N2-s.X2) / n)
		for2.add(float64(s.X2) * float64(s.N1-s.X1) / n)
		p, low := hypergeometric(s.N1, s.N2, s.X1+s.X2)
		probs, at = convolve(probs, p), at+s.X1-low
	}
	v := variance.value()
	if !(v > 0) {
		return Strata{}, fmt.Errorf("stats: no stratum has both arms and both outcomes: %w", ErrFew)
	}
	out := Strata{OddsRatio: math.Inf(1), ChiSquared: excess.value() * excess.value() / v}
	if for2.value() > 0 {
		out.OddsRatio = for1.value() / for2.value()
	}
	out.P = ChiSquaredUpper(out.ChiSquared, 1)
	less, tied := unlikely(probs, probs[at])
	out.ExactP = math.Min(1, less+tied)
	return out, nil
}
