package steam

import (
	"strings"
	"testing"
)

// Each limit of the calculator is taken, and 1e-5 beyond it is not.
func TestSteamEdges(t *testing.T) {
	for _, c := range []struct {
		name   string
		in     func(v float64) SteamInput
		edge   float64
		beyond float64 // direction
	}{
		{"lowest altitude", func(v float64) SteamInput { return SteamInput{AltitudeM: &v, GaugePsi: ptr(15)} }, -500, -1},
		{"highest altitude", func(v float64) SteamInput { return SteamInput{AltitudeM: &v, GaugePsi: ptr(15)} }, 5500, 1},
		{"lowest air", func(v float64) SteamInput { return SteamInput{BarometerKPa: &v, GaugePsi: ptr(15)} }, 50, -1},
		{"highest air", func(v float64) SteamInput { return SteamInput{BarometerKPa: &v, GaugePsi: ptr(15)} }, 109, 1},
		{"highest gauge", func(v float64) SteamInput { return SteamInput{AltitudeM: ptr(0), GaugePsi: &v} }, 50, 1},
		{"highest temperature", func(v float64) SteamInput { return SteamInput{AltitudeM: ptr(0), Celsius: &v} }, 145, 1},
		{"lowest temperature", func(v float64) SteamInput { return SteamInput{AltitudeM: ptr(0), Celsius: &v} }, 0.01, -1},
		{"gauge reads high", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: v}
		}, 5, 1},
		{"gauge reads low", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: v}
		}, -5, -1},
		{"rating", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugePsi: &v, RatedPsi: ptr(15)}
		}, 15, 1},
		{"highest rating", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), RatedPsi: &v}
		}, 50, 1},
		{"lowest rating", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(0), RatedPsi: &v}
		}, 5e-6, -1},
		{"rating, kPa", func(v float64) SteamInput {
			return SteamInput{AltitudeM: ptr(0), GaugeKPa: &v, RatedPsi: ptr(15)}
		}, 15 * 6.894757293168361, 1},
	} {
		if _, err := Steam(c.in(c.edge)); err != nil {
			t.Errorf("%s: %g is refused: %v", c.name, c.edge, err)
		}
		if _, err := Steam(c.in(c.edge + c.beyond*1e-5)); err == nil {
			t.Errorf("%s: beyond %g is taken", c.name, c.edge)
		}
	}
}

// Each caution that hangs on a limit comes beyond it and not before.
func TestSteamCautionEdges(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		in   SteamInput
	}{
		{"altitude", false, SteamInput{BarometerKPa: ptr(98.5), GaugePsi: ptr(15)}},
		{"altitude", true, SteamInput{BarometerKPa: ptr(98.49), GaugePsi: ptr(15)}},
		{"below_118", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(118)}},
		{"below_118", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(117.99)}},
		{"above_usual_rating", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15.5)}},
		{"above_usual_rating", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15.51)}},
		{"replace_gauge", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 2}},
		{"replace_gauge", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 2.01}},
		{"replace_gauge", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: -2}},
		{"replace_gauge", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: -2.01}},
		{"replace_gauge", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}},
		{"gauge_reads_low", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: -0.01}},
		{"gauge_reads_low", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}},
		{"trapped_air", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), AirFraction: 0.001}},
		{"trapped_air", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}},
		{"below_boiling", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(99.97)}}, // 99.974 °C boils at 101 325 Pa
		{"below_boiling", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(99.98)}},
		{"below_boiling", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(0)}},
		{"below_118", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(0)}},
		{"below_118", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(99.97)}}, // below boiling that is said instead
		{"station_pressure", true, SteamInput{BarometerKPa: ptr(100), GaugePsi: ptr(15)}},
		{"station_pressure", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}},
		{"estimate", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}},
	} {
		if got := has(mustSteam(t, c.in).Cautions, c.code); got != c.want {
			t.Errorf("%s: %v, want %v", c.code, got, c.want)
		}
	}
}

// A slip of unit is named only where it explains the figure: 17 000 ft are
// 5182 m, 19 000 ft are higher than anybody cooks; 500 hPa are 50 kPa; 170 kPa
// are 24.7 psi, 180 kPa are no kitchen pot's pressure in any unit.
func TestSteamMends(t *testing.T) {
	for _, c := range []struct {
		mend string
		want bool
		in   SteamInput
	}{
		{"in feet, write 5182", true, SteamInput{AltitudeM: ptr(17000), GaugePsi: ptr(15)}},
		{"in feet, write 5500", true, SteamInput{AltitudeM: ptr(5500 / 0.3048), GaugePsi: ptr(15)}},
		{"in feet", false, SteamInput{AltitudeM: ptr(5501 / 0.3048), GaugePsi: ptr(15)}},
		{"in feet", false, SteamInput{AltitudeM: ptr(-9000), GaugePsi: ptr(15)}},
		{"500 hPa is 50 kPa", true, SteamInput{BarometerKPa: ptr(500), GaugePsi: ptr(15)}},
		{"1090 hPa is 109 kPa", true, SteamInput{BarometerKPa: ptr(1090), GaugePsi: ptr(15)}},
		{"hPa is", false, SteamInput{BarometerKPa: ptr(1091), GaugePsi: ptr(15)}},
		{"hPa is", false, SteamInput{BarometerKPa: ptr(499), GaugePsi: ptr(15)}},
		{"170 kPa is 24.7 psi", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(170)}},
		{"kPa is", false, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(174)}},
		{"250 was in °F, write 121.1", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(250)}},
		{"was in °F", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(193)}}, // 89.4 °C
		{"was in °F", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(194)}}, // 90 °C
		{"was in °F", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(195)}},
		{"293 was in °F, write 145.0", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(293)}},
		{"was in °F", false, SteamInput{AltitudeM: ptr(0), Celsius: ptr(294)}},
	} {
		_, err := Steam(c.in)
		if err == nil {
			t.Fatalf("%q: no fault", c.mend)
		}
		if got := strings.Contains(err.Error(), c.mend); got != c.want {
			t.Errorf("%q in %q: %v, want %v", c.mend, err, got, c.want)
		}
	}
}

// The rest of the answer: pressures in the units of their keys, and the rate
// without air beside that of the pot.
func TestSteamRest(t *testing.T) {
	r := mustSteam(t, SteamInput{BarometerKPa: ptr(100), GaugePsi: ptr(15), AirFraction: 0.2}).Result
	near(t, "ambient", r.AmbientKPa, 100, 1e-12)
	near(t, "air-free rate", r.AirFreeRatePerMin, mustSteam(t, SteamInput{BarometerKPa: ptr(100), GaugePsi: ptr(15)}).Result.LethalRatePerMin, 1e-12)
	near(t, "air-free rate at 120.95 °C", mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}).Result.AirFreeRatePerMin, 0.9671, 1e-4)
	// All air of a fill at 20 °C, by hand: 9.877 kPa of it at 105 °C per tenth
	// is (101.325 - 2.3392) kPa x 378.15/293.15; steam has 120.902 kPa there.
	gauge, err := TrappedAirGauge(105, 101325, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gauge of half the air at 105 °C", float64(gauge), 120902.1+0.5*(101325-2339.2)*378.15/293.15-101325, 2)
}

// Nothing is added where nothing is: an open pot has a gauge pressure of 0 and
// no less when the gauge errs, a pot without air is as hot as its steam to the
// last bit, and a gauge that is right shows what is there. A temperature within
// the rating is not refused.
func TestSteamOfNothing(t *testing.T) {
	for _, high := range []float64{0, 1} {
		r := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(0), GaugeReadsHighPsi: high}).Result
		if r.GaugePsi != 0 || r.SaturationC != r.BoilingC {
			t.Errorf("an open pot whose gauge reads %g psi high: %+v", high, r)
		}
	}
	for g := 0.0; g <= 20; g++ {
		ans := mustSteam(t, SteamInput{AltitudeM: ptr(300), GaugePsi: &g})
		if r := ans.Result; r.SaturationC != r.AirFreeC || r.LethalRatePerMin != r.AirFreeRatePerMin {
			t.Errorf("%g psi without air: %+v", g, r)
		}
		little := mustSteam(t, SteamInput{AltitudeM: ptr(300), GaugePsi: &g, AirFraction: 0.001})
		if len(little.Working) != len(ans.Working)+2 {
			t.Errorf("%g psi: %d steps with air, %d without", g, len(little.Working), len(ans.Working))
		}
	}
	for c, ok := range map[float64]bool{121: true, 121.1: false} { // 15.0424 and 15.1362 psi at the sea
		if _, err := Steam(SteamInput{AltitudeM: ptr(0), Celsius: &c, RatedPsi: ptr(15.1)}); (err == nil) != ok {
			t.Errorf("%g °C asked of 15.1 psi: %v", c, err)
		}
	}
	r := mustSteam(t, SteamInput{AltitudeM: ptr(0), Celsius: ptr(120)}).Result
	if r.ReadsPsi != r.GaugePsi {
		t.Errorf("a gauge that is right shows %g psi at %g psi", r.ReadsPsi, r.GaugePsi)
	}
}
