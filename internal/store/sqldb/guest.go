package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var guests = &table[lab.Guest]{
	name: "guest",
	columns: func(g *lab.Guest) []column {
		return append(entryColumns(&g.Entry),
			text("name", &g.Name), text("origin", &g.From), text("kind", &g.Kind), text("question", &g.Question), text("sentence", &g.Sentence),
			moment("made", &g.Made), text("version", &g.Version), text("hash", &g.Hash), text("data_hash", &g.DataHash), number("jars", &g.Jars),
			document("arms", &g.Arms), document("contrasts", &g.Contrasts))
	},
}

func (t *tx) Guests(ctx context.Context) ([]lab.Guest, error) {
	return query(ctx, t, guests, "ORDER BY seq")
}

func (t *tx) AddGuests(ctx context.Context, g []lab.Guest) error { return add(ctx, t, guests, g...) }
