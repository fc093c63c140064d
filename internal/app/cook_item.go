package app

import (
	"context"
	"fmt"
	"math"
	"strings"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// NewItem is what stands in a cook and belongs to no batch, as typed.
type NewItem struct {
	Name      string
	Count     int
	Kind      string // one of lab.ItemKinds
	Container string // a container of the records, "" if none
	Layer     int    // from 1, the bottom; 0 not said
	Fill      string // of a liquid such as "375 mL"; of a substrate its height, such as "60 mm"
	Mass      string // of a substrate, wet, or of a tool; in one piece
	Moisture  string // of a substrate, such as "60%"
	Empty     string // mass of the empty vessel
	Stacked   int    // bags that lie on each other; 0 or 1 is none
	Mixed     bool   // vessels of two sizes may stand in this cook
}

// AddCookItem writes down what else stands in the cook called name.
func (f *Farm) AddCookItem(ctx context.Context, a Act, name string, n NewItem) (lab.CookItem, error) {
	item, err := n.item()
	if err != nil {
		return item, err
	}
	return item, f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CookByName(ctx, name)
		if err != nil {
			return err
		}
		if item.Figures.Container != "" {
			kept, err := w.ContainerByName(ctx, item.Figures.Container)
			if err != nil {
				return nameless("container", err)
			}
			item.Figures.Container = kept.Name
		}
		if err := checkItem(ctx, w, c, item, n.Mixed); err != nil {
			return err
		}
		deed, err := f.deed(a, "", "%s: %d %s", c, item.Count, item.Name)
		if err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		item.Entry, item.Cook = entryOf(deed, lab.At(deed.Entered)), c.ID
		return w.AddCookItems(ctx, []lab.CookItem{item})
	})
}

// item reads what was typed.
func (n NewItem) item() (lab.CookItem, error) {
	i := lab.CookItem{Name: n.Name, Count: n.Count, Figures: lab.ItemFigures{
		Kind: lab.ItemKind(lab.NameKey(n.Kind)), Container: strings.TrimSpace(n.Container), Layer: n.Layer, Stacked: n.Stacked,
	}}
	f := &i.Figures
	fill, unit := &f.Fill, "mL"
	if f.Kind == lab.FillItem {
		fill, unit = &f.FillMM, "mm"
	}
	for _, m := range []struct {
		field, typed, unit string
		to                 *float64
	}{{"fill", n.Fill, unit, fill}, {"mass", n.Mass, "g", &f.Grams}, {"moisture", n.Moisture, "%", &f.Moisture}, {"empty", n.Empty, "g", &f.Empty}} {
		if strings.TrimSpace(m.typed) == "" {
			continue
		}
		q, err := units.ParseIn(m.typed, m.unit)
		if err != nil {
			return i, atField(m.field, err)
		}
		*m.to = q.Value
	}
	return i.Check()
}

// checkItem refuses an item that does not fit: over the rim, of another size
// than what stands there, or higher than the cooker.
func checkItem(ctx context.Context, r store.Reader, c lab.Cook, item lab.CookItem, mixed bool) error {
	if item.Figures.Container == "" {
		return nil
	}
	own, err := r.ContainerByName(ctx, item.Figures.Container)
	if err != nil {
		return err
	}
	if v := float64(own.Volume); v > 0 && item.Figures.Fill > v {
		return lab.Invalidf("fill", fmt.Sprintf("fill to three quarters, %.0f mL: liquids rise and boil over", 0.75*v), "%.0f mL do not go into %s of %.0f mL", item.Figures.Fill, own.Name, v)
	}
	if h := float64(own.Height); h > 0 && item.Figures.FillMM > h {
		return lab.Invalidf("fill", "measure the height of the substrate, not of the vessel", "%.0f mm of fill do not go into %s of %.0f mm", item.Figures.FillMM, own.Name, h)
	}
	stack, err := stackOf(ctx, r, c)
	if err != nil {
		return err
	}
	if other := stack.otherSize(own); other != "" && !mixed {
		return lab.Invalidf("container", "cook them apart, or say that two sizes may stand in this cook: the slowest one then sets its hold",
			"%s holds %s already, and %s is another size", c, other, own.Name)
	}
	stack.put(item.Figures.Layer, own, item.Count)
	cooker, err := cookerOf(ctx, r, c.Cooker)
	if err != nil || cooker == nil {
		return err
	}
	return stack.checkHeight("container", *cooker)
}

// Heats of what is not substrate, kJ/kgK: water as the mean of 20 to 121 °C
// by steam tables; wet grain by Choi and Okos; steel from memory.
const liquidHeat, fillHeat, toolHeat = 4.20, 3.05, 0.49

// addItems counts what belongs to no batch into the heat, the water and the
// cores of a cook.
func (f *Farm) addItems(ctx context.Context, r store.Reader, facts *cookFacts) error {
	for _, i := range facts.items {
		x, n := i.Figures, float64(i.Count)
		facts.glassKg += n * x.Empty / 1000
		switch x.Kind {
		case lab.LiquidItem:
			facts.warm(n*x.Fill/1000, liquidHeat)
		case lab.ToolItem:
			facts.warm(n*x.Grams/1000, toolHeat)
		case lab.FillItem:
			facts.warm(n*x.Grams/1000, fillHeat)
		}
		var own lab.Container
		if x.Container != "" {
			var err error
			if own, err = r.ContainerByName(ctx, x.Container); err != nil {
				return err
			}
		}
		facts.itemCore(i, own)
	}
	return nil
}

// warm counts mass in kg with its heat in kJ/kgK.
func (c *cookFacts) warm(kg, heat float64) {
	c.loadKg += kg
	c.loadKJK += kg * heat
}

// itemCore reckons an item as a vessel if it conducts, and says what it asks
// for otherwise.
func (c *cookFacts) itemCore(i lab.CookItem, own lab.Container) {
	x := i.Figures
	switch x.Kind {
	case lab.LiquidItem:
		if x.Fill == 0 || own.Bore <= 0 {
			c.missing = append(c.missing, fmt.Sprintf("How much is in each of the %s, or how wide they are, is not said: their heat and core are not reckoned.", i.Name))
			return
		}
		v := newVessel(own, i.Name, x.Fill*1000/(math.Pi/4*float64(own.Bore*own.Bore)), 100)
		v.Jars, v.container.Count, v.measured = i.Count, i.Count, true
		v.stir()
		c.vessels = append(c.vessels, v)
		if v := float64(own.Volume); v > 0 && x.Fill > 0.75*v+1 {
			c.itemDoubts = append(c.itemDoubts, figure.Caution{
				Code: "too_full", Title: "Too full of liquid", Weight: figure.Stop,
				Text: fmt.Sprintf("%.0f mL in %s of %.0f mL: more than three quarters boils over as the pressure falls. Fill each of the %s to %.0f mL at most.", x.Fill, own.Name, v, i.Name, 0.75*v),
			})
		}
	case lab.ToolItem:
		c.itemDoubts = append(c.itemDoubts, figure.Caution{
			Code: "tools", Title: "Tools must let steam in", Weight: figure.Care,
			Text: fmt.Sprintf("The %s are counted for heat, and no core is reckoned. Tight foil or a shut jar keeps air in, and dry air needs hours where steam needs minutes: leave a way for steam, or a spoon of water inside.", i.Name),
		})
	case lab.FillItem:
		if own.Bore <= 0 || x.FillMM < 5 || x.Moisture < 0.05 {
			c.missing = append(c.missing, fmt.Sprintf("The core of the %s is not reckoned: say their container with its bore, the height of the fill and its moisture.", i.Name))
			return
		}
		v := newVessel(own, i.Name, x.FillMM, 100*x.Moisture)
		v.Jars, v.container.Count, v.measured, v.container.Stacked = i.Count, i.Count, true, x.Stacked
		if x.Grams > 0 && !v.weigh(x.Grams) {
			c.missing = append(c.missing, fmt.Sprintf("%.4g g do not stand %.0f mm high in %s: measure one of the %s again.", x.Grams, x.FillMM, own.Name, i.Name))
		}
		c.vessels = append(c.vessels, v)
	}
}

// newVessel is a container filled to depth mm with something of a moisture.
func newVessel(c lab.Container, mix string, depth, moisturePct float64) CookVessel {
	shape, material := "cylinder", "glass"
	if c.Kind == "bag" {
		shape = "block"
	}
	if c.Kind == "bag" || c.Kind == "tub" {
		material = "polypropylene"
	}
	v := CookVessel{Name: c.Name, Recipe: mix, BoreMM: float64(c.Bore), FillMM: depth, bag: c.Kind == "bag", of: c.ID}
	v.container = thermal.Container{BoreMM: v.BoreMM, FillMM: depth, Shape: shape, Material: material}
	if c.Height > 0 {
		head := min(max(float64(c.Height)-depth, 0), 300)
		v.container.HeadspaceMM = &head
	}
	v.substrate = thermal.Substrate{MoisturePct: &moisturePct}
	return v
}

// weigh takes the grams that were weighed in one vessel: with its sizes they
// give the density, and so the pores of the fill. It reports whether a fill
// can have that density.
func (v *CookVessel) weigh(grams float64) bool {
	area := v.BoreMM * v.BoreMM
	if v.container.Shape != "block" {
		area *= math.Pi / 4
	}
	density := grams / (area * v.FillMM) * 1e6 // g/mm3 to kg/m3
	v.WeighedG, v.substrate.DensityKgM3 = nil, nil
	if !(density >= 100 && density <= 1600) {
		return false
	}
	v.WeighedG, v.substrate.DensityKgM3 = &grams, &density
	return true
}

// stir takes the contents as a liquid, which has one temperature all through.
func (v *CookVessel) stir() {
	v.mode, v.container.HeadspaceMM = "liquid", nil
	if m := v.substrate.MoisturePct; m == nil || *m >= 100 {
		v.substrate.MoisturePct = nil
	}
}
