package app_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// 100, 105 … 120 g of water on 100 g of brown rice (11.80 % water, USDA SR28,
// NDB 20036): 55.9, 57.0, 58.0, 59.0 and 59.9 % by mass balance.
func TestLadder(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name:  "rice",
			Mixes: []lab.Mix{{Name: "cake", Lines: []lab.RecipeLine{{Ingredient: "brown rice", Amount: "100 g"}, {Ingredient: "water", Amount: "110 g"}}}},
			Fills: []lab.Fill{{Mix: "cake", Amount: "210 g"}},
		}))(b)
		lot, _, err := b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "brown rice", Bought: "5 kg"})
		b.ok(err)
		in := app.LadderInput{Recipe: "rice", Step: "water", From: "100", To: "120", By: "5 g", Jars: 3, Culture: "LC-1", Container: "half-litre jar", Lot: "I1"}
		l := must(b.DraftLadder(b.ctx, in))(b)
		var amounts []string
		for i, r := range l.Rungs {
			amounts = append(amounts, r.Amount)
			water := 100 + 5*float64(i)
			about(t, "moisture of "+r.Amount, r.MoisturePct, 100*(11.8+water)/(100+water), 1e-6)
			about(t, "mass of "+r.Amount, &r.WetG, 100+water, 1e-6)
		}
		if got := strings.Join(amounts, ", "); got != "100 g, 105 g, 110 g, 115 g, 120 g" || l.Plan.Control != "110 g" {
			t.Errorf("the steps are %s, the control %s", got, l.Plan.Control)
		}
		k := must(b.KeepLadder(b.ctx, app.Act{}, in))(b)
		if len(k.Trial.Arms) != 5 || k.Trial.Control != "110 g" {
			t.Errorf("the trial is %+v", k.Trial)
		}
		if f, ladder := k.Trial.Ladder(); !ladder || f.Name != "water" || f.Unit != "g" || !slices.Equal(f.Doses, []float64{100, 105, 110, 115, 120}) {
			t.Errorf("its doses are %+v", f)
		}
		kept := must(b.RecipeView(b.ctx, "rice, water 105 g", 1))(b)
		if len(kept.Details.Lots) != 1 || kept.Details.Lots[0].Lot != lot.Lot {
			t.Errorf("the rung is made from %+v, want I1", kept.Details.Lots)
		}
		// A second ladder uses the same rungs, and a newer lot changes nothing of them.
		_, _, err = b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "brown rice", Moisture: "20 %"})
		b.ok(err)
		in.Name = "again"
		must(b.KeepLadder(b.ctx, app.Act{}, in))(b)
		kept = must(b.RecipeView(b.ctx, "rice, water 105 g", 1))(b)
		if kept.Version != 1 {
			t.Errorf("the rung has version %d, want 1", kept.Version)
		}
		about(t, "moisture by the lot it is tied to", kept.Answer.Result.PerJar.MoisturePct, 100*116.8/205, 1e-6)
	})
}

// The fill of a mix may be stepped too.
func TestLadderOfFill(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		l := must(b.DraftLadder(b.ctx, app.LadderInput{Recipe: "oats", Step: "broth", From: "40 mL", To: "56 mL", By: "8 mL"}))(b)
		k := must(b.KeepLadder(b.ctx, app.Act{}, app.LadderInput{Recipe: "oats", Step: "broth", From: "40 mL", To: "56 mL", By: "8 mL", Jars: 2, Culture: "LC-1"}))(b)
		sheet := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		if len(sheet.Makings) != 2 { // one of grain and one of broth for all steps
			t.Fatalf("the sheet has %d makings, want 2", len(sheet.Makings))
		}
		broth := sheet.Makings[1]
		if want := 1.05 * 2 * (40 + 48 + 56); math.Abs(float64(broth.Volume)-want) > 1e-6 || broth.Jars != 6 || broth.FillG != 0 {
			t.Errorf("the broth is %g mL for %d jars, want %g for 6", float64(broth.Volume), broth.Jars, want)
		}
		if grain := sheet.Makings[0]; grain.Lines[0].Grams != 240 || grain.PerJar != "40 g" {
			t.Errorf("the grain is %+v, want 240 g", grain)
		}
		if len(l.Rungs) != 3 || !(*l.Rungs[0].MoisturePct < *l.Rungs[2].MoisturePct) {
			t.Errorf("the rungs are %+v", l.Rungs)
		}
	})
}

func TestLadderRefuses(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		good := app.LadderInput{Recipe: "oats", Step: "oats", From: "40 g", To: "50 g", By: "5 g"}
		for name, change := range map[string]func(*app.LadderInput){
			"not in it":  func(in *app.LadderInput) { in.Step = "sand" },
			"no steps":   func(in *app.LadderInput) { in.By = "50 g" },
			"40 steps":   func(in *app.LadderInput) { in.By = "0.25 g" },
			"not even":   func(in *app.LadderInput) { in.By = "3 g" },
			"downwards":  func(in *app.LadderInput) { in.To = "30 g" },
			"two kinds":  func(in *app.LadderInput) { in.By = "1 tsp" },
			"NaN":        func(in *app.LadderInput) { in.From = "NaN" },
			"below zero": func(in *app.LadderInput) { in.From = "-5 g" },
			"no recipe":  func(in *app.LadderInput) { in.Recipe = "x" },
			"no lot":     func(in *app.LadderInput) { in.Lot = "I3" },
		} {
			in := good
			change(&in)
			if _, err := b.DraftLadder(b.ctx, in); !lab.IsKind(err, lab.Invalid) && !lab.IsKind(err, lab.NotFound) {
				t.Errorf("%s: %v, want a Problem", name, err)
			}
		}
		must(b.DraftLadder(b.ctx, good))(b)
	})
}

// A case from a grower's report: 100 g of grain at 12 % water with 100, 105,
// 110, 115 and 120 g of water holds 56.0, 57.1, 58.1, 59.1 and 60.0 %.
func TestLadderOfTheTrade(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.SetFigures(b.ctx, app.Act{}, app.NewFigures{Ingredient: "wheat", Moisture: "12 %"}))(b)
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name:  "wheat",
			Mixes: []lab.Mix{{Name: "cake", Lines: []lab.RecipeLine{{Ingredient: "wheat", Amount: "100 g"}, {Ingredient: "water", Amount: "100 g"}}}},
			Fills: []lab.Fill{{Mix: "cake", Amount: "200 g"}},
		}))(b)
		l := must(b.DraftLadder(b.ctx, app.LadderInput{Recipe: "wheat", Step: "water", From: "100 g", To: "120 g", By: "5 g"}))(b)
		for i, want := range []float64{56.0, 57.1, 58.1, 59.1, 60.0} {
			about(t, l.Rungs[i].Amount, l.Rungs[i].MoisturePct, want, 0.1)
		}
	})
}

// Another: 10 lb 11 oz of grain at 10 % water weigh 21 lb 13 oz drained, in 7
// bags of 3 lb 1.9 oz (1413 g): 55.9 %.
func TestSoakOfTheTrade(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.SetFigures(b.ctx, app.Act{}, app.NewFigures{Ingredient: "rye", Moisture: "10 %"}))(b)
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name:    "spawn",
			Mixes:   []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "rye", Amount: "21 lb 13 oz"}}}},
			Fills:   []lab.Fill{{Mix: "grain", Amount: "3 lb 1.857 oz"}},
			Details: lab.Details{Route: lab.Soaked, SoakDry: "10 lb 11 oz", SoakDrained: "21 lb 13 oz"},
		}))(b)
		jar := must(b.RecipeView(b.ctx, "spawn", 7))(b).Answer.Result.PerJar
		about(t, "moisture", jar.MoisturePct, 55.9, 0.2)
		about(t, "a bag", &jar.WetG, 1413, 2)
	})
}
