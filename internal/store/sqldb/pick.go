package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var picks = &table[lab.Pick]{
	name: "pick",
	columns: func(p *lab.Pick) []column {
		return append(entryColumns(&p.Entry),
			text("jar", &p.Jar), number("flush", &p.Flush), quantity("grams", &p.Grams), text("typed", &p.Typed))
	},
}

func (t *tx) Picks(ctx context.Context, jars []lab.JarID) ([]lab.Pick, error) {
	return entriesOf(ctx, t, picks, "jar", jars)
}

func (t *tx) AddPicks(ctx context.Context, p []lab.Pick) error {
	if err := add(ctx, t, picks, p...); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(p, func(p lab.Pick) lab.JarID { return p.Jar }))
}
