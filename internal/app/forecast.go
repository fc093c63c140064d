package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// StageWindow is when a stage of a batch is expected: the day on which half of
// its living jars have come to it.
type StageWindow struct {
	Stage    lab.Stage
	From, To time.Time // 4 of 5 come within
	Likely   time.Time // the middle
	NearFrom time.Time // half come within
	NearTo   time.Time
	Own      float64 // how far it leans on batches of the same recipe, 0..1
	Batches  int     // of that recipe that came to the stage
	Late     bool    // less than 1 in 20 would still be without it
}

// Says tells the window in words: "pins 18 to 24 June, most likely the 21st".
func (w StageWindow) Says() string {
	days := w.From.Format("2 January") + " to " + w.To.Format("2 January")
	if w.From.Month() == w.To.Month() {
		days = w.From.Format("2") + " to " + w.To.Format("2 January")
	}
	if w.From.Equal(w.To) {
		days = w.From.Format("2 January")
	}
	return fmt.Sprintf("%s %s, most likely %s", w.Stage.Label(), days, w.Likely.Format("2 January"))
}

// Rests tells what a window rests on.
func (w StageWindow) Rests() string {
	switch {
	case w.Batches == 0:
		return "from the book, for no batch of this recipe came so far yet"
	case w.Own < 0.5:
		return fmt.Sprintf("from the book and %s of this recipe", plural(w.Batches, "batch", "batches"))
	}
	return fmt.Sprintf("mostly from %s of this recipe", plural(w.Batches, "batch", "batches"))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// bookDays are days from inoculation to each stage of Cordyceps militaris on
// grain cakes: first growth by day 4, full cover 7 to 14, then light, colour 3
// to 7 and pins 7 to 14 days later, picking at 40 to 60. Common practice, no
// source. The move to light is the grower's own deed and not forecast.
var bookDays = map[lab.Stage]float64{lab.Growth: 3, lab.Cover: 10.5, lab.Colour: 16, lab.Pins: 22, lab.Ready: 50}

// forecastStages are the stages that come by themselves, in their order.
var forecastStages = []lab.Stage{lab.Growth, lab.Cover, lab.Colour, lab.Pins, lab.Ready}

// vagueBook is how far the book may be off for a species that it does not
// know: a factor of about 7 either way.
const vagueBook = 1.0

// progress is how far one batch came, in days since it was inoculated.
type progress struct {
	recipe  lab.RecipeID
	species string
	begun   time.Time
	seen    float64 // the last visit
	open    bool    // some jars still grow
	reached map[lab.Stage]forecast.Span
}

// progressOf reads how far a batch came from what was entered on its jars,
// nil if nothing was inoculated.
func progressOf(rows []store.JarRow, e jarEntries, zone *time.Location) *progress {
	p := &progress{reached: make(map[lab.Stage]forecast.Span)}
	var days []time.Time
	for _, j := range rows {
		if d, ok := j.Inoculated.Day(zone); ok && !j.Blank {
			days = append(days, d)
		}
		p.open = p.open || !j.Blank && j.Fate == lab.Growing
	}
	if len(days) == 0 {
		return nil
	}
	slices.SortFunc(days, time.Time.Compare)
	p.begun = days[len(days)/2]
	lives := jarLives(rows, e, p.begun, zone)
	for _, l := range lives {
		p.seen = math.Max(p.seen, l.seen)
	}
	for _, s := range forecastStages {
		if span, ok := halfCame(lives, s); ok {
			p.reached[s] = span
		}
	}
	return p
}

// life is what was seen of one jar, in days since its batch was inoculated.
type life struct {
	seen float64 // the last visit
	lost bool
	came map[lab.Stage]forecast.Span
}

// jarLives turns entries into lives. A later stage tells of the earlier ones;
// a pick tells of all.
func jarLives(rows []store.JarRow, e jarEntries, begun time.Time, zone *time.Location) []life {
	type visit struct {
		day  float64
		rank int // the furthest stage seen, -1 if none
	}
	visits := make(map[lab.JarID][]visit)
	add := func(jar lab.JarID, at lab.When, rank int) {
		if d, ok := at.Day(zone); ok && !d.Before(begun) {
			visits[jar] = append(visits[jar], visit{d.Sub(begun).Hours() / 24, rank})
		}
	}
	for _, s := range lab.Current(e.seen) {
		add(s.Jar, s.At, slices.Index(lab.Stages, s.Stage))
	}
	for _, x := range lab.Current(e.picks) {
		add(x.Jar, x.At, len(lab.Stages)-1)
	}
	var out []life
	for _, j := range rows {
		if j.Blank || j.Inoculated.IsZero() {
			continue
		}
		v := visits[j.Jar.ID]
		slices.SortStableFunc(v, func(a, b visit) int { return int(math.Copysign(1, a.day-b.day)) })
		l := life{lost: j.Fate == lab.Lost, came: make(map[lab.Stage]forecast.Span)}
		furthest := -1
		for _, x := range v {
			for rank := furthest + 1; rank <= x.rank; rank++ {
				l.came[lab.Stages[rank]] = forecast.Span{After: l.seen, By: math.Max(x.day, 0.5)}
			}
			furthest = max(furthest, x.rank)
			l.seen = x.day
		}
		out = append(out, l)
	}
	return out
}

// halfCame returns when half of the jars that lived had come to a stage, and
// whether they have. A jar that was lost before is left out.
func halfCame(lives []life, s lab.Stage) (forecast.Span, bool) {
	var came []forecast.Span
	living := 0
	for _, l := range lives {
		span, ok := l.came[s]
		if ok {
			came = append(came, span)
		}
		if ok || !l.lost {
			living++
		}
	}
	half := (living + 1) / 2
	if half == 0 || len(came) < half {
		return forecast.Span{}, false
	}
	slices.SortFunc(came, func(a, b forecast.Span) int { return int(math.Copysign(1, a.By-b.By)) })
	return came[half-1], true
}

// windowsOf returns for each batch the stages that are still to come.
func windowsOf(all []*progress, now time.Time) ([][]StageWindow, error) {
	out := make([][]StageWindow, len(all))
	for _, s := range forecastStages {
		for species := range speciesOf(all) {
			if err := addWindows(out, all, s, species, now); err != nil {
				return nil, err
			}
		}
	}
	for i := range out {
		slices.SortStableFunc(out[i], func(a, b StageWindow) int {
			return slices.Index(lab.Stages, a.Stage) - slices.Index(lab.Stages, b.Stage)
		})
	}
	return out, nil
}

func speciesOf(all []*progress) map[string]bool {
	out := make(map[string]bool)
	for _, p := range all {
		if p != nil {
			out[lab.NameKey(p.species)] = true
		}
	}
	return out
}

// bookSpecies is what the book's days are of.
const bookSpecies = "cordyceps militaris"

// addWindows fits one stage over the batches of one species, each recipe a
// group, and adds the windows of the batches that wait for it.
func addWindows(out [][]StageWindow, all []*progress, s lab.Stage, species string, now time.Time) error {
	index := make(map[lab.RecipeID]int)
	var groups [][]forecast.Span
	group := func(id lab.RecipeID) int {
		if _, ok := index[id]; !ok {
			index[id] = len(groups)
			groups = append(groups, nil)
		}
		return index[id]
	}
	var own []float64
	waiting := false
	for _, p := range all {
		if p == nil || lab.NameKey(p.species) != species {
			continue
		}
		i := group(p.recipe)
		if span, ok := p.reached[s]; ok {
			groups[i] = append(groups[i], span)
			own = append(own, (span.After+span.By)/2)
		} else if p.open {
			waiting = true
		}
	}
	prior := forecast.UsualPrior(bookDays[s])
	if species != bookSpecies {
		if len(own) < 2 { // nothing to begin from
			return nil
		}
		slices.Sort(own)
		prior = forecast.UsualPrior(math.Max(1, own[len(own)/2]))
		prior.Book = vagueBook
	}
	if !waiting {
		return nil
	}
	m, err := forecast.Fit(prior, groups)
	if err != nil {
		return err
	}
	for i, p := range all {
		if p == nil || !p.open || lab.NameKey(p.species) != species {
			continue
		}
		if _, ok := p.reached[s]; !ok {
			g := index[p.recipe]
			out[i] = append(out[i], windowFor(m.Of(g), p, s, len(groups[g]), now))
		}
	}
	return nil
}

// lateShare is how few batches would still be without a stage that is late.
const lateShare = 0.05

func windowFor(f forecast.Forecast, p *progress, s lab.Stage, batches int, now time.Time) StageWindow {
	late := 1-f.Came(now.Sub(p.begun).Hours()/24) < lateShare
	f = f.After(p.seen)
	day := func(q float64) time.Time { return p.begun.Add(time.Duration(math.Round(q)) * 24 * time.Hour) }
	wide, near := f.Window(0.8), f.Window(0.5)
	return StageWindow{
		Stage: s, From: day(wide.Low), To: day(wide.High), Likely: day(f.Quantile(0.5)), NearFrom: day(near.Low), NearTo: day(near.High),
		Own: f.Own(), Batches: batches, Late: late,
	}
}

// Forecast returns the stages that a batch has still to come to.
func (f *Farm) Forecast(ctx context.Context, batch string) ([]StageWindow, error) {
	var found lab.Batch
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		found, err = r.BatchByName(ctx, batch)
		return err
	})
	if err != nil {
		return nil, err
	}
	lines, err := f.Season(ctx)
	if err != nil {
		return nil, err
	}
	for _, l := range lines {
		if l.Batch.ID == found.ID {
			return l.Windows, nil
		}
	}
	return nil, nil
}
