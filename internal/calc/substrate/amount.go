package substrate

import (
	"strings"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// amountKind is how an amount of a line is meant.
type amountKind int

const (
	byMass  amountKind = iota // grams, whatever was typed
	byShare                   // a share of the mix
	byParts                   // parts by weight
	theRest                   // what is left
)

// amount is an amount as read: grams, a share 0..1, or parts.
type amount struct {
	kind amountKind
	x    float64
	how  string // how a measure became grams, "" if it was a mass
}

// measured is a line's ingredient, or another mix, seen as something to
// measure out.
type measured struct {
	name  string
	ing   *Ingredient // nil for a mix and for an unknown ingredient
	line  *Line
	whole *blend // a mix that is used as an ingredient
}

// read reads the amount of a line. Faults carry the field.
func (m measured) read(typed, field string) (amount, error) {
	switch strings.ToLower(strings.TrimSpace(typed)) {
	case "rest", "the rest", "remainder":
		return amount{kind: theRest}, nil
	}
	if a, ok, err := m.pieces(typed, field); ok || err != nil {
		return a, err
	}
	q, err := units.Parse(typed)
	if err != nil {
		return amount{}, units.At(field, err)
	}
	if !(q.Value > 0) {
		return amount{}, figure.Faultf(field, "write an amount above 0, or take the line out", "the amount of %s is %s", m.name, quoted(typed))
	}
	switch q.Dim {
	case units.Mass:
		return limited(amount{kind: byMass, x: q.Value}, typed, field)
	case units.Volume:
		density, how, err := m.density(q, field)
		if err != nil {
			return amount{}, err
		}
		return limited(amount{kind: byMass, x: q.Value * density, how: how}, typed, field)
	case units.Share:
		if q.Value > 1 {
			return amount{}, figure.Faultf(field, "write a share of the whole mix, up to 100 %", "%s is more than the whole mix", quoted(typed))
		}
		return amount{kind: byShare, x: q.Value}, nil
	case units.Parts:
		return amount{kind: byParts, x: q.Value}, nil
	}
	return amount{}, figure.Faultf(field, "add the unit, such as g, mL, % or parts", "the amount %s of %s is no mass, volume, share or number of parts", quoted(typed), m.name)
}

func limited(a amount, typed, field string) (amount, error) {
	if !(a.x <= maxLineG) {
		return amount{}, figure.Faultf(field, "check the number and its unit", "%s is more than %.0f kg, the most that one line may be", quoted(typed), maxLineG/1000)
	}
	return a, nil
}

// pieces reads "2 large" and "1 packet" where the table weighs such a piece.
func (m measured) pieces(typed, field string) (amount, bool, error) {
	if m.ing == nil || len(m.ing.Measures) == 0 {
		return amount{}, false, nil
	}
	n, words, err := units.Number(typed)
	if err != nil {
		return amount{}, false, nil // units.Parse says it better
	}
	k := normal(words)
	for _, drop := range []string{" eggs", " egg", " yolks", " whites"} {
		k = strings.TrimSuffix(k, drop)
	}
	switch {
	case k == "xl" || k == "x large":
		k = "extra large"
	case m.ing.Kind == "egg" && (k == "" || k == "egg" || k == "eggs"):
		return amount{}, true, figure.Faultf(field, "add the size, such as 2 large, or weigh them", "%s of %s does not say how large", quoted(typed), m.name)
	}
	for _, x := range m.ing.Measures {
		if measureML[x.Name] > 0 || k != x.Name && k != x.Name+"s" {
			continue
		}
		if !(n > 0) {
			return amount{}, true, figure.Faultf(field, "write an amount above 0, or take the line out", "the amount of %s is %s", m.name, quoted(typed))
		}
		a, err := limited(amount{kind: byMass, x: n * x.Grams, how: "each " + gramText(x.Grams) + ", " + m.ing.citeMeasure()}, typed, field)
		return a, true, err
	}
	return amount{}, false, nil
}

// density is what a mL of m weighs as measured out in q's unit.
func (m measured) density(q units.Quantity, field string) (gPerML float64, how string, err error) {
	switch {
	case m.line != nil && m.line.DensityGML != nil:
		return *m.line.DensityGML, "density as given", nil
	case m.whole != nil && m.whole.liquid():
		return m.whole.mass / m.whole.volume, "density of the mix from its parts", nil
	case m.ing == nil:
	case m.ing.Kind == "water":
		return waterDensity, "1 mL of water taken as 1 g", nil
	default:
		if g, ml, name := m.ing.measureFor(q.Unit); g > 0 {
			return g / ml, "1 " + name + " taken as " + gramText(g) + ", " + m.ing.citeMeasure(), nil
		}
		if fluids[m.ing.Kind] {
			b := m.ing.perGram(m.line)
			return b.mass / b.volume, "density from its parts, Choi and Okos (1986)", nil
		}
	}
	return 0, "", figure.Faultf(field, "weigh it and write grams, or give its density_g_ml", "%s of %s can not be turned into grams: no density is known", quoted(q.Typed), m.name)
}

// measureFor is the table's measure of the unit typed, or else of the
// largest measure it knows.
func (ing *Ingredient) measureFor(unit string) (grams, ml float64, name string) {
	for _, m := range ing.Measures {
		if v := measureML[m.Name]; v > 0 && (m.Name == unit || v > ml) {
			grams, ml, name = m.Grams, v, m.Name
			if m.Name == unit {
				return grams, ml, name
			}
		}
	}
	return grams, ml, name
}
