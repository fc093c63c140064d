package substrate

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"pinset/internal/figure"
)

// Bounds of what is planned.
const (
	maxMixes  = 50
	maxLines  = 200
	maxLabel  = 200 // bytes
	maxJars   = 1_000_000
	maxLineG  = 1e8 // 100 t
	maxBatchG = 1e9 // 1000 t
)

// made is a mix whose lines are in grams. The grams add up to some size of
// the mix; only their ratios matter until it is filled.
type made struct {
	mix      *Mix
	field    string // such as "recipe.mixes[0]"
	parts    []part
	whole    blend
	salts    map[string]float64 // mmol by formula
	agar     float64            // g as weighed
	own      blend              // of whole, what is no other mix
	toVolume bool               // made up to a volume
	free     bool               // the size is not given: shares and parts only
	uses     bool               // another mix holds it
	fillK    float64            // sizes of the mix per jar
	reserve  float64            // share beyond the jars
	needK    float64            // sizes of the mix in the batch, for jars and other mixes
	filler   int                // the line that fills up to the size, -1 if none
	state    int                // 0 untouched, 1 being resolved, 2 done
}

// part is a line of a mix.
type part struct {
	label  string // as typed
	field  string
	line   *Line
	ing    *Ingredient // nil for a mix or an unknown ingredient
	mix    *made       // nil for an ingredient
	others []Ingredient
	each   blend // per gram
	amount amount
	grams  float64
}

// resolver works through the mixes of one recipe.
type resolver struct {
	mixes []made
	byKey map[string]int
}

// resolve turns every line of r into grams.
func (b *batch) resolve(r Recipe) ([]made, error) {
	if len(r.Mixes) == 0 {
		return nil, figure.Faultf("recipe.mixes", "write at least one mix with its ingredients", "the recipe holds no mix")
	}
	if len(r.Mixes) > maxMixes {
		return nil, figure.Faultf("recipe.mixes", "split the recipe", "the recipe holds %d mixes, up to %d are read", len(r.Mixes), maxMixes)
	}
	s := resolver{mixes: make([]made, len(r.Mixes)), byKey: make(map[string]int, len(r.Mixes))}
	for i := range r.Mixes {
		m := &r.Mixes[i]
		field := fmt.Sprintf("recipe.mixes[%d]", i)
		s.mixes[i] = made{mix: m, field: field, filler: -1}
		if err := checkMix(m, field); err != nil {
			return nil, err
		}
		k := mixKey(m.Name)
		if j, twice := s.byKey[k]; twice {
			return nil, figure.Faultf(field+".name", "give each mix a name of its own", "the mixes %d and %d are both named %s", j+1, i+1, quoted(m.Name))
		}
		s.byKey[k] = i
	}
	for i := range s.mixes {
		if err := s.resolveMix(i); err != nil {
			return nil, err
		}
	}
	return s.mixes, nil
}

func mixKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

func checkMix(m *Mix, field string) error {
	switch {
	case strings.TrimSpace(m.Name) == "":
		return figure.Faultf(field+".name", "name it, such as dry mix or broth", "a mix has no name")
	case len(m.Name) > maxLabel:
		return figure.Faultf(field+".name", "shorten it", "the name of a mix is %d bytes long, up to %d are read", len(m.Name), maxLabel)
	case len(m.Lines) == 0:
		return figure.Faultf(field+".lines", "write its ingredients, or take the mix out", "the mix %s has no ingredients", quoted(m.Name))
	case len(m.Lines) > maxLines:
		return figure.Faultf(field+".lines", "split the mix", "the mix %s has %d lines, up to %d are read", quoted(m.Name), len(m.Lines), maxLines)
	case m.PercentOf != "" && m.PercentOf != "weight" && m.PercentOf != "dry":
		return figure.Faultf(field+".percent_of", "write weight (as weighed) or dry", "percent_of is %s, known are weight and dry", quoted(m.PercentOf))
	}
	if err := checkDensity(m.DensityGML, field); err != nil {
		return err
	}
	for i := range m.Lines {
		if err := checkLine(&m.Lines[i], fmt.Sprintf("%s.lines[%d]", field, i)); err != nil {
			return err
		}
	}
	return nil
}

func checkLine(l *Line, field string) error {
	if strings.TrimSpace(l.Ingredient) == "" {
		return figure.Faultf(field+".ingredient", "write what it is, such as brown rice", "a line has no ingredient")
	}
	if len(l.StandsFor) > maxLabel || l.StandsFor != "" && len(theBook().find(l.StandsFor)) == 0 {
		return figure.Faultf(field+".stands_for", "choose a row of the table, such as dextrose monohydrate", "the table has no row %s", quoted(l.StandsFor))
	}
	if len(l.Ingredient) > maxLabel {
		return figure.Faultf(field+".ingredient", "shorten it", "the name of an ingredient is %d bytes long, up to %d are read", len(l.Ingredient), maxLabel)
	}
	for _, c := range []struct {
		x    *float64
		key  string
		name string
	}{{l.MoisturePct, "moisture_pct", "moisture"}, {l.NPctDry, "n_pct_of_dry", "nitrogen"}, {l.CPctDry, "c_pct_of_dry", "carbon"}, {l.FatPctDry, "fat_pct_of_dry", "fat"}, {l.AshPctDry, "ash_pct_of_dry", "ash"}, {l.SugarsPctDry, "sugars_pct_of_dry", "sugars"}} {
		if c.x != nil && !(*c.x >= 0 && *c.x <= 100) {
			return figure.Faultf(field+"."+c.key, "write a percentage from 0 to 100", "the %s of %s is %g %%, it must lie from 0 to 100 %%", c.name, quoted(l.Ingredient), *c.x)
		}
	}
	if l.PricePerKg != nil && !(*l.PricePerKg >= 0 && *l.PricePerKg <= 1e9) {
		return figure.Faultf(field+".price_per_kg", "write what a kilogram costs, 0 or more", "the price of %s is %g per kg", quoted(l.Ingredient), *l.PricePerKg)
	}
	return checkDensity(l.DensityGML, field)
}

func checkDensity(d *float64, field string) error {
	if d != nil && !(*d >= 0.01 && *d <= 25) {
		return figure.Faultf(field+".density_g_ml", "weigh a level cup and divide its grams by 236.6", "the density is %g g/mL, it must lie from 0.01 to 25 g/mL", *d)
	}
	return nil
}

// resolveMix resolves mix i after the mixes it holds.
func (s *resolver) resolveMix(i int) error {
	m := &s.mixes[i]
	if m.state == 2 {
		return nil
	}
	m.state = 1
	m.parts = make([]part, len(m.mix.Lines))
	for j := range m.mix.Lines {
		if err := s.resolveLine(i, j); err != nil {
			return err
		}
	}
	if err := m.weigh(); err != nil {
		return err
	}
	for j := range m.parts {
		m.whole.add(&m.parts[j].each, m.parts[j].grams)
		if m.parts[j].mix == nil {
			m.own.add(&m.parts[j].each, m.parts[j].grams)
		}
	}
	if !(m.whole.mass > 0 && m.whole.mass < math.Inf(1)) {
		return figure.Faultf(m.field, "write amounts above 0", "the mix %s weighs nothing", quoted(m.mix.Name))
	}
	m.sumSalts()
	m.sumAgar()
	m.state = 2
	return nil
}

func (s *resolver) resolveLine(i, j int) error {
	m := &s.mixes[i]
	l := &m.mix.Lines[j]
	field := fmt.Sprintf("%s.lines[%d]", m.field, j)
	p := &m.parts[j]
	*p = part{label: l.Ingredient, field: field, line: l}
	name := strings.TrimSpace(l.Ingredient)
	asked := measured{name: quoted(name), line: l}
	found := theBook().find(cmp.Or(strings.TrimSpace(l.StandsFor), name))
	if k, ok := s.byKey[mixKey(name)]; ok && !(k == i && len(found) > 0) {
		if s.mixes[k].state == 1 {
			return figure.Faultf(field+".ingredient", "take the line out, or rename it", "the mix %s is made with %s, which holds itself", quoted(m.mix.Name), quoted(name))
		}
		if err := s.resolveMix(k); err != nil {
			return err
		}
		inner := &s.mixes[k]
		inner.uses = true
		p.mix = inner
		p.each.add(&inner.whole, 1/inner.whole.mass)
		asked.whole = &inner.whole
	} else {
		p.take(found)
		asked.ing = p.ing
	}
	var err error
	p.amount, err = asked.read(l.Amount, field+".amount")
	return err
}

// take gives p the first row found, or unknown figures.
func (p *part) take(found []int) {
	if len(found) == 0 {
		strange := Ingredient{dryVolume: 1 / otherDryDensity, Kind: "other"}
		p.each = strange.perGram(p.line)
		return
	}
	rows := theBook().rows
	p.ing = &rows[found[0]]
	for _, k := range found[1:] {
		p.others = append(p.others, rows[k])
	}
	p.each = p.ing.perGram(p.line)
}

// weigh turns the amounts of m into grams.
func (m *made) weigh() error {
	if m.mix.MakeUpTo != "" {
		return m.weighMadeUp()
	}
	return m.weighFree()
}

// sums are the totals of each kind of amount in a mix.
type sums struct {
	mass, share, parts float64
	rest               int // line of the rest, -1 if none
	water              int // line of plain water with an amount, -1 if none
}

func (m *made) sums() (sums, error) {
	s := sums{rest: -1, water: -1}
	for j := range m.parts {
		p := &m.parts[j]
		switch p.amount.kind {
		case byMass:
			s.mass += p.amount.x
			if p.ing != nil && p.ing.Kind == "water" {
				s.water = j
			}
		case byShare:
			s.share += p.amount.x
		case byParts:
			s.parts += p.amount.x
		case theRest:
			if s.rest >= 0 {
				return s, figure.Faultf(p.field+".amount", "write the amount of one of them", "the mix %s has two lines that are the rest", quoted(m.mix.Name))
			}
			s.rest = j
		}
	}
	return s, nil
}

// weighFree weighs a mix whose size follows from its lines, or is free.
func (m *made) weighFree() error {
	s, err := m.sums()
	if err != nil {
		return err
	}
	const slack = 1e-9 // rounding of shares that add up to one
	name := quoted(m.mix.Name)
	switch {
	case s.share > 1+slack:
		return figure.Faultf(m.field+".lines", "bring the shares down to 100 %", "the shares of the mix %s add up to %.6g %%", name, 100*s.share)
	case s.mass > 0 && (s.parts > 0 || s.rest >= 0):
		return figure.Faultf(m.field+".lines", "write make_up_to, or all lines in grams", "the mix %s has both weighed amounts and parts or a rest, but no size", name)
	case s.mass > 0 && s.share >= 1-slack:
		return figure.Faultf(m.field+".lines", "bring the shares down, or write all lines as shares", "the shares of the mix %s add up to %.6g %% and leave no room for its weighed amounts", name, 100*s.share)
	case m.mix.PercentOf == "dry" && s.share > 0:
		return m.weighDry(s)
	case s.mass > 0:
		m.setShares(s.mass/(1-s.share), 0, s)
		return nil
	}
	m.free = true
	if s.rest < 0 && s.parts == 0 && math.Abs(s.share-1) > 0.005+slack {
		return figure.Faultf(m.field+".lines", "make them 100 %, or write the rest for one of them", "the shares of the mix %s add up to %.6g %%", name, 100*s.share)
	}
	if s.rest >= 0 && s.parts > 0 {
		return figure.Faultf(m.field+".lines", "write the rest in parts, or the parts as shares", "the mix %s has both parts and a rest", name)
	}
	if s.rest >= 0 && !(s.share < 1-slack) {
		return figure.Faultf(m.parts[s.rest].field+".amount", "bring the other shares down", "the other shares of the mix %s leave no rest", name)
	}
	const size = 1000 // g, any would do
	m.setShares(size, size*math.Max(0, 1-s.share), s)
	return nil
}

// setShares sets the grams of every line in a mix of size g; left is what
// the rest, or the parts together, weigh.
func (m *made) setShares(size, left float64, s sums) {
	for j := range m.parts {
		p := &m.parts[j]
		switch p.amount.kind {
		case byMass:
			p.grams = p.amount.x
		case byShare:
			p.grams = p.amount.x * size
		case byParts:
			p.grams = left * p.amount.x / s.parts
		case theRest:
			p.grams = left
		}
	}
}

// weighDry weighs a mix whose shares are of dry matter.
func (m *made) weighDry(s sums) error {
	if s.mass > 0 || s.parts > 0 {
		return figure.Faultf(m.field+".lines", "write all of its lines as shares, or percent_of weight", "the mix %s has shares of dry matter beside other amounts", quoted(m.mix.Name))
	}
	if s.rest < 0 && math.Abs(s.share-1) > 0.005 {
		return figure.Faultf(m.field+".lines", "make them 100 %, or write the rest for one of them", "the shares of the mix %s add up to %.6g %%", quoted(m.mix.Name), 100*s.share)
	}
	m.free = true
	for j := range m.parts {
		p := &m.parts[j]
		dry := p.each.dry()
		if dry == nil || !(*dry > 0) {
			return figure.Faultf(p.field+".moisture_pct", "measure its moisture and write it", "a share of dry matter is asked of %s, whose water is unknown or all of it", quoted(p.label))
		}
		share := p.amount.x
		if p.amount.kind == theRest {
			share = math.Max(0, 1-s.share)
		}
		p.grams = 1000 * share / *dry
	}
	return nil
}
