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
		{"replace_gauge", true, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: -2.01}},
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
		{"was in °F", true, SteamInput{AltitudeM: ptr(0), Celsius: ptr(195)}},
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
