package substrate

import (
	"fmt"

	"pinset/internal/figure"
	"pinset/internal/units"
)

func gramText(g float64) string { return units.Gram(g).String() }

// cite names where the figures of ing are from.
func (ing *Ingredient) cite() string {
	switch ing.Source {
	case "SR28":
		return "USDA SR28, NDB " + ing.Number
	case "memory":
		return "from memory"
	case "atomic weights":
		return "from its formula, IUPAC 2021 atomic weights"
	}
	if ing.Number == "" {
		return ing.Source
	}
	return ing.Source + ", " + ing.Number
}

// citeMeasure names where the weights of cups, spoons and pieces are from.
func (ing *Ingredient) citeMeasure() string {
	if ing.Source == "SR28" {
		return ing.cite()
	}
	return "common practice, no source"
}

const massBalance = "mass balance"

// working writes down how the figures came to be.
func (b *batch) working(r *SubstrateResult, jar *blend) []figure.Step {
	var steps []figure.Step
	add := func(step, formula string, value *float64, unit, source string) {
		s := figure.Step{Step: step, Formula: formula, Unit: unit, Source: source}
		if value != nil { // else it is not known, and says so
			s.Value = *value
		}
		steps = append(steps, s)
	}
	addKnown := func(step, formula string, value *float64, unit, source string) {
		if value != nil {
			add(step, formula, value, unit, source)
		}
	}
	for i := range b.mixes {
		m := &b.mixes[i]
		for j := range m.parts {
			steps = append(steps, m.parts[j].step(m))
		}
		if m.fillK > 0 {
			add("mix "+m.mix.Name+" in one jar", "as filled", ptr(m.whole.mass*m.fillK), "g", massBalance)
		}
	}
	if b.beyond != nil {
		add("water beyond the recipe, per jar", "dry / (1 - target) - wet", b.beyond, "g", massBalance)
	}
	add("one jar, wet", "sum of its mixes", &jar.mass, "g", massBalance)
	add("one jar, water", "sum of moisture × mass", unlessAny(jar.water, jar.noWater), "g", "moisture of each row, or as measured")
	add("one jar, dry", "wet - water", r.PerJar.DryG, "g", massBalance)
	add("moisture of the jar", "100 × water / wet", r.PerJar.MoisturePct, "%", "wet basis")
	add("nitrogen of the jar", "sum of protein / factor, or of nitrogen", r.PerJar.NG, "g", "factor of each row")
	add("carbon of the jar", "sum of carbon, carbonates left out", r.PerJar.CG, "g", "estimate 0.53 protein + 0.765 fat + 0.444 carbohydrate without sugars + 0.42 sugars")
	add("ash of the jar", "sum of ash; salts and carbonates count whole", r.PerJar.AshG, "g", "ash of each row, or as measured")
	add("fat of the jar", "sum of fat", r.PerJar.FatG, "g", "fat of each row, or as measured")
	if r.SteamOff != nil {
		steps = append(steps, r.SteamOff.step())
	}
	add("C:N", "carbon / nitrogen", r.PerJar.CN, "g/g", massBalance)
	addKnown("liquid to grain", "mL of liquid / g of grain as weighed", r.PerJar.MLPerG, "mL/g", massBalance)
	addKnown("depth", "larger of volume without air and as scooped, over the area", r.PerJar.DepthMM, "mm", "Choi and Okos (1986) densities, from memory; USDA measures")
	addKnown("surface", "area of the bore", r.SurfaceCM2, "cm²", "geometry")
	addKnown("headspace", "height - depth", r.HeadspaceMM, "mm", "geometry")
	add("moisture on dry", "100 × water / dry", r.PerJar.MoisturePctDry, "%", "dry basis")
	for i := range b.mixes {
		name := b.mixes[i].mix.Name
		if broth, ok := r.Broth[name]; ok {
			addKnown("sugars of "+name, "sum of sugars / volume, anhydrous", broth.SugarsGL, "g/L", "USDA SR28 sugars from memory, or as measured; sugars by formula")
			addKnown("agar of "+name, "agar as weighed / volume", broth.AgarGL, "g/L", massBalance)
			addKnown("osmotic pressure of "+name, "Π = c R T", broth.OsmoticKPa, "kPa", "van 't Hoff, ideal, 25 °C")
			addKnown("water activity of "+name, "n(water) / (n(water) + n(particles))", broth.WaterActivity, "", "Raoult, ideal")
		}
	}
	addKnown("cost of a jar", "sum of mass × price, reserve included", r.CostPerJar, "", "prices of the lots")
	addKnown("LC for each kg", "mL per jar / kg as filled", r.PerJar.LCMLPerKg, "mL/kg", massBalance)
	add("batch, all told", fmt.Sprintf("for %d, with the reserve", b.in.Jars), &r.TotalG, "g", massBalance)
	return steps
}

// step says how a line became grams and what it holds.
func (p *part) step(m *made) figure.Step {
	s := figure.Step{Step: m.mix.Name + ": " + p.label, Value: p.grams * m.needK, Unit: "g", Source: "as typed, figures unknown"}
	switch p.amount.kind {
	case byMass:
		s.Formula = p.line.Amount
	case byShare:
		s.Formula = p.line.Amount + " of the mix"
	case byParts:
		s.Formula = p.line.Amount + ", by weight"
	case theRest:
		s.Formula = "what is left of the mix"
	}
	if p.ing != nil && m.filler >= 0 && p == &m.parts[m.filler] {
		s.Formula = "made up to " + m.mix.MakeUpTo + ", less what the other parts displace"
	}
	if p.amount.how != "" {
		s.Formula += "; " + p.amount.how
	}
	switch {
	case p.mix != nil:
		s.Source = "mix " + p.mix.mix.Name
	case p.ing != nil:
		s.Source = p.ing.Name + ": " + p.ing.cite()
	}
	return s
}

func unlessAny(x, unknown float64) *float64 {
	if unknown > 0 {
		return nil
	}
	return &x
}
