package substrate

// Solution is what is dissolved in a mix that pours.
type Solution struct {
	SugarsGL      *float64           `json:"sugars_g_per_l"`     // anhydrous sugars per litre of the mix
	SugarsAtLeast bool               `json:"sugars_at_least"`    // the sugars of a part are not known: there may be more
	AgarGL        *float64           `json:"agar_g_per_l"`       // agar as weighed; nil if there is none
	JarsPerL      *float64           `json:"fills_of_a_litre"`   // plates, bottles or jars that a litre fills; nil if none gets of it
	SaltsMM       map[string]float64 `json:"salts_mmol_per_l"`   // by formula, what dissolves, without sugars
	DissolvedGL   *float64           `json:"dry_matter_g_per_l"` // all dry matter
	OsmolarityMM  *float64           `json:"osmolarity_mosm_l"`  // particles that can be counted
	OsmoticKPa    *float64           `json:"osmotic_kpa"`        // at 25 °C, ideal
	WaterActivity *float64           `json:"water_activity"`     // 0..1, ideal
	AtLeast       bool               `json:"at_least"`           // matter without a formula is left out: osmotic figures are higher, the water activity is lower
}

const (
	gasConstant = 8.314462618 // J/(mol K), exact product of SI constants. Source: CODATA 2018
	brothKelvin = 298.15      // 25 °C
	waterMolar  = 18.015      // g/mol
)

// OsmoticPressure returns the osmotic pressure in kPa of a solution that
// holds the given moles of particles per litre, at 25 °C.
//
// Ideal and fully dissociated: up to 0.5 osmol/L within about 5 % for sugars,
// about 10 % high for salts of potassium and sodium, up to 40 % high for
// magnesium sulfate (from memory). Not for syrups. Negative or NaN input returns 0 and false.
//
// Source: van 't Hoff, Π = c R T.
func OsmoticPressure(osmolPerL float64) (kPa float64, ok bool) {
	if !(osmolPerL >= 0) {
		return 0, false
	}
	return osmolPerL * gasConstant * brothKelvin, true
}

// solution sums up what is dissolved in m, which pours.
func (m *made) solution() Solution {
	b := &m.whole
	s := Solution{SaltsMM: map[string]float64{}, AtLeast: b.vague > 0}
	if !(b.volume > 0) || b.noWater > 0 {
		s.AtLeast = true
		return s
	}
	liters := b.volume / 1000
	if m.agar > 0 {
		s.AgarGL = ptr(m.agar / liters)
	}
	if m.fillK > 0 {
		s.JarsPerL = ptr(1 / (liters * m.fillK))
	}
	for formula, mmol := range m.salts {
		s.SaltsMM[formula] = mmol / liters
	}
	if s.SugarsAtLeast = b.noSugar > 0; !s.SugarsAtLeast || b.sugar > 0 {
		s.SugarsGL = ptr(b.sugar / liters)
	}
	s.DissolvedGL = ptr((b.mass - b.water) / liters)
	if b.osmoles == 0 && b.vague > 0 { // nothing in it can be counted
		return s
	}
	s.OsmolarityMM = ptr(1000 * b.osmoles / liters)
	if kPa, ok := OsmoticPressure(b.osmoles / liters); ok {
		s.OsmoticKPa = ptr(kPa)
	}
	if b.water > 0 {
		moles := b.water / waterMolar
		s.WaterActivity = ptr(moles / (moles + b.osmoles)) // Raoult
	}
	return s
}

// sumAgar finds the agar in m as weighed, g.
func (m *made) sumAgar() {
	m.agar = 0
	for j := range m.parts {
		switch p := &m.parts[j]; {
		case p.mix != nil:
			m.agar += p.mix.agar * p.grams / p.mix.whole.mass
		case p.ing != nil && p.ing.ID == "agar":
			m.agar += p.grams
		}
	}
}

// sumSalts finds the millimoles of each salt in m, by formula.
func (m *made) sumSalts() {
	m.salts = map[string]float64{}
	for j := range m.parts {
		switch p := &m.parts[j]; {
		case p.mix != nil:
			for formula, mmol := range p.mix.salts { // each formula has a sum of its own
				m.salts[formula] += mmol * p.grams / p.mix.whole.mass
			}
		case p.ing != nil && p.ing.ions > 0 && p.ing.Kind != "sugar" && p.ing.Kind != "syrup":
			m.salts[p.ing.Formula] += 1000 * p.grams * (1 - p.each.water) / p.ing.molar
		}
	}
}
