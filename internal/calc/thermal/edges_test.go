package thermal

import (
	"math"
	"testing"

	"pinset/internal/units"
)

// limits holds a field to its least and most: both are taken, and what is
// beyond by a thousandth of the limit (of 1 where it is 0) is a fault there.
type limits struct {
	field       string
	least, most float64
	check       func(v float64) error
}

func (l limits) run(t *testing.T) {
	t.Helper()
	for _, v := range []float64{l.least, l.most} {
		if err := l.check(v); err != nil {
			t.Errorf("%s: %g is refused: %v", l.field, v, err)
		}
	}
	beyond := func(v float64) float64 {
		if v == 0 {
			return 1e-3
		}
		return 1e-3 * math.Abs(v)
	}
	for _, v := range []float64{l.least - beyond(l.least), l.most + beyond(l.most), math.NaN(), math.Inf(1), math.Inf(-1)} {
		err := l.check(v)
		if err == nil {
			t.Errorf("%s: %g is taken", l.field, v)
			continue
		}
		faultAt(t, err, l.field)
	}
}

func TestCookLimits(t *testing.T) {
	at := func(set func(in *CookInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := usualCook()
			set(&in, v)
			_, err := newCookTask(in)
			return err
		}
	}
	for _, l := range []limits{
		{"come_up_min", 0, 600, at(func(in *CookInput, v float64) { in.ComeUpMin = v })},
		{"hold_min", 0.1, 1440, at(func(in *CookInput, v float64) { in.HoldMin = v })},
		{"gauge_doubt_psi", 0, 3, at(func(in *CookInput, v float64) { in.GaugeDoubtPsi = v })},
		{"start_c", 1, 95, at(func(in *CookInput, v float64) { in.StartC = &v })},
		{"cool_min", 0, 1440, at(func(in *CookInput, v float64) { in.CoolMin = &v })},
		{"room_c", 1, 50, at(func(in *CookInput, v float64) { in.RoomC = &v })},
		{"target_f0_min", 0.1, 100, at(func(in *CookInput, v float64) { in.TargetF0Min = &v })},
		{"container.bore_mm", 15, 600, at(func(in *CookInput, v float64) { in.Container.BoreMM = v })},
		{"container.fill_mm", 5, 600, at(func(in *CookInput, v float64) { in.Container.FillMM = v })},
		{"container.depth_mm", 15, 600, at(func(in *CookInput, v float64) { in.Container.Shape, in.Container.DepthMM = "block", &v })},
		{"container.headspace_mm", 0, 300, at(func(in *CookInput, v float64) { in.Container.HeadspaceMM = &v })},
		{"container.surface_factor", 0.2, 8, at(func(in *CookInput, v float64) { in.Container.Surface = &v })},
		{"substrate.moisture_pct", 5, 95, at(func(in *CookInput, v float64) { in.Substrate.MoisturePct = &v })},
		{"substrate.density_kg_m3", 100, 1237, at(func(in *CookInput, v float64) { in.Substrate.DensityKgM3 = &v })}, // 1.05 of the solid's 1179.7
		{"substrate.conductivity_w_mk", 0.03, 2, at(func(in *CookInput, v float64) { in.Substrate.ConductivityWMK = &v })},
		{"substrate.diffusivity_m2_s", 3e-8, 2e-6, at(func(in *CookInput, v float64) { in.Substrate.DiffusivityM2S = &v })},
		{"substrate.spread_pct", 0, 60, at(func(in *CookInput, v float64) { in.Substrate.SpreadPct = &v })},
		{"substrate.multiplier", 0.2, 8, at(func(in *CookInput, v float64) { in.Substrate.Multiplier = &v })},
		{"u_w_m2k.side", 0.5, 50000, at(func(in *CookInput, v float64) { in.UWM2K = &Faces{Side: v, Top: 5, Base: 60} })},
		{"u_w_m2k.base", 0.5, 50000, at(func(in *CookInput, v float64) { in.UWM2K = &Faces{Side: 250, Top: 5, Base: v} })},
		{"wall_mm", 0.02, 20, at(func(in *CookInput, v float64) { in.WallMM = &v })},
		{"wall_w_mk", 0.05, 400, at(func(in *CookInput, v float64) { in.WallWMK = &v })},
		{"film_w_m2k", 5, 50000, at(func(in *CookInput, v float64) { in.FilmWM2K = &v })},
	} {
		l.run(t)
	}
	dense := usualCook()
	dense.Substrate.DensityKgM3, dense.Substrate.ConductivityWMK, dense.Substrate.DiffusivityM2S = ptr(1600), ptr(0.5), ptr(1.45e-7)
	if _, err := newCookTask(dense); err != nil {
		t.Errorf("1600 kg/m3 with measured heat is refused: %v", err)
	}
	dense.Substrate.DensityKgM3 = ptr(1601)
	_, err := newCookTask(dense)
	faultAt(t, err, "substrate.density_kg_m3")
	wet := bottleCook()
	for v, ok := range map[float64]bool{85: true, 84.9: false, 100: true, 100.1: false} {
		wet.Substrate.MoisturePct = &v
		if _, err := newCookTask(wet); (err == nil) != ok {
			t.Errorf("a liquid of %g %%: %v", v, err)
		}
	}
}

// The pot opens at boiling and a hair above, not hotter; left out it is 97 °C
// or 3 K below boiling, after 45 min, or 5 min vented, in a room of 22 °C.
func TestCookDefaults(t *testing.T) {
	task := func(change func(*CookInput)) (*cookTask, error) {
		in := usualCook()
		change(&in)
		return newCookTask(in)
	}
	c, err := task(func(*CookInput) {})
	if err != nil {
		t.Fatal(err)
	}
	want := process{start: 20, chamber: c.process.chamber, comeUp: 20, hold: 90, room: 22, cool: 45, coolEnd: float64(c.pot.boiling) - 3}
	if c.process != want || c.target != 15 {
		t.Errorf("%+v, want %+v; target %g", c.process, want, c.target)
	}
	c, err = task(func(in *CookInput) { in.AltitudeM, in.Cool = ptr(-500), "fast" })
	if err != nil || c.process.coolEnd != 97 || c.process.cool != 5 {
		t.Errorf("below the sea, vented: %+v, %v", c.process, err)
	}
	for off, ok := range map[float64]bool{0.4: true, 0.6: false} {
		_, err := task(func(in *CookInput) { in.CoolEndC = ptr(float64(c.pot.boiling) + off); in.AltitudeM = ptr(-500) })
		if (err == nil) != ok {
			t.Errorf("opened %g K above boiling: %v", off, err)
		}
	}
}

// Each caution that hangs on a figure comes beyond it and not before.
func TestCookCautionEdges(t *testing.T) {
	r := func(lowF0 float64, hold, chamber float64) CookResult {
		out := CookResult{ChamberC: chamber, HoldForTargetMin: Band{High: &hold}}
		out.Core.Low.F0HeatOffMin = lowF0
		return out
	}
	in := usualCook()
	for _, c := range []struct {
		code string
		want bool
		hold float64
		r    CookResult
	}{
		{"core_lags", true, 90, r(14.9, 100, 121)},
		{"core_lags", false, 90, r(15, 100, 121)},
		{"too_long", true, 90, r(20, 301, 121)},
		{"too_long", false, 90, r(20, 300, 121)},
		{"below_118", true, 90, r(20, 100, 117.9)},
		{"below_118", false, 90, r(20, 100, 118)},
		{"long_heat", true, 151, r(20, 100, 115.1)},
		{"long_heat", false, 150, r(20, 100, 121)},
		{"long_heat", false, 151, r(20, 100, 115)},
	} {
		in.HoldMin = c.hold
		task, err := newCookTask(in)
		if err != nil {
			t.Fatal(err)
		}
		if got := hasCaution(task.heatCautions(c.r), c.code); got != c.want {
			t.Errorf("%s for %+v: %v, want %v", c.code, c, got, c.want)
		}
	}
	task, err := newCookTask(usualCook())
	if err != nil {
		t.Fatal(err)
	}
	for total, want := range map[float64]bool{1.31: true, 1.29: false} {
		var r CookResult
		r.Core.Best.F0HeatOffMin, r.Core.Best.F0TotalMin = 1, total
		if got := hasCaution(task.coolCautions(r), "cooling_counts"); got != want {
			t.Errorf("%g of F0 at heat-off in the end: %v", total, got)
		}
	}
	for minutes, want := range map[float64]bool{90: false, 90.1: true} {
		if got := len(waterFor(minutes)) == 1; got != want {
			t.Errorf("water for %g min: %v", minutes, got)
		}
	}
	for ambient, want := range map[units.Pascal]bool{98499: true, 98500: false} {
		if got := hasCaution(potCautions(potAsk{}, pot{ambient: ambient}), "altitude"); got != want {
			t.Errorf("altitude at %g Pa: %v", float64(ambient), got)
		}
	}
}

// A pot has no pressure below the air's: not by a gauge that reads high, nor
// by the doubt of one. A gauge that is known to err was tested.
func TestPotOfNoPressure(t *testing.T) {
	p, err := newPot(potAsk{altitudeM: ptr(0), gaugePsi: 1, readsHighPsi: 2})
	if err != nil || p.gauge != 0 || p.temp != p.boiling {
		t.Errorf("1 psi on a gauge that reads 2 high: %+v, %v", p, err)
	}
	if p, err = p.shifted(-1); err != nil || p.gauge != 0 {
		t.Errorf("a psi less than nothing: %+v, %v", p, err)
	}
	if p, err = p.shifted(1); err != nil || p.gauge != psi(1) {
		t.Errorf("a psi more than nothing: %+v, %v", p, err)
	}
	for high, want := range map[float64]bool{0: true, 0.02: false, -0.02: false} {
		if got := hasCaution(potCautions(potAsk{readsHighPsi: high}, p), "gauge_untested"); got != want {
			t.Errorf("a gauge that reads %g psi high is untested: %v", high, got)
		}
	}
}

func TestWaterLimits(t *testing.T) {
	at := func(set func(in *WaterInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := usualPot(1500, 0.74)
			set(&in, v)
			_, err := checkWater(in)
			return err
		}
	}
	for _, l := range []limits{
		{"burner_w", 100, 20000, at(func(in *WaterInput, v float64) { in.BurnerW = &v })},
		{"efficiency", 0.05, 1, at(func(in *WaterInput, v float64) { in.Efficiency = &v })},
		{"water_l", 0.05, 100, at(func(in *WaterInput, v float64) { in.WaterL = v })},
		{"load_kg", 0, 500, at(func(in *WaterInput, v float64) { in.LoadKg = v })},
		{"load_kj_kgk", 1, 4.2, at(func(in *WaterInput, v float64) { in.LoadKJKgK = &v })},
		{"glass_kg", 0, 200, at(func(in *WaterInput, v float64) { in.GlassKg = v })},
		{"room_c", -10, 50, at(func(in *WaterInput, v float64) { in.RoomC = v })},
		{"vent_min", 0, 60, at(func(in *WaterInput, v float64) { in.VentMin = v })},
		{"hold_min", 0.1, 1440, at(func(in *WaterInput, v float64) { in.HoldMin = v })},
		{"throttle_surplus_w", 0, 20000, at(func(in *WaterInput, v float64) { in.ThrottleSurplusW = &v })},
		{"measured_loss_ml_per_h", 0, 10000, at(func(in *WaterInput, v float64) { in.MeasuredLossMlPerH = &v })},
		{"reserve_ml", 0, 20000, at(func(in *WaterInput, v float64) { in.ReserveMl = &v })},
		{"pot.kg", 0.3, 100, at(func(in *WaterInput, v float64) { in.Pot.Kg = v })},
		{"pot.kj_kgk", 0.3, 1.2, at(func(in *WaterInput, v float64) { in.Pot.KJKgK = v })},
		{"pot.diameter_mm", 100, 1000, at(func(in *WaterInput, v float64) { in.Pot.DiameterMM = v })},
		{"pot.height_mm", 80, 1500, at(func(in *WaterInput, v float64) { in.Pot.HeightMM = v })},
	} {
		l.run(t)
	}
}

// Water's cautions: a reserve of half a litre, a hold of 90 min, 50 mm of
// depth (home canning asks for 50 to 75).
func TestWaterCautionEdges(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		in   func(*WaterInput)
	}{
		{"thin_reserve", true, func(in *WaterInput) { in.ReserveMl = ptr(499) }},
		{"thin_reserve", false, func(in *WaterInput) { in.ReserveMl = ptr(500) }},
		{"long_hold", true, func(in *WaterInput) { in.HoldMin = 90.1 }},
		{"long_hold", false, func(in *WaterInput) { in.HoldMin = 90 }},
		{"shallow", true, func(in *WaterInput) { in.WaterL = math.Pi / 4 * 9 * 0.4999 }},
		{"shallow", false, func(in *WaterInput) { in.WaterL = math.Pi / 4 * 9 * 0.5001 }},
	} {
		in := usualPot(1500, 0.74)
		c.in(&in)
		if got := hasCaution(mustWater(t, in).Cautions, c.code); got != c.want {
			t.Errorf("%s: %v, want %v", c.code, got, c.want)
		}
	}
	r := mustWater(t, usualPot(1500, 0.74)).Result
	near(t, "reserve left out", r.NeededL-r.HoldL-*r.VentL, 1, 1e-12)
}

// above0 is the least of a field that has to be above 0 and no more.
const above0 = 1e-300

func TestRecordLimits(t *testing.T) {
	record := func(set func(in *LethalityInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := LethalityInput{TimesMin: []float64{-1e6, 1e6}, Celsius: []float64{100, 100}, StartCount: ptr(10), DMin: ptr(1)}
			set(&in, v)
			_, err := checkLethality(in)
			return err
		}
	}
	hold := func(set func(in *HoldInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0)}
			set(&in, v)
			if _, err := Hold(in); err != nil { // without a container: the rule and the pots
				return err
			}
			_, err := holdProcess(in, 121)
			return err
		}
	}
	cool := func(set func(in *CoolInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := CoolInput{Readings: []CoolReading{{"08:00", 149}, {"09:00", 100}}, RoomC: 20, TargetC: 27}
			set(&in, v)
			_, _, err := readCool(in)
			return err
		}
	}
	for _, l := range []limits{
		{"times_min[1]", -1e6 + 1, 1e6, record(func(in *LethalityInput, v float64) { in.TimesMin[0], in.TimesMin[1] = -1e6, v })},
		{"celsius[1]", -20, 150, record(func(in *LethalityInput, v float64) { in.Celsius[1] = v })},
		{"reference_c", 40, 150, record(func(in *LethalityInput, v float64) { in.ReferenceC = &v })},
		{"z_c", 2, 60, record(func(in *LethalityInput, v float64) { in.ZC = &v })},
		{"equal_at_c", 40, 150, record(func(in *LethalityInput, v float64) { in.EqualAtC = &v })},
		{"start_count", above0, 1e30, record(func(in *LethalityInput, v float64) { in.StartCount = &v })},
		{"d_min", above0, 1e6, record(func(in *LethalityInput, v float64) { in.DMin = &v })},
		{"come_up_min", 0, 600, hold(func(in *HoldInput, v float64) { in.ComeUpMin = &v })},
		{"start_c", 1, 95, hold(func(in *HoldInput, v float64) { in.StartC = &v })},
		{"rule_hold_min", above0, 1440, hold(func(in *HoldInput, v float64) { in.RuleHoldMin = v })},
		{"room_c", -20, 60, cool(func(in *CoolInput, v float64) { in.RoomC = v })},
		{"target_c", -20, 120, cool(func(in *CoolInput, v float64) { in.TargetC = v })},
		{"readings[0].celsius", 20.001, 150, cool(func(in *CoolInput, v float64) { in.Readings[0].Celsius = v })},
	} {
		if l.least == above0 {
			faultAt(t, l.check(0), l.field)
			l.least = 1e-3
			if err := l.check(l.least); err != nil {
				t.Error(err)
			}
			for _, v := range []float64{math.Nextafter(l.most, math.Inf(1)), math.NaN(), math.Inf(1)} {
				faultAt(t, l.check(v), l.field)
			}
			if err := l.check(l.most); err != nil {
				t.Error(err)
			}
			continue
		}
		l.run(t)
	}
}

// The cautions of records: an end above 90 °C, gaps of more than 5 min above
// 100 °C, most of the kill below 118 °C, 150 min above 115 °C, a z from 20 K.
func TestLethalityCautionEdges(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		in   LethalityInput
	}{
		{"ends_hot", false, LethalityInput{TimesMin: []float64{0, 5}, Celsius: []float64{100, 90}}},
		{"ends_hot", true, LethalityInput{TimesMin: []float64{0, 5}, Celsius: []float64{100, 90.1}}},
		{"sparse", false, LethalityInput{TimesMin: []float64{0, 5}, Celsius: []float64{121, 121}}},
		{"sparse", true, LethalityInput{TimesMin: []float64{0, 5.1}, Celsius: []float64{121, 121}}},
		{"sparse", false, LethalityInput{TimesMin: []float64{0, 60}, Celsius: []float64{100, 100}}},
		{"sparse", true, LethalityInput{TimesMin: []float64{0, 60}, Celsius: []float64{99, 100.1}}},
		{"below_118", false, LethalityInput{TimesMin: []float64{0, 5, 10.1}, Celsius: []float64{118.1, 118.1, 118.1}}},
		{"long_heat", false, LethalityInput{TimesMin: []float64{0, 200}, Celsius: []float64{114.9, 114.9}}},
		{"long_heat", true, LethalityInput{TimesMin: []float64{0, 151}, Celsius: []float64{115, 115}}},
		{"long_heat", false, LethalityInput{TimesMin: []float64{0, 150}, Celsius: []float64{121, 121}}},
		{"dry_heat_z", false, LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{121, 121}, ZC: ptr(19.9)}},
		{"dry_heat_z", true, LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{121, 121}, ZC: ptr(20)}},
	} {
		if got := hasCaution(mustLethality(t, c.in).Cautions, c.code); got != c.want {
			t.Errorf("%s on %+v: %v, want %v", c.code, c.in, got, c.want)
		}
	}
}

// Most of the kill is more than half of it, and of a kill of a tenth of a
// minute or more.
func TestBelow118Edges(t *testing.T) {
	in := LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{80, 80}}
	rec, err := checkLethality(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		want     bool
		share, f float64
	}{{false, 0.5, 1}, {true, 0.501, 1}, {true, 0.501, 0.1}, {false, 0.501, 0.0999}} {
		got := lethalityCautions(in, rec, LethalityResult{Below118Share: &c.share, FMin: c.f})
		if hasCaution(got, "below_118") != c.want {
			t.Errorf("%g of %g min: want %v", c.share, c.f, c.want)
		}
	}
}

// The cautions of a match and of a cooling.
func TestHoldAndCoolCautionEdges(t *testing.T) {
	in, own := HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0)}, pot{ambient: 101325}
	for _, c := range []struct {
		code string
		want bool
		r    HoldResult
	}{
		{"target_not_reached", false, HoldResult{RuleC: 121, PotC: 120.5}},
		{"target_not_reached", true, HoldResult{RuleC: 121, PotC: 120.49}},
		{"below_118", false, HoldResult{PotC: 118}},
		{"below_118", true, HoldResult{PotC: 117.99}},
		{"too_long", false, HoldResult{AdvisedMin: 300}},
		{"too_long", true, HoldResult{AdvisedMin: 300.1}},
		{"do_not_exceed", false, HoldResult{GaugePsiForRuleTemp: 15.25}},
		{"do_not_exceed", true, HoldResult{GaugePsiForRuleTemp: 15.251}},
		{"rule_is_weak", false, HoldResult{CoreEqualMin: &Band{}, RuleCoreF0Min: &Band{Low: ptr(8)}}},
		{"rule_is_weak", true, HoldResult{CoreEqualMin: &Band{}, RuleCoreF0Min: &Band{Low: ptr(7.99)}}},
	} {
		if got := hasCaution(holdCautions(in, own, c.r), c.code); got != c.want {
			t.Errorf("%s for %+v: %v, want %v", c.code, c.r, got, c.want)
		}
	}
	for _, c := range []struct {
		code        string
		want        bool
		target      float64
		hours, rmse float64
	}{
		{"far_ahead", false, 27, 72, 0},
		{"far_ahead", true, 27, 72.1, 0},
		{"poor_fit", false, 27, 5, 2},
		{"poor_fit", true, 27, 5, 2.01},
		{"too_warm_to_inoculate", false, 30, 5, 0},
		{"too_warm_to_inoculate", true, 30.1, 5, 0},
		{"touch_is_not_core", true, 27, 5, 0},
	} {
		got := coolCautions(CoolInput{RoomC: 20, TargetC: c.target}, 0.3, CoolResult{HoursToTarget: &c.hours, RMSEC: &c.rmse})
		if hasCaution(got, c.code) != c.want {
			t.Errorf("%s: want %v", c.code, c.want)
		}
	}
}

// The cautions of a calibration.
func TestCalibrateCautionEdges(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		fit  string
		r    CalibrateResult
	}{
		{"poor_fit", false, "", CalibrateResult{Factor: 1, RMSEC: 3}},
		{"poor_fit", true, "", CalibrateResult{Factor: 1, RMSEC: 3.01}},
		{"at_the_bound", true, "", CalibrateResult{Factor: 0.209}},
		{"at_the_bound", false, "", CalibrateResult{Factor: 0.211}},
		{"at_the_bound", true, "", CalibrateResult{Factor: 7.61}},
		{"at_the_bound", false, "", CalibrateResult{Factor: 7.59}},
		{"very_fast", false, "", CalibrateResult{Factor: 3}},
		{"very_fast", true, "", CalibrateResult{Factor: 3.01}},
		{"very_fast", false, "surface", CalibrateResult{Factor: 3.01}},
	} {
		if got := hasCaution(calibrateCautions(CalibrateInput{Fit: c.fit}, c.r), c.code); got != c.want {
			t.Errorf("%s for %+v: %v, want %v", c.code, c.r, got, c.want)
		}
	}
}
