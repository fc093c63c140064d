package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
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

func (e Expected) same(x Expected) bool {
	return x.Batch.ID == e.Batch.ID && x.Shelf == e.Shelf && x.Since.Equal(e.Since) && x.Window == e.Window && x.Move == e.Move && x.Chore == e.Chore &&
		x.recipe == e.recipe && x.culture == e.culture && x.waits == e.waits
}

// when says the days of the window.
func (e Expected) when() string {
	if e.Learnt == nil {
		return fmt.Sprintf("from %s", e.day(e.Window.From).Format("2 January"))
	}
	return e.asWindow().When()
}

// asWindow is what is expected on the calendar, of a stage that is forecast.
func (e Expected) asWindow() StageWindow {
	w := e.Learnt.rests
	w.Stage, w.After, w.Since = e.Window.Stage, e.Window.After, e.Since
	w.From, w.To, w.Likely = e.day(e.Window.From), e.day(e.Window.To), e.day(e.Learnt.Likely)
	w.NearFrom, w.NearTo = e.day(e.Learnt.NearFrom), e.day(e.Learnt.NearTo)
	return w
}

// Span names the jars: "B12·1–6".
func (e Expected) Span() string { return e.Batch.String() + "·" + lab.ShowNumbers(e.Numbers) }

// day is the calendar day on which n days are counted.
func (e Expected) day(n int) time.Time { return e.Since.AddDate(0, 0, n) }

// standing of a window on a day.
func (e Expected) isLate(today time.Time) bool {
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

// growing is what grows, with what was seen on it.
type growing struct {
	rows     []store.JarRow
	seen     map[lab.JarID][]lab.Seen
	batches  map[lab.BatchID]lab.Batch
	profiles map[lab.CultureID]lab.Profile
	recipes  map[lab.RecipeVersionID]lab.RecipeID
	limits   lab.StageLimits
	zone     *time.Location
	walk     string
	learnt   *forecaster
	jarsOnly bool // nothing is asked of the batches
}

// readGrowing reads the jars that grow in the batches.
func (f *Farm) readGrowing(ctx context.Context, r store.Reader, batches []BatchRow, zone *time.Location) (growing, error) {
	return f.readGrowingOf(ctx, r, store.JarFilter{Open: true, Limit: shelfLimit}, stillGrowing(batches), zone)
}

// readGrowingOf reads those of some jars that grow, in the batches.
func (f *Farm) readGrowingOf(ctx context.Context, r store.Reader, filter store.JarFilter, batches []lab.Batch, zone *time.Location) (growing, error) {
	g := growing{batches: make(map[lab.BatchID]lab.Batch, len(batches)), zone: zone}
	for _, b := range batches {
		if !b.Closing.Passed(f.now()) {
			g.batches[b.ID] = b
		}
	}
	rows, err := r.Jars(ctx, filter)
	if err != nil {
		return g, err
	}
	for _, j := range rows {
		if _, open := g.batches[j.Batch]; open && j.Fate == lab.Growing {
			g.rows = append(g.rows, j)
		}
	}
	if g.recipes, err = r.RecipeLines(ctx); err != nil {
		return g, err
	}
	if g.learnt, err = f.readForecaster(ctx, r, zone, batches...); err != nil {
		return g, err
	}
	if g.limits, err = readLimits(ctx, r); err != nil {
		return g, err
	}
	if g.profiles, err = profilesByCulture(ctx, r); err != nil {
		return g, err
	}
	if g.walk, err = r.Setting(ctx, settingWalk); err != nil {
		return g, err
	}
	entries, err := r.Seen(ctx, idsOf(g.rows))
	g.seen = groupBy(lab.Current(entries), func(s lab.Seen) lab.JarID { return s.Jar })
	return g, err
}

// stillGrowing are the batches with a jar that grows.
func stillGrowing(batches []BatchRow) []lab.Batch {
	var out []lab.Batch
	for _, b := range batches {
		if b.Tally.Growing > 0 {
			out = append(out, b.Batch)
		}
	}
	return out
}

// expected returns what is expected next of the jars, each by its own days, so
// that a slow jar holds up no other; and the chores that come again. In
// walking order.
func (g growing) expected() ([]Expected, error) {
	var out []Expected
	join := func(j store.JarRow, e Expected) { out = g.join(out, j, e) }
	for _, j := range g.rows {
		seen := g.seen[j.Jar.ID]
		if e, ok := g.expect(j, seen); ok {
			join(j, e)
		}
		for _, c := range lab.Chores {
			if days := g.limits[c.Stage()]; days > 0 {
				if last, ok := choreDay(j, seen, c, g.zone); ok {
					join(j, Expected{Since: last, Chore: c, Window: lab.StageWindow{From: days, To: days, Late: days + 1}})
				}
			}
		}
	}
	out, err := g.forecast(out)
	return inOrderOfWalk(joinAlike(out), g.walk), err
}

// join adds what is expected of a jar.
func (g growing) join(all []Expected, j store.JarRow, e Expected) []Expected {
	e.Batch, e.Shelf = g.batches[j.Batch], j.Shelf
	return joinExpected(all, e, j.Number)
}

// joinAlike joins jars of different recipes of which the same is expected.
func joinAlike(all []Expected) []Expected {
	var out []Expected
	for _, e := range all {
		e.recipe, e.culture, e.passed = "", "", 0
		i := slices.IndexFunc(out, func(x Expected) bool { return e.same(x) && e.alike(x) })
		if i < 0 {
			out = append(out, e)
			continue
		}
		out[i].Numbers = append(out[i].Numbers, e.Numbers...)
		slices.Sort(out[i].Numbers)
	}
	return out
}

// alike reports whether the same was learnt of e and x.
func (e Expected) alike(x Expected) bool {
	if e.Learnt == nil || x.Learnt == nil {
		return e.Learnt == x.Learnt
	}
	return e.asWindow().When() == x.asWindow().When() && e.rests() == x.rests()
}

// choreDay is the day on which a chore was last done on a jar, that of its
// inoculation if it never was.
func choreDay(j store.JarRow, seen []lab.Seen, c lab.Chore, zone *time.Location) (time.Time, bool) {
	last, ok := j.Inoculated.Day(zone)
	for _, s := range seen {
		if day, known := s.At.Day(zone); known && c.DoneBy(s) && day.After(last) {
			last = day
		}
	}
	return last, ok
}

// expect says which stage comes next on a jar, in days that books give.
func (g growing) expect(j store.JarRow, seen []lab.Seen) (Expected, bool) {
	p := g.profiles[j.Carries]
	if j.Stage == lab.Cover && p.Light {
		since, ok := stageDay(j, seen, lab.Cover, g.zone)
		return Expected{Since: since, Move: true}, ok
	}
	e := Expected{culture: j.Carries, recipe: g.recipes[j.Recipe]}
	e.Window, _ = p.NextWindow(j.Stage, g.limits)
	if e.Window.Stage == "" {
		return e, false
	}
	since, ok := stageDay(j, seen, e.Window.After, g.zone)
	e.Since = since
	e.passed = passedOn(j, e.Since, g.zone)
	return e, ok
}

// forecast sets the windows of stages by the forecast from published days and
// own batches, and leaves out those of which nothing is known. What is late
// goes by the grower's own limit first.
func (g growing) forecast(all []Expected) ([]Expected, error) {
	out := all[:0]
	for _, e := range all {
		if e.Move || e.Chore != "" {
			out = append(out, e)
			continue
		}
		x, err := g.learnt.fit(g.profiles[e.culture], e.Window.After, e.Window.Stage)
		if err != nil {
			return nil, err
		}
		if x.model != nil {
			whole, batches := x.of(e.recipe)
			e.forecast(whole.Spread(jarSpread))
			e.Learnt.rests = StageWindow{Batches: batches, Own: whole.Own(), Books: x.books, Source: x.source}
		}
		if x.model != nil || e.Window.Own {
			out = append(out, e)
		}
	}
	return out, nil
}

// passedOn is how many days a jar was seen without its next stage.
func passedOn(j store.JarRow, since time.Time, zone *time.Location) float64 {
	last, ok := j.LastSeen.Day(zone)
	if !ok || last.Before(since) {
		return 0
	}
	return daysBetween(since, last)
}

// forecast sets the window of e by a forecast that is not cut yet.
func (e *Expected) forecast(whole forecast.Forecast) {
	day := func(d float64) int { return int(math.Round(d)) }
	if !e.Window.Own {
		e.Window.Late = int(math.Ceil(whole.Quantile(1 - lateShare)))
	}
	f := whole.After(e.passed)
	wide, near := f.Window(0.8), f.Window(0.5)
	e.Window.From, e.Window.To = day(wide.Low), day(wide.High)
	e.Learnt = &JarDays{Likely: day(f.Quantile(0.5)), NearFrom: day(near.Low), NearTo: day(near.High)}
}

// stageDay is the day on which a stage was first seen, or a later one if that
// was not logged; of "" the day of inoculation.
func stageDay(j store.JarRow, seen []lab.Seen, stage lab.Stage, zone *time.Location) (time.Time, bool) {
	if stage == "" {
		return j.Inoculated.Day(zone)
	}
	var first time.Time
	for _, s := range seen {
		if slices.Index(lab.Stages, s.Stage) < slices.Index(lab.Stages, stage) {
			continue
		}
		if day, ok := s.At.Day(zone); ok && (first.IsZero() || day.Before(first)) {
			first = day
		}
	}
	return first, !first.IsZero()
}

// joinExpected adds a jar to those of which the same is expected.
func joinExpected(all []Expected, e Expected, number int) []Expected {
	for i, x := range all {
		if e.same(x) {
			all[i].passed = min(x.passed, e.passed)
			all[i].Numbers = append(all[i].Numbers, number)
			return all
		}
	}
	e.Numbers = []int{number}
	return append(all, e)
}

// inOrderOfWalk sorts as the shelves are walked, then by batch and day.
func inOrderOfWalk(all []Expected, walk string) []Expected {
	var shelves []ShelfView
	for _, e := range all {
		if !slices.ContainsFunc(shelves, func(s ShelfView) bool { return s.Name == e.Shelf }) {
			shelves = append(shelves, ShelfView{Name: e.Shelf})
		}
	}
	inWalkingOrder(shelves, walk)
	rank := make(map[string]int, len(shelves))
	for i, s := range shelves {
		rank[s.Name] = i
	}
	slices.SortStableFunc(all, func(a, b Expected) int {
		return cmp.Or(cmp.Compare(rank[a.Shelf], rank[b.Shelf]), cmp.Compare(a.Batch.Number, b.Batch.Number), a.Since.Compare(b.Since))
	})
	return all
}

// task says what is to be done about e, and whether it is due, late or early.
func (e Expected) task(today time.Time) (Task, timing) {
	t := Task{Kind: "batch", Name: e.Batch.String(), Doing: "rounds", Jars: e.Span(), Shelf: e.Shelf, Count: len(e.Numbers)}
	day := int(today.Sub(e.Since).Hours() / 24)
	if e.Move {
		t.What = e.Span() + " to light"
		t.Why = manyJars(len(e.Numbers), "is", "are") + " covered"
		if waited := day * len(e.Numbers); waited > 0 {
			t.Why += fmt.Sprintf(" since %s: %d jar-days of waiting", e.Since.Format("2 Jan"), waited)
		}
		t.See, t.Verb = "stage:light", "Done"
		return t, dueNow
	}
	if e.Chore != "" {
		return e.choreTask(t, today)
	}
	w := e.Window
	from := "inoculation"
	if w.After != "" {
		from = w.After.Label()
	}
	switch {
	case e.isLate(today):
		t.What = fmt.Sprintf("%s: no %s", e.Span(), w.Stage.Label())
		if w.Stage == lab.Ready {
			t.What = e.Span() + ": nothing ready to pick"
		}
		t.Why = fmt.Sprintf("day %d from %s, late from day %d: %s", day, from, w.Late, e.lateBy())
		return t, lateNow
	case day >= w.From:
		t.What = fmt.Sprintf("Look for %s on %s", w.Stage.Label(), e.Span())
		t.Why = fmt.Sprintf("day %d from %s, expected %s; %s", day, from, e.when(), e.rests())
		t.See, t.Verb = "stage:"+string(w.Stage), "Seen on all"
		return t, dueNow
	}
	t.What = fmt.Sprintf("%s: %s", e.Span(), w.Stage.Label())
	t.Why = fmt.Sprintf("%s; %s", e.when(), e.rests())
	return t, earlyYet
}

// rests says what the window rests on.
func (e Expected) rests() string {
	if e.Learnt == nil {
		return e.Window.Source
	}
	return e.Learnt.rests.Rests()
}

// lateBy says by what a stage is late.
func (e Expected) lateBy() string {
	if e.Window.Own {
		return "your own limit"
	}
	return "19 of 20 would have come, " + e.rests()
}

// choreTask says which chore comes again, and when.
func (e Expected) choreTask(t Task, today time.Time) (Task, timing) {
	t.What = fmt.Sprintf("%s %s", e.Chore.Label(), e.Span())
	t.Why = fmt.Sprintf("every %d days by your own limit, last on %s", e.Window.From, e.Since.Format("2 Jan"))
	t.See, t.Verb = "note:"+e.Chore.Done(), "Done"
	switch {
	case e.isLate(today):
		return t, lateNow
	case !today.Before(e.day(e.Window.From)):
		return t, dueNow
	}
	return t, earlyYet
}

// timing says how a task stands to the clock.
type timing int

const (
	dueNow timing = iota
	lateNow
	earlyYet
)
