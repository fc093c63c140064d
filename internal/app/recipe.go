package app

import (
	"context"

	"pinset/internal/calc/substrate"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// SubstrateAnswer is the mass balance of a recipe.
type SubstrateAnswer = figure.Answer[substrate.SubstrateResult]

// DefaultReserve is how much of a mix is made beyond what the jars take, in
// per cent. Common practice, no source.
const DefaultReserve = 5

// moistures are the measured moistures of the farm's own ingredients, per
// cent, by lab.NameKey.
type moistures map[string]float64

// weigh returns the mass balance of jars filled by recipe r. own replaces
// book values; it may be nil.
func weigh(r lab.Recipe, jars int, own moistures) (SubstrateAnswer, error) {
	reserve := float64(DefaultReserve)
	in := substrate.SubstrateInput{Recipe: substrateRecipe(r, own), Jars: jars, ReservePct: &substrate.Reserve{All: &reserve}}
	return substrate.Substrate(in)
}

func substrateRecipe(r lab.Recipe, own moistures) substrate.Recipe {
	out := substrate.Recipe{Fill: make(map[string]string)}
	for _, m := range r.Mixes {
		mix := substrate.Mix{Name: m.Name, MakeUpTo: m.MakeUpTo}
		for _, l := range m.Lines {
			line := substrate.Line{Ingredient: l.Ingredient, Amount: l.Amount}
			if pct, ok := own[lab.NameKey(l.Ingredient)]; ok {
				line.MoisturePct = &pct
			}
			mix.Lines = append(mix.Lines, line)
		}
		out.Mixes = append(out.Mixes, mix)
	}
	for _, f := range r.Fills {
		out.Fill[f.Mix] = f.Amount
	}
	return out
}

// dryPerJar returns the dry substrate of one jar in grams, 0 if it is not known.
func dryPerJar(r lab.Recipe, own moistures) (units.Gram, error) {
	if r.NameOnly() {
		return 0, nil
	}
	answer, err := weigh(r, 1, own)
	if err != nil || answer.Result.PerJar.DryG == nil {
		return 0, err
	}
	return units.Gram(*answer.Result.PerJar.DryG), nil
}

// ownMoistures returns the moistures that the farm measured.
func ownMoistures(ctx context.Context, r store.Reader) (moistures, error) {
	all, err := r.Ingredients(ctx)
	if err != nil {
		return nil, err
	}
	own := make(moistures)
	for _, i := range all {
		if i.Moisture != nil {
			own[lab.NameKey(i.Name)] = float64(*i.Moisture) * 100
		}
	}
	return own, nil
}

// RecipeView is a recipe with its mass balance.
type RecipeView struct {
	lab.Recipe
	Jars   int
	Answer *SubstrateAnswer // nil for a recipe that is known by name only
}

// RecipeView returns the newest version of the recipe called name, worked
// out for that many jars.
func (f *Farm) RecipeView(ctx context.Context, name string, jars int) (RecipeView, error) {
	var v RecipeView
	var own moistures
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		if v.Recipe, err = r.RecipeByName(ctx, name); err != nil {
			return err
		}
		own, err = ownMoistures(ctx, r)
		return err
	})
	if err != nil || v.NameOnly() {
		return v, err
	}
	v.Jars = max(1, jars)
	answer, err := weigh(v.Recipe, v.Jars, own)
	v.Answer = &answer
	return v, err
}
