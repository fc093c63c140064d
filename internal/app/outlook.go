package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// Outlook is when the stages that are still to come are expected: of open
// batches and of their jars. With it comes how earlier forecasts turned out.
type Outlook struct {
	Batches []BatchOutlook // the newest first, those of which something is known
	Jars    []JarsOutlook  // by batch as above, then by the day on which they are expected
	Past    Calibration    // empty if one batch or jar was asked for
}

// BatchOutlook is what is expected of a batch.
type BatchOutlook struct {
	Batch   lab.Batch
	Windows []StageWindow // in the order of the stages
}

// JarsOutlook is the next stage of jars of one batch of which the same is
// expected.
type JarsOutlook struct {
	Batch   lab.Batch
	Numbers []int
	Shelf   string
	Window  StageWindow
	Waits   bool // they are covered and wait to be moved to light first
}

// Span names the jars: "B12·1–6".
func (j JarsOutlook) Span() string { return j.Batch.String() + "·" + lab.ShowNumbers(j.Numbers) }

// Outlook says when the stages of the open batches and their jars are expected.
func (f *Farm) Outlook(ctx context.Context) (Outlook, error) {
	var g growing
	var kept []lab.Forecast
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		batches, err := f.openRows(ctx, r)
		if err != nil {
			return err
		}
		if g, err = f.readGrowing(ctx, r, batches, s.Zone); err != nil {
			return err
		}
		kept, err = r.Forecasts(ctx, g.learnt.batches()...)
		return err
	})
	if err != nil {
		return Outlook{}, err
	}
	out, err := g.outlook(f.now())
	out.Past = calibrate(g.learnt.courses, kept)
	return out, err
}

// OutlookOf says it of one batch or one jar, by "B12", a name, "B12·13" or a
// code.
func (f *Farm) OutlookOf(ctx context.Context, name string) (Outlook, error) {
	var g growing
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		b, only, err := namedJars(ctx, r, name)
		if err != nil {
			return err
		}
		g, err = f.readGrowingOf(ctx, r, only, []lab.Batch{b}, s.Zone)
		g.jarsOnly = len(only) > 0
		return err
	})
	if err != nil {
		return Outlook{}, err
	}
	return g.outlook(f.now())
}

// namedJars returns the batch that name says, and the one jar if it says one.
func namedJars(ctx context.Context, r store.Reader, name string) (lab.Batch, []lab.JarID, error) {
	span, err := lab.ParseSpan(name)
	if err != nil || len(span.Numbers)+len(span.Codes) != 1 {
		b, err := r.BatchByName(ctx, name)
		return b, nil, err
	}
	rows, err := jarsOf(ctx, r, span)
	if err != nil {
		if b, missing := r.BatchByName(ctx, name); missing == nil { // a name may look like a code
			return b, nil, nil
		}
		return lab.Batch{}, nil, err
	}
	b, err := r.Batch(ctx, rows[0].Batch)
	return b, idsOf(rows), err
}

// outlook computes what is expected of the batches that are open, and of the
// jars that were read.
func (g growing) outlook(now time.Time) (Outlook, error) {
	var out Outlook
	for _, c := range g.learnt.courses {
		if _, ok := g.batches[c.batch.ID]; !ok || g.jarsOnly {
			continue
		}
		windows, err := g.learnt.windows(c, now)
		if err != nil {
			return out, err
		}
		if len(windows) > 0 {
			out.Batches = append(out.Batches, BatchOutlook{c.batch, windows})
		}
	}
	var err error
	out.Jars, err = g.jarsOutlook(now)
	return out, err
}

// jarsOutlook returns the next stage of each jar, past a move to light that
// is due.
func (g growing) jarsOutlook(now time.Time) ([]JarsOutlook, error) {
	var jars gathered
	for _, x := range g.of {
		for _, j := range x.rows {
			if e, ok := g.expect(j); ok {
				g.join(&jars, j, g.beyondMove(j, e))
			}
		}
	}
	all, err := g.forecast(jars.list)
	if err != nil {
		return nil, err
	}
	today := lab.OnDay(now.In(g.zone)).Time
	var out []JarsOutlook
	for _, e := range joinAlike(all) {
		if e.Learnt != nil {
			x := JarsOutlook{Batch: e.Batch, Numbers: e.Numbers, Shelf: e.Shelf, Waits: e.waits, Window: e.asWindow()}
			x.Window.Late = e.isLate(today)
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b JarsOutlook) int {
		return cmp.Or(b.Batch.Number-a.Batch.Number, a.Window.Likely.Compare(b.Window.Likely))
	})
	return out, nil
}

// beyondMove is what comes after a move to light that is due: pins, which wait
// for it and so are never late.
func (g growing) beyondMove(j store.GrowingJar, e Expected) Expected {
	if e.Move {
		e.Move, e.waits = false, true
		e.Window = lab.StageWindow{Stage: lab.Pins, After: lab.Cover}
		e.culture, e.recipe, e.passed = j.Carries, g.recipes[j.Recipe], passedOn(j, e.Since, g.zone)
	}
	return e
}
