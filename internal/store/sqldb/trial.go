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
			rawText("design", &a.Design), moment("made", &a.Made), ref("succeeds", &a.Succeeds),
		}
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

func (t *tx) Allotments(ctx context.Context, trial lab.TrialID) ([]lab.Allotment, error) {
	return query(ctx, t, allotments, "WHERE trial = $1 ORDER BY seq", string(trial))
}

func (t *tx) AddTrial(ctx context.Context, trial lab.Trial) error { return add(ctx, t, trials, trial) }

func (t *tx) AddAllotment(ctx context.Context, a lab.Allotment) error {
	return add(ctx, t, allotments, a)
}
