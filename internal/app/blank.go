package app

import (
	"context"
	"fmt"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// Days after a cook on which its blanks are read, and how long after the last
// of them they are still asked for. Common practice, no source.
const (
	firstBlankDay  = 7
	secondBlankDay = 14
	blanksAskedFor = 21
)

var blankDays = []int{firstBlankDay, secondBlankDay}

// cookBlanks are the blanks of one batch in one cook.
type cookBlanks struct {
	Cook    CookRow
	Batch   lab.Batch
	Numbers []int
	Read    time.Time // when the one looked at longest ago was looked at; zero if one never was
	Fouled  int
	shelf   string
}

// says what they can and can not show.
func (c cookBlanks) says() string {
	text := BlanksSay(len(c.Numbers)-c.Fouled, c.Fouled)
	if c.Fouled == 0 {
		return "If they are clean: " + text
	}
	return text
}

// span names the blanks: "B12·13–14".
func (c cookBlanks) span() string { return c.Batch.String() + "·" + lab.ShowNumbers(c.Numbers) }

// blanksOf returns the blanks of the last cooks.
func (f *Farm) blanksOf(ctx context.Context, r store.Reader, cooks loads) ([]cookBlanks, error) {
	var recent []CookRow
	var ids []lab.CookID
	for _, c := range cooks.rows {
		day, known := c.Day.Day(time.UTC)
		if c.Blanks > 0 && known && f.now().Sub(day) <= (blanksAskedFor+2)*24*time.Hour {
			recent, ids = append(recent, c), append(ids, c.ID)
		}
	}
	if len(ids) == 0 {
		return nil, nil
	}
	rows, err := r.Jars(ctx, store.JarFilter{Blanks: ids})
	if err != nil {
		return nil, err
	}
	batches, err := batchesOf(ctx, r, rows)
	if err != nil {
		return nil, err
	}
	byCook := groupBy(rows, func(j store.JarRow) lab.CookID { return j.Cook })
	var out []cookBlanks
	for _, c := range recent {
		out = append(out, blanksIn(c, byCook[c.ID], batches)...)
	}
	return out, nil
}

// blanksIn gathers the blanks of one cook by batch.
func blanksIn(c CookRow, rows []store.JarRow, batches map[lab.BatchID]lab.Batch) []cookBlanks {
	var out []cookBlanks
	for _, j := range rows {
		n := len(out) - 1
		if n < 0 || out[n].Batch.ID != j.Batch {
			out = append(out, cookBlanks{Cook: c, Batch: batches[j.Batch], Read: farAhead, shelf: j.Shelf})
			n++
		}
		x := &out[n]
		x.Numbers = append(x.Numbers, j.Number)
		if j.Fate == lab.Lost {
			x.Fouled++
			continue
		}
		if at := j.LastSeen.Time; at.Before(x.Read) {
			x.Read = at
		}
	}
	return out
}

// farAhead is later than any look at a jar.
var farAhead = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// blankTasks adds the blanks that are to be read.
func (f *Farm) blankTasks(t *Today, all []cookBlanks, zone *time.Location) {
	today := lab.OnDay(f.now().In(zone)).Time
	for _, c := range all {
		cooked, _ := c.Cook.Day.Day(zone)
		since := int(today.Sub(cooked).Hours() / 24)
		due := 0
		for _, d := range blankDays {
			if since >= d && since <= blanksAskedFor && c.Read.Before(cooked.AddDate(0, 0, d)) {
				due = d
			}
		}
		if due == 0 {
			continue
		}
		task := Task{
			What: fmt.Sprintf("Read the blanks of %s", c.Cook), Why: fmt.Sprintf("day %d: a blank that fouled makes the cook suspect", due),
			Kind: "batch", Name: c.Batch.String(), Doing: "rounds", Jars: c.span(), Shelf: c.shelf, Count: len(c.Numbers),
			See: "sign:clean", Verb: "All clean", More: c.says(),
		}
		if since > due {
			t.Late = append(t.Late, task)
		} else {
			t.Due = append(t.Due, task)
		}
	}
}
