package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var ingredients = &table[lab.Ingredient]{
	name: "ingredient",
	columns: func(i *lab.Ingredient) []column {
		return []column{
			text("id", &i.ID), text("name", &i.Name), nameKey(&i.Name),
			known("moisture", &i.Moisture), text("note", &i.Note),
		}
	},
	taken: func(_ context.Context, _ *tx, i lab.Ingredient) error {
		return lab.Conflictf("choose another name, or use the one that is there", "an ingredient is called %s already", i.Name)
	},
}

func (t *tx) Ingredients(ctx context.Context) ([]lab.Ingredient, error) {
	return query(ctx, t, ingredients, "ORDER BY name_key")
}

func (t *tx) IngredientByName(ctx context.Context, name string) (lab.Ingredient, error) {
	absent := notFound("look at the list of ingredients, or add it", "no ingredient is called %s", name)
	return one(ctx, t, ingredients, absent, "WHERE name_key = $1", lab.NameKey(name))
}

func (t *tx) AddIngredient(ctx context.Context, i lab.Ingredient) error {
	return add(ctx, t, ingredients, i)
}
