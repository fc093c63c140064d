package sqldb

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/units"
)

var ingredientFigures = &table[lab.IngredientFigures]{
	name: "ingredient_figures",
	columns: func(f *lab.IngredientFigures) []column {
		return append(entryColumns(&f.Entry), text("ingredient", &f.Ingredient), document("figures", &f.Figures))
	},
}

var ingredientLots = &table[lab.IngredientLot]{
	name: "ingredient_lot",
	columns: func(l *lab.IngredientLot) []column {
		return append(entryColumns(&l.Entry),
			text("lot", &l.Lot), number("number", &l.Number), text("ingredient", &l.Ingredient),
			text("supplier", &l.Supplier), text("supplier_code", &l.SupplierCode), day("best_before", &l.BestBefore),
			known("moisture", &l.Moisture), quantity("cup", &l.Cup), quantity("bought", &l.Bought), text("bought_typed", &l.BoughtTyped),
			text("price_typed", &l.Price.Typed), minor("price_minor", &l.Price.Minor), text("price_currency", &l.Price.Currency),
			quantity("price_for", &l.Price.For), text("note", &l.Note))
	},
}

// minor keeps money in minor units.
func minor(name string, p *int64) column {
	return column{
		name, numberKind,
		func() (any, error) { return *p, nil },
		func(stored any) error {
			n, ok := stored.(int64)
			*p = n
			return mismatch(ok, stored, numberKind)
		},
	}
}

func (t *tx) IngredientFigures(ctx context.Context) ([]lab.IngredientFigures, error) {
	return query(ctx, t, ingredientFigures, "ORDER BY seq")
}

func (t *tx) AddIngredientFigures(ctx context.Context, f []lab.IngredientFigures) error {
	return add(ctx, t, ingredientFigures, f...)
}

func (t *tx) IngredientLots(ctx context.Context) ([]lab.IngredientLot, error) {
	return query(ctx, t, ingredientLots, "ORDER BY seq")
}

func (t *tx) AddIngredientLots(ctx context.Context, l []lab.IngredientLot) error {
	return add(ctx, t, ingredientLots, l...)
}

// drawn is what was taken from one lot in all.
type drawn struct {
	lot   string
	grams float64
}

func (t *tx) DrawnFromLots(ctx context.Context) (map[lab.IngredientLotID]units.Gram, error) {
	const text = `SELECT d.lot, SUM(d.grams) FROM making_lot d JOIN making m ON m.id = d.making
		WHERE NOT m.withdrawn AND NOT EXISTS (SELECT 1 FROM making c WHERE c.corrects = m.id)
		GROUP BY d.lot`
	sums, err := collect(ctx, t, text, nil, func(d *drawn) []any { return []any{&d.lot, &d.grams} })
	if err != nil {
		return nil, err
	}
	out := make(map[lab.IngredientLotID]units.Gram, len(sums))
	for _, d := range sums {
		out[lab.IngredientLotID(d.lot)] = units.Gram(d.grams)
	}
	return out, nil
}
