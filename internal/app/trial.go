package app

import (
	"context"
	"time"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// TrialRow is a trial with where it stands.
type TrialRow struct {
	lab.Trial
	Batches []BatchRow
	Growing int  // jars that still grow
	Closed  bool // its closing day has passed, or no jar grows any more
}

// Trials returns the trials, newest first.
func (f *Farm) Trials(ctx context.Context) ([]TrialRow, error) {
	var rows []TrialRow
	err := f.store.Read(ctx, func(r store.Reader) error {
		trials, err := r.Trials(ctx)
		if err != nil {
			return err
		}
		byTrial, err := f.rowsByTrial(ctx, r, trials...)
		if err != nil {
			return err
		}
		masks, err := masksOf(ctx, r, trials)
		for _, t := range trials {
			rows = append(rows, trialRow(masks[t.ID].shown(), byTrial[t.ID]))
		}
		return err
	})
	return rows, err
}

// rowsByTrial returns the batches of trials with their counts.
func (f *Farm) rowsByTrial(ctx context.Context, r store.Reader, trials ...lab.Trial) (map[lab.TrialID][]BatchRow, error) {
	ids := each(trials, func(t lab.Trial) lab.TrialID { return t.ID })
	batches, err := r.BatchesOfTrials(ctx, ids...)
	if err != nil {
		return nil, err
	}
	rows, err := f.batchRows(ctx, r, batches)
	return groupBy(rows, func(b BatchRow) lab.TrialID { return b.Batch.Trial }), err
}

func trialRow(t lab.Trial, batches []BatchRow) TrialRow {
	row := TrialRow{Trial: t, Batches: batches}
	inoculated := 0
	for _, b := range batches {
		row.Growing += b.Tally.Growing
		inoculated += b.Tally.Inoculated
	}
	row.Closed = inoculated > 0 && row.Growing == 0
	return row
}

// TrialView is what one trial's page shows.
type TrialView struct {
	TrialRow
	Allotment *lab.Allotment  // nil if no draw is known
	Draws     []lab.Allotment // all that were kept, the newest last
	Cells     []TrialCell     // jars per arm in every cook and layer
	Over      []OverList      // what the jars were given of what the arms are spread over
	Verdict   Verdict
	Evidence  Evidence
	Losses    []ArmLoss      // in the trial's order
	ByCook    *CookEffects   // nil for fewer than two cooks
	Analyses  []KeptAnalysis // readings that were kept, the newest last
	Blind     bool           // the key is closed: arms go by letters
	Opened    *lab.Opening   // the key of a blind trial, nil if closed or not blind
	DataHash  string         // of the table that Verdict judges, "" while there is none
}

// TrialCell counts the jars of each arm in one layer of one cook.
type TrialCell struct {
	Cook  string `json:"cook"`
	Layer int    `json:"layer"`
	Jars  []int  `json:"jars"` // in the order of the trial's arms
}

// TrialView returns the trial called name with its verdict as of now.
func (f *Farm) TrialView(ctx context.Context, name string) (TrialView, error) {
	var v TrialView
	var ev evidence
	err := f.store.Read(ctx, func(r store.Reader) error {
		t, err := r.TrialByName(ctx, name)
		if err != nil {
			return err
		}
		byTrial, err := f.rowsByTrial(ctx, r, t)
		if err != nil {
			return err
		}
		v.TrialRow = trialRow(t, byTrial[t.ID])
		if ev, err = f.gatherEvidence(ctx, r, t); err != nil {
			return err
		}
		if v.Draws, err = r.Allotments(ctx, t.ID); err != nil {
			return err
		}
		if v.Over, err = overOf(ctx, r, t); err != nil {
			return err
		}
		kept, err := r.Analyses(ctx, t.ID)
		v.Analyses = keptAnalyses(kept)
		return err
	})
	if err != nil {
		return v, err
	}
	v.Trial, v.Allotment, v.Cells = ev.trial, ev.allotment, ev.cells()
	v.Blind, v.Opened = ev.mask.closed(), ev.mask.opened
	if _, v.DataHash, err = ev.data(); err != nil {
		return v, err
	}
	if v.Verdict, err = ev.verdict(); err != nil {
		return v, err
	}
	v.Evidence = ev.evidencePicture(v.Verdict)
	v.Losses, v.ByCook = ev.losses(v.Verdict), cookEffects(v.Verdict.Result)
	return v, nil
}

// CompareResult is what a comparison comes to.
type CompareResult = trialstat.CompareResult

// Comparison is one arm against another.
type Comparison = trialstat.Comparison

// Interval is an estimate with its 95 % interval.
type Interval = trialstat.Interval

// ArmSummary is what one arm came to.
type ArmSummary = trialstat.ArmSummary

// Verdict is the answer of a trial: the same that "calc compare" gives for a
// plain table of its jars.
type Verdict = figure.Answer[CompareResult]

// Verdict judges the trial called name by its jars as they stand now.
func (f *Farm) Verdict(ctx context.Context, name string) (Verdict, error) {
	ev, err := f.evidenceOf(ctx, name)
	if err != nil {
		return Verdict{}, err
	}
	return ev.verdict()
}

func (f *Farm) evidenceOf(ctx context.Context, name string) (evidence, error) {
	var ev evidence
	err := f.store.Read(ctx, func(r store.Reader) error {
		t, err := r.TrialByName(ctx, name)
		if err != nil {
			return err
		}
		ev, err = f.gatherEvidence(ctx, r, t)
		return err
	})
	return ev, err
}

// evidence is all that a verdict is drawn from.
type evidence struct {
	trial     lab.Trial // as the shelf may see it
	mask      mask
	allotment *lab.Allotment // of arms to places, the newest
	jars      []store.JarRow // of the trial, blanks included, standing as of now
	cooks     map[lab.CookID]lab.Cook
	batches   map[lab.BatchID]lab.Batch
	names     Names
	past      map[lab.JarID]jarPast
	zone      *time.Location // of the farm's calendar
	cautions  []figure.Caution
	known     *reckoned // what was computed before
}

// cells counts the jars of each arm in every layer.
func (ev evidence) cells() []TrialCell {
	arm := make(map[string]int)
	for i, a := range ev.trial.Arms {
		arm[lab.NameKey(a.Name)] = i
	}
	type place struct {
		cook  lab.CookID
		layer int
	}
	at := make(map[place]int)
	var cells []TrialCell
	for _, j := range ev.jars {
		i, ok := arm[lab.NameKey(j.Arm)]
		if j.Blank || !ok || j.Cook == "" {
			continue
		}
		p := place{j.Cook, j.Layer}
		k, ok := at[p]
		if !ok {
			k = len(cells)
			at[p] = k
			cells = append(cells, TrialCell{Cook: ev.cooks[j.Cook].String(), Layer: j.Layer, Jars: make([]int, len(ev.trial.Arms))})
		}
		cells[k].Jars[i]++
	}
	return cells
}
