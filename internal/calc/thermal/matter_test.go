package thermal

import (
	"math"
	"testing"
)

// The mixtures of the checks: grain cake, cooked rice, wet sawdust, potato
// and lean beef.
var (
	grainCake  = Composition{0.55, 0.04, 0.015, 0.375, 0.015, 0.005}
	cookedRice = Composition{0.70, 0.025, 0.003, 0.266, 0.004, 0.002}
	wetSawdust = Composition{0.62, 0.02, 0.005, 0.05, 0.30, 0.005}
	potato     = Composition{0.78, 0.02, 0.001, 0.184, 0.006, 0.009}
	leanBeef   = Composition{0.71, 0.21, 0.07, 0, 0, 0.01}
)

func propertiesAt(t *testing.T, x Composition, c float64) Properties {
	t.Helper()
	p, err := PropertiesAt(x, c)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Each component alone, computed by other hands from the coefficients of
// Choi and Okos with the errata named in matter.go; printed digits.
func TestComponents(t *testing.T) {
	for i, c := range []struct{ rho25, heat25, k25, rho121, heat121, k121 float64 }{
		{994.910, 4177.35, 0.61096, 942.548, 4245.34, 0.68621},
		{1316.940, 2037.60, 0.20701, 1267.174, 2135.25, 0.28371},
		{915.151, 2018.03, 0.17370, 875.064, 2092.18, 0.14471},
		{1591.338, 1594.15, 0.23339, 1561.534, 1699.30, 0.30587},
		{1302.353, 1888.76, 0.21257, 1267.227, 1999.31, 0.28814},
		{2416.784, 1137.54, 0.36283, 2389.844, 1267.34, 0.45659},
	} {
		var parts [6]float64
		parts[i] = 1
		x := Composition{parts[0], parts[1], parts[2], parts[3], parts[4], parts[5]}
		cold, hot := propertiesAt(t, x, 25), propertiesAt(t, x, 121)
		near(t, "density 25", cold.Density, c.rho25, 6e-4)
		near(t, "density 121", hot.Density, c.rho121, 6e-4)
		near(t, "heat 25", cold.Heat, c.heat25, 6e-3)
		near(t, "heat 121", hot.Heat, c.heat121, 6e-3)
		for _, k := range []struct{ got, want float64 }{{cold.Parallel, c.k25}, {cold.Perpendicular, c.k25}, {hot.Parallel, c.k121}, {hot.Perpendicular, c.k121}} {
			near(t, "conductivity", k.got, k.want, 6e-6)
		}
	}
}

// Measured, so that a misprint that a computed table would share is seen:
// water at 25 °C 997.0 kg/m3, 4181 J/kgK, 0.607 W/mK (NIST, from memory) and
// fat near 0.17 W/mK; the fit of Choi and Okos is good to 1 %.
func TestComponentsMeasured(t *testing.T) {
	w := propertiesAt(t, Composition{Water: 1}, 25)
	near(t, "water density", w.Density, 997.0, 10)
	near(t, "water heat", w.Heat, 4181, 20)
	near(t, "water conductivity", w.Parallel, 0.607, 0.006)
	near(t, "fat conductivity", propertiesAt(t, Composition{Fat: 1}, 20).Parallel, 0.17, 0.01)
}

// Mixtures, computed by other hands; 1e-5 of the value is the printed digits.
func TestMixtures(t *testing.T) {
	for _, c := range []struct {
		name                  string
		x                     Composition
		t                     float64
		rho, heat, kpar, kper float64
	}{
		{"grain", grainCake, 25, 1178.113, 3041.142, 0.477230, 0.383127},
		{"grain", grainCake, 60, 1166.225, 3070.604, 0.516140, 0.424409},
		{"grain", grainCake, 110, 1136.772, 3115.116, 0.548888, 0.459608},
		{"grain", grainCake, 121, 1128.274, 3125.291, 0.552487, 0.463825},
		{"rice", cookedRice, 25, 1114.956, 3415.013, 0.528853, 0.449547},
		{"rice", cookedRice, 121, 1063.645, 3493.939, 0.605332, 0.538709},
		{"sawdust", wetSawdust, 25, 1101.730, 3292.821, 0.486830, 0.386442},
		{"potato", potato, 5, 1084.727, 3607.269, 0.523476, 0.455192},
		{"beef", leanBeef, 53, 1039.099, 3562.241, 0.537062, 0.422058},
	} {
		p := propertiesAt(t, c.x, c.t)
		near(t, c.name+" density", p.Density, c.rho, 1e-5*c.rho)
		near(t, c.name+" heat", p.Heat, c.heat, 1e-5*c.heat)
		near(t, c.name+" parallel", p.Parallel, c.kpar, 1e-5*c.kpar)
		near(t, c.name+" perpendicular", p.Perpendicular, c.kper, 1e-5*c.kper)
	}
}

// Published: Toledo, Fundamentals of Food Process Engineering: heat of 15 %
// protein, 20 % starch, 1 % fibre, 0.5 % ash, 20 % fat, 43.5 % water at 25 °C
// about 2870 J/kgK; conductivity of lean pork at 19 °C about 0.50 W/mK
// (printed answers from memory).
func TestMixturesTextbook(t *testing.T) {
	p := propertiesAt(t, Composition{Water: 0.435, Protein: 0.15, Fat: 0.20, Carbohydrate: 0.20, Fibre: 0.01, Ash: 0.005}, 25)
	near(t, "heat", p.Heat, 2870, 1)
	pork := propertiesAt(t, Composition{Water: 0.717, Protein: 0.19, Fat: 0.078, Ash: 0.015}, 19)
	near(t, "pork", pork.Parallel, 0.50, 0.005)
}

// Measured diffusivities of mashed potato (1.23e-7 at 5 °C) and beef round
// (1.33e-7 at 40 to 65 °C), from a food table: the upper bound is 9 % high,
// the mean of the bounds within 5 %.
func TestMeanAgainstMeasured(t *testing.T) {
	for _, c := range []struct {
		x       Composition
		t, want float64
	}{{potato, 5, 1.23e-7}, {leanBeef, 53, 1.33e-7}} {
		p := propertiesAt(t, c.x, c.t)
		near(t, "diffusivity", p.Mean()/(p.Density*p.Heat), c.want, 0.05*c.want)
	}
}

// Grain cake with pores at 25 °C, computed by other hands, three digits.
func TestPores(t *testing.T) {
	k := propertiesAt(t, grainCake, 25).Parallel
	for _, c := range []struct{ void, maxwell, geometric float64 }{
		{0, 0.477, 0.477}, {0.1, 0.414, 0.357}, {0.2, 0.357, 0.266}, {0.3, 0.304, 0.199}, {0.4, 0.255, 0.149},
	} {
		near(t, "Maxwell-Eucken", PorousConductivity(k, c.void, 25), c.maxwell, 6e-4)
		near(t, "geometric", GeometricConductivity(k, c.void, 25), c.geometric, 6e-4)
	}
	near(t, "all air", PorousConductivity(k, 1, 25), airConductivity(25), 1e-12)
	// Dry air, textbook table from memory: 0.0259 at 25 °C, 0.0314 at 100 °C.
	near(t, "air at 25 °C", airConductivity(25), 0.0259, 1e-4)
	near(t, "air at 100 °C", airConductivity(100), 0.0314, 2e-4)
}

// The bounds are ordered, meet for one component, and hold the mean.
func TestBoundsOrdered(t *testing.T) {
	for c := 0.0; c <= 150; c += 10 {
		for w := 0.0; w <= 1; w += 0.1 {
			p := propertiesAt(t, WetGrain(w), c)
			if !(p.Perpendicular <= p.Mean() && p.Mean() <= p.Parallel) {
				t.Errorf("water %g at %g °C: %+v", w, c, p)
			}
		}
	}
	for i, f := range WetGrain(0.55).parts() {
		near(t, "the grain of the checks", f, grainCake.parts()[i], 1e-12)
	}
}

func TestPropertiesRange(t *testing.T) {
	one, more := propertiesAt(t, Composition{Water: 1}, 25), propertiesAt(t, Composition{Water: 1.0009}, 25)
	near(t, "heat of a kilogram", more.Heat, one.Heat, 1e-9)
	near(t, "density of a kilogram", more.Density, one.Density, 1e-9)
	for water, ok := range map[float64]bool{0.9989: false, 0.9991: true, 1.0009: true, 1.0011: false} {
		if _, err := PropertiesAt(Composition{Water: water}, 25); (err == nil) != ok {
			t.Errorf("fractions that add up to %g: %v", water, err)
		}
	}
	for _, c := range []float64{-0.1, 150.1, math.NaN(), math.Inf(1)} {
		if _, err := PropertiesAt(grainCake, c); err == nil {
			t.Errorf("%g °C passes", c)
		}
	}
	for _, x := range []Composition{{}, {Water: 0.9}, {Water: 1.2, Fat: -0.2}, {Water: 1.001, Fat: -0.001}, {Water: math.NaN()}} {
		if _, err := PropertiesAt(x, 25); err == nil {
			t.Errorf("%+v passes", x)
		}
	}
}
