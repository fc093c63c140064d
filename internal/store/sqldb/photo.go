package sqldb

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var photos = &table[lab.Photo]{
	name: "photo",
	columns: func(p *lab.Photo) []column {
		return append(entryColumns(&p.Entry),
			text("jar", &p.Jar), text("whole", &p.Whole), text("middle", &p.Middle), text("small", &p.Small),
			number("width", &p.Width), number("height", &p.Height), text("taken", &p.Taken), text("note", &p.Note), yesNo("erased", &p.Erased))
	},
}

// photoConditions writes f as the rest of a query of photos p. What another
// entry corrects does not hold, nor does what only withdraws.
func (t *tx) photoConditions(f store.PhotoFilter) (rest string, args []any, err error) {
	var c conditions
	c.all = []string{"p.withdrawn = FALSE", "NOT EXISTS (SELECT 1 FROM photo later WHERE later.corrects = p.id)"}
	c.list(t, "p.id", words(f.IDs))
	c.list(t, "p.jar", words(f.Jars))
	c.list(t, "p.whole", f.Whole)
	if f.Batch != "" {
		c.add("p.jar IN (SELECT id FROM jar WHERE batch = "+c.next()+")", string(f.Batch))
	}
	if f.Before != "" {
		c.add("(p.happened, p.seq) < (SELECT happened, seq FROM photo WHERE id = "+c.next()+")", string(f.Before))
	}
	if f.After != "" {
		c.add("(p.happened, p.seq) > (SELECT happened, seq FROM photo WHERE id = "+c.next()+")", string(f.After))
	}
	return c.where(), c.args, c.err
}

func (t *tx) Photos(ctx context.Context, f store.PhotoFilter) ([]lab.Photo, error) {
	rest, args, err := t.photoConditions(f)
	if err != nil {
		return nil, t.fail(err)
	}
	order := " ORDER BY p.happened DESC, p.seq DESC"
	if f.After != "" {
		order = " ORDER BY p.happened, p.seq"
	}
	text := "SELECT " + photos.names("p.") + " FROM photo p " + rest + order + limited(f.Limit)
	return collect(ctx, t, text, args, func(p *lab.Photo) []any { return targets(photos.columns(p)...) })
}

func (t *tx) CountPhotos(ctx context.Context, f store.PhotoFilter) (int, error) {
	rest, args, err := t.photoConditions(f)
	if err != nil {
		return 0, t.fail(err)
	}
	n, _, err := scalar[int](ctx, t, "SELECT COUNT(*) FROM photo p "+rest, args...)
	return n, err
}

func (t *tx) PhotoEntries(ctx context.Context, jars ...lab.JarID) ([]lab.Photo, error) {
	if len(jars) == 0 {
		return query(ctx, t, photos, "ORDER BY seq")
	}
	return entriesOf(ctx, t, photos, "jar", jars)
}

func (t *tx) AddPhotos(ctx context.Context, p []lab.Photo) error { return add(ctx, t, photos, p...) }
