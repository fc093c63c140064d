package app

import (
	"context"
	"fmt"
	"math"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Expected are jars of one batch on one shelf of which the same is expected
// next, counted from the same day.
type Expected struct {
	Batch   lab.Batch
	Shelf   string
	Numbers []int
	Since   time.Time // the day that the window counts from
	Window  lab.StageWindow
	Learnt  *JarDays  // of the forecast; nil if only a limit of the grower is known
	Move    bool      // they are covered and wait to be moved to light
	Chore   lab.Chore // that comes again, "" if a stage is expected

	recipe  lab.RecipeID
	culture lab.CultureID
	waits   bool    // for a move to light before Window
	passed  float64 // days without the stage at the last visit, the least of the jars
}

// JarDays is the forecast of a stage of a jar, in whole days like its window.
type JarDays struct {
	Likely           int // the middle
	NearFrom, NearTo int // half of such jars come within

	rests StageWindow // what they rest on, and nothing else
}

// when says the days of the window.
func (e *Expected) when() string {
	if e.Learnt == nil {
		return fmt.Sprintf("from %s", e.day(e.Window.From).Format("2 January"))
	}
	return e.asWindow().When()
}

// asWindow is what is expected on the calendar, of a stage that is forecast.
func (e *Expected) asWindow() StageWindow {
	w := e.Learnt.rests
	w.Stage, w.After, w.Since = e.Window.Stage, e.Window.After, e.Since
	w.From, w.To, w.Likely = e.day(e.Window.From), e.day(e.Window.To), e.day(e.Learnt.Likely)
	w.NearFrom, w.NearTo = e.day(e.Learnt.NearFrom), e.day(e.Learnt.NearTo)
	return w
}

// Span names the jars: "B12·1–6".
func (e *Expected) Span() string { return e.Batch.String() + "·" + lab.ShowNumbers(e.Numbers) }

// day is the calendar day on which n days are counted.
func (e *Expected) day(n int) time.Time { return e.Since.AddDate(0, 0, n) }

// standing of a window on a day.
func (e *Expected) isLate(today time.Time) bool {
	return !e.Move && !e.waits && e.Window.Late > 0 && !today.Before(e.day(e.Window.Late))
}

const settingLimits = "stage_limits"

// StageLimits returns the grower's own limits.
func (f *Farm) StageLimits(ctx context.Context) (lab.StageLimits, error) {
	var limits lab.StageLimits
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		limits, err = readLimits(ctx, r)
		return err
	})
	return limits, err
}

// SetStageLimits keeps the grower's own limits, as lab.ParseStageLimits
// reads them. "" goes back to what books say.
func (f *Farm) SetStageLimits(ctx context.Context, typed string) error {
	limits, err := lab.ParseStageLimits(typed)
	if err != nil {
		return err
	}
	return f.store.Write(ctx, func(w store.Writer) error { return w.SetSetting(ctx, settingLimits, limits.String()) })
}

func readLimits(ctx context.Context, r store.Reader) (lab.StageLimits, error) {
	typed, err := r.Setting(ctx, settingLimits)
	if err != nil {
		return nil, err
	}
	return lab.ParseStageLimits(typed)
}

// choreDay is the day on which a chore was last done on a jar, that of its
// inoculation if it never was.
func (g growing) choreDay(j store.GrowingJar, c lab.Chore) (time.Time, bool) {
	last, ok := j.Inoculated.Day(g.zone)
	done := j.LastSeen // any entry is a look
	if c != lab.Check {
		done = g.aired[j.Jar]
	}
	if day, known := done.Day(g.zone); known && day.After(last) {
		last = day
	}
	return last, ok
}

// expect says which stage comes next on a jar, in days that books give.
func (g growing) expect(j store.GrowingJar) (Expected, bool) {
	p := g.profiles.byCulture[j.Carries]
	if j.Stage == lab.Cover && p.Light {
		since, ok := stageDay(j, lab.Cover, g.zone)
		return Expected{Since: since, Move: true}, ok
	}
	e := Expected{culture: j.Carries, recipe: g.recipes[j.Recipe]}
	e.Window, _ = p.NextWindow(j.Stage, g.limits)
	if e.Window.Stage == "" {
		return e, false
	}
	since, ok := stageDay(j, e.Window.After, g.zone)
	e.Since = since
	e.passed = passedOn(j, e.Since, g.zone)
	return e, ok
}

// forecast sets the windows of stages by the forecast from published days and
// own batches, and leaves out those of which nothing is known. What is late
// goes by the grower's own limit first.
func (g growing) forecast(all []Expected) ([]Expected, error) {
	out := make([]Expected, 0, len(all))
	for _, e := range all {
		if e.Move || e.Chore != "" {
			out = append(out, e)
			continue
		}
		x, err := g.learnt.fit(g.profiles.byCulture[e.culture], e.Window.After, e.Window.Stage)
		if err != nil {
			return nil, err
		}
		if x.model != nil {
			e.forecast(x)
		}
		if x.model != nil || e.Window.Own {
			out = append(out, e)
		}
	}
	return out, nil
}

// passedOn is how many days a jar was seen without its next stage.
func passedOn(j store.GrowingJar, since time.Time, zone *time.Location) float64 {
	last, ok := j.LastSeen.Day(zone)
	if !ok || last.Before(since) {
		return 0
	}
	return daysBetween(since, last)
}

// jarWindow is the forecast for a jar, in whole days.
type jarWindow struct {
	from, to, late int
	days           JarDays
	own            float64 // how far it leans on batches of the same recipe
}

// forecast sets the window of e by what is known of its leg.
func (e *Expected) forecast(x *fit) {
	i, batches := x.group(e.recipe)
	w := x.shared.window(windowKey{i, e.passed}, func() jarWindow { return windowOfJar(x.shared.of(i), e.passed) })
	if !e.Window.Own {
		e.Window.Late = w.late
	}
	e.Window.From, e.Window.To = w.from, w.to
	days := w.days
	days.rests = StageWindow{Batches: batches, Own: w.own, Books: x.books, Source: x.source}
	e.Learnt = &days
}

// windowOfJar is the window of a jar whose stage had not come after so many
// days, by the forecast for its batch.
func windowOfJar(batch forecast.Forecast, passed float64) jarWindow {
	day := func(d float64) int { return int(math.Round(d)) }
	whole := batch.Spread(jarSpread)
	f := whole.After(passed)
	wide, near := f.Window(mostShare), f.Window(halfShare)
	return jarWindow{
		from: day(wide.Low), to: day(wide.High), late: int(math.Ceil(whole.Quantile(1 - lateShare))), own: batch.Own(),
		days: JarDays{Likely: day(f.Quantile(0.5)), NearFrom: day(near.Low), NearTo: day(near.High)},
	}
}

// stageDay is the day on which a stage was first seen, or a later one if that
// was not logged; of "" the day of inoculation.
func stageDay(j store.GrowingJar, stage lab.Stage, zone *time.Location) (time.Time, bool) {
	if stage == "" {
		return j.Inoculated.Day(zone)
	}
	for _, s := range j.Sights {
		if s.Stage == stage {
			return s.By.Day(zone)
		}
	}
	return time.Time{}, false
}

// how says whether e is due, late or early on a day.
func (e *Expected) how(today time.Time) timing {
	switch {
	case e.isLate(today):
		return lateNow
	case e.Move, !today.Before(e.day(e.Window.From)):
		return dueNow
	}
	return earlyYet
}

// task says what is to be done about e.
func (e *Expected) task(today time.Time) Task {
	t := Task{Kind: "batch", Name: e.Batch.String(), Doing: "rounds", Jars: e.Span(), Shelf: e.Shelf, Count: len(e.Numbers)}
	day := int(today.Sub(e.Since).Hours() / 24)
	if e.Move {
		t.What = e.Span() + " to light"
		t.Why = manyJars(len(e.Numbers), "is", "are") + " covered"
		if waited := day * len(e.Numbers); waited > 0 {
			t.Why += fmt.Sprintf(" since %s: %d jar-days of waiting", e.Since.Format("2 Jan"), waited)
		}
		t.See, t.Verb = "stage:light", "Done"
		return t
	}
	if e.Chore != "" {
		return e.choreTask(t)
	}
	w := e.Window
	from := "inoculation"
	if w.After != "" {
		from = w.After.Label()
	}
	switch e.how(today) {
	case lateNow:
		t.What = fmt.Sprintf("%s: no %s", e.Span(), w.Stage.Label())
		if w.Stage == lab.Ready {
			t.What = e.Span() + ": nothing ready to pick"
		}
		t.Why = fmt.Sprintf("day %d from %s, late from day %d: %s", day, from, w.Late, e.lateBy())
	case dueNow:
		t.What = fmt.Sprintf("Look for %s on %s", w.Stage.Label(), e.Span())
		t.Why = fmt.Sprintf("day %d from %s, expected %s; %s", day, from, e.when(), e.rests())
		t.See, t.Verb = "stage:"+string(w.Stage), "Seen on all"
	case earlyYet:
		t.What = fmt.Sprintf("%s: %s", e.Span(), w.Stage.Label())
		t.Why = fmt.Sprintf("%s; %s", e.when(), e.rests())
	}
	return t
}

// rests says what the window rests on.
func (e *Expected) rests() string {
	if e.Learnt == nil {
		return e.Window.Source
	}
	return e.Learnt.rests.Rests()
}

// lateBy says by what a stage is late.
func (e *Expected) lateBy() string {
	if e.Window.Own {
		return "your own limit"
	}
	return "19 of 20 would have come, " + e.rests()
}

// choreTask says which chore comes again, and when.
func (e *Expected) choreTask(t Task) Task {
	t.What = fmt.Sprintf("%s %s", e.Chore.Label(), e.Span())
	t.Why = fmt.Sprintf("every %d days by your own limit, last on %s", e.Window.From, e.Since.Format("2 Jan"))
	t.See, t.Verb = "note:"+e.Chore.Done(), "Done"
	return t
}

// timing says how a task stands to the clock.
type timing int

const (
	dueNow timing = iota
	lateNow
	earlyYet
)
