package app

import (
	"context"
	"slices"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// suspect adds a caution to cultures that the fouled jars of the last batches
// speak against, and to what was taken from them.
func (f *Farm) suspect(ctx context.Context, rows []CultureRow) error {
	if !slices.ContainsFunc(rows, func(r CultureRow) bool { return r.Use.Fouled > 0 }) {
		return nil
	}
	v, err := f.Fouled(ctx, FouledInput{})
	if err != nil {
		return err
	}
	against := make(map[lab.CultureID]string)
	for _, row := range rows {
		if row.Standing.End.ID != "" || row.Use.Fouled == 0 {
			continue
		}
		for _, s := range v.Answer.Result.Suspects {
			if s.Touches(carriedBy(row)) {
				against[row.ID] = s.Sentence
			}
		}
	}
	names := make(map[lab.CultureID]*CultureRow, len(rows))
	for i := range rows {
		names[rows[i].ID] = &rows[i]
	}
	for i := range rows {
		rows[i].suspected(against, names)
	}
	return nil
}

// carriedBy is what the table of fouled jars says of a jar that carries the
// culture.
func carriedBy(row CultureRow) trialstat.FouledRow {
	if row.Form == lab.LC {
		return trialstat.FouledRow{LC: label(row.Name)}
	}
	return trialstat.FouledRow{Culture: label(row.Name)}
}

// suspected adds the caution if the culture, or one that it comes from, is
// spoken against.
func (row *CultureRow) suspected(against map[lab.CultureID]string, all map[lab.CultureID]*CultureRow) {
	if row.Standing.End.ID != "" {
		return
	}
	add := func(text string) {
		c := figure.Caution{Code: "suspect", Title: "Suspected", Text: text, Weight: figure.Care}
		row.Cautions = append(row.Cautions, c)
		slices.SortStableFunc(row.Cautions, func(a, b figure.Caution) int { return loudness(b.Weight) - loudness(a.Weight) })
	}
	if says := against[row.ID]; says != "" {
		add(says + " Streak it on agar before more jars get it.")
		return
	}
	x := row
	for range all { // a line that loops ends here
		if x = all[x.Parent]; x == nil {
			return
		}
		if against[x.ID] != "" {
			add("It was taken from " + x.Name + ", which fouled jars speak against. Streak it on agar before more jars get it.")
			return
		}
	}
}
