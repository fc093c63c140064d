package substrate

import (
	"math"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// batch is a recipe resolved for a number of jars.
type batch struct {
	in     SubstrateInput
	mixes  []made
	jar    blend    // one jar as the recipe has it
	beyond *float64 // g of water per jar that the target asks beyond it; nil without a target, or if it can not be met
}

// fill finds how much of each mix one jar gets.
func (b *batch) fill() error {
	fill, err := b.fillByMix()
	if err != nil {
		return err
	}
	for i := range b.mixes {
		m := &b.mixes[i]
		typed, ok := fill[i]
		name := quoted(m.mix.Name)
		switch {
		case ok:
			if m.fillK, err = m.fillSize(typed, "recipe.fill."+m.mix.Name); err != nil {
				return err
			}
		case m.uses:
			continue
		case len(fill) > 0:
			return figure.Faultf("recipe.fill", "write how much of it one jar gets, such as 60 mL, or take the mix out", "the fill says nothing of the mix %s", name)
		case m.free:
			return figure.Faultf("recipe.fill", "write how much of it one jar gets, such as 110 g", "the mix %s is in shares, its amount per jar is not given", name)
		default:
			m.fillK = 1
		}
		b.jar.add(&m.whole, m.fillK)
	}
	if !(b.jar.mass <= maxLineG) {
		return figure.Faultf("recipe.fill", "check the numbers and their units", "one jar would hold %.4g kg, more than %.4g kg", b.jar.mass/1000, maxLineG/1000)
	}
	return nil
}

// fillByMix pairs the fill with the mixes, as typed.
func (b *batch) fillByMix() (map[int]string, error) {
	fill := make(map[int]string, len(b.in.Recipe.Fill))
	names := make([]string, 0, len(b.in.Recipe.Fill))
	for name := range b.in.Recipe.Fill {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		i := slices.IndexFunc(b.mixes, func(m made) bool { return mixKey(m.mix.Name) == mixKey(name) })
		if i < 0 {
			return nil, figure.Faultf("recipe.fill."+name, "write one of "+b.mixNames(), "the fill names %s, which is no mix of the recipe", quoted(name))
		}
		if _, twice := fill[i]; twice {
			return nil, figure.Faultf("recipe.fill."+name, "write it once", "the fill names the mix %s twice", quoted(name))
		}
		fill[i] = b.in.Recipe.Fill[name]
	}
	return fill, nil
}

func (b *batch) mixNames() string {
	var names []string
	for i := range b.mixes {
		names = append(names, quoted(b.mixes[i].mix.Name))
	}
	return strings.Join(names, ", ")
}

// fillSize is how many sizes of m the amount typed is.
func (m *made) fillSize(typed, field string) (float64, error) {
	q, err := units.Parse(typed)
	if err != nil {
		return 0, units.At(field, err)
	}
	if q.Dim != units.Mass && q.Dim != units.Volume {
		return 0, figure.Faultf(field, "write a mass such as 50 g, or a volume such as 60 mL", "%s of the mix %s is neither a mass nor a volume", quoted(typed), quoted(m.mix.Name))
	}
	if !(q.Value > 0 && q.Value <= maxLineG) {
		return 0, figure.Faultf(field, "write what one jar gets, above 0", "one jar gets %s of the mix %s, which must lie above 0 and up to 100 t", quoted(typed), quoted(m.mix.Name))
	}
	if q.Dim == units.Mass {
		return q.Value / m.whole.mass, nil
	}
	volume, ok := m.fillVolume(q.Unit)
	if !ok {
		return 0, figure.Faultf(field, "weigh what one jar gets and write grams, or give the mix its density_g_ml", "%s of the mix %s can not be turned into grams: no density is known", quoted(typed), quoted(m.mix.Name))
	}
	return q.Value / volume, nil
}

// fillVolume is the volume of m's size as it is measured out in a unit, mL.
func (m *made) fillVolume(unit string) (float64, bool) {
	switch {
	case m.mix.DensityGML != nil:
		return m.whole.mass / *m.mix.DensityGML, true
	case m.pours():
		return m.whole.volume, true
	case len(m.parts) == 1 && m.parts[0].ing != nil:
		p := &m.parts[0]
		density, _, err := measured{ing: p.ing, line: p.line}.density(units.Quantity{Unit: unit}, "")
		return m.whole.mass / density, err == nil
	}
	return 0, false
}

// pours reports whether m is measured out by volume as a liquid.
func (m *made) pours() bool { return m.toVolume || m.whole.liquid() }

// reserve finds the share of each mix that is made beyond the jars.
func (b *batch) reserve() error {
	r := b.in.ReservePct
	if r == nil {
		return nil
	}
	if r.By == nil {
		if r.All == nil {
			return nil
		}
		for i := range b.mixes {
			if b.mixes[i].mix.MakeUpTo != "" {
				b.mixes[i].reserve = *r.All / 100
			}
		}
		return checkReserve(*r.All, "reserve_pct")
	}
	names := make([]string, 0, len(r.By))
	for name := range r.By {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		i := slices.IndexFunc(b.mixes, func(m made) bool { return mixKey(m.mix.Name) == mixKey(name) })
		if i < 0 {
			return figure.Faultf("reserve_pct."+name, "write one of "+b.mixNames(), "the reserve names %s, which is no mix of the recipe", quoted(name))
		}
		if err := checkReserve(r.By[name], "reserve_pct."+name); err != nil {
			return err
		}
		b.mixes[i].reserve = r.By[name] / 100
	}
	return nil
}

func checkReserve(pct float64, field string) error {
	if !(pct >= 0 && pct <= 1000) {
		return figure.Faultf(field, "write a percentage of 0 or more, such as 10", "the reserve is %g %%, it must lie from 0 to 1000 %%", pct)
	}
	return nil
}

// need sums up what the jars and other mixes need of every mix. Mixes are
// visited holders first.
func (b *batch) need() {
	jars := float64(b.in.Jars)
	seen := make([]bool, len(b.mixes))
	var order []int
	var visit func(i int)
	visit = func(i int) {
		if seen[i] {
			return
		}
		seen[i] = true
		for j := range b.mixes[i].parts {
			if inner := b.mixes[i].parts[j].mix; inner != nil {
				visit(b.indexOf(inner))
			}
		}
		order = append(order, i)
	}
	for i := range b.mixes {
		visit(i)
	}
	for _, i := range slices.Backward(order) {
		m := &b.mixes[i]
		m.needK = (m.needK + jars*m.fillK) * (1 + m.reserve)
		for j := range m.parts {
			if inner := m.parts[j].mix; inner != nil {
				inner.needK += m.needK * m.parts[j].grams / inner.whole.mass
			}
		}
	}
}

func (b *batch) indexOf(m *made) int {
	return slices.IndexFunc(b.mixes, func(x made) bool { return x.mix == m.mix })
}

// sum is all that is weighed in for the batch, reserve included, without the
// water beyond the recipe.
func (b *batch) sum() blend {
	var all blend
	for i := range b.mixes {
		all.add(&b.mixes[i].own, b.mixes[i].needK)
	}
	return all
}

func (b *batch) total() float64 {
	all := b.sum()
	if b.beyond != nil {
		all.mass += *b.beyond * float64(b.in.Jars)
	}
	return all.mass
}

// meetTarget finds the water per jar that the target asks beyond the recipe.
func (b *batch) meetTarget() {
	t, dry := b.in.TargetMoisturePct, b.jar.dry()
	if t == nil || dry == nil {
		return
	}
	want := *dry / (1 - *t/100)
	more := want - b.jar.mass
	if more < 0 && -more > b.jar.poured*(1+1e-12) {
		return
	}
	if math.IsInf(more, 0) {
		return
	}
	b.beyond = &more
}
