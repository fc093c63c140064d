package browsertest

import (
	"context"
	"fmt"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// trial is a plan of two arms, jars each, in one cook of two layers.
func trial(name string, jars int) app.PlanInput {
	return app.PlanInput{
		Name: name, Question: "Does millet give more than brown rice?", Differ: []string{"recipe"},
		Arms:    []app.PlanArm{{Name: "brown rice", Recipe: "brown rice cake"}, {Name: "millet", Recipe: "millet cake"}},
		Culture: "LC-3", Container: "pint jar", Jars: jars, BlanksPerCook: 1, Control: "brown rice", Matters: 20, Primary: "inoculated", Seed: "40218",
		Cooks: []app.PlanCook{{Places: []int{jars + 1, jars + 1}, Hold: "90 min", Gauge: "15 psi"}},
	}
}

// plain is a plan of jars that are all alike.
func plain(name string, jars int) app.PlanInput {
	return app.PlanInput{
		Name: name, Recipe: "millet cake", Culture: "LC-3", Container: "pint jar", Jars: jars,
		Cooks: []app.PlanCook{{Places: []int{jars}, Hold: "90 min", Gauge: "15 psi"}},
	}
}

// keep keeps a plan.
func (x *site) keep(t testing.TB, in app.PlanInput) app.Kept {
	t.Helper()
	return must[app.Kept](t)(x.farm.KeepPlan(context.Background(), act(), in))
}

// cook logs a hold of 95 minutes.
func (x *site) cook(t testing.TB, number string) {
	t.Helper()
	for _, step := range []struct {
		event lab.Event
		then  time.Duration
	}{{lab.Reached, 95 * time.Minute}, {lab.HeatOff, 2 * time.Hour}, {lab.Opened, time.Hour}} {
		must[app.CookView](t)(x.farm.MarkCook(context.Background(), act(), number, step.event, ""))
		x.clock.add(step.then)
	}
}

// inoculate inoculates all jars of a batch.
func (x *site) inoculate(t testing.TB, batch string) {
	t.Helper()
	must[app.InoculateReport](t)(x.farm.Inoculate(context.Background(), act(), app.InoculateInput{Batch: batch, Amount: "2 mL"}))
}

// pick picks from every jar of a batch but each seventh, which is lost.
func (x *site) pick(t testing.TB, batch string) {
	t.Helper()
	x.clock.add(40 * 24 * time.Hour)
	ctx, after := context.Background(), 0
	for {
		v := must[app.BatchView](t)(x.farm.BatchView(ctx, batch, after))
		in := app.PickInput{}
		for i, j := range v.Jars {
			after = j.Number
			switch {
			case j.Blank:
			case i%7 == 3:
				must[app.Done](t)(x.farm.See(ctx, act(), app.SeeInput{Jars: string(j.Code), Fate: "lost", Reason: "fouled"}))
			default:
				in.Picks = append(in.Picks, app.TypedPick{Jar: string(j.Code), Grams: fmt.Sprint(12 + i%5)})
			}
		}
		if len(in.Picks) > 0 {
			must[app.Done](t)(x.farm.PickJars(ctx, act(), in))
		}
		if !v.More {
			return
		}
	}
}

// nameEverything makes a trial of six jars in which everything is called name.
func (x *site) nameEverything(t testing.TB, name string) {
	t.Helper()
	ctx := context.Background()
	if err := x.farm.SaveSettings(ctx, app.NewSettings{Name: name}); err != nil {
		t.Fatal(err)
	}
	must[lab.Culture](t)(x.farm.AddCulture(ctx, app.NewCulture{Name: name, Form: "LC", Strain: name, Species: name, Note: name}))
	must[lab.Container](t)(x.farm.AddContainer(ctx, app.NewContainer{Name: name, Kind: "jar", Note: name}))
	must[lab.Ingredient](t)(x.farm.AddIngredient(ctx, app.NewIngredient{Name: name, Note: name}))
	mix := lab.Mix{Name: name + " mix", Lines: []lab.RecipeLine{{Ingredient: name, Amount: "40 g"}}}
	must[lab.Recipe](t)(x.farm.AddRecipe(ctx, app.NewRecipe{Name: name, Note: name, Mixes: []lab.Mix{mix}, Fills: []lab.Fill{{Mix: mix.Name, Amount: "40 g"}}}))
	x.keep(t, app.PlanInput{
		Name: name, Question: name, Differ: []string{"treatment"}, Recipe: name, Culture: name, Container: name, Jars: 3, BlanksPerCook: 1,
		Arms:    []app.PlanArm{{Name: name, Treatment: name}, {Name: "usual", Treatment: "none"}},
		Cooks:   []app.PlanCook{{Name: name, Cooker: name, Places: []int{4, 4}, Hold: "60 min"}},
		Shelves: []app.PlanShelf{{Name: name, Places: 10}},
	})
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.pick(t, "B1")
}
