package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// FouledAnswer is what fouled jars have in common: the same that "calc fouled"
// gives for a plain table of them.
type FouledAnswer = figure.Answer[trialstat.FouledResult]

// FouledFactor is what one factor shows.
type FouledFactor = trialstat.FouledFactor

// FouledSuspect is a level whose jars fouled more often than the others.
type FouledSuspect = trialstat.FouledSuspect

// lastBatches is how many batches are looked at unless more are asked for.
const lastBatches = 12

// FouledInput chooses the batches to look at.
type FouledInput struct {
	Batches []string // names; if empty, the last ones
	Last    int      // how many, 12 if 0
}

// FouledView is what the page of fouled jars shows.
type FouledView struct {
	Answer  FouledAnswer
	Batches []lab.Batch // that were looked at, newest first
	Touched []Touched   // for each suspect, in the same order
}

// Touched lists the jars that still grow and share with a suspect what it is
// suspected of, in all batches.
type Touched struct {
	Suspect string // what it is called: "LC-3", or all that nothing tells apart from it
	Jars    int
	Batches []TouchedBatch // by number
}

// TouchedBatch lists such jars of one batch.
type TouchedBatch struct {
	Batch   lab.Batch
	Numbers []int
}

// Fouled says what the fouled jars of some batches have in common. A jar counts
// as fouled if it was lost for that, or if the last sign on it is one of mould
// or rot and nothing was picked from it. Batches of which nothing was
// inoculated yet are left out.
func (f *Farm) Fouled(ctx context.Context, in FouledInput) (FouledView, error) {
	var v FouledView
	var rows []trialstat.FouledRow
	var blind []string
	growing := 0
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		if v.Batches, err = fouledBatches(ctx, r, in); err != nil {
			return err
		}
		read, err := f.readFouled(ctx, r, v.Batches)
		if err != nil {
			return err
		}
		for _, b := range v.Batches {
			for _, row := range read.rows(b, read.jars[b.ID]) {
				rows = append(rows, row.FouledRow)
			}
			growing += read.growing(b)
			if len(read.hidden[b.Trial]) > 0 {
				blind = append(blind, b.String())
			}
		}
		return nil
	})
	if err != nil {
		return v, err
	}
	if len(rows) == 0 {
		v.Answer = nothingFouled()
		return v, nil
	}
	if v.Answer, err = f.known.fouled(trialstat.FouledInput{Rows: rows}); err != nil {
		return v, err
	}
	if growing > 0 {
		v.Answer.Cautions = append(v.Answer.Cautions, figure.Caution{
			Code: "still_growing", Title: "Not finished", Weight: figure.Note,
			Text: fmt.Sprintf("Jars that still grow count as not fouled so far: %d of these do. Look again when they are done.", growing),
		})
	}
	if len(blind) > 0 {
		v.Answer.Cautions = append(v.Answer.Cautions, figure.Caution{
			Code: "blind", Title: "Blind trials", Weight: figure.Note,
			Text: fmt.Sprintf("What the arms of a blind trial differ in is left out of these counts until its key is opened: %s.", join2(blind)),
		})
	}
	err = f.store.Read(ctx, func(r store.Reader) (err error) {
		v.Touched, err = f.touched(ctx, r, v.Answer.Result.Suspects)
		return err
	})
	return v, err
}

// nothingFouled is the answer while no jar was inoculated.
func nothingFouled() FouledAnswer {
	return FouledAnswer{Cautions: []figure.Caution{}, Working: []figure.Step{}, Result: trialstat.FouledResult{
		Sentence: "No jar of these batches was inoculated yet, so there is nothing to look for.",
		Factors:  []trialstat.FouledFactor{}, Suspects: []trialstat.FouledSuspect{}, Confused: []trialstat.FouledConfused{},
		Blanks: trialstat.FouledBlanks{MissedAt30Pct: 1, ByCook: []trialstat.FouledCookBlank{}},
	}}
}

// fouledBatches returns the batches that in names, or the last ones with jars
// that were inoculated.
func fouledBatches(ctx context.Context, r store.Reader, in FouledInput) ([]lab.Batch, error) {
	var batches []lab.Batch
	for _, name := range in.Batches {
		b, err := r.BatchByName(ctx, name)
		if err != nil {
			return nil, err
		}
		batches = append(batches, b)
	}
	if len(batches) > 0 {
		return batches, nil
	}
	last := in.Last
	if last == 0 {
		last = lastBatches
	}
	if last < 1 || last > 200 {
		return nil, lab.Invalidf("last", "write how many batches to look at, from 1 to 200", "%d batches can not be looked at", last)
	}
	all, err := r.Batches(ctx, 200)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	ids := each(all, func(b lab.Batch) lab.BatchID { return b.ID })
	tallies, err := r.Tallies(ctx, ids...)
	if err != nil {
		return nil, err
	}
	for _, b := range all {
		if tallies[b.ID].Inoculated > 0 && len(batches) < last {
			batches = append(batches, b)
		}
	}
	return batches, nil
}

// lastSigns returns the last sign seen on each jar.
func lastSigns(seen []lab.Seen) map[lab.JarID]lab.Sign {
	last := make(map[lab.JarID]lab.Seen)
	for _, s := range lab.Current(seen) {
		if before, ok := last[s.Jar]; s.Sign != "" && s.Sign != lab.AsBefore && (!ok || !s.At.Time.Before(before.At.Time)) {
			last[s.Jar] = s
		}
	}
	signs := make(map[lab.JarID]lab.Sign, len(last))
	for id, s := range last {
		signs[id] = s.Sign
	}
	return signs
}

// foulSigns are the signs of mould and rot (common practice, no source).
var foulSigns = []lab.Sign{"green", "grey fluff", "black dots", "orange powder", "slime", "sour smell"}

// foulWords are parts of reasons that say a jar fouled.
var foulWords = []string{"foul", "mould", "mold", "contam", "bacteria", "rot"}

// fouledJar reports whether a jar fouled before anything was picked from it.
func fouledJar(j store.JarRow, sign lab.Sign) bool {
	if j.Grams > 0 {
		return false
	}
	says := func(word string) bool { return strings.Contains(lab.NameKey(j.Reason), word) }
	return j.Fate == lab.Lost && slices.ContainsFunc(foulWords, says) || slices.Contains(foulSigns, sign)
}

// touched finds the growing jars that share with each suspect what it is
// suspected of.
func (f *Farm) touched(ctx context.Context, r store.Reader, suspects []trialstat.FouledSuspect) ([]Touched, error) {
	out := make([]Touched, len(suspects))
	for i, s := range suspects {
		names := append([]string{s.Called()}, s.Inseparable...)
		out[i].Suspect, out[i].Batches = strings.Join(names, " or "), []TouchedBatch{}
	}
	if len(suspects) == 0 {
		return out, nil
	}
	batches, err := r.OpenBatches(ctx, f.today())
	if err != nil {
		return nil, err
	}
	read, err := f.readFouled(ctx, r, batches)
	if err != nil {
		return nil, err
	}
	for _, b := range batches {
		rows := read.rows(b, slices.DeleteFunc(slices.Clone(read.jars[b.ID]), func(j sighted) bool { return j.row.Blank || !read.grows(b, j) }))
		for i, s := range suspects {
			out[i].add(b, rows, s)
		}
	}
	for i := range out {
		slices.SortFunc(out[i].Batches, func(x, y TouchedBatch) int { return cmp.Compare(x.Batch.Number, y.Batch.Number) })
	}
	return out, nil
}

// add adds the rows of one batch that a suspect touched and that are clean.
func (t *Touched) add(b lab.Batch, rows []fouledRow, s trialstat.FouledSuspect) {
	in := TouchedBatch{Batch: b}
	for _, r := range rows {
		if !bool(r.Bad) && s.Touches(r.FouledRow) {
			in.Numbers = append(in.Numbers, r.number)
		}
	}
	if len(in.Numbers) > 0 {
		t.Jars += len(in.Numbers)
		t.Batches = append(t.Batches, in)
	}
}
