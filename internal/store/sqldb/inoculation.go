package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var inoculations = &table[lab.Inoculation]{
	name: "inoculation",
	columns: func(i *lab.Inoculation) []column {
		return append(entryColumns(&i.Entry),
			text("jar", &i.Jar), ref("culture", &i.Culture), text("means", &i.Means),
			text("amount", &i.Amount), text("override_reason", &i.Override))
	},
}

func (t *tx) Inoculations(ctx context.Context, jars []lab.JarID) ([]lab.Inoculation, error) {
	return entriesOf(ctx, t, inoculations, "jar", jars)
}

func (t *tx) AddInoculations(ctx context.Context, in []lab.Inoculation) error {
	if err := add(ctx, t, inoculations, in...); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(in, func(i lab.Inoculation) lab.JarID { return i.Jar }))
}
