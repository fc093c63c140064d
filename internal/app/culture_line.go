package app

import (
	"context"
	"maps"
	"slices"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// CultureView is one culture with its line and all that was made from it.
type CultureView struct {
	CultureRow
	Line    []CultureRow     // all of the same descent, parents before children
	Entries []lab.Keeping    // that hold, newest first
	Made    []CultureBatch   // batches with jars that carry it, by number
	Stored  lab.StorageLimit // what is known of its storage; zero if it is not stored
	Limits  CultureLimits
	Watch   LineWatch
	Back    string // an earlier culture of the line to go back to, "" if none stands
}

// CultureBatch is jars of one batch that carry a culture.
type CultureBatch struct {
	Batch   lab.Batch
	Numbers []int // none of a blind trial whose key would be told by them
	Open    int   // that still grow
}

// String is the batch with the jars that carry the culture, shortly.
func (b CultureBatch) String() string {
	if len(b.Numbers) == 0 {
		return b.Batch.String()
	}
	return b.Batch.String() + "·" + lab.ShowNumbers(b.Numbers)
}

// carriedShown bounds the jars that a page lists of one culture.
const carriedShown = 2000

// CultureView returns the culture called name.
func (f *Farm) CultureView(ctx context.Context, name string) (CultureView, error) {
	var v CultureView
	var c lab.Culture
	var rows []CultureRow
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		if c, err = r.CultureByName(ctx, name); err == nil {
			rows, err = f.cultureRows(ctx, r)
		}
		return err
	})
	if err != nil {
		return v, err
	}
	if err := f.suspect(ctx, rows); err != nil {
		return v, err
	}
	v.Line = lineOf(rows, c.ID)
	v.CultureRow = v.Line[slices.IndexFunc(v.Line, func(x CultureRow) bool { return x.ID == c.ID })]
	v.Back = goBackTo(v.Line, v.CultureRow)
	err = f.store.Read(ctx, func(r store.Reader) (err error) {
		if v.Limits, err = readCultureLimits(ctx, r); err != nil {
			return err
		}
		settings, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		if v.Watch, err = f.watchLine(ctx, r, v.Line, settings.Zone); err != nil {
			return err
		}
		if s := v.Standing.Store; s.ID != "" {
			v.Stored, _ = lab.LimitOf(s.Storage, c.Form)
		}
		if err := v.nameRefs(ctx, r); err != nil {
			return err
		}
		return v.read(ctx, r)
	})
	return v, err
}

// nameRefs names the recipe that the culture grows on and the jar that it is.
func (v *CultureView) nameRefs(ctx context.Context, r store.Reader) error {
	if v.Culture.Medium != "" {
		recipe, err := r.Recipe(ctx, v.Culture.Medium)
		if err != nil {
			return err
		}
		v.Medium = recipe.String()
	}
	if v.Jar == "" {
		return nil
	}
	rows, err := r.Jars(ctx, store.JarFilter{IDs: []lab.JarID{v.Jar}})
	if err != nil || len(rows) == 0 {
		return err
	}
	names, _, err := nameJars(ctx, r, rows)
	if len(names) > 0 {
		v.JarName = names[0]
	}
	return err
}

// read sorts the entries on the culture and reads the jars that carry it.
func (v *CultureView) read(ctx context.Context, r store.Reader) error {
	v.Entries = lab.Current(v.kept)
	slices.SortStableFunc(v.Entries, func(a, b lab.Keeping) int { return b.At.Time.Compare(a.At.Time) })
	jars, err := r.Jars(ctx, store.JarFilter{Carries: v.ID, Limit: carriedShown})
	if err != nil {
		return err
	}
	batches, err := batchesOf(ctx, r, jars)
	if err != nil {
		return err
	}
	hidden, err := hiddenOf(ctx, r, slices.Collect(maps.Values(batches)))
	if err != nil {
		return err
	}
	for _, j := range jars {
		if n := len(v.Made); n == 0 || v.Made[n-1].Batch.ID != j.Batch {
			v.Made = append(v.Made, CultureBatch{Batch: batches[j.Batch]})
		}
		of := &v.Made[len(v.Made)-1]
		if slices.Contains(hidden[of.Batch.Trial], lab.ByCulture) { // the numbers would be the key
			continue
		}
		of.Numbers = append(of.Numbers, j.Number)
		if j.Fate == lab.Growing {
			of.Open++
		}
	}
	return nil
}

// lineOf returns the rows of the same descent as id, parents before children.
func lineOf(rows []CultureRow, id lab.CultureID) []CultureRow {
	byID := make(map[lab.CultureID]int, len(rows))
	children := make(map[lab.CultureID][]int)
	for i, r := range rows {
		byID[r.ID] = i
	}
	for i := len(rows) - 1; i >= 0; i-- { // rows are newest first: the eldest child comes first
		children[rows[i].Parent] = append(children[rows[i].Parent], i)
	}
	root := id
	for range rows { // a line that loops ends here
		p := rows[byID[root]].Parent
		if _, ok := byID[p]; !ok || p == "" {
			break
		}
		root = p
	}
	var out []CultureRow
	seen := make(map[lab.CultureID]bool)
	var walk func(lab.CultureID)
	walk = func(x lab.CultureID) {
		if seen[x] {
			return
		}
		seen[x] = true
		out = append(out, rows[byID[x]])
		for _, i := range children[x] {
			walk(rows[i].ID)
		}
	}
	walk(root)
	return out
}

// goBackTo returns the nearest ancestor that still stands and is stored, "" if
// there is none.
func goBackTo(line []CultureRow, from CultureRow) string {
	byID := make(map[lab.CultureID]CultureRow, len(line))
	for _, r := range line {
		byID[r.ID] = r
	}
	x := from
	for range line {
		parent, ok := byID[x.Parent]
		if !ok {
			return ""
		}
		if parent.Standing.End.ID == "" && parent.Standing.Store.ID != "" && parent.Standing.Test.Finding != lab.Dirty && !parent.isNoRefuge() {
			return parent.Name
		}
		x = parent
	}
	return ""
}

// isNoRefuge reports whether something speaks against going back to it.
func (row CultureRow) isNoRefuge() bool {
	return slices.ContainsFunc(row.Cautions, func(c figure.Caution) bool {
		return c.Code == "past_limit" || c.Code == "used_up" || c.Code == "suspect"
	})
}
