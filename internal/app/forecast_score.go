package app

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Calibration is how the forecasts that were kept turned out: of each stage of
// a batch the last one that was made before it came.
type Calibration struct {
	forecast.Watch
	Cautions  []figure.Caution
	Forecasts []KeptForecast // the newest first, those that wait too
}

// KeptForecast is a forecast as it was kept, and what came of it.
type KeptForecast struct {
	lab.Forecast
	Of       lab.Batch
	Window   StageWindow // as it was said; Own and Late are not kept
	Outcome  Outcome
	CameFrom time.Time        // the last visit without the stage, or the day from which days count
	CameBy   time.Time        // the first with it; zero if it was not seen
	Score    *forecast.Scored // nil if it is not judged, or not yet
}

// Outcome is what became of a kept forecast.
type Outcome string

// The outcomes.
const (
	CameWithin  Outcome = "within"   // the window of 4 in 5
	CameOutside Outcome = "outside"  // of it, or still missing beyond it
	StillToCome Outcome = "waits"    // within its window
	NeverSeen   Outcome = "not seen" // the batch ended without it, or few log it
)

// scoredBatches bounds the batches whose forecasts are judged, the newest first.
const scoredBatches = 60

// Calibration judges the forecasts that were kept of the newest batches.
func (f *Farm) Calibration(ctx context.Context) (Calibration, error) {
	out := Calibration{Cautions: []figure.Caution{}, Forecasts: []KeptForecast{}}
	var batches []lab.Batch
	var courses []course
	var kept []lab.Forecast
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		if batches, err = r.Batches(ctx, scoredBatches); err != nil {
			return err
		}
		ids := make([]lab.BatchID, len(batches))
		for i, b := range batches {
			ids[i] = b.ID
		}
		if kept, err = r.Forecasts(ctx, ids...); err != nil {
			return err
		}
		courses, err = f.readCourses(ctx, r, batches, s.Zone)
		return err
	})
	if err != nil {
		return out, err
	}
	byBatch := groupBy(lastBefore(kept), func(k lab.Forecast) lab.BatchID { return k.Batch })
	var scored []forecast.Scored
	l := newForecaster(courses)
	for _, b := range batches {
		c, ok := l.course(b.ID)
		if !ok {
			continue
		}
		for _, k := range byBatch[b.ID] {
			if x, ok := judged(c, k); ok {
				x.Of = b
				out.Forecasts = append(out.Forecasts, x)
				if x.Score != nil {
					scored = append(scored, *x.Score)
				}
			}
		}
	}
	slices.SortStableFunc(out.Forecasts, func(a, b KeptForecast) int { return b.Made.Compare(a.Made) })
	watch, cautions := forecast.WatchOver(scored)
	out.Watch, out.Cautions = watch, append(out.Cautions, cautions...)
	return out, nil
}

// lastBefore keeps of each stage of a batch the forecast that counts from the
// latest stage: one outcome is not judged twice.
func lastBefore(kept []lab.Forecast) []lab.Forecast {
	type key struct {
		batch lab.BatchID
		stage lab.Stage
	}
	last := make(map[key]lab.Forecast)
	for _, k := range kept {
		at := key{k.Batch, k.Stage}
		if old, ok := last[at]; !ok || slices.Index(lab.Stages, k.After) > slices.Index(lab.Stages, old.After) {
			last[at] = k
		}
	}
	return slices.DeleteFunc(slices.Clone(kept), func(k lab.Forecast) bool { return last[key{k.Batch, k.Stage}].ID != k.ID })
}

// judged sets a kept forecast beside what came, and reports whether it can be
// read and was made before the stage was seen.
func judged(c course, k lab.Forecast) (KeptForecast, bool) {
	days := forecast.Kept(k.Chances)
	if !days.Valid() {
		return KeptForecast{}, false
	}
	x := KeptForecast{Forecast: k, Window: saidWindow(k, days), Outcome: StillToCome, CameFrom: k.Since.Time}
	since := daysBetween(c.begun, k.Since.Time)
	o := forecast.Outcome{Forecast: days, Came: forecast.Span{After: math.Max(0, c.seen-since), By: math.Inf(1)}, Book: k.Book, Own: k.Own, Seed: seedOf(k.ID)}
	span, came := c.came[k.Stage]
	if came {
		o.Came = forecast.Span{After: math.Max(0, span.After-since), By: span.By - since}
		if !(o.Came.By > k.Passed) {
			return x, false
		}
		x.CameBy = k.Since.AddDate(0, 0, int(o.Came.By))
	}
	x.CameFrom = k.Since.AddDate(0, 0, int(o.Came.After))
	if !came && !c.open {
		x.Outcome = NeverSeen
	}
	if rarelyLogged(k.Stage) && !c.logged(k.Stage) {
		x.Outcome = NeverSeen
		return x, true
	}
	s := o.Score()
	switch {
	case came && s.Came >= s.Low && s.Came <= s.High:
		x.Outcome = CameWithin
	case came || s.Came >= s.High:
		x.Outcome = CameOutside
	default:
		return x, true
	}
	x.Score = &s
	return x, true
}

// saidWindow is the window of a kept forecast.
func saidWindow(k lab.Forecast, days forecast.Kept) StageWindow {
	day := func(d float64) time.Time { return k.Since.AddDate(0, 0, int(math.Round(d))) }
	wide, near := days.Window(0.8), days.Window(0.5)
	return StageWindow{
		Stage: k.Stage, After: k.After, Since: k.Since.Time, From: day(wide.Low), To: day(wide.High), Likely: day(days.Likely()),
		NearFrom: day(near.Low), NearTo: day(near.High), Batches: k.Batches,
	}
}

// seedOf draws by the identifier, so that a forecast is judged alike each time.
func seedOf(id lab.ForecastID) uint64 {
	sum := sha256.Sum256([]byte(id))
	return binary.LittleEndian.Uint64(sum[:8])
}
