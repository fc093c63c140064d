package steam

import (
	"errors"
	"math"
	"testing"

	"pinset/internal/units"
)

func psi(v float64) units.Pascal { return units.Pascal(v * PascalPerPsi) }

// mustStandard is the standard day at h metres.
func mustStandard(t *testing.T, h float64) units.Pascal {
	t.Helper()
	p, err := StandardPressure(units.Metre(h))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Published: ISO 2533:1975 and US Standard Atmosphere 1976, tables by
// geopotential altitude; half a pascal is the rounding of the tables at hand.
func TestStandardPressurePublished(t *testing.T) {
	for _, c := range []struct{ m, pa float64 }{
		{0, 101325.0},
		{500, 95460.8},
		{1000, 89874.6},
		{1500, 84556.0},
		{2000, 79495.2},
		{2500, 74682.5},
		{3000, 70108.5},
		{11000, 22632.06},
	} {
		near(t, "standard pressure", float64(mustStandard(t, c.m)), c.pa, 0.5)
	}
	near(t, "below the sea", float64(mustStandard(t, -1000)), 113929, 1) // printed without a decimal
	for _, m := range []float64{math.NaN(), math.Inf(1), -1001, 11001} {
		if _, err := StandardPressure(units.Metre(m)); !errors.Is(err, ErrRange) {
			t.Errorf("at %g m: %v, want ErrRange", m, err)
		}
	}
}

// The inverse of ISO 2533:1975: 89874.6 Pa are 1000 m, 70108.5 Pa 3000 m.
func TestPressureAltitudePublished(t *testing.T) {
	for m, p := range map[float64]units.Pascal{0: 101325, 1000: 89874.6, 3000: 70108.5} {
		near(t, "altitude", float64(PressureAltitude(p)), m, 0.02) // 0.1 Pa of the table
	}
}

// Computed by other hands from the two standards above, printed to 0.01 °C.
func TestGaugeTempAtAltitude(t *testing.T) {
	for _, c := range []struct{ m, psi, want float64 }{
		{0, 15, 120.95},
		{0, 10, 115.20},
		{0, 5, 108.39},
		{1000, 15, 119.14},
		{1500, 15, 118.26},
		{2000, 15, 117.41},
		{3000, 15, 115.78},
		{1500, 0, 94.98},
		{3000, 10, 109.09},
		{0, 0, 99.97},
		// A weight of 15 psi, and 18 psi, at the heights of three towns.
		{494, 15, 120.05},
		{1524, 15, 118.22},
		{1609, 15, 118.08},
		{2438, 15, 116.68},
		{494, 18, 123.2},
	} {
		got, err := GaugeTemp(mustStandard(t, c.m), psi(c.psi))
		if err != nil {
			t.Fatal(err)
		}
		tol := 0.01
		if c.m == 494 && c.psi == 18 {
			tol = 0.05 // one digit printed
		}
		near(t, "gauge temperature", float64(got), c.want, tol)
	}
}

// Gauge pressure for 121.1 °C, and a retort maker's page: 120 °C is 14.1 psi
// at sea level and 16 psi at 1219 m (4000 ft), printed to what is given.
func TestGaugeFor(t *testing.T) {
	for _, c := range []struct{ celsius, m, want, tol float64 }{
		{121.1, 0, 15.14, 0.01},
		{121.1, 1000, 16.80, 0.01},
		{121.1, 2000, 18.30, 0.01},
		{121.1, 3000, 19.66, 0.01},
		{120, 0, 14.1, 0.05},
		{120, 1219, 16.1, 0.05},
	} {
		got, err := GaugeFor(units.Celsius(c.celsius), mustStandard(t, c.m))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "gauge for temperature", float64(got)/PascalPerPsi, c.want, c.tol)
	}
}

// The dial-gauge rule of home canning raises the pressure with the altitude
// so that the chamber keeps about 240 °F. Bands: Pacific Northwest Extension
// PNW 421; the aim: University of Missouri Extension, qafs163. The
// temperatures are what the standards give at the ends of the bands.
func TestDialGaugeRuleKeepsTemperature(t *testing.T) {
	for _, c := range []struct{ fromFt, toFt, psi, low, high float64 }{
		{0, 2000, 11, 115.16, 116.42},
		{2001, 4000, 12, 115.19, 116.38},
		{4001, 6000, 13, 115.30, 116.42},
		{6001, 8000, 14, 115.47, 116.52},
	} {
		warm, err := GaugeTemp(mustStandard(t, c.fromFt*0.3048), psi(c.psi))
		if err != nil {
			t.Fatal(err)
		}
		cold, err := GaugeTemp(mustStandard(t, c.toFt*0.3048), psi(c.psi))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "start of the band", float64(warm), c.high, 0.01)
		near(t, "end of the band", float64(cold), c.low, 0.01)
		if f := float64(cold)*1.8 + 32; math.Abs(f-240) > 1.0 {
			t.Errorf("%g psi at %g ft is %.1f °F, far from the 240 °F of the rule", c.psi, c.toFt, f)
		}
	}
}

// Classical autoclave tables of trapped air at 15 psi and sea level print
// 121, 115, 112, 109 and 100 °C (from memory). With the air heated the
// chamber is colder; both computed by other hands to 0.01 °C.
func TestTrappedAir(t *testing.T) {
	for _, c := range []struct{ f, dalton, heated float64 }{
		{0, 120.95, 120.95},
		{1.0 / 3, 115.32, 113.53},
		{0.5, 112.16, 109.33},
		{2.0 / 3, 108.69, 104.71},
		{1, 100.55, 93.77},
	} {
		d, err := DaltonTemp(101325, psi(15), units.Fraction(c.f))
		if err != nil {
			t.Fatal(err)
		}
		h, err := TrappedAirTemp(101325, psi(15), units.Fraction(c.f))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "air not heated", float64(d), c.dalton, 0.01)
		near(t, "air heated", float64(h), c.heated, 0.01)
		if c.f > 0 && !(h < d) {
			t.Errorf("at f %g heated air gives %.2f °C, not colder than %.2f °C", c.f, float64(h), float64(d))
		}
	}
}

// More air is never warmer, and the inverse gives the gauge back.
func TestTrappedAirLaws(t *testing.T) {
	for _, m := range []float64{0, 1500, 3000} {
		ambient := mustStandard(t, m)
		for g := 1.0; g <= 20; g += 3.3 {
			last := units.Celsius(math.Inf(1))
			for f := 0.0; f <= 1; f += 0.125 {
				c, err := TrappedAirTemp(ambient, psi(g), units.Fraction(f))
				if err != nil {
					t.Fatal(err)
				}
				if c >= last {
					t.Errorf("%g m, %g psi: air %g gives %.3f °C, not below %.3f", m, g, f, float64(c), float64(last))
				}
				last = c
				back, err := TrappedAirGauge(c, ambient, units.Fraction(f))
				if err != nil {
					t.Fatal(err)
				}
				near(t, "gauge back", float64(back), float64(psi(g)), 1e-6) // Pa; the root is sought to the last bit of 100 °C
			}
		}
	}
}

func TestTrappedAirRange(t *testing.T) {
	for _, f := range []float64{-0.01, 1.01, math.NaN(), math.Inf(1)} {
		_, errA := TrappedAirTemp(101325, psi(15), units.Fraction(f))
		_, errB := TrappedAirGauge(110, 101325, units.Fraction(f))
		_, errC := DaltonTemp(101325, psi(15), units.Fraction(f))
		for _, err := range []error{errA, errB, errC} {
			if !errors.Is(err, ErrRange) {
				t.Errorf("fraction %g: %v, want ErrRange", f, err)
			}
		}
	}
	if _, err := TrappedAirTemp(101325, -psi(10), 0.9); !errors.Is(err, ErrRange) {
		t.Errorf("a vacuum full of air: %v, want ErrRange", err)
	}
	vapour, err := SaturationPressure(293.15)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := TrappedAirTemp(vapour, psi(15), 0.5); !errors.Is(err, ErrRange) {
		t.Errorf("no air to shut in: %v, want ErrRange", err)
	}
	// The pot that was shut at 20 °C is at 20 °C, at any fill; a hair less of
	// pressure is none that wet air can have.
	for _, ambient := range []units.Pascal{70108.5, 101325} {
		got, err := TrappedAirTemp(ambient, 0, 1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "a pot just shut", float64(got), 20, 1e-9)
		if _, err := TrappedAirTemp(ambient, -1e-5, 1); !errors.Is(err, ErrRange) {
			t.Errorf("less than the air shut in: %v, want ErrRange", err)
		}
	}
}

func TestLowerGauge(t *testing.T) {
	if got := LowerGauge(100, 20); got != 80 {
		t.Errorf("a gauge that reads 20 high: %g, want 80", float64(got))
	}
	if got := LowerGauge(100, 0.01); got != 99.99 {
		t.Errorf("a gauge that reads 0.01 high: %g, want 99.99", float64(got))
	}
	if got := LowerGauge(100, -20); got != 100 {
		t.Errorf("a gauge that reads low: %g, want no credit", float64(got))
	}
}

// Published rate table: 0.01, 0.1, 1, 10, 100 at 101.1 to 141.1 °C.
func TestLethalRate(t *testing.T) {
	for i, want := range []float64{0.01, 0.1, 1, 10, 100} {
		near(t, "rate", LethalRate(units.Celsius(101.1+10*float64(i)), 121.1, 10), want, 1e-12*want)
	}
}
