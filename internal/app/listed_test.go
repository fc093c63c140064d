package app_test

import (
	"fmt"
	"slices"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// A batch that grows is not lost behind two hundred newer ones: it is due, its
// trial knows it, and the lists lead on to it.
func TestOldBatchesAreNotLost(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		old := b.sown("first").Batch
		b.clock.days(20) // past cover
		due := func() []string {
			today := must(b.Today(b.ctx))(b)
			var out []string
			for _, task := range slices.Concat(today.Late, today.Due) {
				if task.Kind == "batch" && task.Name == old.String() {
					out = append(out, task.What)
				}
			}
			return out
		}
		before := due()
		b.newer(old, 203)
		if after := due(); len(before) == 0 || !slices.Equal(before, after) {
			t.Errorf("due on %s: %q behind 203 batches, %q before", old, after, before)
		}
		if open := must(b.OpenBatches(b.ctx))(b); len(open) != 1 || open[0].Batch.ID != old.ID {
			t.Errorf("open: %+v", open)
		}
		rows, older, err := b.BatchesBelow(b.ctx, 0)
		if err != nil || len(rows) != 120 || older != rows[119].Batch.Number {
			t.Fatalf("%d batches, older than %d, %v", len(rows), older, err)
		}
		rest, none, err := b.BatchesBelow(b.ctx, older)
		if err != nil || none != 0 || len(rest) != 84 || rest[83].Batch.ID != old.ID {
			t.Errorf("older than %d: %d batches, then %d, %v", older, len(rest), none, err)
		}
	})
}

// newer stores empty batches with the numbers after that of old.
func (b *bench) newer(old lab.Batch, n int) {
	b.ok(b.store.Write(b.ctx, func(w store.Writer) error {
		for i := range n {
			x := lab.Batch{ID: lab.BatchID(fmt.Sprintf("batch%027d", i)), Number: old.Number + 1 + i, Made: lab.At(b.clock.Now())}
			if err := w.AddBatch(b.ctx, x); err != nil {
				return err
			}
		}
		return nil
	}))
}

// The page of a trial counts its batches however old they are.
func TestOldTrialsKeepTheirBatches(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.inoculated(plan("first"))
		b.newer(k.Batch, 201)
		v := must(b.TrialView(b.ctx, "first"))(b)
		if len(v.Batches) != 1 || v.Batches[0].Batch.ID != k.Batch.ID {
			t.Errorf("the trial has %+v", v.Batches)
		}
		if all := must(b.Trials(b.ctx))(b); len(all) != 1 || len(all[0].Batches) != 1 {
			t.Errorf("the list has %+v", all)
		}
	})
}
