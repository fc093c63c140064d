package steam

import (
	"errors"
	"math"
	"testing"

	"pinset/internal/units"
)

// near fails unless got is within tol of want, absolutely.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) { // written so that NaN fails
		t.Errorf("%s = %.10g, want %.10g; off by %.2e, allowed %.1e", what, got, want, got-want, tol)
	}
}

// Published: IAPWS R7-97(2012), table 35, nine digits, so 1e-8 of the value.
// The triple point (611.657 Pa) and the critical point (22.064 MPa) are those
// of the same release, section 2; region 4 meets them to their printed digits.
func TestSaturationPressurePublished(t *testing.T) {
	for _, c := range []struct {
		k    units.Kelvin
		want float64 // Pa
		tol  float64 // relative
	}{
		{300, 0.353658941e4, 1e-8},
		{500, 0.263889776e7, 1e-8},
		{600, 0.123443146e8, 1e-8},
		{273.16, 611.657, 1e-6},
		{647.096, 22.064e6, 1e-7},
	} {
		got, err := SaturationPressure(c.k)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "saturation pressure", float64(got), c.want, c.tol*c.want)
	}
}

// Published: IAPWS R7-97(2012), table 36, nine digits, so 1e-6 K. Absolute on
// purpose: 1 % of 394 K would pass a 4 K fault.
func TestSaturationTempPublished(t *testing.T) {
	for _, c := range []struct {
		p    units.Pascal
		want float64
	}{
		{0.1e6, 372.755919}, {1e6, 453.035632}, {10e6, 584.149488},
	} {
		got, err := SaturationTemp(c.p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "saturation temperature", float64(got), c.want, 1e-6)
	}
}

// The two equations are one algebraic relation: there and back is the same
// temperature, to rounding.
func TestSaturationRoundTrip(t *testing.T) {
	for c := 1.0; c < 370; c += 0.7 {
		p, err := SaturationPressure(units.Kelvin(c + zeroCelsius))
		if err != nil {
			t.Fatal(err)
		}
		back, err := SaturationTemp(p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "round trip", float64(back), c+zeroCelsius, 1e-6)
	}
}

func TestSaturationRange(t *testing.T) {
	for _, k := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 273.1, 647.1} {
		if _, err := SaturationPressure(units.Kelvin(k)); !errors.Is(err, ErrRange) {
			t.Errorf("pressure at %g K: error %v, want ErrRange", k, err)
		}
	}
	for _, p := range []float64{math.NaN(), math.Inf(1), 0, -1, 611, 22.07e6} {
		if _, err := SaturationTemp(units.Pascal(p)); !errors.Is(err, ErrRange) {
			t.Errorf("temperature at %g Pa: error %v, want ErrRange", p, err)
		}
	}
	for _, edge := range []struct{ k, pa float64 }{{273.15, 611.213}, {647.096, 22.064e6}} {
		if _, err := SaturationPressure(units.Kelvin(edge.k)); err != nil {
			t.Errorf("the edge of the range, %g K: %v", edge.k, err)
		}
		if _, err := SaturationTemp(units.Pascal(edge.pa)); err != nil {
			t.Errorf("the edge of the range, %g Pa: %v", edge.pa, err)
		}
	}
	for _, k := range []float64{math.NaN(), 270, 650} {
		_, errL := LiquidDensity(units.Kelvin(k))
		_, errV := VapourDensity(units.Kelvin(k))
		_, errH := LatentHeat(units.Kelvin(k))
		for _, err := range []error{errL, errV, errH} {
			if !errors.Is(err, ErrRange) {
				t.Errorf("at %g K: error %v, want ErrRange", k, err)
			}
		}
	}
}

// Published: IAPWS SR1-86(1992), check numbers of the release, six digits.
func TestDensityPublished(t *testing.T) {
	for _, c := range []struct{ k, liquid, vapour float64 }{
		{273.16, 999.789, 0.00485426},
		{373.1243, 958.365, 0.597586},
		{647.096, 322, 322},
	} {
		l, errL := LiquidDensity(units.Kelvin(c.k))
		v, errV := VapourDensity(units.Kelvin(c.k))
		if errL != nil || errV != nil {
			t.Fatal(errL, errV)
		}
		near(t, "liquid density", l, c.liquid, 6e-4)
		near(t, "vapour density", v, c.vapour, 1.2e-6*c.vapour)
	}
}

// Published: NIST steam tables (IAPWS-95), heat of evaporation in kJ/kg, from
// memory; 0.3 kJ/kg is by how much steam tables of different years differ.
// The volumes of steam, m3/kg, were computed from SR1-86 by other hands.
func TestLatentHeat(t *testing.T) {
	for _, c := range []struct{ celsius, hfg, vg float64 }{
		{90, 2282.5, 2.35928},
		{100, 2256.4, 1.67196},
		{110, 2229.6, 1.20945},
		{120, 2202.1, 0.89133},
		{130, 2173.7, 0.66808},
	} {
		h, err := LatentHeat(units.Kelvin(c.celsius + zeroCelsius))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "latent heat", h/1000, c.hfg, 0.3)
		v, err := VapourDensity(units.Kelvin(c.celsius + zeroCelsius))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "volume of steam", 1/v, c.vg, 2e-5*c.vg)
	}
}

// Near the critical point the water is no longer dense beside its steam: at
// 300 °C it takes off a fifteenth. NIST steam tables (IAPWS-95), from memory:
// 1404.6 kJ/kg.
func TestLatentHeatCountsTheLiquid(t *testing.T) {
	h, err := LatentHeat(573.15)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "latent heat at 300 °C", h/1000, 1404.6, 0.5)
}

// The triple point is in range when it is come to from 0.01 °C, and nothing
// below it.
func TestDensityAtTheTriplePoint(t *testing.T) {
	if _, err := LiquidDensity(0.01 + zeroCelsius); err != nil {
		t.Error(err)
	}
	if _, err := LiquidDensity(273.16 - 1e-8); !errors.Is(err, ErrRange) {
		t.Errorf("below the triple point: %v, want ErrRange", err)
	}
}

func BenchmarkSaturationTemp(b *testing.B) {
	for range b.N {
		if _, err := SaturationTemp(2e5); err != nil {
			b.Fatal(err)
		}
	}
}

// Densities begin at the triple point, where the slope of the pressure can be
// had for latent heat half a kelvin above it, and not near the critical point.
func TestLatentHeatRange(t *testing.T) {
	for k, ok := range map[float64]bool{273.65: false, 273.66: true, 301: true, 640: true, 640.1: false} {
		if _, err := LatentHeat(units.Kelvin(k)); (err == nil) != ok || err != nil && !errors.Is(err, ErrRange) {
			t.Errorf("latent heat at %g K: %v", k, err)
		}
	}
	for k, ok := range map[float64]bool{273.1599: false, 273.16: true, 647.096: true, 647.1: false} {
		if _, err := LiquidDensity(units.Kelvin(k)); (err == nil) != ok || err != nil && !errors.Is(err, ErrRange) {
			t.Errorf("density at %g K: %v", k, err)
		}
	}
}
