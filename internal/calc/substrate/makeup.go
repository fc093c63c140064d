package substrate

import (
	"pinset/internal/figure"
	"pinset/internal/units"
)

// weighMadeUp weighs a mix that is made up to a volume or a mass: by the
// line that is the rest, or by water.
func (m *made) weighMadeUp() error {
	field := m.field + ".make_up_to"
	q, err := units.Parse(m.mix.MakeUpTo)
	if err != nil {
		return units.At(field, err)
	}
	if q.Dim != units.Volume && q.Dim != units.Mass || !(q.Value > 0) {
		return figure.Faultf(field, "write a volume such as 1 L, or a mass such as 5 kg", "the mix %s is made up to %s", quoted(m.mix.Name), quoted(m.mix.MakeUpTo))
	}
	if !(q.Value <= maxLineG) {
		return figure.Faultf(field, "check the number and its unit", "the mix %s is made up to %s, more than 100 t", quoted(m.mix.Name), quoted(m.mix.MakeUpTo))
	}
	m.toVolume = q.Dim == units.Volume
	s, err := m.sums()
	if err != nil {
		return err
	}
	if m.mix.PercentOf == "dry" && s.share > 0 {
		return figure.Faultf(m.field+".percent_of", "write percent_of weight, or leave make_up_to out", "shares of dry matter do not go with make_up_to in the mix %s", quoted(m.mix.Name))
	}
	if s.parts > 0 && s.rest >= 0 {
		return figure.Faultf(m.field+".lines", "write the parts as amounts", "the mix %s has both parts and a rest", quoted(m.mix.Name))
	}
	for j := range m.parts { // a share of a volume is grams per 100 mL
		p := &m.parts[j]
		switch p.amount.kind {
		case byMass:
			p.grams = p.amount.x
		case byShare:
			p.grams = p.amount.x * q.Value
		}
	}
	if s.parts > 0 {
		return m.fillParts(q, s)
	}
	return m.fillUp(q, s)
}

// taken is what the weighed lines of m take of a volume or a mass.
func (m *made) taken(dim units.Dimension) float64 {
	sum := 0.0
	for j := range m.parts {
		sum += m.parts[j].grams * size(&m.parts[j].each, dim)
	}
	return sum
}

func size(b *blend, dim units.Dimension) float64 {
	if dim == units.Volume {
		return b.volume
	}
	return b.mass
}

// fillUp fills m up to q with its rest, or with water.
func (m *made) fillUp(q units.Quantity, s sums) error {
	m.filler = s.rest
	if m.filler < 0 && s.water >= 0 {
		m.filler = s.water
		m.parts[s.water].grams = 0
	}
	if m.filler < 0 {
		m.filler = len(m.parts)
		m.parts = append(m.parts, part{label: "water", field: m.field + ".make_up_to", line: &Line{Ingredient: "water"}, amount: amount{kind: theRest}})
		m.parts[m.filler].take(theBook().find("water"))
	}
	p := &m.parts[m.filler]
	left := q.Value - m.taken(q.Dim)
	if !(left >= -1e-9*q.Value) {
		return figure.Faultf(m.field+".make_up_to", "make it up to more, or put less in", "the parts of the mix %s already take %.4g of the %.4g %s it is made up to",
			quoted(m.mix.Name), q.Value-left, q.Value, unitOf(q.Dim))
	}
	p.grams = max(0, left) / size(&p.each, q.Dim)
	return nil
}

// fillParts gives the parts what the weighed lines leave of q.
func (m *made) fillParts(q units.Quantity, s sums) error {
	left := q.Value - m.taken(q.Dim)
	if !(left > 0) {
		return figure.Faultf(m.field+".make_up_to", "make it up to more, or put less in", "the weighed lines of the mix %s leave nothing of %s for its parts", quoted(m.mix.Name), quoted(m.mix.MakeUpTo))
	}
	perPart := 0.0
	for j := range m.parts {
		if p := &m.parts[j]; p.amount.kind == byParts {
			perPart += p.amount.x * size(&p.each, q.Dim)
		}
	}
	for j := range m.parts {
		if p := &m.parts[j]; p.amount.kind == byParts {
			p.grams = left * p.amount.x / perPart
		}
	}
	return nil
}

func unitOf(dim units.Dimension) string {
	if dim == units.Volume {
		return "mL"
	}
	return "g"
}
