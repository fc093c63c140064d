package stats

import (
	"fmt"
	"math"
)

// Estimate is a point estimate with its t interval, in the unit of the data.
type Estimate struct {
	Value float64 // the estimate
	SE    float64 // its standard error, > 0
	DF    float64 // degrees of freedom of the standard error, not always whole
	T     float64 // Value / SE
	P     float64 // two-sided p against 0
	Low   float64 // lower end of the interval
	High  float64 // upper end
}

// estimate completes value and se to an Estimate.
func estimate(value, se, df, level float64) Estimate {
	t := value / se
	half := TQuantile((1+level)/2, df) * se
	return Estimate{
		Value: value, SE: se, DF: df, T: t, P: 2 * TUpper(math.Abs(t), df),
		Low: value - half, High: value + half,
	}
}

// Welch returns mean(b) - mean(a) with the t interval that lets each arm have
// its own variance.
//
// Both arms need two values or more (ErrFew) that are not all equal within
// both arms (ErrFlat); values are finite and 0 < level < 1 (ErrRange). Not for
// arms that shared blocks: see FitBlocks.
//
// Source: Welch, Biometrika 34 (1947) 28-35; degrees of freedom by
// Satterthwaite, Biometrics Bulletin 2 (1946) 110-114, equation 17.
func Welch(a, b []float64, level float64) (Estimate, error) {
	if err := arms(a, b, 2); err != nil {
		return Estimate{}, err
	}
	if err := inside(level); err != nil {
		return Estimate{}, err
	}
	na, nb := float64(len(a)), float64(len(b))
	va, vb := Variance(a)/na, Variance(b)/nb
	se := math.Sqrt(va + vb)
	if !(se > rounding(a, b)) {
		return Estimate{}, fmt.Errorf("stats: Welch: %w", ErrFlat)
	}
	df := (va + vb) * (va + vb) / (va*va/(na-1) + vb*vb/(nb-1))
	return estimate(apart(a, b), se, df, level), nil
}

// apart returns mean(b) - mean(a) without losing digits to a common offset.
func apart(a, b []float64) float64 {
	return (b[0] - a[0]) + offset(b) - offset(a)
}

// arms checks that both samples are finite and hold at least least values.
func arms(a, b []float64, least int) error {
	if len(a) < least || len(b) < least {
		return fmt.Errorf("stats: %d and %d values, %d needed in each: %w", len(a), len(b), least, ErrFew)
	}
	if err := finite(a); err != nil {
		return err
	}
	return finite(b)
}

// Fieller returns the ratio mb/ma of two means with its interval, from their
// variances va and vb, their covariance cov, and the degrees of freedom of all
// three.
//
// ErrUnbounded when ma does not differ from 0 at the level, for then the
// ratios that fit the data have no end; ErrRange for arguments that are not
// finite, a negative variance, or a level outside 0..1. ma = 0 is ErrUnbounded.
//
// Source: Fieller, J. R. Stat. Soc. B 16 (1954) 175-185: the limits are the
// roots of (ma² - q²va)r² - 2(ma mb - q²cov)r + (mb² - q²vb) = 0.
func Fieller(mb, ma, vb, va, cov, df, level float64) (ratio, low, high float64, err error) {
	if err := finite([]float64{mb, ma, vb, va, cov}); err != nil {
		return 0, 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, 0, err
	}
	if !(va >= 0 && vb >= 0 && df > 0) {
		return 0, 0, 0, fmt.Errorf("stats: Fieller: variances %g and %g, %g degrees of freedom: %w", va, vb, df, ErrRange)
	}
	q := TQuantile((1+level)/2, df)
	a := ma*ma - q*q*va
	if !(a > 0) {
		return 0, 0, 0, fmt.Errorf("stats: Fieller: the divisor %g is not clear of 0: %w", ma, ErrUnbounded)
	}
	// The discriminant over q², written so that nothing large cancels.
	d := mb*mb*va - 2*ma*mb*cov + ma*ma*vb - q*q*(va*vb-cov*cov)
	half := q * math.Sqrt(math.Max(0, d))
	centre := ma*mb - q*q*cov
	return mb / ma, (centre - half) / a, (centre + half) / a, nil
}
