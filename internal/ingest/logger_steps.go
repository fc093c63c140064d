package ingest

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// steps is what a heading says of rows without times: when the first one was
// read, the time between two, and how many there are.
type steps struct {
	day, clock string
	every      time.Duration
	count      int // as the heading says, 0 if it does not
	channels   []string
	begin      time.Time
	row        int
}

var (
	startHead   = regexp.MustCompile(`(?i)time|start|begin|zeit`)
	channelHead = regexp.MustCompile(`(?i)^\W*(ch|chan|channel|kanal|col|column)\W*$`)
	dayCell     = regexp.MustCompile(`^\W*(\d{4}-\d\d-\d\d|\d{1,2}[/.-]\d{1,2}[/.-](\d{4}|\d{2}))\W*$`)
	clockCell   = regexp.MustCompile(`^\s*\d{1,2}:\d\d(:\d\d)?(\s*[AaPp][Mm])?\s*$`)
	everyCells  = regexp.MustCompile(`(?i)^\s*(\d+(?:\.\d+)?)\s*(s|sec|seconds?|m|min|minutes?|h|hours?)\b\s*(\d+)?\s*$`)
)

// takeSteps reads cells as a line with start, interval and count, and the
// lines above it as names of the columns.
func (l *loggerReader) takeSteps(above, cells []string, comma rune) bool {
	if len(cells) < 4 || !startHead.MatchString(cells[0]) || !dayCell.MatchString(cells[1]) || !clockCell.MatchString(cells[2]) {
		return false
	}
	m := everyCells.FindStringSubmatch(strings.Join(cells[3:], " "))
	if m == nil {
		return false
	}
	n, _ := strconv.ParseFloat(m[1], 64)
	unit := map[byte]time.Duration{'s': time.Second, 'm': time.Minute, 'h': time.Hour}[strings.ToLower(m[2])[0]]
	s := &steps{day: strings.TrimSpace(cells[1]), clock: strings.TrimSpace(cells[2]), every: time.Duration(n * float64(unit))}
	if !(s.every >= 100*time.Millisecond && s.every <= 24*time.Hour) {
		return false
	}
	s.count, _ = strconv.Atoi(m[3])
	for _, line := range above {
		s.addChannel(splitCells(line, comma))
	}
	l.steps, l.columns = s, columns{date: -1, clock: -1, series: -1}
	l.file.Source = HeadingKey("rows without times: " + strings.Join(s.channels, ", "))
	return true
}

// addChannel reads cells as the number, name and unit of a column.
func (s *steps) addChannel(cells []string) {
	if len(cells) < 3 || !channelHead.MatchString(cells[0]) {
		return
	}
	n, err := strconv.Atoi(strings.TrimSpace(cells[1]))
	if err != nil || n < 1 || n > 50 {
		return
	}
	for len(s.channels) < n {
		s.channels = append(s.channels, "-")
	}
	s.channels[n-1] = strings.TrimSpace(cells[2])
	if len(cells) > 3 {
		s.channels[n-1] += " [" + strings.TrimSpace(cells[3]) + "]"
	}
}

// takeChannels finds the temperature among the columns.
func (l *loggerReader) takeChannels() error {
	l.head = l.steps.channels
	if said := strings.TrimSpace(l.o.Columns); said != "" {
		l.head = saidColumns(said)
	}
	for i, c := range l.head {
		if tempHead.MatchString(c) && !dewHead.MatchString(c) {
			l.temps = append(l.temps, i)
		}
	}
	if len(l.temps) == 0 {
		return lab.Invalidf("columns", "write what its columns are, in order: temp, -", "the rows have no times of their own, and no column is named as a temperature")
	}
	l.temp = l.temps[0]
	return nil
}

// settle finds when the first row was read.
func (s *steps) settle(l *loggerReader) error {
	if err := l.settleOrder(slices.Values([]string{s.day})); err != nil {
		return err
	}
	begin, err := l.parseTime(s.day + " " + s.clock)
	if err != nil {
		return lab.Invalidf("file", "mend the start in the heading of the file", "%q is no start that is known here", clip(s.day+" "+s.clock))
	}
	s.begin = begin
	return nil
}

// next is the time of the next row.
func (s *steps) next() time.Time {
	at := s.begin.Add(time.Duration(s.row) * s.every)
	s.row++
	return at
}

// noteSteps says where the heading counts otherwise than the file.
func (l *loggerReader) noteSteps() {
	if l.steps == nil || l.steps.count == 0 || l.steps.count == l.steps.row {
		return
	}
	l.file.Cautions = append(l.file.Cautions, figure.Caution{
		Code: "count_differs", Title: "Not as many rows as it says", Weight: figure.Care,
		Text: fmt.Sprintf("The heading speaks of %d readings, the file has %d. It may be cut; a row that is missing in between puts all after it too early.", l.steps.count, l.steps.row),
	})
}
