package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var recipes = &table[lab.Recipe]{
	name: "recipe",
	columns: func(r *lab.Recipe) []column {
		return []column{
			text("id", &r.ID), text("line", &r.Line), text("name", &r.Name), nameKey(&r.Name),
			number("version", &r.Version), document("mixes", &r.Mixes), document("fills", &r.Fills),
			moment("made", &r.Made), text("note", &r.Note), document("details", &r.Details),
		}
	},
	taken: func(_ context.Context, _ *tx, r lab.Recipe) error {
		return lab.Conflictf("reload the recipe and make your change in its newest version", "%s has a version %d already", r.Name, r.Version)
	},
}

const (
	seeRecipes    = "look at the list of recipes"
	newestVersion = "version = (SELECT MAX(v.version) FROM recipe v WHERE v.line = recipe.line)"
)

func (t *tx) Recipes(ctx context.Context) ([]lab.Recipe, error) {
	return query(ctx, t, recipes, "WHERE "+newestVersion+" ORDER BY name_key, id")
}

func (t *tx) Recipe(ctx context.Context, id lab.RecipeVersionID) (lab.Recipe, error) {
	return one(ctx, t, recipes, notFound(seeRecipes, "there is no recipe %s", id), "WHERE id = $1", string(id))
}

func (t *tx) RecipesByID(ctx context.Context, ids ...lab.RecipeVersionID) ([]lab.Recipe, error) {
	return among(ctx, t, recipes, "id", ids, "name_key, version")
}

// versionOf is a version with the recipe that it is of.
type versionOf struct{ id, line string }

func (t *tx) RecipeLines(ctx context.Context) (map[lab.RecipeVersionID]lab.RecipeID, error) {
	versions, err := collect(ctx, t, "SELECT id, line FROM recipe", nil, func(v *versionOf) []any { return []any{&v.id, &v.line} })
	if err != nil {
		return nil, err
	}
	out := make(map[lab.RecipeVersionID]lab.RecipeID, len(versions))
	for _, v := range versions {
		out[lab.RecipeVersionID(v.id)] = lab.RecipeID(v.line)
	}
	return out, nil
}

// RecipeByName finds the line by any name that one of its versions bore.
func (t *tx) RecipeByName(ctx context.Context, name string) (lab.Recipe, error) {
	const rest = "WHERE line = (SELECT n.line FROM recipe_name n WHERE n.name_key = $1) AND " + newestVersion
	return one(ctx, t, recipes, notFound(seeRecipes, "no recipe is called %s", name), rest, lab.NameKey(name))
}

func (t *tx) AddRecipe(ctx context.Context, r lab.Recipe) error {
	if t.failed != nil {
		return t.failed
	}
	key := lab.NameKey(r.Name)
	const bear = "INSERT INTO recipe_name (name_key, line) VALUES ($1, $2) ON CONFLICT (name_key) DO NOTHING"
	if _, err := t.q.ExecContext(ctx, bear, key, string(r.Line)); err != nil {
		return t.fault(ctx, err, "name recipe %s", r.Name)
	}
	line, _, err := scalar[string](ctx, t, "SELECT line FROM recipe_name WHERE name_key = $1", key)
	if err != nil {
		return err
	}
	if line != string(r.Line) {
		return t.fail(lab.Conflictf("choose another name, or make a new version of that recipe", "another recipe is called %s already", r.Name))
	}
	return add(ctx, t, recipes, r)
}
