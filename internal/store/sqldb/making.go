package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var makings = &table[lab.Making]{
	name: "making",
	columns: func(m *lab.Making) []column {
		return append(entryColumns(&m.Entry),
			text("batch", &m.Batch), ref("recipe", &m.Recipe), text("mix", &m.Mix),
			text("label", &m.Label), document("weighed", &m.Weighed))
	},
}

func (t *tx) Makings(ctx context.Context, batch lab.BatchID) ([]lab.Making, error) {
	return query(ctx, t, makings, "WHERE batch = $1 ORDER BY seq", string(batch))
}

func (t *tx) AddMakings(ctx context.Context, m []lab.Making) error { return add(ctx, t, makings, m...) }
