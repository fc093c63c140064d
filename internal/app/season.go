package app

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// SeasonLine is one batch along the calendar: what was done and first seen.
type SeasonLine struct {
	Batch lab.Batch
	Jars  int
	From  time.Time
	To    time.Time // closing day, or the last day on which something was entered
	Marks []SeasonMark
	// Windows are when the stages that are still to come are expected.
	Windows []StageWindow
}

// SeasonMark is the first day on which something happened to jars of a batch.
type SeasonMark struct {
	Day   time.Time
	What  string // "cooked", "inoculated", a stage, "lost", "picked", "closes"
	Jars  int    // of how many jars, 0 if of the batch
	Stage lab.Stage
}

// seasonBatches bounds the lines of the season picture.
const seasonBatches = 12

// Season returns the newest batches along the calendar, the oldest first.
func (f *Farm) Season(ctx context.Context) ([]SeasonLine, error) {
	var lines []SeasonLine
	var learnt *forecaster
	err := f.store.Read(ctx, func(r store.Reader) error {
		zone, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		batches, err := r.Batches(ctx, seasonBatches)
		if err != nil {
			return err
		}
		if lines, err = f.seasonLines(ctx, r, batches, zone.Zone); err != nil {
			return err
		}
		learnt, err = f.readForecaster(ctx, r, zone.Zone)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range lines {
		c, _ := learnt.course(lines[i].Batch.ID)
		if lines[i].Windows, err = learnt.windows(c, f.now()); err != nil {
			return nil, err
		}
	}
	return lines, nil
}

// seasonLines returns those of the batches on which something was entered, the
// last of them first. r must not write.
func (f *Farm) seasonLines(ctx context.Context, r store.Reader, batches []lab.Batch, zone *time.Location) ([]SeasonLine, error) {
	byID := make(map[lab.BatchID]lab.Batch, len(batches))
	for _, b := range batches {
		byID[b.ID] = b
	}
	ids := each(batches, func(b lab.Batch) lab.BatchID { return b.ID })
	all, err := f.memo.seasons.get(ctx, r, ids, zone.String(), func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID]SeasonLine, error) {
		out := make(map[lab.BatchID]SeasonLine, len(ids))
		for _, id := range ids {
			var err error
			if out[id], err = f.seasonLine(ctx, r, byID[id], zone); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
	if err != nil {
		return nil, err
	}
	var lines []SeasonLine
	for _, id := range slices.Backward(ids) {
		if line := all[id]; !line.From.IsZero() {
			lines = append(lines, line)
		}
	}
	return lines, nil
}

func (f *Farm) seasonLine(ctx context.Context, r store.Reader, b lab.Batch, zone *time.Location) (SeasonLine, error) {
	rows, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
	if err != nil {
		return SeasonLine{}, err
	}
	line := SeasonLine{Batch: b}
	m := marker{line: &line, zone: zone, at: make(map[string]int)}
	m.add(b.Made, "made", "")
	e, err := entriesOf(ctx, r, idsOf(rows))
	if err != nil {
		return line, err
	}
	for _, j := range rows {
		if !j.Blank {
			line.Jars++
			m.add(j.Inoculated, "inoculated", "")
		}
	}
	for _, s := range lab.Current(e.seen) {
		if s.Stage != "" {
			m.add(s.At, s.Stage.Label(), s.Stage)
		}
		if s.Fate == lab.Lost {
			m.add(s.At, "lost", "")
		}
	}
	for _, p := range lab.Current(e.picks) {
		m.add(p.At, fmt.Sprintf("picked, flush %d", p.Flush), "")
	}
	if !b.Closing.IsZero() && !line.From.IsZero() {
		m.add(lab.When{Time: b.Closing.Time, Exactness: lab.ThatDay}, "closes", "")
	}
	return line, nil
}

// marker gathers the marks of one line: of each kind the first day, and on
// how many jars it was entered in all.
type marker struct {
	line *SeasonLine
	zone *time.Location
	at   map[string]int
}

func (m *marker) add(w lab.When, what string, stage lab.Stage) {
	day, ok := w.Day(m.zone)
	if !ok {
		return
	}
	if m.line.From.IsZero() || day.Before(m.line.From) {
		m.line.From = day
	}
	if day.After(m.line.To) {
		m.line.To = day
	}
	i, there := m.at[what]
	if !there {
		i = len(m.line.Marks)
		m.at[what] = i
		m.line.Marks = append(m.line.Marks, SeasonMark{Day: day, What: what, Stage: stage})
	}
	mark := &m.line.Marks[i]
	mark.Jars++
	if day.Before(mark.Day) {
		mark.Day = day
	}
}
