package app

import (
	"maps"
	"slices"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// group is the jars that are filled from one making of each mix. Their
// recipes have the same mixes and differ at most in what goes into a jar.
type group struct {
	label   string
	recipes []lab.Recipe
	jars    []int // of each recipe
}

// groupsOf parts jars by the making that fills them, in the order of the jars.
func groupsOf(rows []store.JarRow, recipes map[lab.RecipeVersionID]lab.Recipe) []*group {
	var out []*group
	for _, j := range rows {
		r := recipes[j.Recipe]
		if j.Recipe == "" || r.NameOnly() {
			continue
		}
		i := slices.IndexFunc(out, func(g *group) bool { return g.label == j.MixMade && sameMixes(g.recipes[0], r) })
		if i < 0 {
			out, i = append(out, &group{label: j.MixMade}), len(out)
		}
		g := out[i]
		k := slices.IndexFunc(g.recipes, func(x lab.Recipe) bool { return x.ID == r.ID })
		if k < 0 {
			g.recipes, g.jars, k = append(g.recipes, r), append(g.jars, 0), len(g.recipes)
		}
		g.jars[k]++
	}
	return out
}

// sameMixes reports whether one making of each mix serves both recipes.
func sameMixes(a, b lab.Recipe) bool {
	return slices.EqualFunc(a.Mixes, b.Mixes, equalMixes) && slices.Equal(a.Details.Lots, b.Details.Lots)
}

func (g *group) all() int {
	n := 0
	for _, k := range g.jars {
		n += k
	}
	return n
}

// fillsDiffer reports whether the jars get different amounts of a mix.
func (g *group) fillsDiffer(mix string) bool {
	first := RecipeView{Recipe: g.recipes[0]}.FillOf(mix)
	return slices.ContainsFunc(g.recipes, func(r lab.Recipe) bool { return RecipeView{Recipe: r}.FillOf(mix) != first })
}

// together adds what two recipes of a group need.
func together(a, b SubstrateAnswer, first bool) SubstrateAnswer {
	if first {
		return b
	}
	out := b
	out.Result.Batch, out.Result.VolumeML, out.Result.Mixes = maps.Clone(b.Result.Batch), maps.Clone(b.Result.VolumeML), maps.Clone(b.Result.Mixes)
	for mix, grams := range a.Result.Batch {
		sum := maps.Clone(out.Result.Batch[mix])
		for name, g := range grams { // each name has a sum of its own
			sum[name] += g
		}
		out.Result.Batch[mix] = sum
		if x, y := a.Result.VolumeML[mix], out.Result.VolumeML[mix]; x != nil && y != nil {
			v := *x + *y
			out.Result.VolumeML[mix] = &v
		}
		m := out.Result.Mixes[mix]
		m.WetG += a.Result.Mixes[mix].WetG
		out.Result.Mixes[mix] = m
	}
	return out
}

// sharedMaking is the label of a making that fills the jars of all arms, ""
// if their recipes differ in a mix.
func (p *Plan) sharedMaking() string {
	if len(p.arms) < 2 {
		return ""
	}
	first := p.arms[0].recipe
	for _, a := range p.arms[1:] {
		if a.recipe.ID == first.ID || a.recipe.ID == "" || !sameMixes(first, a.recipe) {
			return ""
		}
	}
	return "for all arms"
}
