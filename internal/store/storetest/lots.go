package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func testIngredientFigures(t *testing.T, s store.Store) {
	f := settle(t, s)
	rye := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "rye"}
	wet, factor := units.Fraction(0.12), 5.83
	first := lab.IngredientFigures{
		Entry: newEntry(f.deed, 1), Ingredient: rye.ID,
		Figures: lab.Figures{StandsFor: "rye grain", Moisture: &wet, Factor: &factor, Cup: 169.5, Allergens: []string{"gluten"}},
	}
	second := lab.IngredientFigures{Entry: newEntry(f.deed, 2), Ingredient: rye.ID}
	second.Corrects = first.ID
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddIngredient(ctx, rye), w.AddIngredientFigures(ctx, []lab.IngredientFigures{first, second}),
			w.AddIngredientFigures(ctx, []lab.IngredientFigures{first}))
	})
	same(t, "figures in the order of entry", []lab.IngredientFigures{first, second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.IngredientFigures, error) {
		return r.IngredientFigures(ctx)
	}))
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddIngredientFigures(ctx, []lab.IngredientFigures{{Entry: newEntry(f.deed, 3), Ingredient: "none"}})
	}), lab.NotFound)
}

func testIngredientLots(t *testing.T, s store.Store) {
	f := settle(t, s)
	rye := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "rye"}
	wet := units.Fraction(0.118)
	lot := lab.IngredientLot{
		Entry: newEntry(f.deed, 1), Lot: newID[lab.IngredientLotID](), Number: 1, Ingredient: rye.ID, Supplier: "mill", SupplierCode: "R-77",
		BestBefore: lab.Day{Time: onDay(28).Time}, Moisture: &wet, Cup: 168, Bought: 22679.6, BoughtTyped: "50 lb",
		Price: lab.Price{Typed: "31.50 EUR", Minor: 3150, Currency: "EUR", For: 22679.6}, Note: "clean",
	}
	mended := lot
	mended.Entry = newEntry(f.deed, 2)
	mended.Corrects, mended.Bought, mended.BoughtTyped = lot.ID, 25000, "25 kg"
	bare := lab.IngredientLot{Entry: newEntry(f.deed, 3), Lot: newID[lab.IngredientLotID](), Number: 2, Ingredient: rye.ID}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddIngredient(ctx, rye), w.AddIngredientLots(ctx, []lab.IngredientLot{lot, mended, bare}),
			w.AddIngredientLots(ctx, []lab.IngredientLot{lot}))
	})
	same(t, "lots in the order of entry", []lab.IngredientLot{lot, mended, bare}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.IngredientLot, error) {
		return r.IngredientLots(ctx)
	}))
}

// testDrawnFromLots: a making that another one corrects, or that was taken
// back, took nothing; the same making twice takes once.
func testDrawnFromLots(t *testing.T, s store.Store) {
	f := settle(t, s)
	a, b := newID[lab.IngredientLotID](), newID[lab.IngredientLotID]()
	making := func(n int, grams float64, lot lab.IngredientLotID) lab.Making {
		return lab.Making{
			Entry: newEntry(f.deed, n), Batch: f.batch.ID, Mix: "dry mix",
			Weighed: []lab.Weighed{{Ingredient: "rye", Grams: grams, Lot: lot}, {Ingredient: "water", Grams: 60}},
		}
	}
	get := func() map[lab.IngredientLotID]units.Gram {
		return read(t, s, func(ctx context.Context, r store.Reader) (map[lab.IngredientLotID]units.Gram, error) {
			return r.DrawnFromLots(ctx)
		})
	}
	same(t, "drawn before any making", map[lab.IngredientLotID]units.Gram{}, get())
	first, second, other := making(1, 500, a), making(2, 250.5, a), making(3, 40, b)
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddMakings(ctx, []lab.Making{first, second, other}), w.AddMakings(ctx, []lab.Making{first}))
	})
	same(t, "drawn", map[lab.IngredientLotID]units.Gram{a: 750.5, b: 40}, get())
	mended := making(4, 300, a)
	mended.Corrects = first.ID
	gone := making(5, 40, b)
	gone.Corrects, gone.Withdrawn = other.ID, true
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddMakings(ctx, []lab.Making{mended, gone}) })
	same(t, "drawn after corrections", map[lab.IngredientLotID]units.Gram{a: 550.5}, get())
}
