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

// expectedKey is in what jars agree of which the same is expected.
type expectedKey struct {
	batch   lab.BatchID
	shelf   string
	since   int64
	window  lab.StageWindow
	move    bool
	chore   lab.Chore
	recipe  lab.RecipeID
	culture lab.CultureID
	waits   bool
	learnt  string
}

func (e Expected) key() expectedKey {
	k := expectedKey{e.Batch.ID, e.Shelf, e.Since.Unix(), e.Window, e.Move, e.Chore, e.recipe, e.culture, e.waits, ""}
	if e.Learnt != nil {
		k.learnt = e.asWindow().When() + "\n" + e.rests()
	}
	return k
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
	rows     []store.GrowingJar
	aired    map[lab.JarID]lab.When // when a chore that leaves a note was done last
	batches  map[lab.BatchID]lab.Batch
	profiles map[lab.CultureID]lab.Profile
	recipes  map[lab.RecipeVersionID]lab.RecipeID
	limits   lab.StageLimits
	zone     *time.Location
	walk     string
	learnt   *forecaster
	jarsOnly bool // nothing is asked of the batches
}

// readGrowing reads the jars that grow in the batches. r must not write.
func (f *Farm) readGrowing(ctx context.Context, r store.Reader, batches []BatchRow, zone *time.Location) (growing, error) {
	return f.readGrowingOf(ctx, r, nil, stillGrowing(batches), zone)
}

// readGrowingOf reads the jars that grow in the batches, only those named
// unless none is. r must not write.
func (f *Farm) readGrowingOf(ctx context.Context, r store.Reader, only []lab.JarID, batches []lab.Batch, zone *time.Location) (growing, error) {
	g := growing{batches: make(map[lab.BatchID]lab.Batch, len(batches)), zone: zone}
	var ids []lab.BatchID
	for _, b := range batches {
		if !b.Closing.Passed(f.now()) {
			g.batches[b.ID] = b
			ids = append(ids, b.ID)
		}
	}
	grows, err := f.memo.growing.get(ctx, r, ids, r.Growing, func(j store.GrowingJar) lab.BatchID { return j.Batch })
	if err != nil {
		return g, err
	}
	for _, id := range ids {
		for _, j := range grows[id] {
			if len(only) == 0 || slices.Contains(only, j.Jar) {
				g.rows = append(g.rows, j)
			}
		}
	}
	if err := hideBlind(ctx, r, batches, g.rows); err != nil {
		return g, err
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
	if g.limits[lab.Air.Stage()] > 0 {
		g.aired, err = r.Noted(ctx, ids, lab.Air.Done())
	}
	return g, err
}

// hideBlind makes the jars of a batch alike in what a blind trial hides: days
// that differ by recipe or culture would tell the arms apart.
func hideBlind(ctx context.Context, r store.Reader, batches []lab.Batch, rows []store.GrowingJar) error {
	trials, err := r.Trials(ctx)
	if err != nil {
		return err
	}
	for _, b := range batches {
		if !slices.ContainsFunc(trials, func(t lab.Trial) bool { return t.ID == b.Trial && t.Details.Blind }) {
			continue
		}
		hidden, err := hiddenFactors(ctx, r, b.Trial)
		if err != nil {
			return err
		}
		first := slices.IndexFunc(rows, func(j store.GrowingJar) bool { return j.Batch == b.ID })
		for i := range rows {
			if j := &rows[i]; j.Batch == b.ID {
				if slices.Contains(hidden, lab.ByRecipe) {
					j.Recipe = ""
				}
				if slices.Contains(hidden, lab.ByCulture) {
					j.Carries = rows[first].Carries
				}
			}
		}
	}
	return nil
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
	var all gathered
	for _, j := range g.rows {
		if e, ok := g.expect(j); ok {
			g.join(&all, j, e)
		}
		for _, c := range lab.Chores {
			if days := g.limits[c.Stage()]; days > 0 {
				if last, ok := g.choreDay(j, c); ok {
					g.join(&all, j, Expected{Since: last, Chore: c, Window: lab.StageWindow{From: days, To: days, Late: days + 1}})
				}
			}
		}
	}
	out, err := g.forecast(all.list)
	return inOrderOfWalk(joinAlike(out), g.walk), err
}

// join adds what is expected of a jar.
func (g growing) join(all *gathered, j store.GrowingJar, e Expected) {
	e.Batch, e.Shelf, e.Numbers = g.batches[j.Batch], j.Shelf, []int{j.Number}
	all.add(e)
}

// gathered joins jars of which the same is expected.
type gathered struct {
	list []Expected
	at   map[expectedKey]int // in list
}

func (x *gathered) add(e Expected) {
	if x.at == nil {
		x.at = make(map[expectedKey]int)
	}
	key := e.key()
	i, ok := x.at[key]
	if !ok {
		x.at[key] = len(x.list)
		x.list = append(x.list, e)
		return
	}
	x.list[i].passed = min(x.list[i].passed, e.passed)
	x.list[i].Numbers = append(x.list[i].Numbers, e.Numbers...)
}

// joinAlike joins jars of different recipes of which the same is expected.
func joinAlike(all []Expected) []Expected {
	var out gathered
	for _, e := range all {
		e.recipe, e.culture, e.passed = "", "", 0
		out.add(e)
	}
	for _, e := range out.list {
		slices.Sort(e.Numbers)
	}
	return out.list
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
	p := g.profiles[j.Carries]
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

// inOrderOfWalk sorts as the shelves are walked, then by batch and day.
func inOrderOfWalk(all []Expected, walk string) []Expected {
	var shelves []string
	rank := make(map[string]int)
	for _, e := range all {
		if _, have := rank[e.Shelf]; !have {
			rank[e.Shelf] = 0
			shelves = append(shelves, e.Shelf)
		}
	}
	inWalkingOrder(shelves, func(name string) string { return name }, walk)
	for i, name := range shelves {
		rank[name] = i
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
