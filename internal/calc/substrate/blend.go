package substrate

// blend is a sum of ingredients. All of it is proportional to mass, so that
// blends can be added and scaled.
type blend struct {
	mass   float64 // g
	water  float64 // g, of what is known
	n, c   float64 // g, of what is known
	fat    float64 // g, of what is known
	ash    float64 // g, of what is known
	volume float64 // mL that the components fill without air between them
	grain  float64 // g of grain as weighed
	poured float64 // g of plain water
	fluid  float64 // mL of water and other fluids
	heaped float64 // mL that the solids fill as scooped, where known

	noWater, noN, noC, noFat, noAsh, noSugar, noHeap float64 // g whose figure is unknown

	sugar   float64 // g, anhydrous, of what is known
	osmoles float64 // mol of dissolved particles
	vague   float64 // g of dissolved matter whose particles can not be counted
	cost    float64 // in the currency of the prices
	noCost  float64 // g without a price
}

// add adds k times o.
func (b *blend) add(o *blend, k float64) {
	b.mass += k * o.mass
	b.water += k * o.water
	b.n += k * o.n
	b.c += k * o.c
	b.fat += k * o.fat
	b.ash += k * o.ash
	b.noFat += k * o.noFat
	b.noAsh += k * o.noAsh
	b.volume += k * o.volume
	b.grain += k * o.grain
	b.poured += k * o.poured
	b.fluid += k * o.fluid
	b.heaped += k * o.heaped
	b.noWater += k * o.noWater
	b.noN += k * o.noN
	b.noC += k * o.noC
	b.noSugar += k * o.noSugar
	b.noHeap += k * o.noHeap
	b.sugar += k * o.sugar
	b.osmoles += k * o.osmoles
	b.vague += k * o.vague
	b.cost += k * o.cost
	b.noCost += k * o.noCost
}

// dry is the dry matter in g, nil if the water of a part is unknown.
func (b *blend) dry() *float64 {
	if b.noWater > 0 {
		return nil
	}
	return ptr(b.mass - b.water)
}

// moisture is the share of water, nil if unknown.
func (b *blend) moisture() *float64 {
	if b.noWater > 0 || !(b.mass > 0) {
		return nil
	}
	return ptr(b.water / b.mass)
}

func (b *blend) nitrogen() *float64 {
	if b.noN > 0 {
		return nil
	}
	return ptr(b.n)
}

func (b *blend) carbon() *float64 {
	if b.noC > 0 {
		return nil
	}
	return ptr(b.c)
}

// cn is carbon over nitrogen by mass, nil if either is unknown or there is
// no nitrogen.
func (b *blend) cn() *float64 {
	if b.noN > 0 || b.noC > 0 || !(b.n > 0) {
		return nil
	}
	return ptr(b.c / b.n)
}

// nOfDry is nitrogen as a share of dry matter.
func (b *blend) nOfDry() *float64 {
	dry := b.dry()
	if dry == nil || b.noN > 0 || !(*dry > 0) {
		return nil
	}
	return ptr(b.n / *dry)
}

// liquid reports whether b pours: mostly fluid, with nothing that heaps.
func (b *blend) liquid() bool {
	return b.heaped == 0 && b.noHeap == 0 && b.fluid >= 0.5*b.volume && b.fluid > 0
}

// waterBlend is one gram of plain water.
func waterBlend() blend {
	return blend{mass: 1, water: 1, volume: 1 / waterDensity, poured: 1, fluid: 1 / waterDensity}
}

// heaps lists the kinds of solids that lie with air between them.
var heaps = map[string]bool{"grain": true, "flour": true, "bran": true, "meal": true, "wood": true, "straw": true, "hull": true, "insect": true, "other": true, "mineral": true}

// fluids lists the kinds that pour.
var fluids = map[string]bool{"water": true, "egg": true, "fluid": true, "syrup": true}

// Pours reports whether an ingredient of the table is a fluid. An unknown
// label is none.
func Pours(label string) bool {
	found := theBook().find(label)
	return len(found) > 0 && fluids[theBook().rows[found[0]].Kind]
}

// dissolves lists the kinds whose dry matter goes into solution.
var dissolves = map[string]bool{"sugar": true, "syrup": true, "salt": true, "organic": true, "extract": true, "carbonate": true, "egg": true, "fluid": true}

// perGram is the blend of one gram of ing, as l says it was measured.
func (ing *Ingredient) perGram(l *Line) blend {
	b := blend{mass: 1}
	water := orMeasured(ing.Moisture, l.MoisturePct)
	dry := 1.0
	if water == nil {
		b.noWater = 1
	} else {
		b.water, dry = *water, 1-*water
	}
	part := func(book, measured *float64, sum, unknown *float64) {
		share := orMeasured(book, measured)
		if share == nil || water == nil && *share != 0 {
			*unknown = 1
			return
		}
		*sum = *share * dry
	}
	part(ing.N, l.NPctDry, &b.n, &b.noN)
	part(ing.C, l.CPctDry, &b.c, &b.noC)
	part(ing.Fat, l.FatPctDry, &b.fat, &b.noFat)
	part(ing.Ash, l.AshPctDry, &b.ash, &b.noAsh)
	part(ing.Sugars, l.SugarsPctDry, &b.sugar, &b.noSugar)
	b.volume = b.water/waterDensity + dry*ing.dryVolume
	ing.character(&b, dry, l)
	if l.PricePerKg != nil {
		b.cost = *l.PricePerKg / 1000
	} else if ing.Kind != "water" {
		b.noCost = 1
	}
	return b
}

// orMeasured is the share of the book, or the percentage measured if there
// is one.
func orMeasured(book, pct *float64) *float64 {
	if pct == nil {
		return book
	}
	return ptr(*pct / 100)
}

// character sets what depends on the kind of ing.
func (ing *Ingredient) character(b *blend, dry float64, l *Line) {
	switch {
	case ing.Kind == "grain" || ing.Kind == "flour":
		b.grain = 1
	case ing.Kind == "water":
		b.poured = 1
	}
	if fluids[ing.Kind] {
		b.fluid = b.volume
	}
	if heaps[ing.Kind] {
		if density, ok := ing.scoopDensity(l); ok {
			b.heaped = 1 / density
		} else {
			b.noHeap = 1
		}
	}
	if !dissolves[ing.Kind] {
		return
	}
	switch {
	case ing.molar > 0:
		b.osmoles = dry * ing.ions / ing.molar
	default:
		b.vague = dry
	}
}

// scoopDensity is what a mL weighs as scooped, g.
func (ing *Ingredient) scoopDensity(l *Line) (float64, bool) {
	if l.DensityGML != nil {
		return *l.DensityGML, true
	}
	for _, m := range ing.Measures {
		if ml := measureML[m.Name]; ml > 0 {
			return m.Grams / ml, true
		}
	}
	return 0, false
}

// measureML holds the volumes of the measures of the table.
var measureML = map[string]float64{"cup": cupML, "tbsp": tbspML, "tsp": tspML}

func ptr(x float64) *float64 { return &x }
