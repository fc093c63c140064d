package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// Table is records of one noun for a spreadsheet: a heading, and rows of
// texts, numbers, days and times. A nil cell is blank.
type Table struct {
	Noun string // "jars"
	Head []string
	Rows [][]any // string, int, float64, lab.Day, time.Time or nil
}

// ExportNouns lists what can be written to a spreadsheet, in the order of
// the sheets of a workbook.
var ExportNouns = []string{"jars", "seen", "picks", "batches", "cooks", "cultures", "lots", "ingredients", "containers", "recipes", "photos"}

// Export returns the records of one noun. What is derived is as of now; what
// was corrected or taken back is left out.
func (f *Farm) Export(ctx context.Context, noun string) (Table, error) {
	writers := map[string]func(context.Context, store.Reader, *exporting) error{
		"jars": exportJars, "seen": exportSeen, "picks": exportPicks, "batches": exportBatches, "cooks": f.exportCooks,
		"cultures": f.exportCultures, "lots": f.exportLots, "ingredients": exportIngredients, "containers": exportContainers, "recipes": exportRecipes, "photos": exportPhotos,
	}
	write, ok := writers[noun]
	if !ok {
		return Table{}, lab.NotFoundf("choose one of "+strings.Join(ExportNouns, ", "), "there is no sheet of %s", clipTyped(noun))
	}
	x := &exporting{Table: Table{Noun: noun, Rows: [][]any{}}}
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		settings, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		x.zone = settings.Zone
		if x.names, err = namesOf(ctx, r, nil); err != nil {
			return err
		}
		return write(ctx, r, x)
	})
	return x.Table, err
}

// exporting is a table that grows.
type exporting struct {
	Table
	zone  *time.Location
	names Names
}

func (x *exporting) add(cells ...any) { x.Rows = append(x.Rows, cells) }

// at turns a time into a cell: a day where only that is known, with its part if it was said, a time of the
// farm where it is exact, "?" where it is not known, blank where nothing is.
func (x *exporting) at(w lab.When) any {
	switch w.Exactness {
	case lab.Exact:
		return w.Time.In(x.zone)
	case lab.ThatDay:
		if w.Part() != "" {
			return w.Typed(x.zone)
		}
		return lab.Day{Time: w.Time}
	case lab.Unknown:
		return "?"
	}
	return nil
}

// onDay is at without the hour.
func (x *exporting) onDay(w lab.When) any {
	if d, ok := w.Day(x.zone); ok {
		return lab.Day{Time: d}
	}
	return nil
}

// recipe names a version of a recipe, "" for none.
func (x *exporting) recipe(ctx context.Context, r store.Reader, id lab.RecipeVersionID) (string, error) {
	if name, ok := x.names.Recipes[id]; ok || id == "" {
		return name, nil
	}
	v, err := r.Recipe(ctx, id)
	if err != nil {
		return "", err
	}
	x.names.Recipes[id] = v.String()
	return v.String(), nil
}

// orBlank is a blank cell for a zero value.
func orBlank[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

// micrograms rounds a mass to what no scale shows: a workbook keeps 15 digits
// of a number, and what is derived has more.
func micrograms(g units.Gram) float64 { return math.Round(float64(g)*1e6) / 1e6 }

// jarsOfBatches calls row for each jar with what was entered on it, batch by
// batch, so that a large farm is not held in memory at once.
func jarsOfBatches(ctx context.Context, r store.Reader, row func(lab.Batch, store.JarRow, jarEntries) error) error {
	batches, err := r.Batches(ctx, 0)
	if err != nil {
		return err
	}
	slices.Reverse(batches)
	for _, b := range batches {
		jars, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
		if err != nil || len(jars) == 0 {
			return err
		}
		e, err := entriesOf(ctx, r, idsOf(jars))
		if err != nil {
			return err
		}
		if e.photos, err = r.PhotoEntries(ctx, idsOf(jars)...); err != nil {
			return err
		}
		if err := hideEntries(ctx, r, b.Trial, jars, &e); err != nil {
			return err
		}
		in := groupBy(lab.Current(e.inoculations), func(i lab.Inoculation) lab.JarID { return i.Jar })
		seen := groupBy(lab.Current(e.seen), func(s lab.Seen) lab.JarID { return s.Jar })
		picks := groupBy(lab.Current(e.picks), func(p lab.Pick) lab.JarID { return p.Jar })
		photos := groupBy(lab.Current(e.photos), func(p lab.Photo) lab.JarID { return p.Jar })
		for _, j := range jars {
			if err := row(b, j, jarEntries{in[j.Jar.ID], seen[j.Jar.ID], picks[j.Jar.ID], photos[j.Jar.ID]}); err != nil {
				return err
			}
		}
	}
	return nil
}

// exportFlushes is how many flushes have a column of their own; later ones
// are in the sheet of picks.
const exportFlushes = 4

// exportJars writes one row for each jar, under the headings that the import
// of jars knows.
func exportJars(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"batch", "jar", "code", "mark", "blank", "arm", "recipe", "culture", "cook", "layer", "shelf", "container", "mix made", "filled", "inoculated", "amount"}
	for _, s := range lab.Stages {
		x.Head = append(x.Head, s.Label())
	}
	for n := range exportFlushes {
		x.Head = append(x.Head, fmt.Sprintf("flush %d g", n+1), fmt.Sprintf("flush %d date", n+1))
	}
	x.Head = append(x.Head, "dry substrate g", "fate", "lost", "reason", "note")
	cooks, err := cookNames(ctx, r)
	if err != nil {
		return err
	}
	return jarsOfBatches(ctx, r, func(b lab.Batch, j store.JarRow, e jarEntries) error {
		if _, err := x.recipe(ctx, r, j.Recipe); err != nil {
			return err
		}
		x.Rows = append(x.Rows, x.jarCells(b, j, e, cooks))
		return nil
	})
}

func cookNames(ctx context.Context, r store.Reader) (map[lab.CookID]string, error) {
	cooks, err := r.Cooks(ctx, 0)
	if err != nil {
		return nil, err
	}
	out := make(map[lab.CookID]string, len(cooks))
	for _, c := range cooks {
		out[c.ID] = c.String()
	}
	return out, nil
}

func (x *exporting) jarCells(b lab.Batch, j store.JarRow, e jarEntries, cooks map[lab.CookID]string) []any {
	blank := any(nil)
	if j.Blank {
		blank = "yes"
	}
	carried, amount := x.names.Cultures[j.Culture], ""
	if len(e.inoculations) > 0 {
		in := e.inoculations[len(e.inoculations)-1]
		carried, amount = x.names.Cultures[in.Culture], in.Amount
	}
	cells := []any{
		cmp.Or(b.Name, b.String()), j.Number, string(j.Code), orBlank(j.Mark), blank, orBlank(j.Arm), orBlank(x.names.Recipes[j.Recipe]), orBlank(carried),
		orBlank(cooks[j.Cook]), orBlank(j.Layer), orBlank(j.Shelf), orBlank(x.names.Containers[j.Container]), orBlank(j.MixMade), x.onDay(j.Filled), x.onDay(j.Inoculated), orBlank(amount),
	}
	for _, s := range lab.Stages {
		first := lab.When{}
		for _, seen := range e.seen {
			if seen.Stage == s && (first.IsZero() || seen.At.Time.Before(first.Time)) {
				first = seen.At
			}
		}
		cells = append(cells, x.onDay(first))
	}
	for n := range exportFlushes {
		grams, day := any(nil), any(nil)
		for _, p := range e.picks {
			if p.Flush == n+1 {
				grams, day = micrograms(p.Grams), x.onDay(p.At)
			}
		}
		cells = append(cells, grams, day)
	}
	lost := any(nil)
	if j.Fate == lab.Lost {
		lost = cmp.Or(x.onDay(j.FateAt), any("yes"))
	}
	var notes []string
	for _, s := range e.seen {
		if s.Note != "" {
			notes = append(notes, s.Note)
		}
	}
	return append(cells, orBlank(micrograms(j.DryGrams)), orBlank(string(j.Fate)), lost, orBlank(j.Reason), orBlank(strings.Join(notes, "; ")))
}

func exportSeen(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"batch", "jar", "code", "seen at", "stage", "cover %", "sign", "fate", "reason", "count", "note", "by", "entered"}
	return jarsOfBatches(ctx, r, func(b lab.Batch, j store.JarRow, e jarEntries) error {
		for _, s := range e.seen {
			x.add(b.String(), j.Number, string(j.Code), x.at(s.At), orBlank(s.Stage.Label()), orBlank(s.Covered), orBlank(string(s.Sign)), orBlank(string(s.Fate)), orBlank(s.Reason), orBlank(s.Count), orBlank(s.Note), orBlank(s.By), s.Entered.In(x.zone))
		}
		return nil
	})
}

func exportPicks(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"batch", "jar", "code", "picked at", "flush", "grams", "as typed", "by", "entered"}
	return jarsOfBatches(ctx, r, func(b lab.Batch, j store.JarRow, e jarEntries) error {
		for _, p := range e.picks {
			x.add(b.String(), j.Number, string(j.Code), x.at(p.At), p.Flush, float64(p.Grams), orBlank(p.Typed), orBlank(p.By), p.Entered.In(x.zone))
		}
		return nil
	})
}

// exportPhotos writes what is known of each photo; the pictures are the files
// that bear their hashes.
func exportPhotos(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"batch", "jar", "code", "taken at", "camera", "note", "width", "height", "sha256", "by", "entered"}
	return jarsOfBatches(ctx, r, func(b lab.Batch, j store.JarRow, e jarEntries) error {
		for _, p := range e.photos {
			x.add(b.String(), j.Number, string(j.Code), x.at(p.At), orBlank(p.Taken), orBlank(p.Note), p.Width, p.Height, p.Whole, orBlank(p.By), p.Entered.In(x.zone))
		}
		return nil
	})
}

func exportBatches(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"batch", "name", "made", "closing day", "jars", "blanks", "inoculated", "growing", "picked", "barren", "lost", "grams", "note"}
	batches, err := r.Batches(ctx, 0)
	if err != nil {
		return err
	}
	tallies, err := r.Tallies(ctx)
	if err != nil {
		return err
	}
	slices.Reverse(batches)
	for _, b := range batches {
		t, closing := tallies[b.ID], any(nil)
		if !b.Closing.IsZero() {
			closing = b.Closing
		}
		x.add(b.String(), orBlank(b.Name), x.onDay(b.Made), closing, t.Jars, t.Blanks, t.Inoculated, t.Growing, t.Picked, t.Barren, t.Lost, t.Grams, orBlank(b.Note))
	}
	return nil
}

func (f *Farm) exportCooks(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"cook", "name", "cooker", "day", "layers", "hold min", "gauge", "reached", "heat off", "longest stretch min", "held", "note"}
	cooks, err := r.Cooks(ctx, 0)
	if err != nil {
		return err
	}
	slices.Reverse(cooks)
	for _, c := range cooks {
		marks, err := r.CookMarks(ctx, c.ID)
		if err != nil {
			return err
		}
		standing, err := standCook(c, marks, f.now())
		if err != nil {
			return err
		}
		var reached, off lab.When
		for _, m := range lab.Current(marks) {
			switch m.Event {
			case lab.Reached:
				reached = m.At
			case lab.HeatOff:
				off = m.At
			}
		}
		x.add(c.String(), orBlank(c.Name), orBlank(c.Cooker), x.onDay(c.Day), orBlank(c.Layers), orBlank(float64(c.Hold)), orBlank(c.Gauge), x.at(reached), x.at(off), orBlank(standing.Longest), string(standing.State), orBlank(c.Note))
	}
	return nil
}

func (f *Farm) exportCultures(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"culture", "form", "strain", "species", "parent", "transfers", "source", "grows on", "made", "volume mL", "left mL", "tested", "tested on", "stored", "since", "jars", "picked", "lost", "fouled", "grams", "ended", "note"}
	rows, err := f.cultureRows(ctx, r)
	if err != nil {
		return err
	}
	slices.Reverse(rows)
	for _, c := range rows {
		medium, err := x.recipe(ctx, r, c.Culture.Medium)
		if err != nil {
			return err
		}
		transfers, left := any(nil), any(nil)
		if c.Generation != nil {
			transfers = *c.Generation
		}
		if c.Left != nil {
			left = float64(*c.Left)
		}
		s := c.Standing
		x.add(c.Name, string(c.Form), orBlank(c.Strain), orBlank(c.Species), orBlank(c.ParentName), transfers, orBlank(c.Details.Source), orBlank(medium), x.onDay(c.Made),
			orBlank(float64(c.Details.Volume)), left, orBlank(string(s.Test.Finding)), x.onDay(s.Test.At), orBlank(string(s.Store.Storage)), x.onDay(s.Store.At),
			c.Use.Jars, c.Use.Picked, c.Use.Lost, c.Use.Fouled, c.Use.Grams, x.onDay(s.End.At), orBlank(c.Note))
	}
	return nil
}

func (f *Farm) exportLots(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"lot", "ingredient", "supplier", "supplier code", "received", "best before", "moisture %", "cup g", "bought", "bought g", "drawn g", "left g", "price", "note"}
	stock, err := f.readStock(ctx, r)
	if err != nil {
		return err
	}
	var lots []*LotRow
	for _, row := range stock.rows {
		lots = append(lots, row.Lots...)
	}
	slices.SortFunc(lots, func(a, b *LotRow) int { return cmp.Compare(a.Number, b.Number) })
	for _, l := range lots {
		moisture, left, best := any(nil), any(nil), any(nil)
		if l.Moisture != nil {
			moisture = 100 * float64(*l.Moisture)
		}
		if l.Left != nil {
			left = float64(*l.Left)
		}
		if !l.BestBefore.IsZero() {
			best = l.BestBefore
		}
		x.add(l.String(), l.Name, orBlank(l.Supplier), orBlank(l.SupplierCode), x.onDay(l.At), best, moisture, orBlank(float64(l.Cup)), orBlank(l.BoughtTyped), orBlank(float64(l.Bought)), float64(l.Drawn), left, orBlank(l.Price.Typed), orBlank(l.Note))
	}
	return nil
}

func exportRecipes(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"recipe", "version", "mix", "made up to", "ingredient", "amount", "fill", "note"}
	recipes, err := r.Recipes(ctx)
	if err != nil {
		return err
	}
	for _, rec := range recipes {
		fills := make(map[string]string)
		for _, fill := range rec.Fills {
			fills[fill.Mix] = fill.Amount
		}
		for _, mix := range rec.Mixes {
			for _, line := range mix.Lines {
				x.add(rec.Name, rec.Version, mix.Name, orBlank(mix.MakeUpTo), line.Ingredient, line.Amount, orBlank(fills[mix.Name]), orBlank(rec.Note))
			}
		}
	}
	return nil
}
