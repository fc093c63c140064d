package app

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Task is something that waits for the grower, with why.
type Task struct {
	What  string `json:"what"`
	Why   string `json:"why"`
	Kind  string `json:"kind"` // batch, cook or trial: what Name names
	Name  string `json:"name"`
	Doing string `json:"doing"` // the page that does it: make, cook, inoculate, rounds, weigh, verdict; "" for the thing itself
	Jars  string `json:"jars"`  // the span that it is about, "" if it is not about jars
	Shelf string `json:"shelf"` // where they stand, "" if not said
	Count int    `json:"count"` // of jars, 0 if it is not about jars
	See   string `json:"see"`   // what one tap logs on all of Jars, such as stage:light; "" if it takes a page
	Verb  string `json:"-"`     // of that tap
	More  string `json:"note"`  // what is to be known before it is done, "" if nothing
}

// Today is what waits, what runs and what was done last.
type Today struct {
	Day     lab.When
	Late    []Task
	Due     []Task
	Early   []Task // what is expected within a week, the soonest first
	Running []CookRow
	Way     []BatchRow // batches under way: some jars grow, or none is inoculated yet
	Recent  []lab.Deed
	Empty   bool // there is no batch at all
}

// Today gathers what waits on all open batches.
func (f *Farm) Today(ctx context.Context) (Today, error) {
	var t Today
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		t.Day = lab.OnDay(f.now().In(s.Zone))
		if t.Recent, err = r.Deeds(ctx, "", 8); err != nil {
			return err
		}
		return f.gatherToday(ctx, r, &t, s.Zone)
	})
	return t, err
}

func (f *Farm) gatherToday(ctx context.Context, r store.Reader, t *Today, zone *time.Location) error {
	batches, err := f.openRows(ctx, r)
	if err != nil {
		return err
	}
	t.Empty = len(batches) == 0
	for _, b := range batches {
		if b.Tally.Growing > 0 || b.Tally.Inoculated == 0 {
			t.Way = append(t.Way, b)
		}
	}
	cooks, err := f.cookLoads(ctx, r)
	if err != nil {
		return err
	}
	for _, c := range cooks.rows {
		if c.State == lab.CookRunning {
			t.Running = append(t.Running, c)
		}
	}
	blanks, err := f.blanksOf(ctx, r, cooks)
	if err != nil {
		return err
	}
	for _, b := range batches {
		f.batchTasks(t, b, cooks.byBatch[b.ID], zone)
	}
	if err := f.differTasks(ctx, r, t); err != nil {
		return err
	}
	f.blankTasks(t, blanks, zone)
	if err := f.cultureTasks(ctx, r, t); err != nil {
		return err
	}
	return f.jarTasks(ctx, r, t, batches, zone)
}

// soonDays is how far Today looks ahead.
const soonDays = 7

// jarTasks adds what is expected of jars, in walking order; what is still to
// come by its day.
func (f *Farm) jarTasks(ctx context.Context, r store.Reader, t *Today, batches []BatchRow, zone *time.Location) error {
	g, err := f.readGrowing(ctx, r, batches, zone)
	if err != nil {
		return err
	}
	today := lab.OnDay(f.now().In(zone)).Time
	soon := today.AddDate(0, 0, soonDays)
	all, err := g.expected(func(e Expected) bool { return e.how(today) != earlyYet || !e.day(e.Window.From).After(soon) })
	if err != nil {
		return err
	}
	t.Early = append(t.Early, comingTasks(all, today)...)
	for _, e := range all {
		switch e.how(today) {
		case lateNow:
			t.Late = append(t.Late, e.task(today))
		case dueNow:
			t.Due = append(t.Due, e.task(today))
		}
	}
	return nil
}

// loads are the recent cooks and which of them each open batch stood in.
type loads struct {
	rows    []CookRow
	byBatch map[lab.BatchID][]CookRow
}

func (f *Farm) cookLoads(ctx context.Context, r store.Reader) (loads, error) {
	l := loads{byBatch: make(map[lab.BatchID][]CookRow)}
	cooks, err := r.Cooks(ctx, 50)
	if err != nil {
		return l, err
	}
	var stood []store.Load
	if l.rows, stood, err = f.cookRowsWithLoads(ctx, r, cooks); err != nil {
		return l, err
	}
	byID := make(map[lab.CookID]CookRow, len(l.rows))
	for _, c := range l.rows {
		byID[c.ID] = c
	}
	for _, x := range stood {
		l.byBatch[x.Batch] = append(l.byBatch[x.Batch], byID[x.Cook])
	}
	return l, nil
}

// batchTasks adds what waits on one batch.
func (f *Farm) batchTasks(t *Today, b BatchRow, cooks []CookRow, zone *time.Location) {
	due := func(late bool, task Task) {
		if late {
			t.Late = append(t.Late, task)
		} else {
			t.Due = append(t.Due, task)
		}
	}
	for _, c := range cooks {
		f.cookTasks(due, b, c, zone)
	}
	waiting := b.Tally.Jars - b.Tally.Inoculated - b.Tally.Lost
	if waiting > 0 && allSettled(cooks) && len(cooks) > 0 {
		due(false, Task{
			What: fmt.Sprintf("Inoculate %s", b.Title()), Why: manyJars(waiting, "is cooked and waits", "are cooked and wait"),
			Kind: "batch", Name: b.String(), Doing: "inoculate",
		})
	}
	if ready := b.Tally.ByStage[lab.Ready]; ready > 0 && b.Tally.Growing > 0 {
		due(false, Task{
			What: fmt.Sprintf("Pick and weigh %s", b.Title()), Why: manyJars(ready, "was seen ready", "were seen ready"),
			Kind: "batch", Name: b.String(), Doing: "weigh",
		})
	}
	f.closingTasks(due, b)
}

func allSettled(cooks []CookRow) bool {
	for _, c := range cooks {
		if c.State == lab.CookRunning || c.State == lab.Unmarked && len(c.Stretches) == 0 {
			return false
		}
	}
	return true
}

// cookTasks adds what waits on a cook: its marks.
func (f *Farm) cookTasks(due func(bool, Task), b BatchRow, c CookRow, zone *time.Location) {
	day, known := c.Day.Day(zone)
	since := int(lab.OnDay(f.now().In(zone)).Time.Sub(day).Hours() / 24)
	if c.State == lab.Unmarked && len(c.Stretches) == 0 && b.Tally.Inoculated == 0 && known && since >= 0 && since <= 30 {
		due(since > 0, Task{
			What: fmt.Sprintf("Log %s, %s", c, b.Title()), Why: "it has no marks yet: whether it held will not be known",
			Kind: "cook", Name: fmt.Sprint(c.Number), Doing: "cook",
		})
	}
}

// closingTasks adds what the closing day asks for.
func (f *Farm) closingTasks(due func(bool, Task), b BatchRow) {
	if b.Closing.IsZero() || b.Tally.Inoculated == 0 {
		return
	}
	left := int(b.Closing.Sub(lab.OnDay(f.now()).Time).Hours() / 24)
	switch {
	case left >= 0 && left <= 7 && b.Tally.Growing > 0:
		due(false, Task{
			What: fmt.Sprintf("Pick what is left of %s", b.Title()),
			Why:  fmt.Sprintf("it closes on %s; %s as barren after it", b.Closing.Format("2 Jan"), manyJars(b.Tally.Growing, "still grows and counts", "still grow and count")),
			Kind: "batch", Name: b.String(), Doing: "weigh",
		})
	case left < 0 && left >= -14 && b.Trial != "":
		due(false, Task{
			What: fmt.Sprintf("Read the verdict of %s", b.Trial), Why: fmt.Sprintf("%s closed on %s", b.Title(), b.Closing.Format("2 Jan")),
			Kind: "trial", Name: b.Trial, Doing: "verdict",
		})
	}
}

// manyJars says what one jar or many do.
func manyJars(n int, one, many string) string {
	return figure.Count(n, "jar "+one, "jars "+many)
}

// Days after it was made within which an LC that was never tested is asked
// about: earlier a test shows nothing yet, later the jars have told
// (common practice, no source).
const testFrom, testUntil = 4, 45

// untested reports whether a culture that jars could get was never tested.
func (row *CultureRow) untested(now time.Time) bool {
	if row.Standing.Test.ID != "" || row.Standing.End.ID != "" || row.Made.Exactness == lab.Unknown || row.Made.IsZero() {
		return false
	}
	age := int(now.Sub(row.Made.Time).Hours() / 24)
	return slices.Contains([]lab.Form{lab.LC, lab.Syringe, lab.Grain}, row.Form) && age >= testFrom && age <= testUntil
}

// cultureTasks adds the cultures that are due for renewal, and those to test
// before jars get them.
func (f *Farm) cultureTasks(ctx context.Context, r store.Reader, t *Today) error {
	rows, _, err := f.standingCultures(ctx, r)
	if err != nil {
		return err
	}
	for _, c := range rows {
		if c.untested(f.now()) {
			t.Due = append(t.Due, Task{
				What: "Test " + c.Name, Why: fmt.Sprintf("made on %s and never tested; a clear LC can be dirty", c.Made.Time.Format("2 Jan")),
				Kind: "culture", Name: c.Name,
			})
		}
		if !c.Due.IsZero() && !f.now().Before(c.Due) {
			t.Due = append(t.Due, Task{
				What: "Renew " + c.Name, Why: fmt.Sprintf("in store since %s, due on %s", c.Standing.Store.At.Time.Format("2 Jan"), c.Due.Format("2 Jan")),
				Kind: "culture", Name: c.Name,
			})
		}
	}
	return nil
}
