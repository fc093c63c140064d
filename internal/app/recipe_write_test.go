package app_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// countedStore counts writes, and lets the nth fail at its end.
type countedStore struct {
	store.Store
	writes, failing int
}

var errPower = errors.New("the power went")

func (s *countedStore) Write(ctx context.Context, f func(store.Writer) error) error {
	s.writes++
	return s.Store.Write(ctx, func(w store.Writer) error {
		if err := f(w); err != nil || s.writes != s.failing {
			return err
		}
		return errPower
	})
}

// A ladder is kept in one write: its recipes with its trial, or none of it.
func TestLadderIsKeptWholeOrNotAtAll(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := app.LadderInput{Recipe: "oats", Step: "broth", From: "40 mL", To: "56 mL", By: "8 mL", Jars: 2, Culture: "LC-1", Seed: "5"}
		counted := &countedStore{Store: b.store, failing: 1}
		f := app.New(counted, app.WithClock(b.clock.Now))
		before := len(must(b.Recipes(b.ctx))(b))
		if _, err := f.KeepLadder(b.ctx, app.Act{ID: app.NewActID()}, in); !errors.Is(err, errPower) {
			t.Fatalf("the failing write says %v", err)
		}
		if got := len(must(b.Recipes(b.ctx))(b)); got != before {
			t.Errorf("%d recipes stay of a ladder that was not kept", got-before)
		}
		act := app.Act{ID: app.NewActID()}
		k := must(f.KeepLadder(b.ctx, act, in))(b)
		if counted.writes != 2 {
			t.Errorf("a ladder took %d writes, want 1", counted.writes-1)
		}
		again := must(f.KeepLadder(b.ctx, act, in))(b)
		if !again.Repeat || again.Batch.ID != k.Batch.ID {
			t.Errorf("the same act made %+v", again.Batch)
		}
		if got := len(must(b.Recipes(b.ctx))(b)); got != before+3 {
			t.Errorf("%d recipes are kept, want the 3 rungs", got-before)
		}
	})
}

// A recipe that can not be worked out is refused before a write begins.
func TestARecipeIsWorkedOutBeforeItIsWritten(t *testing.T) {
	onBoth(t, func(b *bench) {
		counted := &countedStore{Store: b.store}
		f := app.New(counted, app.WithClock(b.clock.Now))
		n := app.NewRecipe{
			Name:  "moon",
			Mixes: []lab.Mix{{Name: "dry", Lines: []lab.RecipeLine{{Ingredient: "moon grain", Amount: "2 cups"}}}},
			Fills: []lab.Fill{{Mix: "dry", Amount: "100 g"}},
		}
		if _, err := f.AddRecipe(b.ctx, n); !lab.IsKind(err, lab.Invalid) || counted.writes != 0 {
			t.Errorf("%d writes, %v; want a question and none", counted.writes, err)
		}
		n.Answers = []app.NewFigures{{Ingredient: "other"}, {Ingredient: "moon grain", Cup: "plenty"}}
		_, err := f.AddRecipe(b.ctx, n)
		if p, ok := lab.AsProblem(err); !ok || p.Field != "answers[1].cup" || counted.writes != 0 {
			t.Errorf("%d writes, %v; want a Problem of the answer", counted.writes, err)
		}
		n.Answers[1].Cup = "120 g"
		must(f.AddRecipe(b.ctx, n))(b)
		if counted.writes != 1 {
			t.Errorf("%d writes, want 1", counted.writes)
		}
		about(t, "two cups", &must(f.RecipeView(b.ctx, "moon", 1))(b).Answer.Result.PerJar.WetG, 100, 1e-9)
	})
}

// At 420 m water boils at 98.6 °C and 15 psi is 120.2 °C (IAPWS R7-97 on the
// standard day): 21.6 °C of drop; at 2000 m 93.3 and 117.4. Absolute, 0.1 °C.
func TestSteamOffGoesByTheAltitude(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		drop := func() float64 {
			return must(b.RecipeView(b.ctx, "oats", 1))(b).Answer.Result.SteamOff.DropC
		}
		at420 := drop()
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "2000 m"}))
		at2000 := drop()
		if math.Abs(at420-21.6) > 0.1 || math.Abs(at2000-24.1) > 0.1 {
			t.Errorf("the drops are %.2f and %.2f °C, want 21.6 and 24.1", at420, at2000)
		}
	})
}

// Plates and bottles have no depth and lose no steam as cakes do.
func TestAgarAndLCRoutes(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		for route, vessel := range map[lab.Route]string{lab.AgarPlates: "plate", lab.LCRoute: "bottle", lab.Block: "bag", lab.DryAndBroth: "jar"} {
			must(b.AddRecipe(b.ctx, app.NewRecipe{
				Name: "medium", Details: lab.Details{Route: route},
				Mixes: []lab.Mix{{Name: "medium", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "agar", Amount: "20 g"}, {Ingredient: "dextrose monohydrate", Amount: "10 g"}}}},
				Fills: []lab.Fill{{Mix: "medium", Amount: "25 mL"}},
			}))(b)
			v := must(b.RecipeBalance(b.ctx, app.RecipeQuery{Name: "medium", Jars: 40, Container: "half-litre jar"}))(b)
			r := v.Answer.Result
			if cake := v.Cake(); v.Vessel() != vessel || cake != (r.PerJar.DepthMM != nil) || cake != (r.SteamOff != nil) {
				t.Errorf("%s: a %s, depth %v, steam off %v", route, v.Vessel(), r.PerJar.DepthMM, r.SteamOff)
			}
			about(t, "agar", r.Broth["medium"].AgarGL, 20, 1e-9)
			about(t, "plates from a litre", r.Broth["medium"].JarsPerL, 40, 1e-9)
		}
	})
}
