package app

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// Chain is all that led to one jar, what came of it, and which jars share
// something with it: what somebody asks who comes with a code.
type Chain struct {
	JarView
	Line   []lab.Culture // what it carries, then the parents, youngest first
	Mixes  []ChainMix
	Shared []ChainShare
	Hidden bool // a part is not told before the key of its trial is opened
}

// ChainMix is one making of a mix that is in the jar.
type ChainMix struct {
	Mix   string
	At    lab.When
	By    string
	Lines []ChainLine
}

// ChainLine is one ingredient of a making and where it came from.
type ChainLine struct {
	lab.Weighed
	Lot *lab.IngredientLot // nil if not said
}

// ChainShare names the other jars that share something.
type ChainShare struct {
	What string // "in cook 3"
	Jars string // "B7·1–4; B8·2"
	Many bool   // there are more than are named
}

// mostShared bounds the jars that a chain names.
const mostShared = 400

// Chain returns the chain of the jar that a code or "B12·13" names.
func (f *Farm) Chain(ctx context.Context, name string) (Chain, error) {
	var t Chain
	err := f.store.Read(ctx, func(r store.Reader) error {
		rows, err := findJars(ctx, r, []string{name})
		if err != nil {
			return err
		}
		if t.JarView, err = f.viewJar(ctx, r, rows[0]); err != nil {
			return err
		}
		hidden, err := hiddenFactors(ctx, r, t.Batch.Trial)
		if err != nil {
			return err
		}
		t.Hidden = len(hidden) > 0
		if t.Line, err = lineUp(ctx, r, t.Row.Carries); err != nil {
			return err
		}
		if t.Mixes, err = mixesIn(ctx, r, t.Row); err != nil {
			return err
		}
		return t.share(ctx, r)
	})
	t.History = foldLooks(t.History, f.Zone(ctx))
	return t, err
}

// foldLooks makes one line of looks in a row that found nothing new. Lines are
// newest first.
func foldLooks(lines []HistoryLine, zone *time.Location) []HistoryLine {
	const same = string(lab.AsBefore)
	var out []HistoryLine
	for i := 0; i < len(lines); {
		end := i + 1
		for end < len(lines) && same == lines[i].What && same == lines[end].What && !lines[i].Undone && !lines[end].Undone {
			end++
		}
		line := lines[i]
		if n := end - i; n > 1 {
			line.What = fmt.Sprintf("%s, %d times since %s", same, n, lines[end-1].At.Show(zone))
			line.By = ""
		}
		out = append(out, line)
		i = end
	}
	return out
}

// lineUp returns a culture and its parents, youngest first.
func lineUp(ctx context.Context, r store.Reader, id lab.CultureID) ([]lab.Culture, error) {
	if id == "" {
		return nil, nil
	}
	all, err := r.Cultures(ctx)
	if err != nil {
		return nil, err
	}
	byID := make(map[lab.CultureID]lab.Culture, len(all))
	for _, c := range all {
		byID[c.ID] = c
	}
	var line []lab.Culture
	for c, ok := byID[id]; ok && len(line) <= len(all); c, ok = byID[c.Parent] {
		line = append(line, c)
	}
	return line, nil
}

// mixesIn returns the makings that filled j, as far as it is known which.
func mixesIn(ctx context.Context, r store.Reader, j store.JarRow) ([]ChainMix, error) {
	if j.MixMade == "" {
		return nil, nil
	}
	makings, err := r.Makings(ctx, j.Batch)
	if err != nil {
		return nil, err
	}
	lots, err := r.IngredientLots(ctx)
	if err != nil {
		return nil, err
	}
	byID := make(map[lab.IngredientLotID]lab.IngredientLot, len(lots))
	for _, l := range lab.Current(lots) {
		byID[l.Lot] = l
	}
	var out []ChainMix
	for _, m := range lab.Current(makings) {
		if m.Label != j.MixMade {
			continue
		}
		mix := ChainMix{Mix: m.Mix, At: m.At, By: m.By}
		for _, w := range m.Weighed {
			line := ChainLine{Weighed: w}
			if l, ok := byID[w.Lot]; ok {
				line.Lot = &l
			}
			mix.Lines = append(mix.Lines, line)
		}
		out = append(out, mix)
	}
	return out, nil
}

// share finds the other jars of the same culture, cook and mix.
func (t *Chain) share(ctx context.Context, r store.Reader) error {
	j := t.Row
	for _, s := range []struct {
		what   string
		known  bool
		filter store.JarFilter
		factor lab.Factor // hides it in blind trials that differ in it
		same   func(store.JarRow) bool
	}{
		{"from " + t.Carries, j.Carries != "", store.JarFilter{Carries: j.Carries}, lab.ByCulture, nil},
		{"filled from the same mix", j.MixMade != "", store.JarFilter{Batch: j.Batch}, lab.ByRecipe, func(k store.JarRow) bool { return k.MixMade == j.MixMade }},
		{"in the same cook", j.Cook != "", store.JarFilter{Cooks: []lab.CookID{j.Cook}}, "", nil},
	} {
		if !s.known {
			continue
		}
		s.filter.Limit = mostShared + 1
		rows, err := r.Jars(ctx, s.filter)
		if err != nil {
			return err
		}
		share := ChainShare{What: s.what, Many: len(rows) > mostShared}
		rows = slices.DeleteFunc(rows[:min(len(rows), mostShared)], func(k store.JarRow) bool { return k.ID == j.ID || s.same != nil && !s.same(k) })
		if rows, err = tellable(ctx, r, rows, s.factor); err != nil {
			return err
		}
		if len(rows) == 0 {
			continue
		}
		if _, share.Jars, err = nameJars(ctx, r, rows); err != nil {
			return err
		}
		t.Shared = append(t.Shared, share)
	}
	return nil
}

// tellable leaves out the jars of blind trials of which the factor would be
// told by naming them.
func tellable(ctx context.Context, r store.Reader, rows []store.JarRow, factor lab.Factor) ([]store.JarRow, error) {
	tells := make(map[lab.BatchID]bool)
	var out []store.JarRow
	for _, j := range rows {
		hides, known := tells[j.Batch]
		if !known {
			b, err := r.Batch(ctx, j.Batch)
			if err != nil {
				return nil, err
			}
			hidden, err := hiddenFactors(ctx, r, b.Trial)
			if err != nil {
				return nil, err
			}
			hides = slices.Contains(hidden, factor)
			tells[j.Batch] = hides
		}
		if !hides {
			out = append(out, j)
		}
	}
	return out, nil
}
