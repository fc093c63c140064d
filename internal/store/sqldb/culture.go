package sqldb

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var cultures = &table[lab.Culture]{
	name: "culture",
	columns: func(c *lab.Culture) []column {
		made, exactness := when("made", &c.Made)
		return []column{
			text("id", &c.ID), text("name", &c.Name), nameKey(&c.Name), text("form", &c.Form),
			text("strain", &c.Strain), text("species", &c.Species), ref("parent", &c.Parent),
			made, exactness, ref("medium", &c.Medium), ref("jar", &c.Jar), document("details", &c.Details), text("note", &c.Note),
		}
	},
	taken: func(_ context.Context, _ *tx, c lab.Culture) error {
		return lab.Conflictf("choose another name, such as the next number", "a culture is called %s already", c.Name)
	},
}

var keepings = &table[lab.Keeping]{
	name: "culture_keeping",
	columns: func(k *lab.Keeping) []column {
		return append(entryColumns(&k.Entry),
			text("culture", &k.Culture), text("kept", &k.Kept), text("finding", &k.Finding), text("storage", &k.Storage),
			quantity("amount", &k.Amount), text("note", &k.Note))
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

func (t *tx) Keepings(ctx context.Context) ([]lab.Keeping, error) {
	return query(ctx, t, keepings, "ORDER BY seq")
}

func (t *tx) AddKeepings(ctx context.Context, k []lab.Keeping) error {
	return add(ctx, t, keepings, k...)
}

// CultureUses reads what became of jars from an index, and the amounts, which
// are few, from the inoculations.
func (t *tx) CultureUses(ctx context.Context) ([]store.CultureUse, error) {
	const text = `SELECT carries, fate, reason, COUNT(*), SUM(grams), MAX(fate_at) FROM jar_now
		WHERE carries IS NOT NULL GROUP BY carries, fate, reason ORDER BY carries, fate, reason`
	return collect(ctx, t, text, nil, func(u *store.CultureUse) []any {
		return []any{&u.Culture, &u.Fate, &u.Reason, &u.Jars, &u.Grams, moment("fate_at", &u.Last)}
	})
}

func (t *tx) CultureYields(ctx context.Context, cultures []lab.CultureID) ([]store.CultureYield, error) {
	if len(cultures) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(cultures))
	if err != nil {
		return nil, t.fail(err)
	}
	text := `SELECT n.carries, n.batch, COUNT(*), SUM(n.grams), SUM(n.grams * n.grams) FROM jar_now n JOIN batch b ON b.id = n.batch
		WHERE ` + t.dialect.among("n.carries", "$1") + ` AND n.fate IN ('picked', 'barren', 'spent')
		GROUP BY n.carries, n.batch, b.number ORDER BY n.carries, b.number`
	return collect(ctx, t, text, []any{list}, func(y *store.CultureYield) []any {
		return []any{&y.Culture, &y.Batch, &y.Jars, &y.Grams, &y.Squares}
	})
}

func (t *tx) CultureDoses(ctx context.Context) ([]store.CultureDose, error) {
	const text = `SELECT i.culture, i.amount, COUNT(*) FROM inoculation i
		WHERE i.culture IS NOT NULL AND NOT i.withdrawn AND NOT EXISTS (SELECT 1 FROM inoculation c WHERE c.corrects = i.id)
		GROUP BY i.culture, i.amount ORDER BY i.culture, i.amount`
	return collect(ctx, t, text, nil, func(d *store.CultureDose) []any { return []any{&d.Culture, &d.Amount, &d.Jars} })
}
