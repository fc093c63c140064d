package steam

import (
	"testing"

	"pinset/internal/units"
)

// Saturation pressure over the range of a cooker, computed by other hands
// from IAPWS R7-97(2012); printed to 0.1 Pa.
func TestWorkingTable(t *testing.T) {
	for celsius, kpa := range map[float64]float64{
		60: 19.9458, 80: 47.4147, 90: 70.1824, 95: 84.6089, 100: 101.4180, 105: 120.9021, 110: 143.3760, 112: 153.2775,
		115: 169.1770, 116: 174.7678, 118: 186.4036, 120: 198.6654, 121: 205.0389, 121.1: 205.6853, 122: 211.5782,
		124: 225.1676, 126: 239.4597, 130: 270.2596, 134: 304.1989, 140: 361.5010,
		(250.0 - 32) / 1.8: 205.7572, 115.5556: 172.2649, // 250 and 240 °F
	} {
		p, err := SaturationPressure(units.Kelvin(celsius + zeroCelsius))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "saturation pressure, kPa", float64(p)/1000, kpa, 6e-5)
	}
}

// Temperature and lethal rate at gauge pressure and altitude, computed by
// other hands; printed to 0.01 °C and four digits.
func TestAltitudeTable(t *testing.T) {
	gauges := [8]float64{0, 5, 10, 11, 12, 13, 14, 15}
	for _, c := range []struct {
		m          float64
		temp, rate [8]float64
	}{
		{0, [8]float64{99.97, 108.39, 115.20, 116.42, 117.61, 118.75, 119.87, 120.95}, [8]float64{0.0077, 0.0536, 0.2569, 0.3405, 0.4473, 0.5828, 0.7534, 0.9671}},
		{500, [8]float64{98.31, 107.09, 114.13, 115.38, 116.60, 117.78, 118.92, 120.03}, [8]float64{0.0053, 0.0398, 0.2007, 0.2681, 0.3549, 0.4656, 0.6059, 0.7824}},
		{1000, [8]float64{96.65, 105.81, 113.07, 114.37, 115.62, 116.83, 118.00, 119.14}, [8]float64{0.0036, 0.0296, 0.1575, 0.2122, 0.2830, 0.3739, 0.4897, 0.6364}},
		{1500, [8]float64{94.98, 104.55, 112.04, 113.37, 114.66, 115.90, 117.10, 118.26}, [8]float64{0.0024, 0.0221, 0.1243, 0.1688, 0.2268, 0.3018, 0.3980, 0.5203}},
		{2000, [8]float64{93.32, 103.30, 111.04, 112.40, 113.72, 114.99, 116.22, 117.41}, [8]float64{0.0017, 0.0166, 0.0986, 0.1350, 0.1828, 0.2450, 0.3251, 0.4277}},
		{2500, [8]float64{91.64, 102.07, 110.05, 111.45, 112.81, 114.11, 115.37, 116.58}, [8]float64{0.0011, 0.0125, 0.0786, 0.1085, 0.1481, 0.1999, 0.2671, 0.3535}},
		{3000, [8]float64{89.97, 100.86, 109.09, 110.53, 111.92, 113.25, 114.54, 115.78}, [8]float64{0.0008, 0.0095, 0.0630, 0.0877, 0.1206, 0.1640, 0.2206, 0.2938}},
	} {
		for i, g := range gauges {
			got, err := GaugeTemp(mustStandard(t, c.m), psi(g))
			if err != nil {
				t.Fatal(err)
			}
			near(t, "temperature", float64(got), c.temp[i], 0.0051)
			near(t, "lethal rate", LethalRate(got, 121.1, 10), c.rate[i], 6e-5)
		}
	}
}

// Gauge pressure for a temperature by altitude, computed by other hands;
// printed to 0.01 psi.
func TestGaugeForTable(t *testing.T) {
	for i, m := range []float64{0, 500, 1000, 1500, 2000, 2500, 3000} {
		for celsius, want := range map[float64][7]float64{
			(240.0 - 32) / 1.8: {10.29, 11.14, 11.95, 12.72, 13.46, 14.15, 14.82},
			118:                {12.34, 13.19, 14.00, 14.77, 15.51, 16.20, 16.87},
			120:                {14.12, 14.97, 15.78, 16.55, 17.28, 17.98, 18.65},
			121.1:              {15.14, 15.99, 16.80, 17.57, 18.30, 19.00, 19.66},
		} {
			got, err := GaugeFor(units.Celsius(celsius), mustStandard(t, m))
			if err != nil {
				t.Fatal(err)
			}
			near(t, "gauge", float64(got)/PascalPerPsi, want[i], 0.0051)
		}
	}
}

// The weighted-gauge rule of home canning: 10 lb to 1000 ft, 15 lb above
// (Pacific Northwest Extension PNW 421); the 10 lb weight is machined to
// about 10.5 lb, and 240 °F is the aim (University of Missouri Extension,
// qafs163). The dial gauge of 15 psi for 8001 to 10000 ft is from memory.
func TestWeightedGaugeRule(t *testing.T) {
	for _, c := range []struct{ ft, psi, want float64 }{
		{0, 10.5, 115.81},
		{1000, 10.5, 115.17},
		{0, 10, 115.20},
		{1000, 10, 114.54},
		{1001, 15, 120.39},
		{8000, 15, 116.69},
		{10000, 15, 115.71},
	} {
		got, err := GaugeTemp(mustStandard(t, c.ft*0.3048), psi(c.psi))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "chamber", float64(got), c.want, 0.01)
		if f := float64(got)*1.8 + 32; f < 238 {
			t.Errorf("%g psi at %g ft are %.1f °F, below the 240 °F of the rule", c.psi, c.ft, f)
		}
	}
}

// Air by share of the gas in the chamber, computed by other hands: the steam
// has the rest of the pressure.
func TestAirByShareOfGas(t *testing.T) {
	total := 101325 + psi(15)
	for percent, want := range map[float64]float64{1: 120.64, 2: 120.31, 5: 119.33, 10: 117.64, 20: 114.01} {
		got, err := SaturationTemp(total * units.Pascal(1-percent/100))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "chamber", float64(got)-zeroCelsius, want, 0.006)
	}
}
