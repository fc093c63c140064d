package sqldb

import (
	"context"
	"fmt"

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

// draw is what a making took from a lot.
type draw struct {
	id     string
	making lab.EntryID
	lot    lab.IngredientLotID
	grams  float64
}

var draws = &table[draw]{
	name: "making_lot",
	columns: func(d *draw) []column {
		return []column{text("id", &d.id), text("making", &d.making), text("lot", &d.lot), quantity("grams", &d.grams)}
	},
}

func (t *tx) Makings(ctx context.Context, batches ...lab.BatchID) ([]lab.Making, error) {
	return among(ctx, t, makings, "batch", batches, "seq")
}

func (t *tx) AddMakings(ctx context.Context, m []lab.Making) error {
	if err := add(ctx, t, makings, m...); err != nil {
		return err
	}
	var taken []draw
	for _, x := range m {
		for i, w := range x.Weighed {
			if w.Lot != "" && !x.Withdrawn {
				taken = append(taken, draw{fmt.Sprintf("%s:%d", x.ID, i), x.ID, w.Lot, w.Grams})
			}
		}
	}
	return add(ctx, t, draws, taken...)
}
