package web

import (
	"context"
	"fmt"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// BenchmarkPages asks for pages of a farm with a trial of 24 jars.
func BenchmarkPages(b *testing.B) {
	x := newSite(b, Options{})
	x.stock()
	x.grown(x.batch(12))
	for name, path := range map[string]string{
		"today": "/", "batch": "/batches/B1", "rounds": "/batches/B1/rounds", "bench": "/batches/B1/bench", "verdict": "/trials/rice%20or%20millet",
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				x.get(path).status(200)
			}
		})
	}
}

// BenchmarkFiftyRecipes asks for the forecasts of a farm that grows fifty
// recipes, with two batches of each: one that is done and one that grows.
func BenchmarkFiftyRecipes(b *testing.B) {
	x := newSite(b, Options{})
	x.stock()
	x.fiftyRecipes()
	for name, path := range map[string]string{"forecast": "/forecast", "today": "/", "batch": "/batches/B80", "plan": "/plan"} {
		b.Run(name, func(b *testing.B) {
			bytes := 0
			for b.Loop() {
				bytes = x.get(path).status(200).Body.Len()
			}
			b.ReportMetric(float64(bytes), "bytes/page")
		})
	}
}

// fiftyRecipes plants a batch of six jars of each of fifty recipes, twice: the
// first ones come to all stages, of the second ones every other to full cover.
func (x *site) fiftyRecipes() {
	x.t.Helper()
	ctx := context.Background()
	begun := x.clock.Now()
	see := func(batch string, in app.SeeInput, day int) {
		in.Jars, in.At = batch+"·1-6", begun.AddDate(0, 0, day).Format(time.DateOnly)
		must[app.Done](x.t)(x.farm.See(ctx, app.Act{}, in))
	}
	for n := range 50 {
		must[lab.Recipe](x.t)(x.farm.AddRecipe(ctx, app.NewRecipe{
			Name:  fmt.Sprintf("recipe %d", n),
			Mixes: []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "oats", Amount: "40 g"}}}}, Fills: []lab.Fill{{Mix: "grain", Amount: "40 g"}},
		}))
	}
	plant := func() (batches []string) {
		begun = x.clock.Now()
		for n := range 50 {
			k := must[app.Kept](x.t)(x.farm.KeepPlan(ctx, app.Act{}, app.PlanInput{
				Name: fmt.Sprintf("run %d from %s", n, begun.Format(time.DateOnly)), Recipe: fmt.Sprintf("recipe %d", n), Culture: "LC-3", Container: "pint jar", Jars: 6, Cooks: []app.PlanCook{{Places: []int{6}}},
			}))
			batches = append(batches, k.Batch.String())
			must[app.InoculateReport](x.t)(x.farm.Inoculate(ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))
		}
		return batches
	}
	first := plant()
	x.clock.add(60 * 24 * time.Hour)
	for n, b := range first {
		for i, stage := range []lab.Stage{lab.Cover, lab.Light, lab.Pins, lab.Ready} {
			see(b, app.SeeInput{Sign: "clean"}, 6+12*i+n%5)
			see(b, app.SeeInput{Stage: string(stage)}, 8+12*i+n%5)
		}
		see(b, app.SeeInput{Fate: "spent"}, 55)
	}
	second := plant()
	x.clock.add(14 * 24 * time.Hour)
	for n, b := range second {
		see(b, app.SeeInput{Sign: "clean"}, 7)
		if n%2 == 0 {
			see(b, app.SeeInput{Stage: "cover"}, 8+n%5)
		}
	}
}
