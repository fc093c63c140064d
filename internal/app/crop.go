package app

import (
	"context"

	"pinset/internal/store"
)

// CropRow is what one batch gave.
type CropRow struct {
	BatchRow
	GramsPerInoculated *float64 // nil while nothing is inoculated
	Efficiency         *float64 // biological efficiency, per cent of dry substrate; nil where that is not known
}

// CropView is what was picked, by batch, newest first.
type CropView struct {
	Rows  []CropRow
	Grams float64 // over these batches
	Picks int     // jars picked
	Older int     // batches under this number may have given more; 0 if there are none
}

// Crop returns what the last 120 batches gave whose numbers are under one; 0 is
// from the newest.
func (f *Farm) Crop(ctx context.Context, below int) (CropView, error) {
	var v CropView
	err := f.store.Read(ctx, func(r store.Reader) error {
		batches, err := newestBatches(ctx, r, below)
		if err != nil {
			return err
		}
		if len(batches) == listed {
			v.Older = batches[listed-1].Number
		}
		rows, err := f.batchRows(ctx, r, batches)
		if err != nil {
			return err
		}
		for _, b := range rows {
			if b.Tally.Picked > 0 {
				v.Rows = append(v.Rows, cropRow(b))
				v.Grams += b.Tally.Grams
				v.Picks += b.Tally.Picked
			}
		}
		return nil
	})
	return v, err
}

func cropRow(b BatchRow) CropRow {
	row := CropRow{BatchRow: b}
	if n := b.Tally.Inoculated; n > 0 {
		g := b.Tally.Grams / float64(n)
		row.GramsPerInoculated = &g
	}
	if b.Tally.DryGrams > 0 {
		be := 100 * b.Tally.Grams / b.Tally.DryGrams
		row.Efficiency = &be
	}
	return row
}
