package app

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// RecordSheet is a sheet of other records than jars as read, before anything
// is stored.
type RecordSheet struct {
	Source  string // file name
	Noun    string // "cultures", "lots", "ingredients", "containers", "recipes", "seen" or "picks"
	Columns []SheetColumn
	Rows    []RecordRow
	Refused []RefusedRow
	Doubts  []figure.Caution
}

// RecordRow is one record of a sheet: what each column says, as typed. Days
// are written as lab.ParseWhen reads them.
type RecordRow struct {
	Row    int // in the file, from 1
	Fields map[string]string
}

// mostRecords bounds the rows of nouns that are taken in one by one.
const mostRecords = 5000

// openWrite lets use cases take part in a write that is open already.
type openWrite struct{ store.Writer }

func (o openWrite) Read(_ context.Context, f func(store.Reader) error) error  { return f(o.Writer) }
func (o openWrite) Write(_ context.Context, f func(store.Writer) error) error { return f(o.Writer) }
func (o openWrite) Close() error                                              { return nil }

// within returns the farm as it stands in an open write.
func (f *Farm) within(w store.Writer) *Farm {
	inside := *f
	inside.store = openWrite{w}
	return &inside
}

// recording is the taking in of one sheet of records.
type recording struct {
	farm    *Farm // within the write
	act     Act
	sheet   RecordSheet
	report  ImportReport
	refused map[int]bool                 // rows of this round
	claimed map[lab.IngredientLotID]bool // lots that a row spoke of, so that two alike stay two
}

// taker takes one row in; known is true if it was there already.
type taker func(ctx context.Context, w store.Writer, row map[string]string) (known bool, err error)

// ImportRecords takes a sheet of records in, as ImportJars does one of jars: a
// refused row keeps the whole sheet out unless SkipBad says otherwise, a dry
// run stores nothing, and running it twice stores nothing twice. What is there
// already is recognised by its name, or by all that an entry says; it stays as
// it is. What a row rests on (the parent of a culture) may stand in any row
// above it.
func (f *Farm) ImportRecords(ctx context.Context, a Act, sheet RecordSheet, o ImportOptions) (ImportReport, error) {
	start := ImportReport{Noun: sheet.Noun, DryRun: o.DryRun, Columns: sheet.Columns, Refused: slices.Clone(sheet.Refused), Cautions: slices.Clone(sheet.Doubts)}
	report := start
	rows := sheet.Rows
	for { // each round leaves out the rows that the one before refused
		try := sheet
		try.Rows = rows
		r := &recording{act: a, sheet: try, refused: make(map[int]bool), claimed: make(map[lab.IngredientLotID]bool)}
		r.report = start
		r.report.Refused = slices.Clone(report.Refused)
		err := f.store.Write(ctx, func(w store.Writer) error {
			r.farm = f.within(w)
			return r.run(ctx, w, o)
		})
		if err != nil && !errors.Is(err, errNotKept) {
			r.report.tidy()
			return r.report, err
		}
		report = r.report
		if o.DryRun || !o.SkipBad || len(r.refused) == 0 || errors.Is(err, errNothingLeft) {
			report.tidy()
			err = f.askAbout(ctx, &report)
			return report, err
		}
		rows = slices.DeleteFunc(slices.Clone(rows), func(x RecordRow) bool { return r.refused[x.Row] })
	}
}

// errNothingLeft is errNotKept when there is no row to go on with.
var errNothingLeft = fmt.Errorf("nothing left: %w", errNotKept)

// run takes all rows in, or returns errNotKept to leave things as they were.
func (r *recording) run(ctx context.Context, w store.Writer, o ImportOptions) error {
	if err := r.takeAll(ctx, w); err != nil {
		return err
	}
	r.report.Rows = len(r.sheet.Rows) - len(r.refused)
	switch {
	case r.report.Entries == 0:
		return errNothingLeft
	case o.DryRun, len(r.refused) > 0, len(r.report.Refused) > 0 && !o.SkipBad:
		return errNotKept
	}
	r.report.Stored = true
	return nil
}

func (r *recording) takeAll(ctx context.Context, w store.Writer) error {
	switch r.sheet.Noun {
	case "seen", "picks":
		return r.takeEntries(ctx, w)
	case "recipes":
		return r.takeRecipes(ctx, w)
	}
	take := map[string]taker{
		"cultures": r.takeCulture, "lots": r.takeLot, "ingredients": r.takeFigures, "containers": r.takeContainer,
	}[r.sheet.Noun]
	if take == nil {
		return lab.NotFoundf("choose cultures, lots, ingredients, containers, recipes, seen or picks", "a sheet of %s can not be taken in", clipTyped(r.sheet.Noun))
	}
	if err := r.bounded(); err != nil {
		return err
	}
	for _, row := range r.sheet.Rows {
		known, err := take(ctx, w, row.Fields)
		if err := r.count(row, known, err); err != nil {
			return err
		}
	}
	return nil
}

func (r *recording) bounded() error {
	if n := len(r.sheet.Rows); n > mostRecords {
		return lab.Invalidf("file", fmt.Sprintf("save it in parts of %d rows", mostRecords), "a sheet of %s with %d rows is too long", r.sheet.Noun, n)
	}
	return nil
}

// count notes what became of a row: refused, known or new.
func (r *recording) count(row RecordRow, known bool, err error) error {
	switch p, is := lab.AsProblem(err); {
	case is:
		r.refused[row.Row] = true
		r.report.Refused = append(r.report.Refused, RefusedRow{Row: row.Row, Column: p.Field, Value: clipTyped(row.Fields[p.Field]), What: p.What, Mend: p.Mend})
		return nil
	case err != nil:
		return err
	case known:
		r.report.Same++
	default:
		r.report.Entries++
	}
	return nil
}

// isThere turns the answer to a look for a name into known or not.
func isThere(err error) (bool, error) {
	if lab.IsKind(err, lab.NotFound) {
		return false, nil
	}
	return err == nil, err
}

func (r *recording) takeContainer(ctx context.Context, w store.Writer, row map[string]string) (bool, error) {
	if known, err := w.ContainerByName(ctx, row["name"]); err == nil && known.ID != "" {
		return true, nil
	} else if !lab.IsKind(err, lab.NotFound) {
		return false, err
	}
	_, err := r.farm.AddContainer(ctx, NewContainer{
		Name: row["name"], Kind: firstOf(row["kind"], "jar"), Volume: row["volume"], Bore: row["bore"], Height: row["height"], Lid: row["lid"], Note: row["note"], By: r.act.By,
	})
	return false, err
}

func (r *recording) takeCulture(ctx context.Context, w store.Writer, row map[string]string) (bool, error) {
	name, err := lab.Name("culture", row["name"])
	if err != nil {
		return false, atField("name", err)
	}
	_, err = w.CultureByName(ctx, name)
	if known, err := isThere(err); known || err != nil {
		return known, err
	}
	if _, err := r.farm.AddCulture(ctx, NewCulture{
		Name: name, Form: firstOf(row["form"], string(lab.Unsaid)), Strain: row["strain"], Species: row["species"], Parent: row["parent"], Source: row["source"],
		Generation: row["generation"], Medium: versionless(row["medium"]), Made: firstOf(row["made"], "?"), Volume: row["volume"], Note: row["note"], By: r.act.By,
	}); err != nil {
		return false, err
	}
	for _, k := range []struct{ kept, says, at, field string }{
		{"tested", row["tested"], firstOf(row["tested_on"], "?"), "tested"},
		{"stored", row["stored"], firstOf(row["since"], "?"), "stored"},
		{"ended", row["ended"], row["ended"], "ended"},
	} {
		if k.says == "" {
			continue
		}
		keep := NewKeeping{Culture: name, Kept: k.kept, At: k.at}
		switch k.kept {
		case "tested":
			keep.Finding = strings.ToLower(k.says)
		case "stored":
			keep.Storage = strings.ToLower(k.says)
		}
		if _, err := r.farm.KeepCulture(ctx, Act{By: r.act.By}, keep); err != nil {
			return false, atField(k.field, err)
		}
	}
	return false, nil
}

// versionless cuts the version off a recipe's name: "malt agar, version 2".
func versionless(recipe string) string {
	name, _, _ := strings.Cut(recipe, ", version ")
	return name
}

func (r *recording) takeLot(ctx context.Context, w store.Writer, row map[string]string) (bool, error) {
	stock, err := r.farm.readStock(ctx, w)
	if err != nil {
		return false, err
	}
	said := NewLot{
		Ingredient: row["ingredient"], Supplier: row["supplier"], SupplierCode: row["supplier_code"], Received: firstOf(row["received"], "?"),
		BestBefore: row["best_before"], Moisture: row["moisture"], Cup: row["cup"], Bought: row["bought"], Price: row["price"], Note: row["note"],
	}
	l, err := said.onto(lab.IngredientLot{})
	if err != nil {
		return false, err
	}
	var lots []*LotRow
	if of := stock.of(row["ingredient"]); of != nil {
		lots = of.Lots
	}
	if i := slices.IndexFunc(lots, func(there *LotRow) bool {
		return !r.claimed[there.Lot] && r.sameDelivery(ctx, there, l, row["received"])
	}); i >= 0 {
		r.claimed[lots[i].Lot] = true
		return true, nil
	}
	for _, there := range lots {
		if row["lot"] == there.String() && !r.claimed[there.Lot] {
			return false, lab.Conflictf("leave the number out to add it under the next one", "%s is another delivery of %s here: %s, received %s",
				there, row["ingredient"], firstOf(there.BoughtTyped, "an amount that is not known"), there.At.Show(r.farm.Zone(ctx)))
		}
	}
	if l, _, err = r.farm.AddLot(ctx, Act{By: r.act.By}, said); err == nil {
		r.claimed[l.Lot] = true
	}
	return false, err
}

// sameDelivery reports whether a row of a sheet speaks of a delivery that is
// known. Numbers are not asked: another farm's lots bear the same ones.
func (r *recording) sameDelivery(ctx context.Context, there *LotRow, l lab.IngredientLot, day string) bool {
	received, _ := there.At.Day(r.farm.Zone(ctx))
	return there.SupplierCode == l.SupplierCode && there.Bought == l.Bought && (day == "" || strings.HasPrefix(day, received.Format("2006-01-02")))
}

func (r *recording) takeFigures(ctx context.Context, w store.Writer, row map[string]string) (bool, error) {
	name, err := lab.Name("ingredient", row["ingredient"])
	if err != nil {
		return false, err
	}
	said := NewFigures{
		Ingredient: name, StandsFor: row["stands_for"], Moisture: row["moisture"], Nitrogen: row["nitrogen"], Carbon: row["carbon"], Protein: row["protein"], Fat: row["fat"],
		Carbs: row["carbs"], Sugars: row["sugars"], Fibre: row["fibre"], Ash: row["ash"], Factor: row["factor"], Cup: row["cup"], Allergens: row["allergens"],
	}
	i, err := w.IngredientByName(ctx, name)
	known, err := isThere(err)
	if err != nil {
		return false, err
	}
	if known {
		entries, err := w.IngredientFigures(ctx)
		if err != nil {
			return false, err
		}
		old := lab.Newest(entries)[i.ID]
		figures, err := said.onto(old)
		if err != nil {
			return false, err
		}
		if sameFigures(old, figures) {
			return true, nil
		}
	}
	_, err = r.farm.SetFigures(ctx, Act{By: r.act.By}, said)
	return false, err
}
