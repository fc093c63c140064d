package app

import (
	"context"
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// usual is what this farm's own jars did: the spread between jars that were
// treated alike, and the share that gave nothing.
type usual struct {
	cv, loss float64 // per cent, leaning on the common figures while jars are few
	freedom  int     // degrees of freedom behind cv
	done     int     // jars behind loss
}

// What is reckoned with before a farm has jars of its own, and how many jars
// that is worth. Common planning defaults, no source.
const (
	commonCV     = 25.0 // per cent
	commonLoss   = 10.0 // per cent
	commonWeight = 10.0 // jars
)

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
	groups := make(map[alike][]float64)
	var order []alike
	failed, done := 0, 0
	for _, b := range batches {
		jars, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
		if err != nil {
			return usual{}, err
		}
		for _, j := range jars {
			s := j.On(f.now(), b.Closing)
			if j.Blank || j.Inoculated.IsZero() || s.Fate == lab.Growing {
				continue
			}
			done++
			if s.Fate == lab.Lost || s.Fate == lab.Barren {
				failed++
			}
			if s.Picks > 0 && s.Grams > 0 {
				k := alike{b.ID, j.Arm, j.Recipe, j.Carries}
				if _, ok := groups[k]; !ok {
					order = append(order, k)
				}
				groups[k] = append(groups[k], float64(s.Grams))
			}
		}
	}
	samples := make([][]float64, len(order))
	for i, k := range order {
		samples[i] = groups[k]
	}
	return pooled(samples, failed, done), nil
}

// pooled leans the spread and the loss of a farm's own jars on the common
// ones, which count as ten jars.
func pooled(samples [][]float64, failed, done int) usual {
	u := usual{done: done}
	squares := 0.0
	for _, g := range samples {
		if len(g) < 2 {
			continue
		}
		mean := stats.Mean(g)
		u.freedom += len(g) - 1
		squares += float64(len(g)-1) * stats.Variance(g) / (mean * mean)
	}
	u.cv = 100 * math.Sqrt((squares+commonWeight*commonCV*commonCV/1e4)/(float64(u.freedom)+commonWeight))
	u.loss = 100 * (float64(failed) + commonWeight*commonLoss/100) / (float64(done) + commonWeight)
	return u
}

// caution says where the spread and loss of a plan come from.
func (u usual) caution() figure.Caution {
	return figure.Caution{
		Code: "own_spread", Title: "From your own jars", Weight: figure.Note,
		Text: fmt.Sprintf("Spread %.0f %% and loss %.0f %% are from your last batches (%d jars done), leaning on the common %.0f and %.0f %% while they are few.", u.cv, u.loss, u.done, commonCV, commonLoss),
	}
}

// own reports whether the farm has jars enough of its own to speak of.
func (u usual) own() bool { return u.freedom >= 4 }
