package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var seen = &table[lab.Seen]{
	name: "seen",
	columns: func(s *lab.Seen) []column {
		return append(entryColumns(&s.Entry),
			text("jar", &s.Jar), text("stage", &s.Stage), text("sign", &s.Sign), text("fate", &s.Fate),
			text("reason", &s.Reason), number("counted", &s.Count), number("covered", &s.Covered), text("note", &s.Note))
	},
}

func (t *tx) Seen(ctx context.Context, jars []lab.JarID) ([]lab.Seen, error) {
	return entriesOf(ctx, t, seen, "jar", jars)
}

func (t *tx) AddSeen(ctx context.Context, s []lab.Seen) error {
	if err := add(ctx, t, seen, s...); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(s, func(s lab.Seen) lab.JarID { return s.Jar }))
}
