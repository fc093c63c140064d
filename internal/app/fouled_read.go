package app

import (
	"context"
	"fmt"
	"strconv"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// sighted is a jar with what the search for the cause of fouling takes of what
// was entered on it.
type sighted struct {
	row  store.JarRow    // with its standing as stored
	in   lab.Inoculation // that holds, zero if none does
	sign lab.Sign        // the last
}

// sightedOf returns the jars of batches, by number. They are read again only of
// batches whose jars changed. r must not write.
func (f *Farm) sightedOf(ctx context.Context, r store.Reader, batches []lab.Batch) (map[lab.BatchID][]sighted, error) {
	ids := each(batches, func(b lab.Batch) lab.BatchID { return b.ID })
	return f.known.sighted.get(ctx, r, ids, "", func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID][]sighted, error) {
		jars, err := r.Jars(ctx, store.JarFilter{Batches: ids})
		if err != nil {
			return nil, err
		}
		inoculations, err := r.Inoculations(ctx, idsOf(jars))
		if err != nil {
			return nil, err
		}
		seen, err := r.Seen(ctx, idsOf(jars))
		by := make(map[lab.JarID]lab.Inoculation)
		for _, in := range lab.Current(inoculations) {
			by[in.Jar] = in
		}
		signs, out := lastSigns(seen), make(map[lab.BatchID][]sighted, len(ids))
		for _, j := range jars {
			out[j.Batch] = append(out[j.Batch], sighted{j, by[j.Jar.ID], signs[j.Jar.ID]})
		}
		return out, err
	})
}

// fouledRead is what was read of some batches, with the names of what their jars
// share.
type fouledRead struct {
	farm     *Farm
	jars     map[lab.BatchID][]sighted
	hidden   map[lab.TrialID][]lab.Factor // what the arms of a blind trial differ in, while its key is closed
	names    Names
	cultures map[lab.CultureID]lab.Culture
	cooks    map[lab.CookID]lab.Cook
	lots     map[mixMade]string // of the heaviest ingredient with one
}

// mixMade is one making of a batch, by its label.
type mixMade struct {
	batch lab.BatchID
	label string
}

func (f *Farm) readFouled(ctx context.Context, r store.Reader, batches []lab.Batch) (fouledRead, error) {
	x := fouledRead{farm: f, cultures: make(map[lab.CultureID]lab.Culture), cooks: make(map[lab.CookID]lab.Cook)}
	var err error
	if x.jars, err = f.sightedOf(ctx, r, batches); err != nil {
		return x, err
	}
	if x.hidden, err = hiddenOf(ctx, r, batches); err != nil {
		return x, err
	}
	cultures, err := r.Cultures(ctx)
	if err != nil {
		return x, err
	}
	for _, c := range cultures {
		x.cultures[c.ID] = c
	}
	var rows []store.JarRow
	for _, b := range batches {
		for _, j := range x.jars[b.ID] {
			rows = append(rows, j.row)
		}
	}
	if x.names, err = namesOf(ctx, r, rows); err != nil {
		return x, err
	}
	cooks, err := r.CooksByID(ctx, eachOnce(rows, func(j store.JarRow) lab.CookID { return j.Cook })...)
	if err != nil {
		return x, err
	}
	for _, c := range cooks {
		x.cooks[c.ID] = c
	}
	x.lots, err = lotsOf(ctx, r, batches)
	return x, err
}

// lotsOf returns, for each making of batches, the lot of the heaviest ingredient
// that has one.
func lotsOf(ctx context.Context, r store.Reader, batches []lab.Batch) (map[mixMade]string, error) {
	makings, err := r.Makings(ctx, each(batches, func(b lab.Batch) lab.BatchID { return b.ID })...)
	if err != nil {
		return nil, err
	}
	lots, err := r.IngredientLots(ctx)
	if err != nil {
		return nil, err
	}
	names := make(map[lab.IngredientLotID]string)
	for _, l := range lots {
		names[l.Lot] = l.String()
	}
	of, heaviest := make(map[mixMade]string), make(map[mixMade]float64)
	for _, m := range lab.Current(makings) {
		made := mixMade{m.Batch, m.Label}
		for _, w := range m.Weighed {
			if w.Lot != "" && w.Grams > heaviest[made] {
				of[made], heaviest[made] = names[w.Lot], w.Grams
			}
		}
	}
	return of, nil
}

// grows reports whether a jar of a batch is growing as of now.
func (x fouledRead) grows(b lab.Batch, j sighted) bool {
	return j.row.On(x.farm.now(), b.Closing).Fate == lab.Growing
}

// growing counts the jars of a batch that grow.
func (x fouledRead) growing(b lab.Batch) int {
	n := 0
	for _, j := range x.jars[b.ID] {
		if x.grows(b, j) {
			n++
		}
	}
	return n
}

// fouledRow is a row of the table with the number of its jar.
type fouledRow struct {
	trialstat.FouledRow
	number int
}

// rows returns the rows of those jars of a batch that were inoculated, or fouled
// before they were, and of its blanks.
func (x fouledRead) rows(b lab.Batch, jars []sighted) []fouledRow {
	var rows []fouledRow
	for _, j := range jars {
		bad := fouledJar(j.row, j.sign)
		if j.row.Blank || !j.row.Inoculated.IsZero() || bad {
			rows = append(rows, fouledRow{x.row(b, j, bad), j.row.Number})
		}
	}
	return rows
}

// row is the row of one jar, without what the key of a blind trial keeps.
func (x fouledRead) row(b lab.Batch, j sighted, bad bool) trialstat.FouledRow {
	row := x.open(b, j.row, j.in, bad)
	for _, f := range x.hidden[b.Trial] {
		switch f {
		case lab.ByRecipe:
			row.Recipe, row.MixMade, row.IngredientLot = "", "", ""
		case lab.ByCulture:
			row.Culture, row.LC = "", ""
		case lab.ByContainer:
			row.Container = ""
		case lab.ByTreatment: // in no column
		}
	}
	return row
}

// open is the row of one jar with all that is known.
func (x fouledRead) open(b lab.Batch, j store.JarRow, in lab.Inoculation, bad bool) trialstat.FouledRow {
	row := trialstat.FouledRow{
		Jar: label(fmt.Sprintf("%s·%d", b, j.Number)), Bad: trialstat.Flag(bad), Blank: trialstat.Flag(j.Blank),
		Recipe: label(x.names.Recipes[j.Recipe]), Container: label(x.names.Containers[j.Container]), Shelf: label(j.Shelf),
		IngredientLot: label(x.lots[mixMade{b.ID, j.MixMade}]),
	}
	if j.Cook != "" {
		row.Cook = label(x.cooks[j.Cook].String())
	}
	if j.Layer > 0 {
		row.Layer = label(strconv.Itoa(j.Layer))
	}
	if j.MixMade != "" {
		row.MixMade = label(b.String() + " " + j.MixMade)
	}
	if in.ID == "" {
		return row
	}
	row.Person = label(in.By)
	if at := in.At; !at.IsZero() && at.Exactness != lab.Unknown {
		row.Day = label(at.Time.Format("2006-01-02"))
	}
	switch carried := x.cultures[in.Culture]; carried.Form {
	case lab.LC:
		row.LC, row.Culture = label(carried.Name), label(carried.Strain)
	default:
		row.Culture = label(carried.Name)
	}
	return row
}
