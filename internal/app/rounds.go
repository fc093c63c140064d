package app

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// RoundView is one shelf as it is walked: what stands there, and what was
// written in this round.
type RoundView struct {
	Shelf         string
	Rows          []ShelfRow
	Cut           bool   // there are more jars than are shown
	Before, After string // the shelves walked before and after it, "" at the ends
	N, Of         int    // it is the n-th of so many shelves
	Since         time.Time
	Written       map[lab.JarID]bool // jars with an entry of this round
	Left          int                // growing jars without one
}

// Round returns the round on a shelf that began at since. A shelf on which no
// jar is at work is a NotFound Problem.
func (f *Farm) Round(ctx context.Context, shelf string, since time.Time) (RoundView, error) {
	v := RoundView{Since: since}
	err := f.store.Read(ctx, func(r store.Reader) error {
		all, err := f.shelfNames(ctx, r)
		if err != nil {
			return err
		}
		for i, name := range all {
			if lab.NameKey(name) != lab.NameKey(shelf) {
				continue
			}
			v.Shelf, v.N, v.Of = name, i+1, len(all)
			if i > 0 {
				v.Before = all[i-1]
			}
			if i+1 < len(all) {
				v.After = all[i+1]
			}
		}
		if v.Shelf == "" {
			return lab.NotFoundf("look under Shelf", "no jar is at work on a shelf called %q", shelf)
		}
		return f.fillRound(ctx, r, &v)
	})
	return v, err
}

// shelfCounts returns the shelves with jars at work and how many stand on
// each, in walking order; jars whose shelf is not said stand last, under "".
func (f *Farm) shelfCounts(ctx context.Context, r store.Reader) ([]ShelfCount, error) {
	counts, err := r.Shelves(ctx, f.today())
	if err != nil {
		return nil, err
	}
	walk, err := r.Setting(ctx, settingWalk)
	if err != nil {
		return nil, err
	}
	inWalkingOrder(counts, func(c ShelfCount) string { return c.Name }, walk)
	return counts, nil
}

// shelfNames returns the named shelves with jars at work, in walking order.
func (f *Farm) shelfNames(ctx context.Context, r store.Reader) ([]string, error) {
	counts, err := f.shelfCounts(ctx, r)
	var names []string
	for _, c := range counts {
		if c.Name != "" {
			names = append(names, c.Name)
		}
	}
	return names, err
}

// ShelfNames returns the shelves with jars at work, in walking order.
func (f *Farm) ShelfNames(ctx context.Context) ([]string, error) {
	var names []string
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		names, err = f.shelfNames(ctx, r)
		return err
	})
	return names, err
}

// fillRound reads the jars of v.Shelf and what was written on them.
func (f *Farm) fillRound(ctx context.Context, r store.Reader, v *RoundView) error {
	rows, err := r.Jars(ctx, store.JarFilter{Shelf: v.Shelf, Open: true, On: f.today(), Limit: pageOfJars + 1})
	if err != nil {
		return err
	}
	if v.Cut = len(rows) > pageOfJars; v.Cut {
		rows = rows[:pageOfJars]
	}
	byID, err := batchesOf(ctx, r, rows)
	if err != nil {
		return err
	}
	for _, s := range f.layOut(rows, byID) {
		v.Rows = append(v.Rows, s.Rows...)
	}
	if v.Written, err = writtenSince(ctx, r, rows, v.Since); err != nil {
		return err
	}
	v.Left = len(f.rest(rows, byID, v.Written))
	return nil
}

// batchesOf returns the batches of rows.
func batchesOf(ctx context.Context, r store.Reader, rows []store.JarRow) (map[lab.BatchID]lab.Batch, error) {
	batches, err := r.BatchesByID(ctx, eachOnce(rows, batchID)...)
	if err != nil {
		return nil, err
	}
	byID := make(map[lab.BatchID]lab.Batch, len(batches))
	for _, b := range batches {
		byID[b.ID] = b
	}
	return byID, nil
}

// writtenSince returns the jars of rows with an entry that was made at or
// after since and not taken back.
func writtenSince(ctx context.Context, r store.Reader, rows []store.JarRow, since time.Time) (map[lab.JarID]bool, error) {
	written, err := r.Written(ctx, idsOf(rows), since)
	if err != nil {
		return nil, err
	}
	out := make(map[lab.JarID]bool, len(written))
	for _, id := range written {
		out[id] = true
	}
	return out, nil
}

// rest returns the growing jars of rows that are not written.
func (f *Farm) rest(rows []store.JarRow, batches map[lab.BatchID]lab.Batch, written map[lab.JarID]bool) []store.JarRow {
	var out []store.JarRow
	for _, j := range rows {
		if s := j.On(f.now(), batches[j.Batch].Closing); !j.Blank && !j.Inoculated.IsZero() && s.Fate == lab.Growing && !written[j.Jar.ID] {
			out = append(out, j)
		}
	}
	return out
}

// RestInput says of which jars all the rest is as before. Either Batch or
// Shelf is set.
type RestInput struct {
	Batch string
	Shelf string
	Since time.Time // when the round began
	But   []string  // jars that are left out, by number in the batch or by code
	At    string    // as lab.ParseWhen reads it
}

// RestAsBefore writes of all growing jars of a batch or a shelf that have no
// entry of this round, and are not in But, that they were looked at and are as before. If there
// are none it is a Conflict.
func (f *Farm) RestAsBefore(ctx context.Context, a Act, in RestInput) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		at, err := f.when(ctx, w, "at", in.At)
		if err != nil {
			return err
		}
		if a.ID != "" {
			if d, err := w.Deed(ctx, a.ID); err == nil {
				done = Done{Deed: d.ID, What: d.What, Repeat: true}
				return nil
			}
		}
		rows, err := f.restOf(ctx, w, in, at)
		if err != nil {
			return err
		}
		names, all, err := nameJars(ctx, w, rows)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, commonBatch(rows), "%s: %s", all, lab.AsBefore)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What, Jars: names}
		if _, err := w.AddDeed(ctx, deed); err != nil {
			return err
		}
		seen := make([]lab.Seen, len(rows))
		for i, j := range rows {
			seen[i] = lab.Seen{Entry: entryOf(deed, at), Jar: j.Jar.ID, Sign: lab.AsBefore}
		}
		if err := w.AddSeen(ctx, seen); err != nil {
			return err
		}
		return restand(ctx, w, idsOf(rows))
	})
	return done, err
}

// restOf returns the jars that in speaks of. What was inoculated after at was
// not there to be looked at.
func (f *Farm) restOf(ctx context.Context, r store.Reader, in RestInput, at lab.When) ([]store.JarRow, error) {
	farm, err := readSettings(ctx, r)
	if err != nil {
		return nil, err
	}
	filter, where := store.JarFilter{Shelf: in.Shelf, Open: true, On: f.today(), Limit: pageOfJars}, "shelf "+in.Shelf
	if in.Batch != "" {
		b, err := r.BatchByName(ctx, in.Batch)
		if err != nil {
			return nil, err
		}
		filter, where = store.JarFilter{Batch: b.ID, Open: true}, b.String()
	}
	rows, err := r.Jars(ctx, filter)
	if err != nil {
		return nil, err
	}
	byID, err := batchesOf(ctx, r, rows)
	if err != nil {
		return nil, err
	}
	written, err := writtenSince(ctx, r, rows, in.Since)
	if err != nil {
		return nil, err
	}
	rows = slices.DeleteFunc(f.rest(rows, byID, written), func(j store.JarRow) bool {
		if at.Before(j.Inoculated, farm.Zone) {
			return true
		}
		if in.Batch != "" {
			return slices.Contains(in.But, strconv.Itoa(j.Number))
		}
		return slices.Contains(in.But, string(j.Code))
	})
	if len(rows) == 0 {
		return nil, lab.Conflictf("go on to the next", "every growing jar of %s is ticked or was written in this round", where)
	}
	return rows, nil
}

// RestOfBatch counts the growing jars of a batch that have no entry since
// then, and returns the jars that have one.
func (f *Farm) RestOfBatch(ctx context.Context, v BatchView, since time.Time) (rest int, written map[lab.JarID]bool, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		rows, err := r.Jars(ctx, store.JarFilter{Batch: v.Batch.ID, Open: true})
		if err != nil {
			return err
		}
		if written, err = writtenSince(ctx, r, rows, since); err != nil {
			return err
		}
		rest = len(f.rest(rows, map[lab.BatchID]lab.Batch{v.Batch.ID: v.Batch}, written))
		return nil
	})
	return rest, written, err
}

// ShelfJars returns the codes of the jars of a round that numbers name: bare
// numbers if one batch stands there, "B12·13–20" otherwise.
func (v RoundView) ShelfJars(typed string) ([]lab.Code, error) {
	span, err := v.span(typed)
	if err != nil {
		return nil, atField("numbers", err)
	}
	var out []lab.Code
	lacking := lab.Span{Batch: span.Batch}
	for _, n := range span.Numbers {
		code, ok := v.codeOf(span.Batch, n)
		if !ok {
			lacking.Numbers = append(lacking.Numbers, n)
			continue
		}
		out = append(out, code)
	}
	out = append(out, span.Codes...)
	if len(lacking.Numbers) > 0 {
		return nil, lab.Invalidf("numbers", "look at the numbers on the labels", "%s: no such jar is at work on shelf %s", lacking, v.Shelf)
	}
	return out, nil
}

func (v RoundView) span(typed string) (lab.Span, error) {
	bare := strings.Trim(typed, "0123456789,;+-–—− ") == "" // "22-345" is no code
	if span, err := lab.ParseSpan(typed); err == nil && !bare {
		if span.Batch != "" && span.Numbers == nil {
			for _, row := range v.Rows {
				for _, j := range row.Jars {
					if row.Batch.String() == span.Batch {
						span.Numbers = append(span.Numbers, j.Number)
					}
				}
			}
		}
		return span, nil
	}
	if len(v.Rows) == 0 {
		return lab.Span{}, lab.Invalidf("numbers", "go on to the next shelf", "no jar is at work on shelf %s now", v.Shelf)
	}
	if len(v.Rows) != 1 {
		return lab.Span{}, lab.Invalidf("numbers", fmt.Sprintf("write the batch too, such as %s·13–20", v.Rows[0].Batch), "jars of %d batches stand here", len(v.Rows))
	}
	return lab.ParseSpan(v.Rows[0].Batch.String() + "·" + typed)
}

func (v RoundView) codeOf(batch string, number int) (lab.Code, bool) {
	for _, row := range v.Rows {
		if lab.NameKey(row.Batch.String()) != lab.NameKey(batch) && lab.NameKey(row.Batch.Name) != lab.NameKey(batch) {
			continue
		}
		for _, j := range row.Jars {
			if j.Number == number {
				return j.Code, true
			}
		}
	}
	return "", false
}
