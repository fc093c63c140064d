package substrate

// Solution is what is dissolved in a mix that pours.
type Solution struct {
	SugarsGL      *float64 `json:"sugars_g_per_l"`     // anhydrous sugars per litre of the mix
	OsmolarityMM  *float64 `json:"osmolarity_mosm_l"`  // dissolved particles that can be counted
	OsmoticKPa    *float64 `json:"osmotic_kpa"`        // at 25 °C, ideal
	WaterActivity *float64 `json:"water_activity"`     // 0..1, ideal
	LowerBound    bool     `json:"at_least"`           // matter without a formula is left out: true osmotic figures are higher, the water activity lower
	DissolvedGL   *float64 `json:"dry_matter_g_per_l"` // all dry matter per litre
}

const (
	gasConstant = 8.314462618 // J/(mol K), exact product of SI constants. Source: CODATA 2018
	brothKelvin = 298.15      // 25 °C
	waterMolar  = 18.015      // g/mol
)

// OsmoticPressure returns the osmotic pressure in kPa of a solution that
// holds the given moles of particles per litre, at 25 °C.
//
// Ideal and fully dissociated: within about 5 % up to 0.5 osmol/L. Not for
// syrups. Negative or NaN input returns 0 and false.
//
// Source: van 't Hoff, Π = c R T.
func OsmoticPressure(osmolPerL float64) (kPa float64, ok bool) {
	if !(osmolPerL >= 0) {
		return 0, false
	}
	return osmolPerL * gasConstant * brothKelvin, true
}

// solution sums up what is dissolved in b, which pours.
func (b *blend) solution() Solution {
	if !(b.volume > 0) || b.noWater > 0 {
		return Solution{LowerBound: true}
	}
	liters := b.volume / 1000
	s := Solution{
		SugarsGL:     ptr(b.sugar / liters),
		OsmolarityMM: ptr(1000 * b.osmoles / liters),
		DissolvedGL:  ptr((b.mass - b.water) / liters),
		LowerBound:   b.vague > 0,
	}
	if kPa, ok := OsmoticPressure(b.osmoles / liters); ok {
		s.OsmoticKPa = ptr(kPa)
	}
	if b.water > 0 {
		moles := b.water / waterMolar
		s.WaterActivity = ptr(moles / (moles + b.osmoles)) // Raoult
	}
	return s
}
