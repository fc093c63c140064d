package app

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
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

// ForecastWatch is how forecasts turned out, in figures.
type ForecastWatch = forecast.Watch

// WatchedWindow is how many outcomes fell into a window.
type WatchedWindow struct {
	Share float64 // that it should hold, 0..1
	Hits  int
	Usual [2]int // hits of forecasts that are right, 19 times in 20
}

// Windows are the windows that were said.
func (c Calibration) Windows() []WatchedWindow {
	return []WatchedWindow{{mostShare, c.Hits, c.Usual.Hits}, {halfShare, c.NearHits, c.Usual.NearHits}}
}

// Says tells how forecasts turned out, what matters most first.
func (c Calibration) Says() []string { return append([]string{c.Sentence}, c.More()...) }

// More tells by how much forecasts missed and when there is an alarm; nothing
// while they are too few to judge.
func (c Calibration) More() []string {
	if !c.Enough() {
		return nil
	}
	var out []string
	if c.MeanCRPS != nil {
		out = append(out, c.off())
	}
	if w := c.Widen; w != nil {
		out = append(out, timesAsWide(*w))
	}
	return append(out, fmt.Sprintf("The alarm is at %d hits or fewer of %d: forecasts that are right come to that less than once in a hundred.", *c.AlarmAt, c.Scored))
}

// off tells by how much forecasts missed, beside simpler ones.
func (c Calibration) off() string {
	text := fmt.Sprintf("They were off by %.1f days on average (CRPS).", *c.MeanCRPS)
	if b := c.Book; b != nil {
		text += fmt.Sprintf(" Where days are published: by %.1f, the published days alone by %.1f.", b.MeanCRPS, b.Simple)
	}
	if b := c.Own; b != nil {
		text += fmt.Sprintf(" Where the recipe was grown before: by %.1f, the average of its batches alone by %.1f.", b.MeanCRPS, b.Simple)
	}
	return text
}

// timesAsWide says how wide windows would have had to be to hold 4 of 5.
func timesAsWide(factor float64) string {
	if math.Abs(factor-1) < 0.05 {
		return "They were as wide as it takes to hold 4 of 5."
	}
	return fmt.Sprintf("Windows %.1f times as wide (in log days) would have held 4 of 5. It is said, and not applied.", factor)
}

// Label says it in words.
func (o Outcome) Label() string {
	switch o {
	case CameWithin:
		return "within its window"
	case CameOutside:
		return "outside of it"
	case StillToCome:
		return "to come"
	}
	return "never logged"
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

// Calibration judges the forecasts that were kept of the newest batches.
func (f *Farm) Calibration(ctx context.Context) (Calibration, error) {
	var l *forecaster
	var kept []lab.Forecast
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		if l, err = f.readForecaster(ctx, r, s.Zone); err != nil {
			return err
		}
		kept, err = r.Forecasts(ctx, l.batches()...)
		return err
	})
	if err != nil {
		return Calibration{}, err
	}
	return calibrate(l.courses, kept), nil
}

// calibrate judges the forecasts that were kept of batches by how these came
// along.
func calibrate(courses []course, kept []lab.Forecast) Calibration {
	out := Calibration{Cautions: []figure.Caution{}, Forecasts: []KeptForecast{}}
	of := groupBy(lastBefore(kept), func(k lab.Forecast) lab.BatchID { return k.Batch })
	var scored []forecast.Scored
	for _, c := range courses {
		for _, k := range of[c.batch.ID] {
			if x, ok := judged(c, k); ok {
				x.Of = c.batch
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
	return out
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
	if rarelyLogged(k.Stage) && !c.logged(k.Stage) || c.gone && !came {
		x.Outcome = NeverSeen
		return x, true
	}
	s := o.Score()
	switch {
	case s.Within(mostShare):
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
	wide, near := days.Window(mostShare), days.Window(halfShare)
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
