package ingest

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// part is one log of a file in which several are joined.
type part struct {
	rows     int
	at       time.Time // of a row without time
	counted  bool      // its times are counts
	readings []lab.Reading
	last     time.Time
}

// isSeam reports whether a line parts two logs: one set apart by #, or the
// heading once more. A heading behind the # counts from there on.
func (l *loggerReader) isSeam(line string) bool {
	line = strings.TrimSpace(line)
	if strings.HasPrefix(line, "#") {
		l.takeNext(splitCells(uncomment(line), l.comma))
	} else if line != l.heading {
		return false
	}
	l.seam = true
	return true
}

// takeNext takes the columns of the next log from its own heading, if cells
// are one. The temperature is the one that was taken before.
func (l *loggerReader) takeNext(cells []string) {
	next, ok := wideHead(cells)
	if !ok {
		return
	}
	same := slices.IndexFunc(next.temps, func(i int) bool { return HeadingKey(cells[i]) == HeadingKey(l.head[l.temp]) })
	if same >= 0 {
		next.temp = next.temps[same]
	}
	l.unsure = same < 0 && len(next.temps) > 1
	l.columns = next
	if f, c := fHead.MatchString(cells[l.temp]), cHead.MatchString(cells[l.temp]); f != c {
		l.unit = map[bool]string{true: "F", false: "C"}[f]
	}
}

// part returns the log that the next row belongs to.
func (l *loggerReader) part() *part {
	if l.seam && l.parts[len(l.parts)-1].rows > 0 {
		l.parts = append(l.parts, part{})
	}
	l.seam = false
	p := &l.parts[len(l.parts)-1]
	p.rows++
	return p
}

// join puts the logs of a file one after the other, never into each other.
// Between two of them nothing is known.
func (l *loggerReader) join() error {
	if err := l.checkStarts(); err != nil {
		return err
	}
	l.noteSeries()
	l.noteSteps()
	parts := slices.DeleteFunc(slices.Clone(l.parts), func(p part) bool { return len(p.readings) == 0 })
	slices.SortStableFunc(parts, func(a, b part) int { return a.readings[0].At.Compare(b.readings[0].At) })
	for i, p := range parts {
		if i > 0 {
			if end := parts[i-1].last; !p.readings[0].At.After(end) {
				return lab.Invalidf("start", "mend when they began, or leave one out by - in its place; two loggers are two records",
					"one log of the file would begin at %s, before another ends at %s", p.readings[0].At.In(l.zone).Format("15:04:05"), end.In(l.zone).Format("15:04:05"))
			}
			p.readings[0].Seam = true
		}
		l.file.Readings = append(l.file.Readings, p.readings...)
	}
	if n := len(parts); n > 1 {
		l.file.Cautions = append(l.file.Cautions, figure.Caution{
			Code: "joined_logs", Title: "Several logs in one file", Weight: figure.Note,
			Text: fmt.Sprintf("The file holds %d logs. They are kept apart: what was between them is not known and counts for nothing.", n),
		})
	}
	return nil
}

// ParseStarts reads when the logs of a file began: "2026-03-02 09:30; -;
// 2026-03-02 11:05", with - for a log that is left out.
func ParseStarts(typed string, now time.Time, zone *time.Location) ([]time.Time, error) {
	if strings.TrimSpace(typed) == "" {
		return nil, nil
	}
	var out []time.Time
	for _, one := range strings.Split(typed, ";") {
		if isUnknown(strings.TrimSpace(one)) {
			out = append(out, time.Time{})
			continue
		}
		at, err := lab.ParseWhen("start", strings.TrimSpace(one), now, zone)
		if err != nil {
			return nil, err
		}
		out = append(out, at.Time)
	}
	return out, nil
}

// checkStarts asks when the logs began whose times are counts.
func (l *loggerReader) checkStarts() error {
	counted := 0
	for _, p := range l.parts {
		if p.counted {
			counted++
		}
	}
	if n := len(l.o.Starts); counted == n || n == 0 && l.hasReadings() || counted == 0 && n <= 1 {
		return nil
	}
	if counted == 1 {
		return lab.Invalidf("start", "write when the logger began, such as 2026-03-02 09:30", "the times of the file are counts from a start that it does not give; %s", startsGiven(len(l.o.Starts)))
	}
	return lab.Invalidf("start", "write one for each, in order, and - to leave one out: 2026-03-02 09:30; 2026-03-02 11:05",
		"the file holds %d logs that count from their own start; %s", counted, startsGiven(len(l.o.Starts)))
}

func startsGiven(n int) string {
	if n == 0 {
		return "none is given"
	}
	return fmt.Sprintf("%d given", n)
}

func (l *loggerReader) hasReadings() bool {
	return slices.ContainsFunc(l.parts, func(p part) bool { return len(p.readings) > 0 })
}

// startOf is when the log began that the rows of p belong to.
func (l *loggerReader) startOf() (at time.Time, given bool) {
	n := -1
	for _, p := range l.parts {
		if p.counted {
			n++
		}
	}
	if n >= 0 && n < len(l.o.Starts) {
		return l.o.Starts[n], true
	}
	return time.Time{}, false
}
