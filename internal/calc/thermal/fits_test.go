package thermal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func mustPool(t *testing.T, factors ...float64) FitPool {
	t.Helper()
	p, err := PoolFits(factors)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// By hand: logarithms 0.336472, 0.405465, 0.470004, mean 0.403980, s 0.066778;
// t(0.95, 2) is 2.91999 (a printed table of t has 2.920); half the interval is
// 2.91999 x 0.066778 x sqrt(4/3) = 0.225159.
func TestPoolFitsByHand(t *testing.T) {
	p := mustPool(t, 1.4, 1.5, 1.6)
	if math.Abs(p.Factor-math.Exp(0.403980)) > 2e-6 || math.Abs(p.SpreadPct-100*math.Expm1(0.225159)) > 5e-4 || p.Cooks != 3 {
		t.Errorf("got %+v, want a factor of %.5f and %.3f %%", p, math.Exp(0.403980), 100*math.Expm1(0.225159))
	}
}

func TestPoolFitsLaws(t *testing.T) {
	fits := []float64{1.3, 1.42, 1.5, 1.38}
	p := mustPool(t, fits...)
	turned := slices.Clone(fits)
	slices.Reverse(turned)
	if q := mustPool(t, turned...); math.Abs(q.Factor-p.Factor) > 1e-12 || math.Abs(q.SpreadPct-p.SpreadPct) > 1e-9 {
		t.Errorf("in another order %+v, before %+v", q, p)
	}
	twice := make([]float64, len(fits))
	for i, f := range fits {
		twice[i] = 2 * f
	}
	if q := mustPool(t, twice...); math.Abs(q.Factor-2*p.Factor) > 1e-12 || math.Abs(q.SpreadPct-p.SpreadPct) > 1e-9 {
		t.Errorf("of twice the factors %+v, before %+v", q, p)
	}
	if q := mustPool(t, append(slices.Clone(fits), fits...)...); !(q.SpreadPct < p.SpreadPct) || math.Abs(q.Factor-p.Factor) > 1e-12 {
		t.Errorf("as much scatter in more cooks gives %+v, before %+v", q, p)
	}
	if q := mustPool(t, 1.2, 1.42, 1.6, 1.38); !(q.SpreadPct > p.SpreadPct) {
		t.Errorf("more scatter gives %+v, before %+v", q, p)
	}
	if q := mustPool(t, 1.4, 1.4, 1.4); math.Abs(q.Factor-1.4) > 1e-12 || q.SpreadPct != 3 {
		t.Errorf("of three alike %+v, want 1.4 within 3 %%", q)
	}
}

func TestPoolFitsRefuses(t *testing.T) {
	for _, factors := range [][]float64{nil, {1}, {1, 1.1}, {1, 1.1, 0}, {1, 1.1, -1}, {1, 1.1, math.NaN()}, {1, 1.1, math.Inf(1)}, {1, 1, 0.19}, {1, 1, 8.1}} {
		if p, err := PoolFits(factors); err == nil {
			t.Errorf("%v gives %+v", factors, p)
		}
	}
	mustPool(t, 0.2, 8, 1)
}

// Nine of ten next jars are within the spread: the bound on the slow side is
// exact, so that of 4000 drawn samples 200 are expected below it; 3 standard
// deviations are 41. The fast side is given the same share, and holds more.
func TestPoolFitsCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	draw := func() float64 { return math.Exp(0.3 + 0.08*r.NormFloat64()) }
	const samples = 4000
	slow, fast := 0, 0
	for range samples {
		var fits []float64
		for range 4 {
			fits = append(fits, draw())
		}
		p := mustPool(t, fits...)
		next, half := draw(), 1+p.SpreadPct/100
		if next < p.Factor/half {
			slow++
		}
		if next > p.Factor*half {
			fast++
		}
	}
	if math.Abs(float64(slow)-200) > 41 || math.Abs(float64(fast)-200) > 41 {
		t.Errorf("of %d next jars %d are slower and %d faster than the interval, want about 200 each", samples, slow, fast)
	}
}

// The usual doubt is that of the mixing bounds, 10 % of a measured value, or
// the one that was given.
func TestUsualDoubt(t *testing.T) {
	p, err := PropertiesAt(WetGrain(0.60), 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name          string
		s             Substrate
		lower, higher float64
	}{
		{"composition", Substrate{MoisturePct: ptr(60)}, 1 - p.Perpendicular/p.Mean(), p.Parallel/p.Mean() - 1},
		{"with a factor", Substrate{MoisturePct: ptr(60), Multiplier: ptr(1.7)}, 1 - p.Perpendicular/p.Mean(), p.Parallel/p.Mean() - 1},
		{"measured", Substrate{MoisturePct: ptr(60), ConductivityWMK: ptr(0.4)}, 0.1, 0.1},
		{"given", Substrate{MoisturePct: ptr(60), SpreadPct: ptr(25)}, 0.25, 0.25},
	} {
		lower, higher, err := c.s.Doubt()
		// The table of a medium goes by quarters of a kelvin: 1e-5 of a conductivity.
		if err != nil || math.Abs(lower-c.lower) > 1e-5 || math.Abs(higher-c.higher) > 1e-5 {
			t.Errorf("%s: %.5f and %.5f, want %.5f and %.5f; %v", c.name, lower, higher, c.lower, c.higher, err)
		}
	}
	if _, _, err := (Substrate{}).Doubt(); err == nil {
		t.Error("nothing is known and yet there is a doubt")
	}
}

// A factor that a calibration can come to can be reckoned with.
func TestEveryFitCanBeUsed(t *testing.T) {
	for _, f := range []float64{factorLow, factorHigh} {
		in := usualCook()
		in.Substrate = Substrate{MoisturePct: ptr(60), Multiplier: &f}
		if _, err := Cook(in); err != nil {
			t.Errorf("a factor of %g: %v", f, err)
		}
	}
}
