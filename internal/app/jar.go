package app

import (
	"context"
	"fmt"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Done says what an act wrote.
type Done struct {
	Deed     lab.DeedID
	What     string
	Jars     []string // "B12·13", in order
	Repeat   bool     // it was stored before; nothing was written again
	Cautions []figure.Caution
}

// jarsOf returns the jars that span names. Every name must be found.
func jarsOf(ctx context.Context, r store.Reader, span lab.Span) ([]store.JarRow, error) {
	filter := store.JarFilter{Codes: span.Codes}
	if span.Batch != "" {
		b, err := r.BatchByName(ctx, span.Batch)
		if err != nil {
			return nil, err
		}
		filter = store.JarFilter{Batch: b.ID, Numbers: span.Numbers}
	}
	rows, err := r.Jars(ctx, filter)
	if err != nil {
		return nil, err
	}
	if missing := missingFrom(span, rows); missing != "" {
		return nil, lab.NotFoundf("check the numbers on the labels", "%s: no such jar", missing)
	}
	if len(rows) == 0 {
		return nil, lab.NotFoundf("choose a batch with jars", "%s has no jars", span)
	}
	return rows, nil
}

// missingFrom returns those names of span that rows lack.
func missingFrom(span lab.Span, rows []store.JarRow) string {
	numbers := make(map[int]bool)
	codes := make(map[lab.Code]bool)
	for _, j := range rows {
		numbers[j.Number], codes[j.Code] = true, true
	}
	lacking := lab.Span{Batch: span.Batch}
	for _, n := range span.Numbers {
		if !numbers[n] {
			lacking.Numbers = append(lacking.Numbers, n)
		}
	}
	for _, c := range span.Codes {
		if !codes[c] {
			lacking.Codes = append(lacking.Codes, c)
		}
	}
	if len(lacking.Numbers) == 0 && len(lacking.Codes) == 0 {
		return ""
	}
	return lacking.String()
}

// nameJars returns rows as "B12·13" and all of them as one span.
func nameJars(ctx context.Context, r store.Reader, rows []store.JarRow) (names []string, span string, err error) {
	batches := make(map[lab.BatchID]string)
	numbers := make(map[lab.BatchID][]int)
	var order []lab.BatchID
	for _, j := range rows {
		if _, ok := batches[j.Batch]; !ok {
			b, err := r.Batch(ctx, j.Batch)
			if err != nil {
				return nil, "", err
			}
			batches[j.Batch] = b.String()
			order = append(order, j.Batch)
		}
		numbers[j.Batch] = append(numbers[j.Batch], j.Number)
		names = append(names, fmt.Sprintf("%s·%d", batches[j.Batch], j.Number))
	}
	var spans []string
	for _, b := range order {
		spans = append(spans, batches[b]+"·"+lab.ShowNumbers(numbers[b]))
	}
	return names, strings.Join(spans, "; "), nil
}

// commonBatch returns the batch of all rows, "" if they are of several.
func commonBatch(rows []store.JarRow) lab.BatchID {
	for _, j := range rows {
		if j.Batch != rows[0].Batch {
			return ""
		}
	}
	return rows[0].Batch
}

// restand derives the standings of the jars named anew and stores them.
func restand(ctx context.Context, w store.Writer, ids []lab.JarID) error {
	rows, err := w.Jars(ctx, store.JarFilter{IDs: ids})
	if err != nil {
		return err
	}
	e, err := entriesOf(ctx, w, idsOf(rows))
	if err != nil {
		return err
	}
	if err := w.SetSights(ctx, e.sights(rows)); err != nil {
		return err
	}
	return w.SetStandings(ctx, e.standings(rows))
}

// jarEntries are all entries on some jars, corrected ones included.
type jarEntries struct {
	inoculations []lab.Inoculation
	seen         []lab.Seen
	picks        []lab.Pick
	photos       []lab.Photo // only in an export: no standing rests on them
}

func entriesOf(ctx context.Context, r store.Reader, ids []lab.JarID) (jarEntries, error) {
	var e jarEntries
	var err error
	if e.inoculations, err = r.Inoculations(ctx, ids); err != nil {
		return e, err
	}
	if e.seen, err = r.Seen(ctx, ids); err != nil {
		return e, err
	}
	e.picks, err = r.Picks(ctx, ids)
	return e, err
}

// standings derives the standing of each jar from its entries.
func (e jarEntries) standings(rows []store.JarRow) []lab.Standing {
	inBy := groupBy(e.inoculations, func(i lab.Inoculation) lab.JarID { return i.Jar })
	seenBy := groupBy(e.seen, func(s lab.Seen) lab.JarID { return s.Jar })
	picksBy := groupBy(e.picks, func(p lab.Pick) lab.JarID { return p.Jar })
	out := make([]lab.Standing, len(rows))
	for i, j := range rows {
		out[i] = j.Jar.Stand(inBy[j.Jar.ID], seenBy[j.Jar.ID], picksBy[j.Jar.ID])
	}
	return out
}

// sights derives from its entries when each jar came to its stages.
func (e jarEntries) sights(rows []store.JarRow) []lab.JarSights {
	seenBy := groupBy(e.seen, func(s lab.Seen) lab.JarID { return s.Jar })
	picksBy := groupBy(e.picks, func(p lab.Pick) lab.JarID { return p.Jar })
	out := make([]lab.JarSights, len(rows))
	for i, j := range rows {
		out[i] = lab.JarSights{Jar: j.Jar.ID, Sights: lab.Sights(seenBy[j.Jar.ID], picksBy[j.Jar.ID])}
	}
	return out
}

func groupBy[K comparable, V any](values []V, key func(V) K) map[K][]V {
	groups := make(map[K][]V)
	for _, v := range values {
		k := key(v)
		groups[k] = append(groups[k], v)
	}
	return groups
}

// each returns what of tells of each value.
func each[V, T any](values []V, of func(V) T) []T {
	out := make([]T, len(values))
	for i, v := range values {
		out[i] = of(v)
	}
	return out
}

// eachOnce is each without repeats.
func eachOnce[K comparable, V any](values []V, of func(V) K) []K {
	var out []K
	had := make(map[K]bool)
	for _, v := range values {
		if k := of(v); !had[k] {
			had[k] = true
			out = append(out, k)
		}
	}
	return out
}

func batchID(j store.JarRow) lab.BatchID { return j.Batch }

func idsOf(rows []store.JarRow) []lab.JarID {
	return each(rows, func(j store.JarRow) lab.JarID { return j.Jar.ID })
}

// findJars returns the jar that each name names, in the order of names: a
// code or "B12·13". It asks once for each batch and once for all codes.
func findJars(ctx context.Context, r store.Reader, names []string) ([]store.JarRow, error) {
	spans := make([]lab.Span, len(names))
	wanted := make(map[string]lab.Span) // by batch, "" for codes
	for i, name := range names {
		span, err := lab.ParseSpan(name)
		if err != nil {
			return nil, err
		}
		if span.Batch != "" && len(span.Numbers) != 1 || len(span.Codes) > 1 {
			return nil, lab.Invalidf("jar", "write it like B12·13 or K73QF", "%s is not one jar", span)
		}
		spans[i] = span
		all := wanted[lab.NameKey(span.Batch)]
		all.Batch = span.Batch
		all.Numbers = append(all.Numbers, span.Numbers...)
		all.Codes = append(all.Codes, span.Codes...)
		wanted[lab.NameKey(span.Batch)] = all
	}
	type place struct {
		batch  string
		number int
		code   lab.Code
	}
	found := make(map[place]store.JarRow)
	for key, span := range wanted {
		rows, err := jarsOf(ctx, r, span)
		if err != nil {
			return nil, err
		}
		for _, j := range rows {
			if key == "" {
				found[place{code: j.Code}] = j
			} else {
				found[place{batch: key, number: j.Number}] = j
			}
		}
	}
	out := make([]store.JarRow, len(names))
	for i, span := range spans {
		p := place{batch: lab.NameKey(span.Batch)}
		if span.Batch == "" {
			p.code = span.Codes[0]
		} else {
			p.number = span.Numbers[0]
		}
		out[i] = found[p]
	}
	return out, nil
}
