package lab

import (
	"fmt"
	"slices"
	"strconv"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// CookerKind is how a cooker shows that it is at its target. "" is not said.
type CookerKind string

// The kinds of cooker.
const (
	WeightCooker CookerKind = "weight"    // a weight that rocks at one pressure
	DialCooker   CookerKind = "dial"      // a dial gauge
	Steamer      CookerKind = "steamer"   // no pressure: steam at the boiling point of the place
	Autoclave    CookerKind = "autoclave" // set to a temperature
)

// CookerKinds lists the kinds in the order that pages offer them.
var CookerKinds = []CookerKind{WeightCooker, DialCooker, Steamer, Autoclave}

// Label says the kind in words.
func (k CookerKind) Label() string {
	switch k {
	case WeightCooker:
		return "pot with a rocking weight"
	case DialCooker:
		return "pot with a dial gauge"
	case Steamer:
		return "steamer without pressure"
	case Autoclave:
		return "autoclave set in °C"
	}
	return "pressure pot"
}

// Cooker is what is known of one pressure vessel. A later entry of the same
// name succeeds the earlier ones.
type Cooker struct {
	Entry
	Name    string
	Figures CookerFigures
}

// CookerFigures are the figures of a cooker; nil ones are not known.
type CookerFigures struct {
	Kind         CookerKind       `json:"kind,omitempty"`
	RatedPsi     *float64         `json:"rated_psi,omitempty"` // nameplate
	DiameterMM   *float64         `json:"diameter_mm,omitempty"`
	HeightMM     *float64         `json:"height_mm,omitempty"`
	MassKg       *float64         `json:"mass_kg,omitempty"` // empty, with its lid
	Steel        bool             `json:"steel,omitempty"`   // else aluminium
	BurnerW      *float64         `json:"burner_w,omitempty"`
	RoomMM       *float64         `json:"room_mm,omitempty"`        // inside, from the rack to the lid
	BoreMM       *float64         `json:"bore_mm,omitempty"`        // inner diameter
	DividerMM    *float64         `json:"divider_mm,omitempty"`     // thickness of the plate between two layers
	ReadsHighPsi *float64         `json:"reads_high_psi,omitempty"` // how much more the gauge shows than there is
	GaugeTested  string           `json:"gauge_tested,omitempty"`   // day of the last test, such as "2026-03-02"
	LossMlH      *float64         `json:"loss_ml_h,omitempty"`      // water boiled off in an hour of hold, measured
	HeatUpMin    *units.Minute    `json:"heat_up_min,omitempty"`    // from heat on to the target, measured
	Holds        []CookerCapacity `json:"holds,omitempty"`
}

// kPaPerPsi is exact to its last digit (NIST SP 811, 2008).
const kPaPerPsi = 6.894757

// Rating says the rated pressure as nameplates write it, "15 psi, 103 kPa".
func (f CookerFigures) Rating() string {
	if f.RatedPsi == nil {
		return ""
	}
	return fmt.Sprintf("%.4g psi, %.0f kPa", *f.RatedPsi, *f.RatedPsi*kPaPerPsi)
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
	if f.Kind != "" && !slices.Contains(CookerKinds, f.Kind) {
		return Cooker{}, Invalidf("kind", "choose weight, dial, steamer or autoclave", "%q is not a kind of cooker", figure.Clip(string(f.Kind), 40))
	}
	for _, m := range []struct {
		field     string
		v         *float64
		low, high float64
		unit      string
	}{
		{"rated", f.RatedPsi, 1, 50, "psi"},
		{"diameter", f.DiameterMM, 100, 1500, "mm"},
		{"height", f.HeightMM, 50, 2000, "mm"},
		{"room", f.RoomMM, 50, 2000, "mm"},
		{"bore", f.BoreMM, 80, 1500, "mm"},
		{"divider", f.DividerMM, 0, 100, "mm"},
		{"mass", f.MassKg, 0.5, 500, "kg"},
		{"burner", f.BurnerW, 100, 20000, "W"},
		{"reads_high", f.ReadsHighPsi, -5, 5, "psi"},
		{"loss", f.LossMlH, 0, 20000, "mL/h"},
		{"heat_up", (*float64)(f.HeatUpMin), 1, 600, "min"},
	} {
		if m.v != nil && !(*m.v >= m.low && *m.v <= m.high) {
			return Cooker{}, Invalidf(m.field, "read it off again, and check its unit", "%s %s is out of the range %g to %g %s", strconv.FormatFloat(*m.v, 'f', -1, 64), m.unit, m.low, m.high, m.unit)
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
