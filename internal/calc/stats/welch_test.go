package stats

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Reference: R 4.2.2 t.test, scripts/02_two_sample.R.
func TestWelchAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		got, err := Welch(arms[1], arms[0], 0.95)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" t", got.T, float64(want.Welch.T), closed)
		near(t, name+" df", got.DF, float64(want.Welch.DF), closed)
		near(t, name+" p", got.P, float64(want.Welch.P), closed)
		near(t, name+" low", got.Low, float64(want.Welch.CI[0]), closed)
		near(t, name+" high", got.High, float64(want.Welch.CI[1]), closed)
	}
}

// Reference: R 4.2.2 t.test on logarithms.
func TestWelchOnLogarithms(t *testing.T) {
	ref := reference(t, "two_sample")
	for _, name := range []string{"trialA", "trialB", "plantgrowth_trt1_ctrl", "pincounts_ties"} {
		var want twoSample
		read(t, ref, name, &want)
		arms := twoArms(t)[name]
		got, err := Welch(logs(arms[1]), logs(arms[0]), 0.95)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" ratio", math.Exp(got.Value), float64(want.LogRatio.Ratio), closed)
		near(t, name+" low", math.Exp(got.Low), float64(want.LogRatio.CI[0]), closed)
		near(t, name+" high", math.Exp(got.High), float64(want.LogRatio.CI[1]), closed)
		near(t, name+" p", got.P, float64(want.LogRatio.P), closed)
	}
}

// Totals prove nothing: two sets of jars with the same totals per arm.
// Reference: R 4.2.2 t.test, scripts/12_design.R.
func TestWelchSameTotals(t *testing.T) {
	type set struct {
		A, B []float64
		P    float64
	}
	var want struct {
		Even   set `json:"jars_even"`
		Uneven set `json:"jars_uneven"`
	}
	read(t, reference(t, "design"), "totals_prove_nothing", &want)
	for _, s := range []set{want.Even, want.Uneven} {
		got, err := Welch(s.A, s.B, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p", got.P, s.P, closed)
	}
}

// Reference: Fieller's formula in R 4.2.2 with Welch's degrees of freedom.
func TestFiellerAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		if want.Fieller == nil {
			continue
		}
		x, y := arms[0], arms[1]
		ratio, low, high, err := Fieller(Mean(x), Mean(y), Variance(x)/float64(len(x)), Variance(y)/float64(len(y)), 0, float64(want.Fieller.DF), 0.95)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" ratio", ratio, float64(want.Fieller.Ratio), closed)
		near(t, name+" low", low, float64(want.Fieller.CI[0]), closed)
		near(t, name+" high", high, float64(want.Fieller.CI[1]), closed)
	}
}

// With a covariance, the limits are the ratios r at which mb - r·ma is q
// standard errors from 0.
func TestFiellerLimitsAreRoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mb := rapid.Float64Range(-50, 200).Draw(t, "mb")
		ma := rapid.Float64Range(20, 200).Draw(t, "ma")
		vb := rapid.Float64Range(0.1, 30).Draw(t, "vb")
		va := rapid.Float64Range(0.1, 30).Draw(t, "va")
		cov := rapid.Float64Range(-0.9, 0.9).Draw(t, "r") * math.Sqrt(va*vb)
		ratio, low, high, err := Fieller(mb, ma, vb, va, cov, 9, 0.95)
		q := TQuantile(0.975, 9)
		if errors.Is(err, ErrUnbounded) {
			if ma*ma > q*q*va {
				t.Fatalf("unbounded although %g is %g errors from 0", ma, ma/math.Sqrt(va))
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if !(low <= ratio && ratio <= high) {
			t.Fatalf("%g not in %g..%g", ratio, low, high)
		}
		for _, r := range []float64{low, high} {
			z := math.Abs(mb-r*ma) / math.Sqrt(vb-2*r*cov+r*r*va)
			if !(math.Abs(z-q) < 1e-7) { // the root loses half the digits where the ends nearly meet
				t.Fatalf("at %g: %g errors from 0, want %g", r, z, q)
			}
		}
	})
}

func TestFiellerRefusals(t *testing.T) {
	for _, c := range []struct {
		mb, ma, vb, va, cov, df, level float64
		want                           error
	}{
		{1, 0, 1, 1, 0, 5, 0.95, ErrUnbounded},
		{1, 1, 1, 1, 0, 5, 0.95, ErrUnbounded},
		{1, math.NaN(), 1, 1, 0, 5, 0.95, ErrRange},
		{1, 10, -1, 1, 0, 5, 0.95, ErrRange},
		{1, 10, 1, 1, 0, 0, 0.95, ErrRange},
		{1, 10, 1, 1, 0, 5, 1, ErrRange},
		{1, 10, 1, 1, 0, 5, math.NaN(), ErrRange},
	} {
		if _, _, _, err := Fieller(c.mb, c.ma, c.vb, c.va, c.cov, c.df, c.level); !errors.Is(err, c.want) {
			t.Errorf("Fieller(%+v): %v, want %v", c, err, c.want)
		}
	}
}

func TestWelchRefusals(t *testing.T) {
	ok := []float64{1, 2, 4}
	tenth := 0.1 // a variable, for constants are exact
	for _, c := range []struct {
		name  string
		a, b  []float64
		level float64
		want  error
	}{
		{"no values", nil, ok, 0.95, ErrFew},
		{"one jar", ok, []float64{3}, 0.95, ErrFew},
		{"all equal", []float64{5, 5}, []float64{5, 5}, 0.95, ErrFlat},
		{"equal within arms", []float64{0.1, 0.1, 0.1}, []float64{0.7, 0.7, 0.7}, 0.95, ErrFlat},
		{"equal to rounding", []float64{0.3, tenth + 0.2}, []float64{0.6, 0.3 + 3*tenth}, 0.95, ErrFlat},
		{"flat is few", []float64{5, 5}, []float64{6, 6}, 0.95, ErrFew},
		{"NaN", ok, []float64{1, math.NaN()}, 0.95, ErrRange},
		{"infinite", []float64{1, math.Inf(1)}, ok, 0.95, ErrRange},
		{"level 0", ok, ok, 0, ErrRange},
		{"level NaN", ok, ok, math.NaN(), ErrRange},
	} {
		if _, err := Welch(c.a, c.b, c.level); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// A shift of both arms leaves the difference; a change of unit scales it; a
// swap turns its sign.
func TestWelchLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := sample(t, "a", 2), sample(t, "b", 2)
		base, err := Welch(a, b, 0.9)
		if errors.Is(err, ErrFlat) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		by := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		shift := rapid.Float64Range(-1000, 1000).Draw(t, "shift")
		moved, err := Welch(linear(a, by, shift), linear(b, by, shift), 0.9)
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "p", moved.P, base.P, 1e-8)
		alike(t, "low", moved.Low, by*base.Low, 1e-8*by*base.SE)
		alike(t, "high", moved.High, by*base.High, 1e-8*by*base.SE)
		back, err := Welch(b, a, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "swapped low", back.Low, -base.High, 1e-12*base.SE)
		alike(t, "swapped p", back.P, base.P, 1e-12)
	})
}

// sample draws weights in tenths of a gram, at least n of them.
func sample(t *rapid.T, name string, n int) []float64 {
	tenths := rapid.SliceOfN(rapid.IntRange(0, 3000), n, n+8).Draw(t, name)
	out := make([]float64, len(tenths))
	for i, v := range tenths {
		out[i] = float64(v) / 10
	}
	return out
}

func linear(x []float64, by, add float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = by*v + add
	}
	return out
}

// alike fails unless got and want are within tol (absolute) or 1e-9 (relative).
func alike(t *rapid.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= math.Max(tol, 1e-9*math.Abs(want))) {
		t.Fatalf("%s: %.17g and %.17g differ", what, got, want)
	}
}

func TestMeanAndVariance(t *testing.T) {
	// Exact: Chan, Golub and LeVeque's kind of trap, an offset of 1e9.
	x := []float64{1e9 + 4, 1e9 + 7, 1e9 + 13, 1e9 + 16}
	if m, v := Mean(x), Variance(x); m != 1e9+10 || v != 30 {
		t.Errorf("mean %g, variance %g, want 1e9+10 and 30", m, v)
	}
	if m, v := Mean([]float64{0.1}), Variance([]float64{0.1}); m != 0.1 || !math.IsNaN(v) {
		t.Errorf("one value: mean %g, variance %g, want 0.1 and NaN", m, v)
	}
	if m := Mean(nil); !math.IsNaN(m) {
		t.Errorf("mean of nothing is %g, want NaN", m)
	}
	if v := Variance([]float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}); v != 0 {
		t.Errorf("variance of equal values is %g, want 0", v)
	}
	if s := Sum([]float64{1, 1e100, 1, -1e100}); s != 2 {
		t.Errorf("compensated sum is %g, want 2", s)
	}
}
