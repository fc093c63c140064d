package thermal

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

func mustWater(t *testing.T, in WaterInput) figure.Answer[WaterResult] {
	t.Helper()
	ans, err := Water(in)
	if err != nil {
		t.Fatalf("Water: %v", err)
	}
	if _, err := json.Marshal(ans); err != nil {
		t.Fatal(err)
	}
	return ans
}

// usualPot is a 5.5 kg aluminium pot of 300 by 320 mm at 15 psi and sea
// level with seven pints in 3 L of water.
func usualPot(burner, efficiency float64) WaterInput {
	return WaterInput{
		BurnerW: &burner, Efficiency: &efficiency, Pot: &WaterPot{Kg: 5.5, KJKgK: 0.90, DiameterMM: 300, HeightMM: 320},
		WaterL: 3, LoadKg: 4.2, GlassKg: 2.94, RoomC: 20, AltitudeM: ptr(0), GaugePsi: 15, VentMin: 10, HoldMin: 60,
	}
}

// 16 fl oz fall to 12 in 30 min at pressure: 8 fl oz an hour, dry after two
// hours; 2.5 h and 8 fl oz to spare need 28 fl oz = 828 mL.
func TestWaterMeasuredLoss(t *testing.T) {
	const oz = 0.0295735 // L
	in := WaterInput{WaterL: 16 * oz, HoldMin: 150, MeasuredLossMlPerH: ptr(8 * oz * 1000), ReserveMl: ptr(8 * oz * 1000), RoomC: 20}
	ans := mustWater(t, in)
	near(t, "needed", ans.Result.NeededL, 0.828, 0.002)
	near(t, "dry at", *ans.Result.DryAtMin, 120, 1e-9)
	near(t, "left", ans.Result.LeftL, 0, 0)
	if !hasCaution(ans.Cautions, "runs_dry") || ans.Result.LossW != nil || ans.Result.EnergyKWh != nil || ans.Result.FlashShare != nil {
		t.Errorf("%+v", ans)
	}
	in.WaterL = 28 * oz
	ans = mustWater(t, in)
	near(t, "left", ans.Result.LeftL, 8*oz, 1e-12)
	if hasCaution(ans.Cautions, "runs_dry") {
		t.Error("28 fl oz are said to run dry")
	}
}

// A measured loss replaces the estimate where a burner is known too, and
// venting comes on top.
func TestWaterMeasuredReplacesEstimate(t *testing.T) {
	in := usualPot(1500, 0.74)
	reckoned := mustWater(t, in).Result
	in.MeasuredLossMlPerH = ptr(237)
	measured := mustWater(t, in).Result
	near(t, "hold", measured.HoldL, 0.237, 1e-12)
	near(t, "vent stays", *measured.VentL, *reckoned.VentL, 0)
	near(t, "needed", measured.NeededL, *measured.VentL+0.237+1, 1e-12)
	if !(*measured.EnergyKWh < *reckoned.EnergyKWh) {
		t.Errorf("a throttled hold draws %g kWh, full heat %g", *measured.EnergyKWh, *reckoned.EnergyKWh)
	}
}

// The heat balance of pot, water, glass, substrate and rack from 20 to
// 121 °C, computed by other hands: 3345.5 kJ = 0.929 kWh.
func TestHeatBalance(t *testing.T) {
	items := []warming{{5.5, 0.90}, {3.0, 4.20}, {2.94, 0.84}, {4.2, 3.05}, {0.6, 0.49}}
	near(t, "heat", heatToWarm(items, 101), 3345.4836, 1e-4)
	// The calculator without the rack, at its own 120.95 °C.
	r := mustWater(t, usualPot(1500, 0.74)).Result
	near(t, "calculator", *r.HeatKJ, (3345.4836-0.6*0.49*101)*100.954/101, 0.05)
}

// Area and loss: 0.3723 m2, 369 W at 10 W/m2K and 99 K.
func TestPotLoss(t *testing.T) {
	area := potArea(WaterPot{DiameterMM: 300, HeightMM: 320})
	near(t, "area", area, 0.3723, 1e-4)
	near(t, "loss", lossCoefficient*area*99, 369, 0.5)
	r := mustWater(t, usualPot(1500, 0.74)).Result
	near(t, "loss of the calculator", *r.LossW, 369*100.95/99, 1)
}

// Heat-up, venting and boil-off of one pot on five burners, computed by other
// hands and printed to two digits, in a room of 22 °C. They take a mean loss
// of 186 W while heating; the calculator follows the temperature, which
// slows down as it rises, and so is later by 1 to 5 %.
func TestWaterBurners(t *testing.T) {
	for _, c := range []struct {
		burner, eff, heatUp, vent, perHour float64
	}{
		{1000, 0.74, 101, 0.12, 0.61},
		{1500, 0.74, 60, 0.22, 1.21},
		{2000, 0.74, 43, 0.32, 1.82},
		{1800, 0.84, 42, 0.33, 1.87},
		{3000, 0.40, 55, 0.24, 1.36},
	} {
		in := usualPot(c.burner, c.eff)
		mean, ok := heatUpMinutes(c.burner*c.eff-186, 3345483.6/101, 0, 101)
		if !ok {
			t.Fatal("never warm")
		}
		near(t, "heat-up with the mean loss", mean, c.heatUp, 0.5)
		in.LoadKg += 0.6 * 0.49 / 3.05 // the rack
		if late := *mustWater(t, in).Result.HeatUpMin/mean - 1; !(late > 0.005 && late < 0.05) {
			t.Errorf("%g W: later than with the mean loss by %.3f of it", c.burner, late)
		}
		in.RoomC = 22
		r := mustWater(t, in).Result
		near(t, "vent", *r.VentL, c.vent, 0.0101)
		near(t, "per hour", r.HoldL, c.perHour, 0.0101)
	}
}

// What is left is what was poured less vent and hold, and the pot is dry when
// that is nothing.
func TestWaterLeftByHand(t *testing.T) {
	r := mustWater(t, usualPot(1500, 0.74)).Result // an hour
	near(t, "left", r.LeftL, 3-*r.VentL-r.HoldL, 1e-12)
	near(t, "dry at", *r.DryAtMin, (3-*r.VentL)/r.HoldL*60, 1e-9)
}

// Turned down to 50 to 500 W above the losses, 90 min boil off 0.12 to 1.23 L.
func TestWaterThrottled(t *testing.T) {
	for _, c := range []struct{ surplus, litres float64 }{{50, 0.12}, {100, 0.25}, {200, 0.49}, {300, 0.74}, {500, 1.23}} {
		in := usualPot(1500, 0.74)
		in.HoldMin, in.ThrottleSurplusW = 90, &c.surplus
		near(t, "throttled", mustWater(t, in).Result.HoldL, c.litres, 0.0051)
	}
	in := usualPot(1500, 0.74)
	full := mustWater(t, in).Result.HoldL
	in.ThrottleSurplusW = ptr(5000) // more than the burner has
	near(t, "no more than the burner", mustWater(t, in).Result.HoldL, full, 0)
}

// The burner draws its full power until the weight is on and, not turned
// down, to the end; with a measured loss it draws the loss to the room and
// the heat that the loss of water takes: 0.5 L/h at 120.95 °C (2199.4 kJ/kg,
// NIST steam tables from memory, 0.3 kJ/kg) are 305.5 W.
func TestWaterEnergy(t *testing.T) {
	in := usualPot(1500, 0.74)
	r := mustWater(t, in).Result
	near(t, "full burner", *r.EnergyKWh, 1.5*(*r.HeatUpMin+in.VentMin+in.HoldMin)/60, 1e-12)
	in.MeasuredLossMlPerH = ptr(500)
	r = mustWater(t, in).Result
	holdW := (*r.LossW + 0.5*2199400/3600) / 0.74
	near(t, "measured", *r.EnergyKWh, (1.5*(*r.HeatUpMin+in.VentMin)+holdW/1000*in.HoldMin)/60, 1e-4)
	near(t, "heat", *r.HeatKJ/100.954, 5.5*0.90+3*4.20+4.2*3.05+2.94*0.84, 1e-3)
}

// The closed form of the heat-up against small Euler steps of its equation.
func TestHeatUpEquation(t *testing.T) {
	const netW, capacity, lossWK, rise = 800.0, 33000.0, 3.7, 101.0
	temp, sec := 0.0, 0.0
	for temp < rise {
		temp += (netW - lossWK*temp) / capacity * 0.01
		sec += 0.01
	}
	m, ok := heatUpMinutes(netW, capacity, lossWK, rise)
	if !ok {
		t.Fatal("never warm")
	}
	near(t, "heat-up", m, sec/60, 0.01)
	straight, _ := heatUpMinutes(netW, capacity, 0, rise)
	near(t, "no loss", straight, capacity*rise/netW/60, 1e-9)
	if _, ok := heatUpMinutes(300, capacity, lossWK, rise); ok {
		t.Error("a burner below the loss gets there")
	}
}

// Water at 121 °C that falls to boiling loses 3.93 % of itself.
func TestFlash(t *testing.T) {
	in := usualPot(1500, 0.74)
	in.GaugePsi = 15.0424 // 121.0 °C
	near(t, "flash", *mustWater(t, in).Result.FlashShare, 0.0393, 1e-4)
}

func TestWaterCautions(t *testing.T) {
	weak := usualPot(400, 0.74)
	ans := mustWater(t, weak)
	if !hasCaution(ans.Cautions, "too_weak") || ans.Result.HeatUpMin != nil || ans.Result.HoldL != 0 || ans.Result.DryAtMin != nil {
		t.Errorf("a weak burner: %+v", ans)
	}
	long := usualPot(2000, 0.74)
	long.HoldMin = 120
	ans = mustWater(t, long)
	for _, code := range []string{"runs_dry", "full_burner", "long_hold", "shallow", "losses_guessed", "never_dry", "vent_first", "hob"} {
		if !hasCaution(ans.Cautions, code) {
			t.Errorf("2 kW for 120 min lacks the caution %s", code)
		}
	}
	calm := usualPot(1500, 0.74)
	calm.ThrottleSurplusW, calm.WaterL = ptr(100), 4
	ans = mustWater(t, calm)
	for _, code := range []string{"runs_dry", "thin_water", "full_burner", "long_hold", "shallow", "thin_reserve"} {
		if hasCaution(ans.Cautions, code) {
			t.Errorf("a calm cook has the caution %s", code)
		}
	}
	calm.ReserveMl = ptr(100)
	if !hasCaution(mustWater(t, calm).Cautions, "thin_reserve") {
		t.Error("100 mL of reserve pass without a word")
	}
}

func TestWaterFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		mend        func(*WaterInput)
	}{
		{"hold 0", "hold_min", func(in *WaterInput) { in.HoldMin = 0 }},
		{"nan hold", "hold_min", func(in *WaterInput) { in.HoldMin = math.NaN() }},
		{"dry", "water_l", func(in *WaterInput) { in.WaterL = 0 }},
		{"kW", "burner_w", func(in *WaterInput) { in.BurnerW = ptr(1.5) }},
		{"percent", "efficiency", func(in *WaterInput) { in.Efficiency = ptr(74) }},
		{"no efficiency", "efficiency", func(in *WaterInput) { in.Efficiency = nil }},
		{"no pot", "pot", func(in *WaterInput) { in.Pot = nil }},
		{"nothing", "burner_w", func(in *WaterInput) { in.Pot, in.BurnerW, in.Efficiency = nil, nil, nil }},
		{"J/kgK", "pot.kj_kgk", func(in *WaterInput) { in.Pot.KJKgK = 900 }},
		{"inches", "pot.diameter_mm", func(in *WaterInput) { in.Pot.DiameterMM = 12.5 }},
		{"no altitude", "altitude_m", func(in *WaterInput) { in.AltitudeM = nil }},
		{"rating", "gauge_psi", func(in *WaterInput) { in.RatedPsi = ptr(12) }},
		{"load", "load_kg", func(in *WaterInput) { in.LoadKg = -1 }},
		{"measured", "measured_loss_ml_per_h", func(in *WaterInput) { in.MeasuredLossMlPerH = ptr(math.Inf(1)) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := usualPot(1500, 0.74)
			c.mend(&in)
			_, err := Water(in)
			faultAt(t, err, c.field)
		})
	}
}

func FuzzWater(f *testing.F) {
	f.Add(1500.0, 0.74, 3.0, 20.0, 15.0, 90.0)
	f.Add(100.0, 0.05, 0.05, 50.0, 0.0, 0.1)
	f.Fuzz(func(t *testing.T, burner, eff, water, room, gauge, hold float64) {
		in := usualPot(burner, eff)
		in.WaterL, in.RoomC, in.GaugePsi, in.HoldMin = water, room, gauge, hold
		ans, err := Water(in)
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
	})
}
