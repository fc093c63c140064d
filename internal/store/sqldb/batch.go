package sqldb

import (
	"context"
	"time"

	"pinset/internal/lab"
)

var batches = &table[lab.Batch]{
	name: "batch",
	columns: func(b *lab.Batch) []column {
		made, exactness := when("made", &b.Made)
		return []column{
			text("id", &b.ID), number("number", &b.Number), text("name", &b.Name), ownNameKey(&b.Name),
			made, exactness, day("closing", &b.Closing), ref("trial", &b.Trial), text("note", &b.Note),
		}
	},
	taken: func(ctx context.Context, t *tx, b lab.Batch) error {
		_, found, err := scalar[string](ctx, t, "SELECT id FROM batch WHERE number = $1", int64(b.Number))
		if err != nil {
			return err
		}
		if found {
			return lab.Conflictf("send it again: it gets the next number", "there is a batch %s already", b)
		}
		return lab.Conflictf("choose another name, or leave it empty", "a batch is called %s already", b.Name)
	},
}

const seeBatches = "look at the list of batches"

func (t *tx) Batches(ctx context.Context, limit int) ([]lab.Batch, error) {
	return query(ctx, t, batches, "ORDER BY number DESC"+limited(limit))
}

func (t *tx) BatchesBelow(ctx context.Context, number, limit int) ([]lab.Batch, error) {
	return query(ctx, t, batches, "WHERE number < $1 ORDER BY number DESC"+limited(limit), int64(number))
}

// openBatchesText looks for one jar of each batch that is not closed, and does
// not go through all jars that are open.
const openBatchesText = `WHERE (closing = '' OR closing >= $1)
AND EXISTS (SELECT 1 FROM jar_now n WHERE n.batch = batch.id AND n.blank = FALSE AND n.fate IN ('', 'growing'))
ORDER BY number DESC`

func (t *tx) OpenBatches(ctx context.Context, on lab.Day) ([]lab.Batch, error) {
	return query(ctx, t, batches, openBatchesText, on.Format(time.DateOnly))
}

func (t *tx) BatchesOfTrials(ctx context.Context, trials ...lab.TrialID) ([]lab.Batch, error) {
	if len(trials) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(trials))
	if err != nil {
		return nil, t.fail(err)
	}
	return query(ctx, t, batches, "WHERE "+t.dialect.among("trial", "$1")+" ORDER BY number DESC", list)
}

func (t *tx) Batch(ctx context.Context, id lab.BatchID) (lab.Batch, error) {
	return one(ctx, t, batches, notFound(seeBatches, "there is no batch %s", id), "WHERE id = $1", string(id))
}

func (t *tx) BatchesByID(ctx context.Context, ids ...lab.BatchID) ([]lab.Batch, error) {
	return among(ctx, t, batches, "id", ids, "number")
}

// BatchByName takes "B12" for a number first, for numbers are what labels say.
func (t *tx) BatchByName(ctx context.Context, name string) (lab.Batch, error) {
	n, _ := lab.BatchNumber(name)
	absent := notFound(seeBatches, "there is no batch %s", name)
	return one(ctx, t, batches, absent, "WHERE number = $1 OR name_key = $2 ORDER BY (number = $1) DESC LIMIT 1", int64(n), lab.NameKey(name))
}

func (t *tx) LastBatchNumber(ctx context.Context) (int, error) {
	n, _, err := scalar[int64](ctx, t, "SELECT COALESCE(MAX(number), 0) FROM batch")
	return int(n), err
}

func (t *tx) AddBatch(ctx context.Context, b lab.Batch) error { return add(ctx, t, batches, b) }
