package app

import (
	"context"
	"maps"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// gatherEvidence reads what the verdict and the days of a trial rest on. r must
// not write.
func (f *Farm) gatherEvidence(ctx context.Context, r store.Reader, t lab.Trial) (evidence, error) {
	all, err := f.gatherAll(ctx, r, t)
	if err != nil {
		return evidence{}, err
	}
	return all[0], nil
}

// gatherAll is gatherEvidence for many trials, in as few statements as for one.
func (f *Farm) gatherAll(ctx context.Context, r store.Reader, trials ...lab.Trial) ([]evidence, error) {
	read, err := f.readTrials(ctx, r, trials)
	if err != nil {
		return nil, err
	}
	all := make([]evidence, len(trials))
	for i, t := range trials {
		all[i] = read.evidence(t)
	}
	return all, nil
}

// trialsRead is what was read of some trials.
type trialsRead struct {
	farm     *Farm
	settings Settings
	masks    map[lab.TrialID]mask
	draws    map[lab.TrialID][]lab.Allotment
	batches  map[lab.TrialID][]lab.Batch // by number
	jars     map[lab.BatchID][]jarPast
	cooks    []CookRow // by number
	names    Names
}

func (f *Farm) readTrials(ctx context.Context, r store.Reader, trials []lab.Trial) (trialsRead, error) {
	x := trialsRead{farm: f}
	var err error
	if x.settings, err = readSettings(ctx, r); err != nil {
		return x, err
	}
	if x.masks, err = masksOf(ctx, r, trials); err != nil {
		return x, err
	}
	ids := each(trials, func(t lab.Trial) lab.TrialID { return t.ID })
	draws, err := r.Allotments(ctx, ids...)
	if err != nil {
		return x, err
	}
	x.draws = groupBy(draws, func(a lab.Allotment) lab.TrialID { return a.Trial })
	batches, err := r.BatchesOfTrials(ctx, ids...)
	if err != nil {
		return x, err
	}
	x.batches = make(map[lab.TrialID][]lab.Batch)
	for i := len(batches) - 1; i >= 0; i-- { // the newest comes first
		x.batches[batches[i].Trial] = append(x.batches[batches[i].Trial], batches[i])
	}
	if x.jars, err = f.pastsOf(ctx, r, batches); err != nil {
		return x, err
	}
	var rows []store.JarRow
	for _, b := range batches {
		for _, p := range x.jars[b.ID] {
			rows = append(rows, p.row)
		}
	}
	if x.cooks, err = f.cooksOf(ctx, r, rows); err != nil {
		return x, err
	}
	x.names, err = namesOf(ctx, r, rows)
	return x, err
}

// evidence puts together what was read of one trial.
func (x trialsRead) evidence(t lab.Trial) evidence {
	ev := evidence{
		mask: x.masks[t.ID], zone: x.settings.Zone, known: x.farm.known, names: x.names,
		cooks: make(map[lab.CookID]lab.Cook), batches: make(map[lab.BatchID]lab.Batch), past: make(map[lab.JarID]jarPast),
	}
	for i, a := range x.draws[t.ID] {
		if a.Stage != lab.AtLight {
			ev.allotment = &x.draws[t.ID][i]
		}
	}
	ev.trial = ev.mask.shown()
	for _, b := range x.batches[t.ID] {
		for _, p := range x.jars[b.ID] {
			j := p.row
			j.Standing = j.On(x.farm.now(), closingOf(b, t))
			ev.jars = append(ev.jars, j)
			ev.batches[b.ID], ev.past[j.Jar.ID] = b, p
		}
	}
	x.addCooks(&ev)
	if ev.mask.closed() {
		ev.names.Cultures = maps.Clone(x.names.Cultures)
	}
	ev.mask.hide(ev.jars, &ev.names)
	if c, early := ev.openedEarly(); early {
		ev.cautions = append(ev.cautions, c)
	}
	return ev
}

// closingOf is the closing day of a batch of a trial.
func closingOf(b lab.Batch, t lab.Trial) lab.Day {
	if b.Closing.IsZero() {
		return t.Closing
	}
	return b.Closing
}

// addCooks adds the cooks of the jars, and doubts those that did not hold.
func (x trialsRead) addCooks(ev *evidence) {
	in := make(map[lab.CookID]bool)
	for _, j := range ev.jars {
		in[j.Cook] = true
	}
	for _, c := range x.cooks {
		if !in[c.ID] {
			continue
		}
		ev.cooks[c.ID] = c.Cook
		if c.State == lab.NotHeld {
			ev.cautions = append(ev.cautions, figure.Caution{
				Code: "cook_not_held", Title: c.String() + " did not hold", Weight: figure.Care, Text: c.Sentence + " Jars of it are in this comparison.",
			})
		}
	}
}
