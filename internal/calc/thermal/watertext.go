package thermal

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// checkWater checks the input and finds the temperature of the pot.
func checkWater(in WaterInput) (pot, error) {
	if err := checkSources(in); err != nil {
		return pot{}, err
	}
	for _, c := range []struct {
		field, mend string
		value       *float64
		lo, hi      float64
	}{
		{"burner_w", "give the power on the nameplate in watts: 1.5 kW is 1500", in.BurnerW, 100, 20000},
		{"efficiency", "give a share: about 0.4 for gas, 0.74 electric, 0.84 induction", in.Efficiency, 0.05, 1},
		{"water_l", "give the litres poured in; a pot must never run dry", &in.WaterL, 0.05, 100},
		{"load_kg", "give the kilograms of substrate in the pot", &in.LoadKg, 0, 500},
		{"load_kj_kgk", "give 1 to 4.2, or leave it out for wet grain", in.LoadKJKgK, 1, 4.2},
		{"glass_kg", "give the kilograms of empty jars", &in.GlassKg, 0, 200},
		{"room_c", "give the temperature of the room in °C", &in.RoomC, -10, 50},
		{"vent_min", "give the minutes of steady steam before the weight, usually 10", &in.VentMin, 0, 60},
		{"hold_min", "give the minutes at pressure", &in.HoldMin, 0.1, 1440},
		{"throttle_surplus_w", "give the watts above the loss, such as 100, or leave it out for the full burner", in.ThrottleSurplusW, 0, 20000},
		{"measured_loss_ml_per_h", "weigh or measure the water before and after a cook", in.MeasuredLossMlPerH, 0, 10000},
		{"reserve_ml", "give the millilitres to be left at the end", in.ReserveMl, 0, 20000},
	} {
		if c.value != nil && !(*c.value >= c.lo && *c.value <= c.hi) {
			return pot{}, figure.Faultf(c.field, c.mend, "%g is outside %g to %g", *c.value, c.lo, c.hi)
		}
	}
	if in.AltitudeM == nil && in.BurnerW == nil {
		return pot{}, nil // the measured loss alone is asked
	}
	return newPot(in.potAsk())
}

// potAsk is the pot of the cook.
func (in WaterInput) potAsk() potAsk {
	return potAsk{altitudeM: in.AltitudeM, gaugePsi: in.GaugePsi, ratedPsi: in.RatedPsi, altitudeKey: "altitude_m", gaugeKey: "gauge_psi"}
}

// checkSources asks for a burner with its pot, or a measured loss.
func checkSources(in WaterInput) error {
	const together = "give burner_w, efficiency and pot together, or measured_loss_ml_per_h alone"
	given := in.BurnerW != nil
	switch {
	case given != (in.Efficiency != nil):
		return figure.Faultf("efficiency", together, "of burner_w and efficiency only one is given")
	case given != (in.Pot != nil):
		return figure.Faultf("pot", together, "of burner_w and pot only one is given")
	case !given && in.MeasuredLossMlPerH == nil:
		return figure.Faultf("burner_w", together, "nothing tells how fast the water boils away")
	case in.Pot != nil:
		return checkWaterPot(*in.Pot)
	}
	return nil
}

// checkWaterPot checks the vessel.
func checkWaterPot(p WaterPot) error {
	for _, c := range []struct {
		field, mend   string
		value, lo, hi float64
	}{
		{"pot.kg", "weigh the empty pot with its lid, in kilograms", p.Kg, 0.3, 100},
		{"pot.kj_kgk", "give 0.90 for aluminium, 0.49 for stainless steel", p.KJKgK, 0.3, 1.2},
		{"pot.diameter_mm", "measure the outside in millimetres", p.DiameterMM, 100, 1000},
		{"pot.height_mm", "measure the outside in millimetres", p.HeightMM, 80, 1500},
	} {
		if !(c.value >= c.lo && c.value <= c.hi) {
			return figure.Faultf(c.field, c.mend, "%g is outside %g to %g", c.value, c.lo, c.hi)
		}
	}
	return nil
}

// cautions says what may go wrong.
func (b budget) cautions(r WaterResult) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if r.DryAtMin != nil && *r.DryAtMin < b.in.HoldMin {
		add("runs_dry", "The pot runs dry", fmt.Sprintf("%.2g L are gone after %.0f min of a hold of %g min. Pour in at least %.2f L, or turn the heat down. "+
			"A dry pot warps, and its lid can not be trusted afterwards.", b.in.WaterL, *r.DryAtMin, b.in.HoldMin, r.NeededL), figure.Stop)
	} else if b.in.WaterL < r.NeededL {
		add("thin_water", "Less than the reserve is left", fmt.Sprintf("Pour in at least %.2f L.", r.NeededL), figure.Care)
	}
	if b.in.ReserveMl != nil && *b.in.ReserveMl < 500 {
		add("thin_reserve", "A thin reserve", fmt.Sprintf("%.0f mL hardly cover the bottom. One litre is the usual reserve.", *b.in.ReserveMl), figure.Care)
	}
	if b.burner {
		out = append(out, b.burnerCautions(r)...)
	}
	if b.in.MeasuredLossMlPerH == nil {
		add("losses_guessed", "Measure once", "Losses to the room are known to 30 % at best. Measure the water before and after a cook and enter the loss per hour: it replaces the estimate.", figure.Note)
	} else if r.VentL == nil {
		add("vent_unknown", "Venting comes on top", "Ten minutes of venting take 0.1 to 0.3 L more, unless the measured loss has them in.", figure.Care)
	}
	add("never_dry", "Never dry, never refilled under pressure", "Follow the maker's manual if it asks for more water. Never add water under pressure, and never leave the pot unattended.", figure.Note)
	return out
}

// burnerCautions speaks of the power and the depth of the water.
func (b budget) burnerCautions(r WaterResult) []figure.Caution {
	out := potCautions(b.in.potAsk(), b.pot)
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if r.HeatUpMin == nil {
		add("too_weak", "The burner is too weak", fmt.Sprintf("%.0f W get into the pot, and it loses %.0f W at pressure: it never gets there.", b.netW, *r.LossW), figure.Stop)
	}
	if b.in.ThrottleSurplusW == nil && b.in.MeasuredLossMlPerH == nil {
		add("full_burner", "Full heat all through", "A burner left on full boils off several times what is needed. Turn it down as soon as the pressure is reached.", figure.Care)
	}
	out = append(out, hob())
	if b.in.HoldMin > 90 {
		add("long_hold", "A long hold", "Beyond 90 min water is what ends a cook. Have an alarm for it.", figure.Care)
	}
	area := math.Pi / 4 * b.in.Pot.DiameterMM * b.in.Pot.DiameterMM / 1e6 // m2
	if depth := b.in.WaterL / area; depth < 50 {
		add("shallow", "Shallow water", fmt.Sprintf("%.2g L stand %.0f mm deep before the jars are in; home canning asks for 50 to 75 mm, or the maker's larger figure. "+
			"Store litres, not depths: jars displace most of it.", b.in.WaterL, depth), figure.Care)
	}
	return out
}

// working shows the balance.
func (b budget) working(r WaterResult) []figure.Step {
	out := []figure.Step{}
	if b.burner {
		out = append(
			out,
			figure.Step{Step: "heat to warm pot, water and load", Formula: fmt.Sprintf("sum of m c (%.1f - %g)", float64(b.pot.temp), b.in.RoomC), Value: *r.HeatKJ, Unit: "kJ", Source: "heat balance"},
			figure.Step{Step: "loss to the room while holding", Formula: "10 W/m2K x (side + lid) x (T - T_room)", Value: *r.LossW, Unit: "W", Source: "Churchill and Chu with radiation: 8 to 14 W/m2K"},
			figure.Step{Step: "time to pressure", Formula: "-C/(hA) ln(1 - hA (T - T_room)/P)", Value: r.HeatUpMin, Unit: "min", Source: "C dT/dt = P - hA (T - T_room)"},
			figure.Step{Step: "blown off while venting", Formula: "(P - loss) t / h_fg", Value: *r.VentL, Unit: "L", Source: "IAPWS R7-97 and SR1-86 for h_fg"},
		)
	}
	hold := figure.Step{Step: "boiled off while holding", Formula: "surplus x t / h_fg", Value: r.HoldL, Unit: "L", Source: "IAPWS R7-97 and SR1-86 for h_fg"}
	if b.in.MeasuredLossMlPerH != nil {
		hold.Formula, hold.Source = fmt.Sprintf("%g mL/h x %g min", *b.in.MeasuredLossMlPerH, b.in.HoldMin), "measured on this pot"
	}
	return append(
		out, hold,
		figure.Step{Step: "water needed", Formula: "vent + hold + reserve", Value: r.NeededL, Unit: "L", Source: "a pot must never run dry"},
		figure.Step{Step: "dry after", Formula: "(water - vent) / loss per minute", Value: r.DryAtMin, Unit: "min of the hold", Source: ""},
	)
}
