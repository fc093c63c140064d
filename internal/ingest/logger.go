package ingest

import (
	"encoding/csv"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// LoggerOptions say how to read what a logger's file itself leaves open.
type LoggerOptions struct {
	Unit     string    // "C" or "F" for a file that names neither, "" asks
	DayFirst *bool     // as in Options
	Columns  string    // what the columns are, in order, of a file without a heading: "date, time, -, temp"
	Start    time.Time // of a file whose times are counted from a start that it does not give; zero asks
	Zone     *time.Location
}

// LoggerFile is a temperature logger's file as it was read.
type LoggerFile struct {
	Original string
	Column   string // heading of the temperature that was taken
	Readings []lab.Reading
	Refused  []lab.RefusedLine
	Cautions []figure.Caution
}

// ReadLogger reads the temperatures of a logger's CSV: a heading within the
// first lines, times in one column or a date and a time in two. Every line
// after the heading is a reading, or is listed with why it is not. What can
// not be told, the unit or the order of day and month, is asked about as an
// Invalid Problem at "unit" or "days".
func ReadLogger(src io.Reader, o LoggerOptions) (LoggerFile, error) {
	text, doubts, err := readText(src)
	if err != nil {
		return LoggerFile{}, err
	}
	l := loggerReader{o: o, zone: o.Zone, file: LoggerFile{Original: text, Cautions: doubts}}
	if l.zone == nil {
		l.zone = time.UTC
	}
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	if len(lines) > lab.MaxReadings+100 {
		return l.file, lab.Invalidf("file", "export the hours of this cook alone", "the file has %d lines, %d are read", len(lines), lab.MaxReadings+100)
	}
	first, err := l.findHead(lines)
	if err != nil {
		return l.file, err
	}
	if err := l.settle(lines[first:]); err != nil {
		return l.file, err
	}
	for i, line := range lines[first:] {
		l.read(first+i+1, line)
	}
	if len(l.file.Readings) < 2 {
		return l.file, l.nothing()
	}
	return l.file, nil
}

// loggerReader is a file being read.
type loggerReader struct {
	o        LoggerOptions
	zone     *time.Location
	file     LoggerFile
	comma    rune
	head     []string
	date     int // column of the date, or of both
	clock    int // column of the time where it is apart, -1 if it is not
	temp     int
	unit     string // "C" or "F"
	dayFirst bool
	last     time.Time
}

// headLines is how far down a heading is looked for.
const headLines = 12

// findHead finds the heading and returns the index of the first line after it.
func (l *loggerReader) findHead(lines []string) (int, error) {
	if strings.TrimSpace(l.o.Columns) != "" {
		return 0, l.takeColumns(lines)
	}
	for i, line := range lines[:min(len(lines), headLines)] {
		for _, comma := range []rune{'\t', ';', ','} {
			cells := splitCells(line, comma)
			if l.takeHead(cells) {
				l.comma, l.head, l.file.Column = comma, cells, strings.TrimSpace(cells[l.temp])
				return i + 1, nil
			}
		}
	}
	return 0, lab.Invalidf("columns", "write what its columns are, in order, such as: date, time, -, temp", "no heading for time and temperature was found in the first %d lines; the first one is %s", headLines, figure.Clip(strings.TrimSpace(lines[0]), 80))
}

// takeColumns takes what the grower says the columns are for the heading, and
// the separator that parts a line into as many.
func (l *loggerReader) takeColumns(lines []string) error {
	said := strings.FieldsFunc(l.o.Columns, func(r rune) bool { return r == ',' || r == ';' })
	if !l.takeHead(said) {
		return lab.Invalidf("columns", "name a time and a temp, and - for what is left out: time, -, temp", "%q names no time and temperature", clip(l.o.Columns))
	}
	for _, line := range lines[:min(len(lines), headLines)] {
		for _, comma := range []rune{'\t', ';', ','} {
			if len(splitCells(line, comma)) == len(said) {
				l.comma, l.head, l.file.Column = comma, said, strings.TrimSpace(said[l.temp])
				return nil
			}
		}
	}
	return lab.Invalidf("columns", "write one word for each column, and - for what is left out", "%d columns are named, and no line has so many", len(said))
}

var (
	tempHead  = regexp.MustCompile(`(?i)temp|[°*℃]\s*[cf]?\b|℃|℉`)
	timeHead  = regexp.MustCompile(`(?i)time|date|zeit|datum|when|m_d_y`)
	clockHead = regexp.MustCompile(`(?i)^\W*(time|zeit|uhrzeit)\b`)
	dateHead  = regexp.MustCompile(`(?i)^\W*(date|datum|m_d_y\w*)\W*$`)
	fineHead  = regexp.MustCompile(`(?i)high.?res`)
	fHead     = regexp.MustCompile(`(?i)[°*]\s*f\b|℉|\[f\]|_f\b|\bdeg\.? ?f\b|fahrenheit|\(f\)`)
	cHead     = regexp.MustCompile(`(?i)[°*]\s*c\b|℃|\[c\]|_c\b|_c_|\bdeg\.? ?c\b|celsius|\(c\)`)
	zoneHead  = regexp.MustCompile(`(?:GMT|UTC)\s*([+-])(\d\d):?(\d\d)`)
)

// takeHead reads cells as a heading, and reports whether they are one.
func (l *loggerReader) takeHead(cells []string) bool {
	l.date, l.clock, l.temp = -1, -1, -1
	for i, c := range cells {
		switch {
		case timeHead.MatchString(c) && l.date < 0:
			l.date = i
		case clockHead.MatchString(c) && l.clock < 0 && dateHead.MatchString(cells[l.dateOr(0)]):
			l.clock = i
		case tempHead.MatchString(c) && !timeHead.MatchString(c) && (l.temp < 0 || fineHead.MatchString(c)):
			l.temp = i
		}
	}
	return len(cells) > 1 && l.date >= 0 && l.temp >= 0
}

func (l *loggerReader) dateOr(i int) int { return max(l.date, i) }

// settle finds the unit, the zone and the order of day and month.
func (l *loggerReader) settle(lines []string) error {
	units := l.head[l.temp]
	for _, line := range lines[:min(2, len(lines))] { // some loggers give the units below the names
		if cells := splitCells(line, l.comma); len(cells) == len(l.head) && cHead.MatchString(cells[l.temp]) || len(cells) == len(l.head) && fHead.MatchString(cells[l.temp]) {
			units += " " + cells[l.temp]
		}
	}
	f, c := fHead.MatchString(units), cHead.MatchString(units)
	switch {
	case f && !c:
		l.unit = "F"
	case c && !f:
		l.unit = "C"
	default:
		l.unit = strings.ToUpper(strings.Trim(strings.TrimSpace(l.o.Unit), "°"))
	}
	if l.unit != "C" && l.unit != "F" {
		return lab.Invalidf("unit", "choose °C or °F", "the heading %q does not say the unit of the temperatures", clip(l.file.Column))
	}
	if m := zoneHead.FindStringSubmatch(l.head[l.date]); m != nil {
		h, _ := strconv.Atoi(m[2])
		mins, _ := strconv.Atoi(m[3])
		offset := h*3600 + mins*60
		if m[1] == "-" {
			offset = -offset
		}
		l.zone = time.FixedZone("", offset)
	}
	return l.settleDays(lines)
}

var slashDay = regexp.MustCompile(`^\W*(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})\b`)

// settleDays finds whether days go before months.
func (l *loggerReader) settleDays(lines []string) error {
	if strings.Contains(strings.ToLower(l.head[l.date]), "m_d_y") {
		return nil
	}
	asked := false
	for _, line := range lines {
		cells := splitCells(line, l.comma)
		if len(cells) <= l.date {
			continue
		}
		m := slashDay.FindStringSubmatch(cells[l.date])
		if m == nil {
			continue
		}
		a, _ := strconv.Atoi(m[1])
		b, _ := strconv.Atoi(m[2])
		switch {
		case a > 12 && b <= 12:
			l.dayFirst = true
			return nil
		case b > 12 && a <= 12:
			return nil
		case a != b:
			asked = true
		}
	}
	if asked && l.o.DayFirst == nil {
		return lab.Invalidf("days", "say whether 3/4/2026 is 3 April or 4 March", "the days of the file can be read in two ways")
	}
	l.dayFirst = asked && *l.o.DayFirst
	return nil
}

// read takes in one line, or lists why it is not a reading.
func (l *loggerReader) read(number int, line string) {
	if strings.TrimSpace(line) == "" {
		return
	}
	refuse := func(format string, args ...any) {
		l.file.Refused = append(l.file.Refused, lab.RefusedLine{Line: number, Why: fmt.Sprintf(format, args...)})
	}
	cells := splitCells(line, l.comma)
	if len(cells) != len(l.head) {
		refuse("the line has %s, the heading has %d", fields(len(cells)), len(l.head))
		return
	}
	at, err := l.time(cells)
	if err != nil {
		refuse("%v", err)
		return
	}
	c, err := l.celsius(cells[l.temp])
	if err != nil {
		refuse("%v", err)
		return
	}
	if at.Year() < 2000 {
		refuse("the clock of the logger was not set: %s", at.Format(time.DateOnly))
		return
	}
	if !l.last.IsZero() && !at.After(l.last) {
		if back := at.Add(time.Hour); l.repeatedHour(at) && back.After(l.last) {
			at = back
		} else {
			refuse("%s is not later than the line before", strings.TrimSpace(cells[l.date]))
			return
		}
	}
	l.last = at
	l.file.Readings = append(l.file.Readings, lab.Reading{At: at.UTC(), Celsius: c})
}

// repeatedHour reports whether clocks were set back over t, so that the hour
// stands in the file twice.
func (l *loggerReader) repeatedHour(t time.Time) bool {
	_, before := t.Add(-2 * time.Hour).Zone()
	_, later := t.Add(2 * time.Hour).Zone()
	return later < before
}

func fields(n int) string {
	if n == 1 {
		return "1 field"
	}
	return fmt.Sprintf("%d fields", n)
}

// nothing says what a file without readings lacks.
func (l *loggerReader) nothing() error {
	if len(l.file.Refused) == 0 {
		return lab.Invalidf("file", "export the hours of this cook", "no line follows the heading")
	}
	r := l.file.Refused[0]
	if strings.Contains(r.Why, countsFromStart) {
		return lab.Invalidf("start", "write when the logger began, such as 2026-03-02 09:30", "the times of the file are counts: line %d: %s", r.Line, r.Why)
	}
	return lab.Invalidf("file", "mend the file or export it again with points for decimals", "none of %d lines is a reading; line %d: %s", len(l.file.Refused)+len(l.file.Readings), r.Line, r.Why)
}

// splitCells splits one line; a quote that is not closed is a letter.
func splitCells(line string, comma rune) []string {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes, r.TrimLeadingSpace = comma, true, comma != '\t'
	cells, err := r.Read()
	if err != nil {
		return nil
	}
	return cells
}
