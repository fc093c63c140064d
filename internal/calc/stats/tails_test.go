package stats

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// Closed forms of the tails with 1, 2 and 4 degrees of freedom, written so that
// they keep their digits. Reference: Abramowitz and Stegun (1972), 26.7.3-4.
func TestTUpperClosedForms(t *testing.T) {
	for _, x := range []float64{1e-9, 0.01, 0.5, 1, 2, 5, 30, 1e3, 1e6} {
		near(t, "df 1", TUpper(x, 1), math.Atan(1/x)/math.Pi, 1e-12)
		r := math.Sqrt(2 + x*x)
		near(t, "df 2", TUpper(x, 2), 1/(r*(r+x)), 1e-12)
		near(t, "df 2, below", TUpper(-x, 2), 1-1/(r*(r+x)), 1e-12)
	}
	if got := TUpper(0, 3.7); got != 0.5 {
		t.Errorf("at 0: %g, want 0.5", got)
	}
	if got := TUpper(math.Inf(1), 3); got != 0 {
		t.Errorf("at +Inf: %g, want 0", got)
	}
	if got := TUpper(math.Inf(-1), 3); got != 1 {
		t.Errorf("at -Inf: %g, want 1", got)
	}
	near(t, "df Inf", TUpper(1.5, math.Inf(1)), NormalUpper(1.5), 1e-15)
	near(t, "df 1e7", TUpper(1.5, 1e7), NormalUpper(1.5), 1e-6)
}

// Reference: 40-digit arithmetic, mpmath 1.2.1 (t at 0.975 with 9 degrees); the
// closed forms invert to tan and to (2p-1)/sqrt(2p(1-p)).
func TestTQuantilePublished(t *testing.T) {
	near(t, "0.975, 9", TQuantile(0.975, 9), 2.26215716279821, 1e-14)
	for _, p := range []float64{1e-12, 1e-6, 0.01, 0.3, 0.6, 0.9, 0.999} {
		near(t, "df 1", TQuantile(p, 1), -1/math.Tan(math.Pi*p), 1e-12)
		near(t, "df 2", TQuantile(p, 2), (2*p-1)/math.Sqrt(2*p*(1-p)), 1e-12)
	}
}

func TestTQuantileInvertsTail(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := math.Pow(10, rapid.Float64Range(-12, -0.31).Draw(t, "log p"))
		df := math.Pow(10, rapid.Float64Range(-0.3, 5).Draw(t, "log df"))
		if got := TUpper(-TQuantile(p, df), df); !(math.Abs(got/p-1) < 1e-10) {
			t.Fatalf("tail beyond the quantile of %g with df %g is %g", p, df, got)
		}
	})
}

// Reference: 40-digit arithmetic, mpmath 1.2.1, P(F >= 60) with 3 and 1000
// degrees; two degrees in the numerator have a closed form.
func TestFUpper(t *testing.T) {
	near(t, "3, 1000 at 60", FUpper(60, 3, 1000), 1.1359e-35, 1e-4) // five digits were printed
	for _, f := range []float64{0.01, 1, 5, 50} {
		near(t, "2, 7", FUpper(f, 2, 7), math.Pow(1+2*f/7, -3.5), 1e-12)
		near(t, "t squared", FUpper(f, 1, 9.3), 2*TUpper(math.Sqrt(f), 9.3), 1e-11)
		near(t, "chi-squared", FUpper(f, 4, math.Inf(1)), ChiSquaredUpper(4*f, 4), 1e-14)
	}
	if FUpper(0, 2, 3) != 1 || FUpper(-1, 2, 3) != 1 || FUpper(math.Inf(1), 2, 3) != 0 {
		t.Error("ends of the F tail")
	}
}

func TestChiSquaredUpper(t *testing.T) {
	for _, x := range []float64{1e-6, 0.1, 1, 10, 100, 600} {
		near(t, "df 2", ChiSquaredUpper(x, 2), math.Exp(-x/2), 1e-12)
		near(t, "df 1", ChiSquaredUpper(x, 1), math.Erfc(math.Sqrt(x/2)), 1e-11)
	}
	if ChiSquaredUpper(0, 3) != 1 || ChiSquaredUpper(math.Inf(1), 3) != 0 {
		t.Error("ends of the chi-squared tail")
	}
}

func TestNormalTail(t *testing.T) {
	// Abramowitz and Stegun (1972), table 26.2: Q(5) = 2.86651572e-7 (from memory).
	near(t, "Q(5)", NormalUpper(5), 2.86651572e-7, 1e-8)
	if !(NormalUpper(8.5) > 9e-18) {
		t.Error("the tail at 8.5 is lost")
	}
	near(t, "z of 0.975", NormalQuantile(0.975), 1.959963984540054, 1e-14)
}

// What is no probability or has no degrees of freedom is NaN, never a number.
func TestTailsOutOfRange(t *testing.T) {
	nan := math.NaN()
	for i, v := range []float64{
		TUpper(1, 0), TUpper(1, -2), TUpper(1, nan), TUpper(nan, 4), TQuantile(0, 4), TQuantile(1, 4), TQuantile(nan, 4),
		TQuantile(0.5, 0), TQuantile(0.3, nan), NormalQuantile(0), NormalQuantile(nan), NormalUpper(nan), FUpper(1, 0, 3),
		FUpper(1, 3, nan), FUpper(nan, 3, 3), ChiSquaredUpper(1, 0), ChiSquaredUpper(nan, 2),
	} {
		if !math.IsNaN(v) {
			t.Errorf("case %d is %g, want NaN", i, v)
		}
	}
}

// Many degrees of freedom and far tails, against quadrature of the density. Its
// constant is from the expansion of a ratio of gamma functions, DLMF 5.11.13.
func TestTUpperManyDegrees(t *testing.T) {
	for _, df := range []float64{200, 1e4, 1e6, 1e9} {
		c := (1 - 1/(4*df) + 1/(32*df*df) + 5/(128*df*df*df)) / math.Sqrt(2*math.Pi)
		for _, x := range []float64{1.1, 2, 5, 8} {
			density := func(u float64) float64 { // beyond x, in steps of 1/x
				v := x + u/x
				return c * math.Exp(-(df+1)/2*math.Log1p(v*v/df)) / x
			}
			want := quad.Fixed(density, 0, 10, 60, quad.Legendre{}, 0) + quad.Fixed(density, 10, 60, 60, quad.Legendre{}, 0)
			near(t, fmt.Sprintf("df %g at %g", df, x), TUpper(x, df), want, 1e-11)
		}
	}
}
