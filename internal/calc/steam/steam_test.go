package steam

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func ptr(v float64) *float64 { return &v }

func mustSteam(t *testing.T, in SteamInput) figure.Answer[SteamResult] {
	t.Helper()
	ans, err := Steam(in)
	if err != nil {
		t.Fatalf("Steam: %v", err)
	}
	return ans
}

func has(cs []figure.Caution, code string) bool {
	for _, c := range cs {
		if c.Code == code {
			return true
		}
	}
	return false
}

// 15 psi at sea level and at 1500 m: 120.95 and 118.26 °C, and 54 % of the
// kill rate; by altitude, by barometer, in psi and in kPa alike.
func TestSteamGauge(t *testing.T) {
	sea := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}).Result
	near(t, "sea level", sea.SaturationC, 120.95, 0.01)
	near(t, "absolute", sea.AbsoluteKPa, 101.325+15*6.894757, 0.001)
	near(t, "boiling", sea.BoilingC, 99.974, 0.001)
	near(t, "rate", sea.LethalRatePerMin, 0.9671, 0.001)
	high := mustSteam(t, SteamInput{AltitudeM: ptr(1500), GaugePsi: ptr(15)}).Result
	near(t, "1500 m", high.SaturationC, 118.26, 0.01)
	near(t, "share of the rate", high.LethalRatePerMin/sea.LethalRatePerMin, 0.54, 0.005)
	kpa := mustSteam(t, SteamInput{BarometerKPa: ptr(84.556), GaugeKPa: ptr(15 * 6.894757293168)}).Result
	near(t, "barometer and kPa", kpa.SaturationC, high.SaturationC, 0.001)
	near(t, "°F", sea.SaturationF, 249.7, 0.05)
}

func TestSteamTemperature(t *testing.T) {
	r := mustSteam(t, SteamInput{AltitudeM: ptr(1609), Celsius: ptr(120.95)}).Result
	near(t, "gauge for 120.95 °C at 1609 m", r.GaugePsi, 17.6, 0.1)
	with := mustSteam(t, SteamInput{AltitudeM: ptr(1609), Celsius: ptr(120.95), GaugeReadsHighPsi: 1}).Result
	near(t, "shown by a gauge 1 psi high", with.ReadsPsi, r.GaugePsi+1, 1e-9)
	cold := mustSteam(t, SteamInput{AltitudeM: ptr(0), Celsius: ptr(80)})
	if cold.Result.GaugePsi >= 0 || !has(cold.Cautions, "below_boiling") {
		t.Errorf("80 °C: %+v", cold)
	}
}

// Half the air left in: the heated-air figure leads, the usual table's is
// beside it, and venting is asked for.
func TestSteamTrappedAir(t *testing.T) {
	ans := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), AirFraction: 0.5})
	near(t, "headline", ans.Result.SaturationC, 109.33, 0.01)
	near(t, "check", ans.Result.DaltonC, 112.16, 0.01)
	near(t, "air-free", ans.Result.AirFreeC, 120.95, 0.01)
	if !has(ans.Cautions, "trapped_air") || !has(ans.Cautions, "below_118") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
	back := mustSteam(t, SteamInput{AltitudeM: ptr(0), Celsius: ptr(ans.Result.SaturationC), AirFraction: 0.5})
	near(t, "gauge back", back.Result.GaugePsi, 15, 1e-3)
}

// A gauge that reads 2 psi high costs 2.1 to 2.3 °C at 15 psi.
func TestSteamGaugeError(t *testing.T) {
	right := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15)}).Result
	high := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 2}).Result
	low := mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: -2})
	near(t, "loss", right.SaturationC-high.SaturationC, 2.2, 0.1)
	if low.Result.SaturationC != right.SaturationC || !has(low.Cautions, "gauge_reads_low") {
		t.Errorf("a gauge that reads low is credited: %+v", low)
	}
	if !has(mustSteam(t, SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 2.5}).Cautions, "replace_gauge") {
		t.Error("2.5 psi off and no word of replacing the gauge")
	}
}

func TestSteamFaults(t *testing.T) {
	for _, c := range []struct {
		name, field, mend string
		in                SteamInput
	}{
		{"nothing asked", "gauge_psi", "exactly one", SteamInput{AltitudeM: ptr(0)}},
		{"two asked", "gauge_psi", "exactly one", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(1), Celsius: ptr(100)}},
		{"no air pressure", "altitude_m", "barometer_kpa", SteamInput{GaugePsi: ptr(15)}},
		{"both airs", "barometer_kpa", "leave one", SteamInput{AltitudeM: ptr(0), BarometerKPa: ptr(100), GaugePsi: ptr(15)}},
		{"feet as metres", "altitude_m", "2743", SteamInput{AltitudeM: ptr(9000), GaugePsi: ptr(15)}},
		{"nan altitude", "altitude_m", "give", SteamInput{AltitudeM: ptr(math.NaN()), GaugePsi: ptr(15)}},
		{"hectopascal", "barometer_kpa", "101.3 kPa", SteamInput{BarometerKPa: ptr(1013), GaugePsi: ptr(15)}},
		{"fahrenheit", "celsius", "121.1", SteamInput{AltitudeM: ptr(0), Celsius: ptr(250)}},
		{"kpa as psi", "gauge_psi", "14.9 psi", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(103)}},
		{"huge", "gauge_psi", "manual", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(300)}},
		{"inf", "gauge_psi", "manual", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(math.Inf(1))}},
		{"vacuum", "gauge_psi", "open pot", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(-1)}},
		{"nan gauge", "gauge_kpa", "open pot", SteamInput{AltitudeM: ptr(0), GaugeKPa: ptr(math.NaN())}},
		{"above the rating", "gauge_psi", "hold longer", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), RatedPsi: ptr(12)}},
		{"asks above the rating", "celsius", "hold longer", SteamInput{AltitudeM: ptr(2000), Celsius: ptr(121.1), RatedPsi: ptr(15)}},
		{"no rating", "rated_psi", "nameplate", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), RatedPsi: ptr(0)}},
		{"air in percent", "air_fraction", "0 to 1", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), AirFraction: 50}},
		{"wild gauge", "gauge_reads_high_psi", "replace", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 9}},
		{"freezing", "celsius", "0.01", SteamInput{AltitudeM: ptr(0), Celsius: ptr(-4)}},
		{"a little more than all air", "air_fraction", "0 to 1", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), AirFraction: 1.001}},
		{"only air", "air_fraction", "vent", SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(0), AirFraction: 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Steam(c.in)
			var f *figure.Fault
			if !errors.As(err, &f) {
				t.Fatalf("error %v, want a fault", err)
			}
			if f.Field != c.field || !strings.Contains(f.Mend, c.mend) {
				t.Errorf("fault at %q: %v; want at %q with %q in the mend", f.Field, err, c.field, c.mend)
			}
		})
	}
}

// Whatever is asked within the ranges, the answer is finite and goes into
// JSON, and higher readings are never colder.
func FuzzSteam(f *testing.F) {
	f.Add(0.0, 15.0, 0.0, 0.0)
	f.Add(5500.0, 0.0, 1.0, 5.0)
	f.Add(-500.0, 50.0, 0.3, -5.0)
	f.Fuzz(func(t *testing.T, m, g, air, high float64) {
		ans, err := Steam(SteamInput{AltitudeM: &m, GaugePsi: &g, AirFraction: air, GaugeReadsHighPsi: high})
		var fault *figure.Fault
		if err != nil && !errors.As(err, &fault) {
			t.Fatalf("error %v is no fault", err)
		}
		if err != nil {
			return
		}
		if _, err := json.Marshal(ans); err != nil {
			t.Fatal(err)
		}
		if r := ans.Result; r.SaturationC > r.AirFreeC+1e-6 || r.SaturationC > r.DaltonC+1e-6 {
			t.Errorf("air warms the pot: %+v", r)
		}
	})
}
