package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// keepForecasts keeps what is forecast of a batch from where it stands, so
// that it can be judged by what comes. What was kept already stays as it is.
// It reads first and writes after: what came in between makes no difference to
// a forecast that was made before it.
func (f *Farm) keepForecasts(ctx context.Context, batch lab.BatchID) error {
	if batch == "" {
		return nil
	}
	var l *forecaster
	var c course
	var kept []lab.Forecast
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.Batch(ctx, batch)
		if err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		if kept, err = r.Forecasts(ctx, batch); err != nil {
			return err
		}
		alone, err := f.readCourses(ctx, r, []lab.Batch{b}, s.Zone)
		if err != nil || len(alone) == 0 || !anyToKeep(alone[0], kept) {
			return err
		}
		l, err = f.readForecaster(ctx, r, s.Zone, b)
		if err == nil {
			c, _ = l.course(batch)
		}
		return err
	})
	if err != nil || l == nil {
		return err
	}
	fresh, err := f.newForecasts(l, c, kept)
	if err != nil || len(fresh) == 0 {
		return err
	}
	return f.store.Write(ctx, func(w store.Writer) error {
		kept, err := w.Forecasts(ctx, batch)
		if err != nil {
			return err
		}
		return w.AddForecasts(ctx, slices.DeleteFunc(fresh, func(x lab.Forecast) bool { return isKept(kept, x.Stage, x.After) }))
	})
}

func isKept(kept []lab.Forecast, stage, after lab.Stage) bool {
	return slices.ContainsFunc(kept, func(k lab.Forecast) bool { return k.Stage == stage && k.After == after })
}

// toKeep returns the stages that a batch has still to come to.
func (c course) toKeep() []lab.Stage {
	return slices.DeleteFunc(slices.Clone(forecastStages), func(s lab.Stage) bool {
		_, came := c.came[s]
		return came || !c.open
	})
}

// anyToKeep reports whether a stage is to come of which nothing was kept from
// where the batch stands.
func anyToKeep(c course, kept []lab.Forecast) bool {
	return slices.ContainsFunc(c.toKeep(), func(s lab.Stage) bool {
		after, _ := c.anchor(s)
		return !isKept(kept, s, after)
	})
}

// newForecasts makes the forecasts of a batch that were not kept yet.
func (f *Farm) newForecasts(l *forecaster, c course, kept []lab.Forecast) ([]lab.Forecast, error) {
	var out []lab.Forecast
	for _, stage := range c.toKeep() {
		after, day := c.anchor(stage)
		if isKept(kept, stage, after) {
			continue
		}
		x, err := l.fit(c.profile, after, stage)
		if err != nil {
			return nil, err
		}
		if x.model == nil {
			continue
		}
		k := lab.Forecast{
			ID: newID[lab.ForecastID](), Batch: c.batch.ID, Stage: stage, After: after, Since: lab.Day{Time: c.begun.AddDate(0, 0, int(day))},
			Made: f.clock(), Passed: math.Max(0, c.seen-day), Book: bookMiddle(x.books),
		}
		whole, batches := x.of(c.recipe)
		k.Chances, k.Batches = whole.After(k.Passed).Keep(), batches
		k.Own = x.ownMiddle(c.recipe)
		if k.Inputs, err = x.hash(c.recipe, k.Passed); err != nil {
			return nil, err
		}
		out = append(out, k)
	}
	return out, nil
}

func bookMiddle(books [2]int) float64 { return math.Sqrt(float64(books[0]) * float64(books[1])) }

// ownMiddle is the middle of the own batches of a recipe whose days are known,
// 0 without one.
func (x *fit) ownMiddle(recipe lab.RecipeID) float64 {
	i, ok := x.index[recipe]
	if !ok {
		return 0
	}
	sum, n := 0.0, 0
	for _, s := range x.groups[i] {
		if !s.Wide() {
			sum, n = sum+math.Log((s.After+s.By)/2), n+1
		}
	}
	if n == 0 {
		return 0
	}
	return math.Exp(sum / float64(n))
}

// hash is of all that the forecast for a recipe was computed from.
func (x *fit) hash(recipe lab.RecipeID, passed float64) (string, error) {
	group := -1
	if i, ok := x.index[recipe]; ok {
		group = i
	}
	raw, err := json.Marshal(struct {
		Prior  forecast.Prior
		Groups [][]forecast.Span
		Group  int
		Passed float64
	}{x.prior, x.groups, group, passed})
	if err != nil {
		return "", fmt.Errorf("write down what a forecast was made from: %w", err)
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:]), nil
}
