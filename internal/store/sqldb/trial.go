package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var trials = &table[lab.Trial]{
	name: "trial",
	columns: func(t *lab.Trial) []column {
		return []column{
			text("id", &t.ID), text("name", &t.Name), nameKey(&t.Name), text("question", &t.Question),
			document("differ", &t.Differ), document("arms", &t.Arms), text("control", &t.Control),
			quantity("matters", &t.Matters), text("primary_outcome", &t.Primary),
			day("closing", &t.Closing), moment("planned", &t.Planned), yesNo("imported", &t.Imported),
			document("details", &t.Details),
		}
	},
	taken: func(_ context.Context, _ *tx, t lab.Trial) error {
		return lab.Conflictf("choose another name, such as with the season or a number", "a trial is called %s already", t.Name)
	},
}

var allotments = &table[lab.Allotment]{
	name: "allotment",
	columns: func(a *lab.Allotment) []column {
		return []column{
			text("id", &a.ID), text("trial", &a.Trial), ref("batch", &a.Batch), text("drawing", &a.Procedure),
			number("version", &a.Version), seed("seed", &a.Seed), text("bound", &a.Bound),
			rawText("design", &a.Design), moment("made", &a.Made), ref("succeeds", &a.Succeeds), text("stage", &a.Stage),
		}
	},
}

var analyses = &table[lab.Analysis]{
	name: "trial_analysis",
	columns: func(a *lab.Analysis) []column {
		return []column{
			text("id", &a.ID), text("trial", &a.Trial), moment("made", &a.Made), text("made_by", &a.By), text("version", &a.Version),
			seed("seed", &a.Seed), text("data_hash", &a.DataHash), rawText("data", &a.Data), rawText("result", &a.Result), ref("succeeds", &a.Succeeds),
		}
	},
}

var openings = &table[lab.Opening]{
	name: "trial_opening",
	columns: func(o *lab.Opening) []column {
		return []column{text("id", &o.ID), text("trial", &o.Trial), ref("deed", &o.Deed), moment("opened", &o.Opened), text("opened_by", &o.By)}
	},
	taken: func(_ context.Context, _ *tx, _ lab.Opening) error {
		return lab.Conflictf("read the trial's page", "the key of this trial is open already")
	},
}

const seeTrials = "look at the list of trials"

func (t *tx) Trials(ctx context.Context) ([]lab.Trial, error) {
	return query(ctx, t, trials, "ORDER BY planned DESC, seq DESC")
}

func (t *tx) Trial(ctx context.Context, id lab.TrialID) (lab.Trial, error) {
	return one(ctx, t, trials, notFound(seeTrials, "there is no trial %s", id), "WHERE id = $1", string(id))
}

func (t *tx) TrialByName(ctx context.Context, name string) (lab.Trial, error) {
	return one(ctx, t, trials, notFound(seeTrials, "no trial is called %s", name), "WHERE name_key = $1", lab.NameKey(name))
}

func (t *tx) TrialsByID(ctx context.Context, ids ...lab.TrialID) ([]lab.Trial, error) {
	return among(ctx, t, trials, "id", ids, "planned DESC, seq DESC")
}

func (t *tx) Allotments(ctx context.Context, trials ...lab.TrialID) ([]lab.Allotment, error) {
	return among(ctx, t, allotments, "trial", trials, "seq")
}

func (t *tx) AddTrial(ctx context.Context, trial lab.Trial) error { return add(ctx, t, trials, trial) }

func (t *tx) AddAllotment(ctx context.Context, a lab.Allotment) error {
	return add(ctx, t, allotments, a)
}

func (t *tx) Analyses(ctx context.Context, trial lab.TrialID) ([]lab.Analysis, error) {
	return query(ctx, t, analyses, "WHERE trial = $1 ORDER BY seq", string(trial))
}

func (t *tx) AddAnalysis(ctx context.Context, a lab.Analysis) error { return add(ctx, t, analyses, a) }

func (t *tx) Openings(ctx context.Context) ([]lab.Opening, error) {
	return query(ctx, t, openings, "ORDER BY seq")
}

func (t *tx) AddOpening(ctx context.Context, o lab.Opening) error { return add(ctx, t, openings, o) }
