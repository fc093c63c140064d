package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Reference: coin 1.4-2 wilcox_test(distribution = "exact"), R 4.2.2 wilcox.test for
// W and the normal p with continuity correction.
func TestMannWhitneyAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		got, err := MannWhitney(arms[1], arms[0])
		if err != nil || !got.Exact {
			t.Fatalf("%s: %+v, %v", name, got, err)
		}
		near(t, name+" p", got.P, float64(want.WilcoxExact), closed)
		if want.Wilcox == nil {
			continue
		}
		near(t, name+" U", got.Statistic, float64(want.Wilcox.W), closed)
		pairs := float64(len(arms[0]) * len(arms[1]))
		near(t, name+" superiority", got.Statistic/pairs, float64(want.Superiority), closed)
		ranks := doubledRanks(append(slices.Clone(arms[0]), arms[1]...))
		normal := mannWhitneyNormal(got.Statistic, ranks, float64(len(arms[1])), float64(len(arms[0])))
		near(t, name+" normal p", normal, float64(want.WilcoxNormal), closed)
	}
}

// Reference: exactRankTests 0.8-35 wilcox.exact.
func TestMannWhitneyTwoByThirty(t *testing.T) {
	var want struct {
		P  float64 `json:"wilcox_exact_with_ties"`
		W  float64
		HL float64    `json:"HL"`
		CI [2]float64 `json:"HLci"`
	}
	read(t, reference(t, "two_sample"), "trialL", &want)
	a, b := trialL(t)
	got, err := MannWhitney(a, b)
	if err != nil || !got.Exact {
		t.Fatalf("%+v, %v", got, err)
	}
	near(t, "p", got.P, want.P, closed)
	near(t, "U", got.Statistic, want.W, closed)
	shift, low, high, err := HodgesLehmann(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shift", shift, want.HL, closed)
	// R's interval with ties is by root finding on the normal p: tenths agree.
	within(t, "low", low, want.CI[0], 0.11)
	within(t, "high", high, want.CI[1], 0.11)
}

// Reference: exactRankTests 0.8-35 wilcox.exact(conf.int = TRUE). With ties that
// takes its cut from the tied ranks and is wider; ours must lie within.
func TestHodgesLehmannAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		if want.HLInterval == nil {
			continue
		}
		shift, low, high, err := HodgesLehmann(arms[1], arms[0], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name+" shift", shift, float64(want.HL), 1e-10)
		wantLow, wantHigh := float64(want.HLInterval[0]), float64(want.HLInterval[1])
		if !want.Wilcox.NoTies {
			if !(wantLow-1e-10 <= low && low <= shift && shift <= high && high <= wantHigh+1e-10) {
				t.Errorf("%s: %g..%g is not within %g..%g", name, low, high, wantLow, wantHigh)
			}
			continue
		}
		within(t, name+" low", low, wantLow, 1e-10)
		within(t, name+" high", high, wantHigh, 1e-10)
	}
}

// Reference: exactRankTests 0.8-35 wilcox.exact(paired = TRUE), coin wilcoxsign_test,
// t.test(paired = TRUE).
func TestPairsAgainstR(t *testing.T) {
	var want struct {
		T struct {
			T, DF, P float64
			CI       [2]float64 `json:"ci95"`
			Est      float64
		}
		Signed struct{ Coin, ExactRank, V float64 } `json:"signed_rank_exact_ties"`
	}
	read(t, reference(t, "two_sample"), "sleep_paired", &want)
	arms := twoArms(t)["sleep_as_two_groups"]
	first, second := arms[0], arms[1]
	d := make([]float64, len(first))
	for i := range d {
		d[i] = first[i] - second[i]
	}
	rank, err := SignedRank(d)
	if err != nil || !rank.Exact {
		t.Fatalf("%+v, %v", rank, err)
	}
	near(t, "signed rank p", rank.P, want.Signed.Coin, closed)
	within(t, "V", rank.Statistic, want.Signed.V, 0)
	got, err := Paired(second, first, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", got.Value, want.T.Est, closed)
	near(t, "t", got.T, want.T.T, closed)
	near(t, "df", got.DF, want.T.DF, closed)
	near(t, "p", got.P, want.T.P, closed)
	near(t, "low", got.Low, want.T.CI[0], closed)
	near(t, "high", got.High, want.T.CI[1], closed)
}

// Reference: R 4.2.2, the gamma-function form.
func TestHedgesAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		if want.Hedges == nil {
			continue
		}
		d, g, err := Hedges(arms[1], arms[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" d", d, float64(want.Hedges.D), closed)
		near(t, name+" g", g, float64(want.Hedges.G), closed)
	}
}

// Published: Hollander and Wolfe (1999), table A.6 (from memory): with 6 v 6 the
// chance of U <= 5 is 0.0206 and of U <= 6 is 0.0325; 10 v 10 reaches 0.0216 at 23.
func TestMannWhitneyWays(t *testing.T) {
	for _, c := range []struct {
		m, n, u int
		want    float64
	}{{6, 6, 5, 0.0206}, {6, 6, 6, 0.0325}, {10, 10, 23, 0.0216}} {
		ways := mannWhitneyWays(c.m, c.n)
		within(t, "P(U <= u)", Sum(ways[:c.u+1])/Sum(ways), c.want, 5e-5)
		if len(ways) != c.m*c.n+1 {
			t.Errorf("%d v %d: %d values of U", c.m, c.n, len(ways))
		}
	}
}

// Beyond counting, the cut must go on from the counted one, to one in its place.
func TestMannWhitneyCut(t *testing.T) {
	for _, tail := range []float64{0.005, 0.025, 0.05, 0.1} {
		counted := cutRank(mannWhitneyWays(60, 90), tail)
		within(t, "cut", float64(normalCut(60, 90, tail)), float64(counted), 1)
	}
	// 300 v 300 at 2.5 %: 45000 less 1.96·sqrt(300·300·601/12) is 40838.8.
	within(t, "300 v 300", float64(mannWhitneyCut(300, 300, 0.025)), 40838.8, 3)
}

// Counts of few kinds tie a lot. Over all samples of four from {0, 1, 2} in each
// arm, the interval must hold the true shift 0 as often as it says.
func TestHodgesLehmannHoldsItsLevelWithTies(t *testing.T) {
	const level = 0.9
	hits, all := 0, 0
	for code := range 6561 { // 3^8
		x := make([]float64, 8)
		for i, c := 0, code; i < 8; i, c = i+1, c/3 {
			x[i] = float64(c % 3)
		}
		_, low, high, err := HodgesLehmann(x[:4], x[4:], level)
		if err != nil {
			t.Fatal(err)
		}
		all++
		if low <= 0 && 0 <= high {
			hits++
		}
	}
	if share := float64(hits) / float64(all); share < level {
		t.Errorf("holds the shift in %.3f of samples, want %g", share, level)
	}
}

// The test does not see a change of unit; a swap mirrors U and leaves p.
func TestMannWhitneyLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := sample(t, "a", 1), sample(t, "b", 1)
		base, err := MannWhitney(a, b)
		if err != nil {
			t.Fatal(err)
		}
		by := rapid.Float64Range(0.001, 1000).Draw(t, "scale")
		moved, err := MannWhitney(linear(a, by, 0), linear(b, by, 0))
		if err != nil {
			t.Fatal(err)
		}
		back, err := MannWhitney(b, a)
		if err != nil {
			t.Fatal(err)
		}
		if moved != base {
			t.Fatalf("scaled by %g: %+v, was %+v", by, moved, base)
		}
		alike(t, "mirror", back.Statistic, float64(len(a)*len(b))-base.Statistic, 0)
		alike(t, "p", back.P, base.P, 1e-12)
		if !(base.P > 0 && base.P <= 1) {
			t.Fatalf("p = %g", base.P)
		}
	})
}

// A shift of b by d is inside the interval if the test of a against b-d does not
// reject, and outside if it does; values without ties.
func TestHodgesLehmannInverts(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		a, b := make([]float64, 5+rng.IntN(4)), make([]float64, 5+rng.IntN(4))
		for i := range a {
			a[i] = rng.NormFloat64()
		}
		for i := range b {
			b[i] = rng.NormFloat64() + 0.5
		}
		_, low, high, err := HodgesLehmann(a, b, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			d      float64
			inside bool
		}{{low - 1e-9, false}, {low + 1e-9, true}, {high - 1e-9, true}, {high + 1e-9, false}} {
			got, err := MannWhitney(a, linear(b, 1, -c.d))
			if err != nil {
				t.Fatal(err)
			}
			if (got.P > 0.1) != c.inside {
				t.Errorf("shift %g in %g..%g: p %g", c.d, low, high, got.P)
			}
		}
	}
}

func TestPairedShiftInverts(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		d := make([]float64, 6+rng.IntN(6))
		for i := range d {
			d[i] = rng.NormFloat64()
		}
		mid, low, high, err := PairedShift(d, 0.9)
		if err != nil || !(low <= mid && mid <= high) {
			t.Fatalf("%g in %g..%g: %v", mid, low, high, err)
		}
		for _, c := range []struct {
			d      float64
			inside bool
		}{{low - 1e-9, false}, {low + 1e-9, true}, {high - 1e-9, true}, {high + 1e-9, false}} {
			got, err := SignedRank(linear(d, 1, -c.d))
			if err != nil {
				t.Fatal(err)
			}
			if (got.P > 0.1) != c.inside {
				t.Errorf("centre %g in %g..%g: p %g", c.d, low, high, got.P)
			}
		}
	}
}

// Far beyond the exact range the normal p must go on from the exact one.
func TestRankTestsLarge(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	a, b, d := make([]float64, 700), make([]float64, 700), make([]float64, 1500)
	for i := range a {
		a[i], b[i] = math.Round(20*rng.NormFloat64()), math.Round(20*rng.NormFloat64()+2)
	}
	for i := range d {
		d[i] = rng.NormFloat64() + 0.05
	}
	mw, err := MannWhitney(a, b)
	if err != nil || mw.Exact {
		t.Fatalf("%+v, %v", mw, err)
	}
	w, err := Welch(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "Mann-Whitney near Welch", math.Log(mw.P), math.Log(w.P), 1) // asymptotic efficiency 0.955
	sr, err := SignedRank(d)
	if err != nil || sr.Exact {
		t.Fatalf("%+v, %v", sr, err)
	}
	few, err := SignedRank(d[:300])
	if err != nil || !few.Exact {
		t.Fatalf("%+v, %v", few, err)
	}
	size := make([]float64, 300)
	for i, v := range d[:300] {
		size[i] = math.Abs(v)
	}
	near(t, "normal against exact", signedNormal(few.Statistic, doubledRanks(size)), few.P, 0.01)
}

func TestRankRefusals(t *testing.T) {
	nan := []float64{1, math.NaN()}
	ok := []float64{1, 2, 3}
	if _, err := MannWhitney(nil, ok); !errors.Is(err, ErrFew) {
		t.Errorf("empty arm: %v", err)
	}
	if _, err := MannWhitney(ok, nan); !errors.Is(err, ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	tenth := 0.1 // a variable, for constants are exact
	if got, err := MannWhitney([]float64{tenth + 0.2}, []float64{0.3}); err != nil || got.Statistic != 0.5 {
		t.Errorf("0.1 + 0.2 against 0.3 is no tie: %+v, %v", got, err)
	}
	if got, err := MannWhitney([]float64{2, 2}, []float64{2}); err != nil || got.P != 1 || got.Statistic != 1 {
		t.Errorf("all equal: %+v, %v", got, err)
	}
	if _, _, _, err := HodgesLehmann(ok, ok, 0.95); !errors.Is(err, ErrUnbounded) {
		t.Errorf("3 v 3 at 95 %%: %v, want ErrUnbounded", err)
	}
	if _, _, _, err := HodgesLehmann(ok, nan, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	if _, err := SignedRank([]float64{0, 0}); !errors.Is(err, ErrFew) {
		t.Errorf("no difference: %v", err)
	}
	if _, err := SignedRank(nan); !errors.Is(err, ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	if _, _, _, err := PairedShift([]float64{1, 2, 3, 4, 5}, 0.95); !errors.Is(err, ErrUnbounded) {
		t.Errorf("5 pairs at 95 %%: %v, want ErrUnbounded", err)
	}
	if _, _, _, err := PairedShift(nil, 0.95); !errors.Is(err, ErrFew) {
		t.Errorf("no pairs: %v", err)
	}
	if _, err := Paired(ok, ok[:2], 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("unequal length: %v", err)
	}
	if _, err := Paired(ok, []float64{2, 3, 4}, 0.95); !errors.Is(err, ErrFlat) {
		t.Errorf("equal differences: %v", err)
	}
	if _, err := Paired(ok[:1], ok[:1], 0.95); !errors.Is(err, ErrFew) {
		t.Errorf("one pair: %v", err)
	}
	if _, _, err := Hedges(ok[:1], ok[:2]); !errors.Is(err, ErrFew) {
		t.Errorf("three values: %v", err)
	}
	if _, _, err := Hedges([]float64{1, 1}, []float64{2, 2}); !errors.Is(err, ErrFlat) {
		t.Errorf("no spread: %v", err)
	}
}

// Reference: enumeration of all deals in R 4.2.2, scripts/02_two_sample.R.
func TestPermutationShiftAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		if want.Shift == nil {
			continue
		}
		low, high, err := PermutationShift(arms[1], arms[0], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name+" low", low, float64(want.Shift[0]), 1e-10)
		within(t, name+" high", high, float64(want.Shift[1]), 1e-10)
	}
}

// On and off a grid the interval is the same; it holds the difference of means;
// just inside its ends the one-sided test does not reject, just outside it does.
func TestPermutationShiftLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := sample(t, "a", 4), sample(t, "b", 4)
		low, high, err := PermutationShift(a, b, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		gap := Mean(b) - Mean(a)
		if !(low <= gap+1e-9 && gap <= high+1e-9) {
			t.Fatalf("%g is not in %g..%g", gap, low, high)
		}
		l2, h2, err := PermutationShift(linear(a, math.Pi, 3), linear(b, math.Pi, 3), 0.9)
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "off grid low", l2, math.Pi*low, 1e-9)
		alike(t, "off grid high", h2, math.Pi*high, 1e-9)
		l3, h3, err := PermutationShift(b, a, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "swapped low", l3, -high, 1e-9)
		alike(t, "swapped high", h3, -low, 1e-9)
	})
}

func TestPermutationShiftTwoByThirty(t *testing.T) {
	a, b := trialL(t)
	low, high, err := PermutationShift(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	// The normal theory for the same data, R 4.2.2 t.test: 1.71 to 26.51.
	within(t, "low", low, 1.71326551418435, 0.3)
	within(t, "high", high, 26.5134011524823, 0.3)
	for _, c := range []struct {
		d      float64
		inside bool
	}{{math.Floor(low*10) / 10, false}, {math.Ceil(low*10) / 10, true}} {
		moved := linear(b, 1, -c.d)
		p, err := PermutationMeans(a, moved)
		if err != nil {
			t.Fatal(err)
		}
		if (p > 0.05) != c.inside { // two-sided p is near twice the smaller side here
			t.Errorf("shift %g: p %g", c.d, p)
		}
	}
}

// 3 v 3 at 90 %: exactly one deal in twenty on either side, in spite of rounding.
func TestPermutationShiftJustEnough(t *testing.T) {
	low, high, err := PermutationShift([]float64{1, 2, 4}, []float64{10, 12, 17}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "low", low, 6, 1e-12)    // 10 - 4
	within(t, "high", high, 16, 1e-12) // 17 - 1
}

func TestPermutationShiftRefusals(t *testing.T) {
	ok := []float64{1, 2, 4}
	if _, _, err := PermutationShift(ok, ok, 0.95); !errors.Is(err, ErrUnbounded) {
		t.Errorf("3 v 3: %v, want ErrUnbounded", err)
	}
	if _, _, err := PermutationShift(ok, nil, 0.95); !errors.Is(err, ErrFew) {
		t.Errorf("empty arm: %v", err)
	}
	if _, _, err := PermutationShift(ok, []float64{math.Inf(1)}, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("infinite: %v", err)
	}
	a, b := trialL(t)
	if _, _, err := PermutationShift(logs(a), logs(b), 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("2x30 off grid: %v, want ErrRange", err)
	}
}

func BenchmarkPermutationShiftTwoByThirty(b *testing.B) {
	x, y := trialL(b)
	for b.Loop() {
		if _, _, err := PermutationShift(x, y, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func TestRanksOfValues(t *testing.T) {
	got := Ranks([]float64{3, 1, 3, 0, 7})
	if want := []float64{3.5, 2, 3.5, 1, 5}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := Ranks(nil); len(got) != 0 {
		t.Errorf("of nothing: %v", got)
	}
}
