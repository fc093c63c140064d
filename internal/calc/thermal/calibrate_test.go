package thermal

import (
	"math"
	"strings"
	"testing"
)

// seriesRecord is the centre of the pint of the checks after a sudden step
// from 20 to 121 °C, from the series, for a coefficient u and a diffusivity.
func seriesRecord(u, k, diffusivity float64, minutes []float64) (chamber, core []float64) {
	for _, m := range minutes {
		fo := diffusivity * m * 60
		theta := slabTheta(u*0.0475/k, fo/(0.0475*0.0475), 0) * cylinderTheta(u*0.038/k, fo/(0.038*0.038), 0)
		if m == 0 {
			theta = 1
		}
		chamber, core = append(chamber, 121), append(core, 121-101*theta)
	}
	return chamber, core
}

func everyFive(until float64) []float64 {
	out := []float64{}
	for m := 0.0; m <= until; m += 5 {
		out = append(out, m)
	}
	return out
}

// Straight part of the series: f_h 57.364 min and j 2.0218 at 250 W/m2K, by
// other hands from the first roots; at an endless coefficient f_h 51.910 min
// and j 2.039698. The second terms are still in the readings at a quarter of
// the difference: 0.3 % of f_h and 1.2 % of j. On one exponential the fit is
// exact.
func TestFitLag(t *testing.T) {
	times := everyFive(160)
	for _, c := range []struct{ u, fh, jh float64 }{{250, 57.364, 2.0218}, {1e7, 51.910, 2.039698}} {
		chamber, core := seriesRecord(c.u, 0.5, 1.45e-7, times)
		lag := FitLag(times, chamber, core)
		near(t, "f_h", lag.FHMin, c.fh, 0.004*c.fh)
		near(t, "j_h", lag.JH, c.jh, 0.015*c.jh)
		for i, m := range times {
			core[i] = 121 - 101*c.jh*math.Pow(10, -m/c.fh)
		}
		core[0] = 20
		lag = FitLag(times, chamber, core)
		near(t, "f_h, one exponential", lag.FHMin, c.fh, 1e-9)
		near(t, "j_h, one exponential", lag.JH, c.jh, 1e-9)
	}
}

func TestFitLagNeedsAStraightPart(t *testing.T) {
	if lag := FitLag([]float64{0, 10, 20}, []float64{20, 121, 121}, []float64{20, 21, 22}); lag != nil {
		t.Errorf("%+v", lag)
	}
	flat := []float64{100, 100, 100, 100}
	if lag := FitLag([]float64{0, 1, 2, 3}, flat, []float64{20, 60, 60, 60}); lag != nil {
		t.Errorf("%+v", lag)
	}
}

// A difference that stays, or grows a little, has no tenfold fall.
func TestFitLagNeedsAFall(t *testing.T) {
	times, chamber := []float64{0, 10, 20, 30}, []float64{100, 100, 100, 100}
	for _, core := range [][]float64{{20, 85, 85, 85}, {20, 85, 84.5, 84}} {
		if lag := FitLag(times, chamber, core); lag != nil {
			t.Errorf("%v: %+v", core, lag)
		}
	}
	// The lag counts from the first reading, whenever that was.
	times, chamber, core := lagRecord(100, 20, 10, 5)
	early := FitLag(times, chamber, core)
	for i := range times {
		times[i] += 500
	}
	if late := FitLag(times, chamber, core); late == nil || early == nil || math.Abs(late.JH-early.JH) > 1e-9 {
		t.Errorf("begun at minute 500 %+v, at 0 %+v", late, early)
	}
	in := pintCalibrate()
	in.ChamberC, in.CoreC = make([]float64, len(in.TimesMin)), make([]float64, len(in.TimesMin))
	for i := range in.CoreC {
		in.ChamberC[i], in.CoreC[i] = 121, 30
	}
	in.CoreC[5] = 42.5
	if _, err := Calibrate(in); err == nil || !strings.Contains(err.Error(), "rises by 12.5 °C only") {
		t.Error(err)
	}
}

func pintCalibrate() CalibrateInput {
	return CalibrateInput{
		Container: Container{BoreMM: 76, FillMM: 95}, UWM2K: &even,
		Substrate: Substrate{ConductivityWMK: ptr(0.50), DiffusivityM2S: ptr(1.45e-7)}, TimesMin: everyFive(90),
	}
}

// A record of a cake that conducts 1.6 times as well, or whose faces pass 0.4
// times as much, gives the factor back.
func TestCalibrateGivesTheFactorBack(t *testing.T) {
	in := pintCalibrate()
	in.ChamberC, in.CoreC = seriesRecord(250, 0.8, 1.45e-7*1.6, in.TimesMin)
	ans, err := Calibrate(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "multiplier", ans.Result.Factor, 1.6, 0.01)
	near(t, "misfit", ans.Result.RMSEC, 0, 0.15) // of the model's cells
	in = pintCalibrate()
	in.Fit = "surface"
	in.ChamberC, in.CoreC = seriesRecord(100, 0.5, 1.45e-7, in.TimesMin)
	ans, err = Calibrate(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "surface", ans.Result.Factor, 0.4, 0.01)
	if !hasCaution(ans.Cautions, "one_jar") || hasCaution(ans.Cautions, "poor_fit") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
}

// A record that conduction can not follow says so.
func TestCalibratePoorFit(t *testing.T) {
	in := pintCalibrate()
	for _, m := range in.TimesMin {
		in.ChamberC = append(in.ChamberC, 121)
		core := 20.0
		if m > 40 { // steam breaks through
			core = 119
		}
		in.CoreC = append(in.CoreC, core)
	}
	ans, err := Calibrate(in)
	if err != nil {
		t.Fatal(err)
	}
	if !hasCaution(ans.Cautions, "poor_fit") {
		t.Errorf("misfit %.1f °C and no caution", ans.Result.RMSEC)
	}
}

func TestCalibrateFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		spoil       func(*CalibrateInput)
	}{
		{"few", "times_min", func(in *CalibrateInput) { in.TimesMin = in.TimesMin[:3] }},
		{"unlike", "core_c", func(in *CalibrateInput) { in.CoreC = in.CoreC[1:] }},
		{"backwards", "times_min[2]", func(in *CalibrateInput) { in.TimesMin[2] = 1 }},
		{"fahrenheit", "chamber_c[1]", func(in *CalibrateInput) { in.ChamberC[1] = 250 }},
		{"nan", "core_c[1]", func(in *CalibrateInput) { in.CoreC[1] = math.NaN() }},
		{"never warm", "core_c", func(in *CalibrateInput) {
			for i := range in.CoreC {
				in.CoreC[i] = 20
			}
		}},
		{"probe", "probe_mm", func(in *CalibrateInput) { in.ProbeMM = ptr(120) }},
		{"fit", "fit", func(in *CalibrateInput) { in.Fit = "both" }},
		{"bore", "container.bore_mm", func(in *CalibrateInput) { in.Container.BoreMM = 0 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := pintCalibrate()
			in.ChamberC, in.CoreC = seriesRecord(250, 0.5, 1.45e-7, in.TimesMin)
			c.spoil(&in)
			_, err := Calibrate(in)
			faultAt(t, err, c.field)
		})
	}
}
