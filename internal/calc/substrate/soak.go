package substrate

import (
	"fmt"

	"pinset/internal/figure"
)

// SoakInput describes grain that was soaked, simmered or both, and drained.
type SoakInput struct {
	GrainG           float64  `json:"grain_g" jsonschema:"grain as weighed before soaking, above 0"`
	GrainMoisturePct float64  `json:"grain_moisture_pct" jsonschema:"water in the grain before, 0 to below 100 % of its mass"`
	DrainedG         float64  `json:"drained_g" jsonschema:"grain drained and dry on its surface"`
	SolidsLostPct    *float64 `json:"solids_lost_pct,omitempty" jsonschema:"dry matter that stayed in the water; 0 % if left out"`
	TargetPct        *float64 `json:"target_moisture_pct,omitempty" jsonschema:"moisture to reach; asks what the drained grain weighs at it"`
}

// SoakResult is the drained grain.
type SoakResult struct {
	MoisturePct       float64  `json:"moisture_pct"`         // wet basis
	DryG              float64  `json:"dry_g"`                // left in the grain
	TakenUpG          float64  `json:"taken_up_g"`           // water taken up
	WaterPerDry       float64  `json:"water_g_per_g_dry"`    // all water over dry matter
	DrainedForTargetG *float64 `json:"drained_for_target_g"` // what the same grain weighs at the target
}

// soakLimit is the water that immersed wheat holds, g per g of dry matter.
// Source: Becker (1960), Cereal Chemistry 37:309.
const soakLimit = 0.75

// Soak computes the moisture of drained grain from its mass before and
// after. Not for grain to which all liquid is added and stays: see Moisture.
//
// Source: mass balance, 1 - dry (1 - loss) / drained.
func Soak(in SoakInput) (figure.Answer[SoakResult], error) {
	var none figure.Answer[SoakResult]
	if err := in.check(); err != nil {
		return none, err
	}
	lost := 0.0
	if in.SolidsLostPct != nil {
		lost = *in.SolidsLostPct / 100
	}
	dry := in.GrainG * (1 - in.GrainMoisturePct/100) * (1 - lost)
	if !(in.DrainedG >= dry) {
		return none, figure.Faultf("drained_g", "weigh the drained grain again, or check the moisture before", "%g g drained is less than the %.4g g of dry matter in it", in.DrainedG, dry)
	}
	water := in.DrainedG - dry
	r := SoakResult{MoisturePct: 100 * water / in.DrainedG, DryG: dry, TakenUpG: water - in.GrainG*in.GrainMoisturePct/100, WaterPerDry: water / dry}
	a := figure.Answer[SoakResult]{Cautions: []figure.Caution{}, Working: []figure.Step{
		{Step: "dry matter left", Formula: "grain × (1 - moisture) × (1 - loss)", Value: dry, Unit: "g", Source: massBalance},
		{Step: "moisture of the drained grain", Formula: "100 × (drained - dry) / drained", Value: r.MoisturePct, Unit: "%", Source: massBalance},
	}}
	if t := in.TargetPct; t != nil {
		r.DrainedForTargetG = ptr(dry / (1 - *t/100))
		a.Working = append(a.Working, figure.Step{Step: "drained mass at the target", Formula: "dry / (1 - target)", Value: *r.DrainedForTargetG, Unit: "g", Source: massBalance})
	}
	a.Result, a.Cautions = r, append(a.Cautions, in.doubts(r)...)
	return a, nil
}

func (in SoakInput) check() error {
	if !(in.GrainG > 0 && in.GrainG <= maxLineG) {
		return figure.Faultf("grain_g", "write the grain as weighed before it was wetted", "the grain is %g g, it must lie above 0 and up to 100 t", in.GrainG)
	}
	if !(in.GrainMoisturePct >= 0 && in.GrainMoisturePct < 100) {
		return figure.Faultf("grain_moisture_pct", "write a percentage such as 12", "the moisture of the grain is %g %%, it must lie from 0 to below 100 %%", in.GrainMoisturePct)
	}
	if !(in.DrainedG > 0 && in.DrainedG <= maxLineG) {
		return figure.Faultf("drained_g", "write the drained grain as weighed", "the drained grain is %g g, it must lie above 0 and up to 100 t", in.DrainedG)
	}
	if l := in.SolidsLostPct; l != nil && !(*l >= 0 && *l <= 50) {
		return figure.Faultf("solids_lost_pct", "write the loss of dry matter, such as 3", "the loss is %g %% of the dry matter, it must lie from 0 to 50 %%", *l)
	}
	if t := in.TargetPct; t != nil && !(*t > 0 && *t < 100) {
		return figure.Faultf("target_moisture_pct", "write a percentage such as 50", "the target is %g %%, it must lie above 0 and below 100 %%", *t)
	}
	return nil
}

func (in SoakInput) doubts(r SoakResult) []figure.Caution {
	var out []figure.Caution
	if in.SolidsLostPct == nil {
		out = append(out, figure.Caution{
			Code: "solids_lost", Title: "Loss in the water not counted", Weight: figure.Note,
			Text: "Soaking and boiling wash out starch, sugars and nitrogen. Without the loss the true moisture is a little higher than computed; dry a sample to know.",
		})
	}
	if r.WaterPerDry > soakLimit {
		out = append(out, figure.Caution{
			Code: "beyond_soaking", Title: "More than soaking alone takes up", Weight: figure.Note,
			Text: fmt.Sprintf("The grain holds %.2f g of water per g of dry matter; wheat that is only soaked stops at about %.2f (Becker 1960). It was cooked, or water still hangs on it: spread it until no grain is shiny.", r.WaterPerDry, soakLimit),
		})
	}
	if r.TakenUpG < 0 {
		out = append(out, figure.Caution{
			Code: "dried", Title: "Lighter than before", Weight: figure.Care,
			Text: "The grain holds less water than before it was wetted. Check the weighings.",
		})
	}
	return out
}
