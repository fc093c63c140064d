package substrate

import (
	"math"
	"strings"

	"pinset/internal/figure"
)

// SolveInput asks how much of one ingredient brings a jar to a figure, all
// else as the recipe has it.
type SolveInput struct {
	Recipe Recipe  `json:"recipe" jsonschema:"the mixes, and what of each goes into a jar"`
	Jars   int     `json:"jars" jsonschema:"jars to fill, 1 to 1000000"`
	Change string  `json:"change" jsonschema:"ingredient whose amount is sought, as the recipe spells it, or a further one"`
	For    string  `json:"for" jsonschema:"figure that is to be met"`
	Target float64 `json:"target" jsonschema:"value to meet: % of the wet mass, C:N by mass, or % of the dry matter"`
}

// SolveResult is the amount asked for.
type SolveResult struct {
	NowG    float64  `json:"now_g"`     // of the ingredient in one jar as the recipe has it
	PerJarG float64  `json:"per_jar_g"` // of it in one jar to meet the target; 0 or more
	BatchG  float64  `json:"batch_g"`   // of it in all jars, without reserve
	Now     *float64 `json:"now"`       // the figure as the recipe has it
	PerJar  PerJar   `json:"per_jar"`   // the jar that meets the target
}

// goal is a figure that is a ratio of two sums of the parts.
type goal struct {
	name  string
	scale float64                        // target = scale × over / under
	over  func(b *blend) (float64, bool) // false if unknown
	under func(b *blend) (float64, bool)
	low   float64
	high  float64
}

var goals = map[string]goal{
	"moisture_pct": {"moisture", 100, waterOf, massOf, 0, 100},
	"cn":           {"C:N", 1, carbonOf, nitrogenOf, 0, 1e6},
	"n_pct_of_dry": {"nitrogen of dry matter", 100, nitrogenOf, dryOf, 0, 100},
}

func waterOf(b *blend) (float64, bool)    { return b.water, !(b.noWater > 0) }
func massOf(b *blend) (float64, bool)     { return b.mass, true }
func dryOf(b *blend) (float64, bool)      { return b.mass - b.water, !(b.noWater > 0) }
func carbonOf(b *blend) (float64, bool)   { return b.c, !(b.noC > 0) }
func nitrogenOf(b *blend) (float64, bool) { return b.n, !(b.noN > 0) }

// Solve finds the amount of one ingredient that meets a moisture, C:N or
// nitrogen target. A target that no amount of it reaches is a Fault that
// says between which figures it can move.
//
// Source: mass balance; each figure is a ratio of two sums that are linear in
// the amount.
func Solve(in SolveInput) (figure.Answer[SolveResult], error) {
	var none figure.Answer[SolveResult]
	g, ok := goals[in.For]
	if !ok {
		return none, figure.Faultf("for", "write moisture_pct, cn or n_pct_of_dry", "the figure to meet is %s", quoted(in.For))
	}
	if !(in.Target > g.low && in.Target < g.high) {
		return none, figure.Faultf("target", "write a "+g.name+" within that", "the target is %g, it must lie above %g and below %g", in.Target, g.low, g.high)
	}
	b, err := plan(SubstrateInput{Recipe: in.Recipe, Jars: in.Jars})
	if err != nil {
		return none, err
	}
	each, now, err := b.ingredient(in.Change)
	if err != nil {
		return none, err
	}
	base := b.jar
	base.add(&each, -now)
	x, err := g.solve(&base, &each, in)
	if err != nil {
		return none, err
	}
	jar := base
	jar.add(&each, x)
	r := SolveResult{NowG: now, PerJarG: x, BatchG: x * float64(in.Jars), Now: g.value(&b.jar), PerJar: perJar(&jar, math.Max(0, b.liquidML()+(x-now)*each.fluid))}
	steps := []figure.Step{{Step: in.Change + " per jar for a " + g.name + " of the target", Formula: "(target × under - over) / (over per g - target × under per g)", Value: x, Unit: "g", Source: massBalance}}
	plain := SubstrateResult{}
	return figure.Answer[SolveResult]{Result: r, Cautions: b.cautions(&plain, &b.jar), Working: steps}, nil
}

// value is the figure of b, nil if unknown.
func (g goal) value(b *blend) *float64 {
	over, ok1 := g.over(b)
	under, ok2 := g.under(b)
	if !ok1 || !ok2 || !(under > 0) {
		return nil
	}
	return ptr(g.scale * over / under)
}

// solve finds x with (over + x over') / (under + x under') = target.
func (g goal) solve(base, each *blend, in SolveInput) (float64, error) {
	for _, b := range []*blend{base, each} {
		_, ok1 := g.over(b)
		_, ok2 := g.under(b)
		if !ok1 || !ok2 {
			return 0, figure.Faultf("recipe", "give what was measured (moisture_pct, n_pct_of_dry, c_pct_of_dry) of the ingredient that is not in the table", "the %s of the mix is not known", g.name)
		}
	}
	t := in.Target / g.scale
	over, _ := g.over(base)
	under, _ := g.under(base)
	overX, _ := g.over(each)
	underX, _ := g.under(each)
	x := (t*under - over) / (overX - t*underX)
	jar := *base
	jar.add(each, math.Max(0, x))
	reached := g.value(&jar)
	if !(x >= -1e-12 && x <= maxLineG) || reached == nil || !(math.Abs(*reached-in.Target) <= 1e-6*in.Target) {
		name := quoted(in.Change)
		return 0, figure.Faultf("target", "ask for a figure between the two, or change another ingredient", "no amount of %s brings the %s to %.4g: without it the figure is %s, %s alone has %s",
			name, g.name, in.Target, said(g.value(base)), name, said(g.value(each)))
	}
	return math.Max(0, x), nil
}

func said(x *float64) string {
	if x == nil {
		return "unknown"
	}
	return strings.TrimSpace(gFormat(*x))
}

// ingredient is a gram of what label names, and its grams in one jar.
func (b *batch) ingredient(label string) (each blend, perJar float64, err error) {
	k := normal(label)
	found := false
	for i := range b.mixes {
		m := &b.mixes[i]
		for j := range m.parts {
			p := &m.parts[j]
			if p.mix != nil || normal(p.label) != k {
				continue
			}
			if !found {
				each, found = p.each, true
			}
			perJar += p.grams * m.needK / float64(b.in.Jars) // there is no reserve here
		}
	}
	if found {
		return each, perJar, nil
	}
	rows := theBook().find(label)
	if len(rows) == 0 {
		return each, 0, figure.Faultf("change", "write an ingredient of the recipe as it stands there", "%s is neither in the recipe nor in the table of ingredients", quoted(label))
	}
	return theBook().rows[rows[0]].perGram(&Line{}), 0, nil
}
