package sqldb

import (
	"context"
	"fmt"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var deeds = &table[lab.Deed]{
	name: "deed",
	columns: func(d *lab.Deed) []column {
		return []column{
			text("id", &d.ID), text("what", &d.What), moment("entered", &d.Entered), text("entered_by", &d.By),
			ref("batch", &d.Batch), ref("undoes", &d.Undoes),
		}
	},
}

const seeDeeds = "look at the list of what was entered"

func (t *tx) Deed(ctx context.Context, id lab.DeedID) (lab.Deed, error) {
	return one(ctx, t, deeds, notFound(seeDeeds, "there is no entry %s", id), "WHERE id = $1", string(id))
}

func (t *tx) Deeds(ctx context.Context, batch lab.BatchID, limit int) ([]lab.Deed, error) {
	var c conditions
	c.text("batch", string(batch))
	return query(ctx, t, deeds, c.where()+" ORDER BY seq DESC"+limited(limit), c.args...)
}

func (t *tx) DeedEntries(ctx context.Context, id lab.DeedID) (e store.Entries, err error) {
	const rest = "WHERE deed = $1 ORDER BY seq"
	if e.Figures, err = query(ctx, t, ingredientFigures, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Lots, err = query(ctx, t, ingredientLots, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Lids, err = query(ctx, t, containerLids, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Keepings, err = query(ctx, t, keepings, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Makings, err = query(ctx, t, makings, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Marks, err = query(ctx, t, cookMarks, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Cookers, err = query(ctx, t, cookers, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Steps, err = query(ctx, t, cookSteps, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Records, err = query(ctx, t, cookRecords, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Calibrations, err = query(ctx, t, calibrations, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Items, err = query(ctx, t, cookItems, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Inoculations, err = query(ctx, t, inoculations, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Seen, err = query(ctx, t, seen, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Picks, err = query(ctx, t, picks, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Photos, err = query(ctx, t, photos, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	if e.Guests, err = query(ctx, t, guests, rest, string(id)); err != nil {
		return store.Entries{}, err
	}
	return e, nil
}

// writtenText goes from the few acts of a round to their entries: CROSS JOIN
// keeps SQLite from reading all entries on the jars, COALESCE from going
// through all acts that undo none rather than the last ones.
const writtenText = `SELECT s.jar FROM deed d CROSS JOIN seen s
WHERE d.entered >= $2 AND s.deed = d.id AND %[1]s AND COALESCE(d.undoes, '') = '' AND NOT EXISTS (SELECT 1 FROM deed u WHERE u.undoes = d.id)
UNION SELECT s.jar FROM deed d CROSS JOIN pick s
WHERE d.entered >= $2 AND s.deed = d.id AND %[1]s AND COALESCE(d.undoes, '') = '' AND NOT EXISTS (SELECT 1 FROM deed u WHERE u.undoes = d.id)
ORDER BY 1`

func (t *tx) Written(ctx context.Context, jars []lab.JarID, since time.Time) ([]lab.JarID, error) {
	if len(jars) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(jars))
	if err != nil {
		return nil, t.fail(err)
	}
	from, err := bindTime("since", since, timeForm)
	if err != nil {
		return nil, t.fail(err)
	}
	return collect(ctx, t, fmt.Sprintf(writtenText, t.dialect.among("s.jar", "$1")), []any{list, from}, func(id *lab.JarID) []any { return []any{id} })
}

// Undoing returns the newest, should there be several.
func (t *tx) Undoing(ctx context.Context, id lab.DeedID) (lab.Deed, error) {
	absent := notFound(seeDeeds, "the entry %s was not taken back", id)
	return one(ctx, t, deeds, absent, "WHERE undoes = $1 ORDER BY seq DESC LIMIT 1", string(id))
}

func (t *tx) AddDeed(ctx context.Context, d lab.Deed) (bool, error) {
	_, again, err := scalar[string](ctx, t, "SELECT id FROM deed WHERE id = $1", string(d.ID))
	if err != nil || again {
		return false, err
	}
	return true, add(ctx, t, deeds, d)
}
