package lab

import (
	"slices"

	"pinset/internal/figure"
)

// CookItem is what stands in a cook and belongs to no batch: bottles of
// broth, tools, jars for somebody else.
type CookItem struct {
	Entry
	Cook    CookID
	Name    string // such as "agar bottles"
	Count   int
	Figures ItemFigures
}

// ItemKind is how an item takes heat.
type ItemKind string

// The kinds of item.
const (
	LiquidItem ItemKind = "liquid" // stirs itself as it warms
	FillItem   ItemKind = "fill"   // a substrate, which conducts
	ToolItem   ItemKind = "tools"
)

// ItemKinds lists the kinds in the order that pages offer them.
var ItemKinds = []ItemKind{LiquidItem, FillItem, ToolItem}

// ItemFigures are what is known of one piece of an item; 0 is not known.
type ItemFigures struct {
	Kind      ItemKind `json:"kind"`
	Container string   `json:"container,omitempty"` // its name, as the records know it
	Layer     int      `json:"layer,omitempty"`
	Fill      float64  `json:"fill_ml,omitempty"`  // of a liquid
	FillMM    float64  `json:"fill_mm,omitempty"`  // height of a substrate
	Grams     float64  `json:"grams,omitempty"`    // of a substrate, wet; of a tool
	Moisture  float64  `json:"moisture,omitempty"` // share of the wet mass of a substrate
	Empty     float64  `json:"empty_g,omitempty"`  // the vessel
	Stacked   int      `json:"stacked,omitempty"`  // bags that lie on each other without a gap; 0 or 1 is none
}

// Check returns i with its texts tidied, or an Invalid Problem.
func (i CookItem) Check() (CookItem, error) {
	var err error
	if i.Name, err = Name("item", i.Name); err != nil {
		return CookItem{}, err
	}
	if i.Count < 1 || i.Count > 2000 {
		return CookItem{}, Invalidf("count", "count the pieces", "%d pieces are out of the range 1 to 2000", i.Count)
	}
	f := i.Figures
	if !slices.Contains(ItemKinds, f.Kind) {
		return CookItem{}, Invalidf("kind", "choose liquid, fill or tools", "%q is not a kind of item", figure.Clip(string(f.Kind), 40))
	}
	if f.Layer < 0 || f.Layer > 20 {
		return CookItem{}, Invalidf("layer", "count the layers from the bottom", "layer %d is out of the range 0 to 20", f.Layer)
	}
	if f.Stacked < 0 || f.Stacked > 10 {
		return CookItem{}, Invalidf("stacked", "count the bags that lie on each other, or leave it blank if each lies on a rack", "a stack of %d is out of the range 1 to 10", f.Stacked)
	}
	if f.Stacked > 1 && f.Kind != FillItem {
		return CookItem{}, Invalidf("stacked", "leave it blank, or choose jars or bags of substrate", "only bags of substrate lie on each other, and this is %s", f.Kind)
	}
	for _, m := range []struct {
		field string
		v, hi float64
		unit  string
	}{
		{"fill", f.Fill, 20000, "mL"},
		{"fill", f.FillMM, 600, "mm"},
		{"mass", f.Grams, 50000, "g"},
		{"moisture", 100 * f.Moisture, 95, "%"},
		{"empty", f.Empty, 20000, "g"},
	} {
		if !(m.v >= 0 && m.v <= m.hi) {
			return CookItem{}, Invalidf(m.field, "measure one piece again, and check its unit", "%.4g %s is out of the range 0 to %g %s", m.v, m.unit, m.hi, m.unit)
		}
	}
	return i, nil
}
