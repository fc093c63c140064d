package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Reference: 40-digit quadrature, mpmath 1.2.1, scripts/07_noncentral_mp.py.
func TestNoncentralT(t *testing.T) {
	var rows [][4]float64
	read(t, reference(t, "noncentral"), "nct", &rows)
	for _, r := range rows {
		within(t, fmt.Sprintf("t %g, df %g, shift %g", r[0], r[1], r[2]), NoncentralTUpper(r[0], r[1], r[2]), 1-r[3], 1e-13)
	}
	for _, df := range []float64{1, 4.5, 1e5} {
		within(t, "no shift", NoncentralTUpper(1.3, df, 0), TUpper(1.3, df), 1e-13)
		within(t, "mirror", NoncentralTUpper(-1.3, df, -2), 1-NoncentralTUpper(1.3, df, 2), 1e-13)
	}
	if !math.IsNaN(NoncentralTUpper(1, 0, 1)) || !math.IsNaN(NoncentralTUpper(1, 3, math.NaN())) {
		t.Error("out of range is not NaN")
	}
}

// Reference: 40-digit quadrature, mpmath 1.2.1; R 4.2.2 power.t.test(strict = TRUE),
// which is to about 1e-9 (AS 243).
func TestPowerTAgainstReference(t *testing.T) {
	var exact map[string]float64
	read(t, reference(t, "noncentral"), "power_two_sample_t", &exact)
	for name, want := range exact {
		jars, effect, _ := strings.Cut(name[1:], "_d")
		n, d := parse(t, jars), parse(t, effect)
		got, err := PowerT(d, n, n, 0, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name, got, want, 1e-12)
	}
	var unequal map[string]float64
	read(t, reference(t, "power"), "power_unequal", &unequal)
	for name, want := range unequal {
		jars, effect, _ := strings.Cut(name, "_d")
		first, second, _ := strings.Cut(jars, "v")
		n1, n2, d := parse(t, first), parse(t, second), parse(t, effect)
		got, err := PowerT(d, n1, n2, 0, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name, got, want, 1e-10)
	}
}

// Reference: R 4.2.2 power.t.test. It leaves out the far tail, which is 1e-5 and
// less here.
func TestPowerSolvedAgainstR(t *testing.T) {
	type plan struct{ N, Delta, Power float64 }
	var want map[string]plan
	read(t, reference(t, "power"), "power_t", &want)
	n := want["solve_n_d05_80"]
	p, err := PowerT(0.5, n.N, n.N, 0, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "power at the solved n", p, 0.8, 1e-5)
	if jars, err := JarsPerArm(0.5, 0.8, 0, 0.05); err != nil || jars != 64 {
		t.Errorf("jars for half a standard deviation: %d, %v; want 64", jars, err)
	}
	if jars, err := JarsPerArm(-1, 0.9, 0, 0.05); err != nil || jars != int(math.Ceil(want["solve_n_d1_90"].N)) {
		t.Errorf("jars for one standard deviation down: %d, %v", jars, err)
	}
	d, err := DetectableT(0.8, 6, 6, 0, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "detectable with 6 v 6", d, want["solve_delta_n6_80"].Delta, 1e-5)
	pairs, err := PowerPairs(1, 6, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "paired", pairs, want["paired_n6_d1"].Power, 1e-4)
}

// The planner's tables on the log scale. Reference: R 4.2.2, scripts/07_power.R.
func TestPowerTables(t *testing.T) {
	ref := reference(t, "power")
	var rows [][]number
	read(t, ref, "mdd", &rows)
	for _, r := range rows {
		n, cv, power := float64(r[0]), float64(r[1]), float64(r[2])
		d, err := DetectableT(power, n, n, 0, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("%g jars, CV %g, power %g", n, cv, power)
		near(t, name+" d", d, float64(r[3]), 1e-8)
		near(t, name+" up", 100*math.Expm1(d*LogSpread(cv)), float64(r[5]), 1e-8)
		near(t, name+" down", -100*math.Expm1(-d*LogSpread(cv)), float64(r[6]), 1e-8)
	}
	read(t, ref, "mdd_blocked_2_layers", &rows)
	for _, r := range rows {
		d, err := DetectableT(float64(r[1]), float64(r[0]), float64(r[0]), 1, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "two layers", d, float64(r[3]), 1e-8)
	}
	read(t, ref, "n_needed", &rows)
	for _, r := range rows {
		pct, cv, power := float64(r[0]), float64(r[1]), float64(r[2])
		if jars, err := JarsPerArm(math.Log1p(pct/100)/LogSpread(cv), power, 0, 0.05); err != nil || jars != int(r[3]) {
			t.Errorf("%g %% at CV %g, power %g, log scale: %d jars, %v; want %g", pct, cv, power, jars, err, r[3])
		}
		if jars, err := JarsPerArm(pct/100/cv, power, 0, 0.05); err != nil || jars != int(r[4]) {
			t.Errorf("%g %% at CV %g, power %g, grams: %d jars, %v; want %g", pct, cv, power, jars, err, r[4])
		}
	}
	read(t, ref, "start_jars", &rows)
	for _, r := range rows {
		if jars, err := StartJars(int(r[0]), 2, float64(r[1]), 0.9); err != nil || jars != int(r[2]) {
			t.Errorf("start for %g at loss %g: %d, %v; want %g", r[0], r[1], jars, err, r[2])
		}
	}
}

// Reference: integrate in R 4.2.2, scripts/07_power.R. The cross-over with N = 40, CV
// 30 % and ratio 0.95 has the well-known answer 0.8158 (from memory).
func TestPowerSame(t *testing.T) {
	ref := reference(t, "power")
	var want map[string]float64
	read(t, ref, "tost_power", &want)
	for _, c := range []struct {
		name      string
		n, lost   float64
		cv, ratio float64
	}{
		{"n6_cv25", 6, 0, 0.25, 1},
		{"n12_cv25", 12, 0, 0.25, 1},
		{"n24_cv25", 24, 0, 0.25, 1},
		{"n38_cv30_theta95", 38, 0, 0.3, 0.95},
		{"crossover_N40_cv30_theta95", 40, 40, 0.3, 0.95},
	} {
		got, err := PowerSame(c.n, c.n, c.lost, Margin{0.8, 1.25, c.cv, c.ratio, 0.05})
		if err != nil {
			t.Fatal(err)
		}
		within(t, c.name, got, want[c.name], 1e-10)
	}
	var rows [][4]any
	read(t, ref, "tost_n", &rows)
	for _, r := range rows {
		m := Margin{0.8, 1.25, r[0].(float64), r[2].(float64), 0.05}
		if r[1] == "0.90-1.11" {
			m.Low, m.High = 0.9, 1/0.9
		}
		want, ok := r[3].(float64)
		if !ok {
			continue
		}
		if jars, err := JarsForSame(0.8, 0, m); err != nil || jars != int(want) {
			t.Errorf("%+v: %d jars, %v; want %g", m, jars, err, want)
		}
	}
}

// The formulas against throws: power of Welch's test is near that of the pooled t
// with equal spread. Four Monte-Carlo standard errors.
func TestPowerTAgainstThrows(t *testing.T) {
	const draws = 4000
	rng := rand.New(rand.NewPCG(9, 9))
	hits := 0
	a, b := make([]float64, 12), make([]float64, 12)
	for range draws {
		for i := range a {
			a[i], b[i] = rng.NormFloat64(), 1.2+rng.NormFloat64()
		}
		if w, err := Welch(a, b, 0.95); err == nil && w.P < 0.05 {
			hits++
		}
	}
	want, err := PowerT(1.2, 12, 12, 0, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "share seen (seed 9, 9)", float64(hits)/draws, want, 4*math.Sqrt(want*(1-want)/draws)+0.005)
}

func TestPowerLaws(t *testing.T) {
	p, err := PowerT(0, 6, 6, 0, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "no effect", p, 0.05, 1e-12)
	up, _ := PowerT(1, 6, 9, 2, 0.05)
	down, _ := PowerT(-1, 9, 6, 2, 0.05)
	within(t, "either way", up, down, 1e-13)
	last := 0.0
	for n := 3.0; n < 60; n++ {
		p, err := PowerT(0.8, n, n, 1, 0.05)
		if err != nil || !(p > last) {
			t.Fatalf("power does not grow at %g: %g after %g, %v", n, p, last, err)
		}
		last = p
	}
	if huge, err := PowerT(50, 6, 6, 0, 0.05); err != nil || math.Abs(huge-1) > 1e-12 {
		t.Errorf("fifty standard deviations: %g, %v", huge, err)
	}
	if s := LogSpread(0); s != 0 {
		t.Errorf("no spread on the log scale: %g", s)
	}
	if n, err := StartJars(6, 2, 0, 0.9); err != nil || n != 6 {
		t.Errorf("nothing lost: %d, %v", n, err)
	}
}

func TestPowerRefusals(t *testing.T) {
	nan := math.NaN()
	for i, c := range []struct {
		effect, n1, n2, lost, alpha float64
		want                        error
	}{
		{1, 1, 6, 0, 0.05, ErrFew},
		{1, 2, 2, 2, 0.05, ErrFew},
		{1, nan, 6, 0, 0.05, ErrFew},
		{nan, 6, 6, 0, 0.05, ErrRange},
		{1, 6, 6, -1, 0.05, ErrRange},
		{1, 6, 6, 0, 0, ErrRange},
		{1, 6, math.Inf(1), 0, 0.05, ErrRange},
	} {
		if _, err := PowerT(c.effect, c.n1, c.n2, c.lost, c.alpha); !errors.Is(err, c.want) {
			t.Errorf("case %d: %v, want %v", i, err, c.want)
		}
	}
	if _, err := DetectableT(0.04, 6, 6, 0, 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("power below alpha: %v", err)
	}
	if _, err := JarsPerArm(0, 0.8, 0, 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("no effect: %v", err)
	}
	if _, err := JarsPerArm(1e-5, 0.8, 0, 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("beyond a million jars: %v", err)
	}
	if _, err := JarsPerArm(1, 1, 0, 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("certainty: %v", err)
	}
	if _, err := PowerPairs(1, 1, 0.05); !errors.Is(err, ErrFew) {
		t.Errorf("one pair: %v", err)
	}
	for _, m := range []Margin{{0.8, 1.25, 0, 1, 0.05}, {0, 1.25, 0.2, 1, 0.05}, {0.8, 1.25, 0.2, 1.3, 0.05}, {0.8, 1.25, 0.2, 1, 1}, {0.8, nan, 0.2, 1, 0.05}} {
		if _, err := PowerSame(6, 6, 0, m); !errors.Is(err, ErrRange) {
			t.Errorf("%+v: %v", m, err)
		}
		if _, err := JarsForSame(0.8, 0, m); !errors.Is(err, ErrRange) {
			t.Errorf("%+v: %v", m, err)
		}
	}
	for _, c := range []struct {
		n, arms    int
		loss, sure float64
	}{{0, 2, 0.1, 0.9}, {6, 0, 0.1, 0.9}, {6, 2, 1, 0.9}, {6, 2, nan, 0.9}, {6, 2, 0.1, 1}} {
		if _, err := StartJars(c.n, c.arms, c.loss, c.sure); !errors.Is(err, ErrRange) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

func BenchmarkJarsPerArm(b *testing.B) {
	for b.Loop() {
		if _, err := JarsPerArm(0.5, 0.8, 0, 0.05); err != nil {
			b.Fatal(err)
		}
	}
}
