package sqldb

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// The groups are all that a tally tells apart, so that a few rows per batch
// come back instead of every jar. They are the beginning of an index.
const (
	tallyGroups = "batch, blank, fate, stage, inoculated_exact"
	tallyText   = "SELECT " + tallyGroups + ", COUNT(*), SUM(grams), SUM(dry_grams), MIN(dry_grams) FROM jar_now "
	tallyRest   = " GROUP BY " + tallyGroups + " ORDER BY " + tallyGroups
)

// alike is a count of jars that a tally need not tell apart.
type alike struct {
	batch         lab.BatchID
	blank         bool
	fate          lab.Fate
	stage         lab.Stage
	inoculated    lab.Exactness // "" if it was not
	jars          int
	grams         float64
	dry, leastDry float64 // grams of dry substrate, 0 where not known
}

func (t *tx) Tallies(ctx context.Context, batches ...lab.BatchID) (map[lab.BatchID]store.Tally, error) {
	where, args := "", []any(nil)
	if len(batches) > 0 {
		list, err := t.dialect.list(words(batches))
		if err != nil {
			return nil, t.fail(err)
		}
		where, args = "WHERE "+t.dialect.among("batch", "$1"), []any{list}
	}
	groups, err := collect(ctx, t, tallyText+where+tallyRest, args, func(a *alike) []any {
		return []any{&a.batch, &a.blank, &a.fate, &a.stage, &a.inoculated, &a.jars, &a.grams, &a.dry, &a.leastDry}
	})
	if err != nil {
		return nil, err
	}
	out := make(map[lab.BatchID]store.Tally)
	unknownDry := make(map[lab.BatchID]bool)
	for _, a := range groups {
		tally, known := out[a.batch]
		if !known {
			tally = store.Tally{Batch: a.batch, ByStage: make(map[lab.Stage]int)}
		}
		a.count(&tally)
		if a.inoculated != "" && !a.blank && a.leastDry <= 0 {
			unknownDry[a.batch] = true
		}
		if unknownDry[a.batch] {
			tally.DryGrams = 0
		}
		out[a.batch] = tally
	}
	return out, nil
}

func (a alike) count(to *store.Tally) {
	if a.blank {
		to.Blanks += a.jars
		return
	}
	to.Jars += a.jars
	to.Grams += a.grams
	if a.inoculated != "" {
		to.Inoculated += a.jars
		to.DryGrams += a.dry
	}
	switch a.fate {
	case lab.Growing:
		to.Growing += a.jars
		to.ByStage[a.stage] += a.jars
	case lab.Picked, lab.Spent:
		to.Picked += a.jars
	case lab.Barren:
		to.Barren += a.jars
	case lab.Lost:
		to.Lost += a.jars
	}
}
