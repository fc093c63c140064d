package app

import (
	"context"
	"fmt"
	"time"

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
}

// Today is what waits, what runs and what was done last.
type Today struct {
	Day     lab.When
	Late    []Task
	Due     []Task
	Running []CookRow
	Recent  []lab.Deed
	Empty   bool // there is no batch at all
}

// days on which blanks are read. Common practice, no source.
const (
	firstBlankDay  = 7
	secondBlankDay = 14
)

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
	batches, err := f.batchRows(ctx, r)
	if err != nil {
		return err
	}
	t.Empty = len(batches) == 0
	cooks, err := f.cookLoads(ctx, r)
	if err != nil {
		return err
	}
	for _, c := range cooks.rows {
		if c.State == lab.CookRunning {
			t.Running = append(t.Running, c)
		}
	}
	for _, b := range batches {
		f.batchTasks(t, b, cooks.byBatch[b.ID], zone)
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
	if l.rows, err = f.cookRows(ctx, r, cooks); err != nil {
		return l, err
	}
	byID := make(map[lab.CookID]CookRow, len(l.rows))
	ids := make([]lab.CookID, len(l.rows))
	for i, c := range l.rows {
		byID[c.ID], ids[i] = c, c.ID
	}
	stood, err := r.Loads(ctx, ids...)
	if err != nil {
		return l, err
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

// cookTasks adds what waits on a cook: its marks, and its blanks.
func (f *Farm) cookTasks(due func(bool, Task), b BatchRow, c CookRow, zone *time.Location) {
	day, known := c.Day.Day(zone)
	since := int(lab.OnDay(f.now().In(zone)).Time.Sub(day).Hours() / 24)
	if c.State == lab.Unmarked && len(c.Stretches) == 0 && b.Tally.Inoculated == 0 && known && since >= 0 && since <= 30 {
		due(since > 0, Task{
			What: fmt.Sprintf("Log %s, %s", c, b.Title()), Why: "it has no marks yet: whether it held will not be known",
			Kind: "cook", Name: fmt.Sprint(c.Number), Doing: "cook",
		})
	}
	if b.Tally.Blanks == 0 || !known {
		return
	}
	for _, d := range []int{firstBlankDay, secondBlankDay} {
		if since == d || since == d+1 {
			due(since > d, Task{
				What: fmt.Sprintf("Read the blanks of %s", c), Why: fmt.Sprintf("day %d: a blank that fouled makes the cook suspect", d),
				Kind: "batch", Name: b.String(), Doing: "rounds",
			})
		}
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
	if n == 1 {
		return "1 jar " + one
	}
	return fmt.Sprintf("%d jars %s", n, many)
}
