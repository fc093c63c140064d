package app

import (
	"context"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// usual is what this farm's own jars did: the spread between jars that were
// treated alike, and the share that gave nothing. Both lean on the common figures
// while jars are few.
type usual struct {
	trialstat.SpreadResult
	cv, loss float64 // per cent
}

// usualOf pools the last batches: within a batch, jars of one arm, recipe and
// culture are alike.
func (f *Farm) usualOf(ctx context.Context, r store.Reader) (usual, error) {
	batches, err := r.Batches(ctx, lastBatches)
	if err != nil {
		return usual{}, err
	}
	type alike struct {
		batch   lab.BatchID
		arm     string
		recipe  lab.RecipeVersionID
		culture lab.CultureID
	}
	groups := make(map[alike]*trialstat.PastArm)
	var order []alike
	for _, b := range batches {
		jars, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
		if err != nil {
			return usual{}, err
		}
		for _, j := range jars {
			j.Standing = j.On(f.now(), b.Closing)
			k := alike{b.ID, j.Arm, j.Recipe, j.Carries}
			if groups[k] == nil {
				groups[k] = &trialstat.PastArm{}
				order = append(order, k)
			}
			addPast(groups[k], j)
		}
	}
	past := make([]trialstat.PastArm, len(order))
	for i, k := range order {
		past[i] = *groups[k]
	}
	return pooled(past)
}

// addPast counts a jar that is done. A jar that gave nothing counts as lost.
func addPast(to *trialstat.PastArm, j store.JarRow) {
	if j.Blank || j.Inoculated.IsZero() || j.Fate == lab.Growing {
		return
	}
	to.Inoculated++
	switch {
	case j.Fate == lab.Lost || j.Fate == lab.Barren:
		to.Lost++
	case j.Picks > 0 && j.Grams > 0:
		to.Grams = append(to.Grams, float64(j.Grams))
	}
}

// pooled leans the spread and the loss of jars on the common ones.
func pooled(past []trialstat.PastArm) (usual, error) {
	answer, err := trialstat.Spread(trialstat.SpreadInput{Arms: past})
	r := answer.Result
	return usual{SpreadResult: r, cv: r.CVPct, loss: r.LossPct}, err
}

// caution says where the spread and loss of a plan come from.
func (u usual) caution() figure.Caution {
	title := "From your own jars"
	if u.OwnCVPct == nil {
		title = "Not from your own jars yet"
	}
	return figure.Caution{Code: "own_spread", Title: title, Weight: figure.Note, Text: u.Sentence}
}
