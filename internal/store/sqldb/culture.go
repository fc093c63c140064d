package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var cultures = &table[lab.Culture]{
	name: "culture",
	columns: func(c *lab.Culture) []column {
		made, exactness := when("made", &c.Made)
		return []column{
			text("id", &c.ID), text("name", &c.Name), nameKey(&c.Name), text("form", &c.Form),
			text("strain", &c.Strain), text("species", &c.Species), ref("parent", &c.Parent),
			made, exactness, text("note", &c.Note),
		}
	},
	taken: func(_ context.Context, _ *tx, c lab.Culture) error {
		return lab.Conflictf("choose another name, such as the next number", "a culture is called %s already", c.Name)
	},
}

const seeCultures = "look at the list of cultures"

func (t *tx) Cultures(ctx context.Context) ([]lab.Culture, error) {
	return query(ctx, t, cultures, "ORDER BY made DESC, seq DESC")
}

func (t *tx) Culture(ctx context.Context, id lab.CultureID) (lab.Culture, error) {
	return one(ctx, t, cultures, notFound(seeCultures, "there is no culture %s", id), "WHERE id = $1", string(id))
}

func (t *tx) CultureByName(ctx context.Context, name string) (lab.Culture, error) {
	return one(ctx, t, cultures, notFound(seeCultures, "no culture is called %s", name), "WHERE name_key = $1", lab.NameKey(name))
}

func (t *tx) AddCulture(ctx context.Context, c lab.Culture) error { return add(ctx, t, cultures, c) }
