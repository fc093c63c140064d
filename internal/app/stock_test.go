package app_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

func about(t *testing.T, what string, got *float64, want, tol float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is not known, want %g", what, want)
	} else if !(math.Abs(*got-want) <= tol) {
		t.Errorf("%s is %.6g, want %.6g", what, *got, want)
	}
}

// grainAndWater keeps a recipe of 50 g of a grain and 60 g of water.
func (b *bench) grainAndWater(name, grain string) {
	b.t.Helper()
	must(b.AddRecipe(b.ctx, app.NewRecipe{
		Name:  name,
		Mixes: []lab.Mix{{Name: "cake", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}},
		Fills: []lab.Fill{{Mix: "cake", Amount: "110 g"}},
	}))(b)
}

// ofOne is a plan of a batch with one recipe.
func ofOne(recipe string, jars int) app.PlanInput {
	return app.PlanInput{Name: "of " + recipe, Recipe: recipe, Jars: jars, Cooks: []app.PlanCook{{Places: []int{jars}}}}
}

// The lot's own measurement goes before the ingredient's, both before the
// book, on the recipe, on the bench sheet and in a plan. Brown rice by the
// book holds 11.80 % water (USDA SR28, NDB 20036): 59.91 % in the jar.
func TestOwnFiguresReplaceTheBook(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.grainAndWater("rice", "brown rice")
		moisture := func() *float64 { return must(b.RecipeView(b.ctx, "rice", 1))(b).Answer.Result.PerJar.MoisturePct }
		about(t, "moisture by the book", moisture(), 59.909, 0.001)
		must(b.SetFigures(b.ctx, app.Act{}, app.NewFigures{Ingredient: "brown rice", Moisture: "14 %"}))(b)
		about(t, "by the own figure", moisture(), 100*(7+60)/110.0, 1e-9)
		_, lot, err := b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "Brown rice", Moisture: "10 %", Bought: "25 kg", Price: "50 EUR", SupplierCode: "R-9"})
		b.ok(err)
		about(t, "by the lot", moisture(), 100*(5+60)/110.0, 1e-9)
		v := must(b.RecipeView(b.ctx, "rice", 10))(b)
		about(t, "cost of a jar", v.Answer.Result.CostPerJar, 0.1, 1e-9) // 50 g at 2 a kilogram
		if v.Currency != "EUR" || len(v.Lots) != 1 || v.Lots[0].String() != "I1" {
			t.Errorf("the view is in %q from %v, want EUR from I1", v.Currency, v.Lots)
		}
		if e := v.Enough; e == nil || e.Jars != 500 || e.Lot != "I1" { // 25 kg at 50 g
			t.Errorf("what is left is enough for %+v, want 500 jars by I1", e)
		}
		in := ofOne("rice", 4)
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		sheet := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		about(t, "moisture on the sheet", sheet.Recipes[0].MoisturePct, 100*65/110.0, 1e-9)
		if got := sheet.Makings[0].Lines[0]; got.Lot != "I1" || got.Ingredient != "brown rice" {
			t.Errorf("the sheet weighs %+v, want brown rice from I1 first", got)
		}
		must(b.Undo(b.ctx, app.Act{}, lot.Deed))(b)
		about(t, "after the lot is taken back", moisture(), 100*(7+60)/110.0, 1e-9)
	})
}

// What makings take is drawn from the lot that they name; undo gives it back;
// a lot that is used up gives way to the next.
func TestLotsAreDrawnDown(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.grainAndWater("rice", "brown rice")
		_, _, err := b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "brown rice", Bought: "2 x 300 g", BestBefore: "2026-02-01"})
		b.ok(err)
		in := ofOne("rice", 4)
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		sheet := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		making := sheet.Makings[0]
		if note := making.Lines[0].LotNote; !strings.Contains(note, "best before") {
			t.Errorf("the sheet says %q of a lot that is past its day", note)
		}
		weigh := func(lot, amount string) (app.Done, error) {
			return b.LogMaking(b.ctx, app.Act{}, app.MakingInput{Batch: k.Batch.String(), Label: making.Label, Mix: making.Mix, Weighed: []app.TypedWeight{{Ingredient: "brown rice", Typed: amount, Lot: lot}}})
		}
		left := func() float64 { return float64(*must(b.StockOf(b.ctx, "brown rice"))(b).Lots[0].Left) }
		done := must(weigh("I1", "200 g"))(b)
		must(weigh("i1", "1/2 lb"))(b)
		if got := left(); math.Abs(got-(600-200-226.796185)) > 1e-9 {
			t.Errorf("%g g are left, want 173.2", got)
		}
		must(b.Undo(b.ctx, app.Act{}, done.Deed))(b)
		if got := left(); math.Abs(got-(600-226.796185)) > 1e-9 {
			t.Errorf("%g g are left after the undo, want 373.2", got)
		}
		if _, err := weigh("I9", "1 g"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("a lot that is not there: %v", err)
		}
		must(weigh("I1", "400 g"))(b)
		_, _, err = b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "brown rice"})
		b.ok(err)
		row := must(b.StockOf(b.ctx, "brown rice"))(b)
		if got := row.InUse().String(); got != "I2" {
			t.Errorf("%s is in use, want I2", got)
		}
		if !row.Lots[1].UsedUp() || !row.Lots[1].Past {
			t.Errorf("I1 is %+v, want used up and past its day", row.Lots[1])
		}
		mended, _, err := b.AddLot(b.ctx, app.Act{}, app.NewLot{Corrects: "I1", Bought: "1 kg"})
		b.ok(err)
		if mended.Number != 1 || mended.BestBefore.IsZero() {
			t.Errorf("the mended lot is %+v, want I1 with its day", mended)
		}
		lots := must(b.StockOf(b.ctx, "brown rice"))(b).Lots
		if len(lots) != 2 || math.Abs(float64(*lots[1].Left)-(1000-626.796185)) > 1e-9 {
			t.Errorf("after the correction there are %d lots, want two and 373.2 g left of I1", len(lots))
		}
	})
}

// A cup whose weight nobody knows is asked for once and kept.
func TestCupIsAskedForOnce(t *testing.T) {
	onBoth(t, func(b *bench) {
		n := app.NewRecipe{
			Name:  "moon",
			Mixes: []lab.Mix{{Name: "dry", Lines: []lab.RecipeLine{{Ingredient: "moon grain", Amount: "2 cups"}, {Ingredient: "ammonium citrate", Amount: "1 g"}}}},
			Fills: []lab.Fill{{Mix: "dry", Amount: "100 g"}},
		}
		_, err := b.AddRecipe(b.ctx, n)
		if p, ok := lab.AsProblem(err); !ok || p.Kind != lab.Invalid || !strings.Contains(p.Mend, "level cup") {
			t.Fatalf("a cup of unknown weight: %v", err)
		}
		asks := must(b.RecipeAsks(b.ctx, n))(b)
		if len(asks) != 2 || asks[0].Ingredient != "moon grain" || asks[0].Choices != nil || len(asks[1].Choices) != 2 {
			t.Fatalf("asked is %+v, want the cup of moon grain and which citrate", asks)
		}
		n.Answers = []app.NewFigures{{Ingredient: "moon grain", Cup: "1 tbsp = 10 g"}, {Ingredient: "ammonium citrate", StandsFor: "triammonium citrate"}}
		must(b.AddRecipe(b.ctx, n))(b)
		n.Answers = nil
		must(b.AddRecipe(b.ctx, n))(b) // kept: not asked again
		v := must(b.RecipeView(b.ctx, "moon", 1))(b)
		if len(v.Asks) != 0 || v.Version != 2 {
			t.Errorf("version %d asks %+v", v.Version, v.Asks)
		}
		if got := v.Answer.Result.Batch["dry"]["moon grain"] / v.Answer.Result.Batch["dry"]["ammonium citrate"]; math.Abs(got-320) > 1e-9 {
			t.Errorf("two cups weigh %g g to 1 g, want 32 tablespoons of 10 g", got)
		}
	})
}

// Soaked grain has the moisture of its two weighings, not of what was poured.
func TestSoakedGrain(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name:    "spawn",
			Mixes:   []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "rye", Amount: "300 g"}}}},
			Fills:   []lab.Fill{{Mix: "grain", Amount: "300 g"}},
			Details: lab.Details{Route: lab.Soaked, SoakDry: "1 kg", SoakDrained: "1720 g"},
		}))(b)
		v := must(b.RecipeView(b.ctx, "spawn", 1))(b)
		// Rye holds 10.60 % water (USDA SR28, NDB 20062): 894 g dry in 1720 g.
		about(t, "moisture", v.Answer.Result.PerJar.MoisturePct, 100*(1720-894)/1720.0, 1e-9)
		if !slices.ContainsFunc(v.Answer.Cautions, func(c figure.Caution) bool { return c.Code == "solids_lost" }) {
			t.Error("nothing is said about solids in the water")
		}
	})
}

// An amount of ten steps of the scale is off by 5 % and weighed; one of nine
// is doubted.
func TestTenStepsAreWeighed(t *testing.T) {
	onBoth(t, func(b *bench) {
		for name, grams := range map[string]string{"ten": "10 g", "nine": "9 g"} {
			must(b.AddRecipe(b.ctx, app.NewRecipe{
				Name: name, Mixes: []lab.Mix{{Name: "dry", Lines: []lab.RecipeLine{{Ingredient: "oats", Amount: "300 g"}, {Ingredient: "gypsum", Amount: grams}}}},
				Fills: []lab.Fill{{Mix: "dry", Amount: map[string]string{"ten": "310 g", "nine": "309 g"}[name]}},
			}))(b)
			k := must(b.KeepPlan(b.ctx, app.Act{}, ofOne(name, 1)))(b)
			sheet := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
			doubted := slices.ContainsFunc(sheet.Cautions, func(c figure.Caution) bool { return c.Code == "scale_too_coarse" })
			if doubted != (name == "nine") {
				t.Errorf("%s of gypsum on a scale of 1 g is doubted: %v", grams, doubted)
			}
		}
	})
}

// Half a gram on a scale of 1 g is doubted, with a way out; on one of 0.01 g
// it is not.
func TestScaleStep(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name: "broth",
			Mixes: []lab.Mix{
				{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "oats", Amount: "40 g"}, {Ingredient: "gypsum", Amount: "0.4 g"}}},
				{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "MgSO4·7H2O", Amount: "0.5 g"}, {Ingredient: "dextrose monohydrate", Amount: "20 g"}}},
			},
			Fills: []lab.Fill{{Mix: "grain", Amount: "40.4 g"}, {Mix: "broth", Amount: "48 mL"}},
		}))(b)
		in := ofOne("broth", 11)
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		coarse := func() (texts []string, sheet app.BenchSheet) {
			sheet = must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
			for _, c := range sheet.Cautions {
				if c.Code == "scale_too_coarse" {
					texts = append(texts, c.Text)
				}
			}
			return texts, sheet
		}
		texts, sheet := coarse()
		if len(texts) != 2 || !strings.Contains(texts[0], "Rub 20 g of gypsum into") || !strings.Contains(texts[1], "Dissolve 20 g of MgSO4·7H2O in water to 100 mL") {
			t.Errorf("the cautions are %q", texts)
		}
		grain := sheet.Makings[0].Lines
		if grain[0].Ingredient != "oats" || grain[0].Weigh != 440 || grain[0].Shows != 440 { // 11 jars of 40 g
			t.Errorf("the first line is %+v, want 440 g of oats", grain[0])
		}
		broth := sheet.Makings[1]
		if last := broth.Lines[len(broth.Lines)-1]; !last.Pour {
			t.Errorf("the last line is %+v, want water to make up", last)
		}
		if math.Abs(float64(broth.Leftover)-11*48*0.05) > 1e-6 || broth.UseBy.String() != "2026-03-03" {
			t.Errorf("%g mL are left to use by %s, want 26.4 mL by 2026-03-03", float64(broth.Leftover), broth.UseBy)
		}
		if strings.Join(sheet.Allergens, ",") != "gluten cereals" {
			t.Errorf("allergens are %v", sheet.Allergens)
		}
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Step: "0.01 g"}))
		if texts, _ := coarse(); len(texts) != 0 {
			t.Errorf("on a scale of 0.01 g: %q", texts)
		}
		if err := b.SaveSettings(b.ctx, app.NewSettings{Step: "a pinch"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("a scale with steps of a pinch: %v", err)
		}
	})
}
