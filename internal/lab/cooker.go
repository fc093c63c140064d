package lab

import (
	"pinset/internal/units"
)

// Cooker is what is known of one pressure vessel. A later entry of the same
// name succeeds the earlier ones.
type Cooker struct {
	Entry
	Name    string
	Figures CookerFigures
}

// CookerFigures are the figures of a cooker; nil ones are not known.
type CookerFigures struct {
	RatedPsi     *float64         `json:"rated_psi,omitempty"` // nameplate
	DiameterMM   *float64         `json:"diameter_mm,omitempty"`
	HeightMM     *float64         `json:"height_mm,omitempty"`
	MassKg       *float64         `json:"mass_kg,omitempty"` // empty, with its lid
	Steel        bool             `json:"steel,omitempty"`   // else aluminium
	BurnerW      *float64         `json:"burner_w,omitempty"`
	ReadsHighPsi *float64         `json:"reads_high_psi,omitempty"` // how much more the gauge shows than there is
	LossMlH      *float64         `json:"loss_ml_h,omitempty"`      // water boiled off in an hour of hold, measured
	HeatUpMin    *units.Minute    `json:"heat_up_min,omitempty"`    // from heat on to the target, measured
	Holds        []CookerCapacity `json:"holds,omitempty"`
}

// CookerCapacity is how many vessels of one kind stand in a layer, as counted.
type CookerCapacity struct {
	Container string `json:"container"`
	PerLayer  int    `json:"per_layer"`
	Layers    int    `json:"layers"`
}

// Check returns c with its name tidied, or an Invalid Problem.
func (c Cooker) Check() (Cooker, error) {
	var err error
	if c.Name, err = Name("cooker", c.Name); err != nil {
		return Cooker{}, err
	}
	f := c.Figures
	for _, m := range []struct {
		field     string
		v         *float64
		low, high float64
		unit      string
	}{
		{"rated", f.RatedPsi, 1, 50, "psi"},
		{"diameter", f.DiameterMM, 100, 1500, "mm"},
		{"height", f.HeightMM, 50, 2000, "mm"},
		{"mass", f.MassKg, 0.5, 500, "kg"},
		{"burner", f.BurnerW, 100, 20000, "W"},
		{"reads_high", f.ReadsHighPsi, -5, 5, "psi"},
		{"loss", f.LossMlH, 0, 20000, "mL/h"},
		{"heat_up", (*float64)(f.HeatUpMin), 1, 600, "min"},
	} {
		if m.v != nil && !(*m.v >= m.low && *m.v <= m.high) {
			return Cooker{}, Invalidf(m.field, "read it off again, and check its unit", "%.4g %s is out of the range %g to %g %s", *m.v, m.unit, m.low, m.high, m.unit)
		}
	}
	for _, h := range f.Holds {
		if h.Container == "" || h.PerLayer < 1 || h.PerLayer > 500 || h.Layers < 1 || h.Layers > 20 {
			return Cooker{}, Invalidf("holds", "write it like: pint jar 7 x 2, for 7 in a layer and 2 layers", "%d in each of %d layers can not be", h.PerLayer, h.Layers)
		}
	}
	return c, nil
}

// CookerNow returns the newest entry of the cooker called name that holds,
// and whether there is one.
func CookerNow(cookers []Cooker, name string) (Cooker, bool) {
	var found Cooker
	ok := false
	for _, c := range Current(cookers) {
		if NameKey(c.Name) == NameKey(name) {
			found, ok = c, true
		}
	}
	return found, ok
}
