package ingest

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"iter"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// LoggerOptions say how to read what a logger's file itself leaves open.
type LoggerOptions struct {
	File     string      // its name
	Place    string      // where the logger lay; a series is told and recalled for it
	Unit     string      // "C" or "F" for a file that names neither, "" asks
	DayFirst *bool       // as in Options
	Columns  string      // what the columns are, in order, of a file without a heading: "date, time, -, temp"
	Series   string      // which one is meant of a file that holds several, "" asks
	Starts   []time.Time // when each log of the file began whose times are counts; a zero one leaves its log out, none asks
	Zone     *time.Location

	// Recall returns what was said before of files with the heading source.
	// What is said here goes before it. Nil recalls nothing.
	Recall func(source string) app.LoggerTold
}

// LoggerFile is a temperature logger's file as it was read.
type LoggerFile struct {
	Original string
	Source   string         // what files of this kind are known by: the heading, or what the lines look like
	Said     app.LoggerTold // what the options said of it, to be kept for the next file
	Column   string         // heading of the temperature that was taken
	Readings []lab.Reading
	Refused  []lab.RefusedLine
	Cautions []figure.Caution
}

// ReadLogger reads the temperatures of a logger's text: a heading within the
// first lines, times in one column or a date and a time in two; or one
// reading in a row with the name of its sensor, the value glued to a tag,
// rows without times after a line with start and interval, several logs
// joined. Every line after the heading is a reading, belongs to another
// series, or is listed with why it is neither. What can not be told is asked
// about as an Invalid Problem at "unit", "days", "columns", "series" or
// "start".
func ReadLogger(src io.Reader, o LoggerOptions) (LoggerFile, error) {
	text, doubts, err := readText(src)
	if err != nil {
		return LoggerFile{}, err
	}
	l := newLoggerReader(o, LoggerFile{Original: text, Cautions: doubts})
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	if len(lines) > mostLines {
		return l.file, lab.Invalidf("file", "export the hours of this cook alone", "the file has %d lines, %d are read", len(lines), mostLines)
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
	if err := l.join(); err != nil {
		return l.file, err
	}
	if len(l.file.Readings) < 2 {
		return l.file, l.nothing()
	}
	return l.file, nil
}

// mostLines bounds a file: several series may stand in it.
const mostLines = 5 * lab.MaxReadings

// loggerReader is a file being read.
type loggerReader struct {
	o       LoggerOptions
	zone    *time.Location
	file    LoggerFile
	split   func(line string) []string
	comma   rune
	heading string // the line that the heading was read from
	tagged  bool   // each value is glued to its tag
	unsure  bool   // the heading of this log does not name the temperature that was taken before
	columns
	of       string // the series that is taken
	others   map[string]int
	unit     string // "C" or "F"
	dayFirst bool
	steps    *steps // where rows have no time
	parts    []part
	seam     bool // a new log begins with the next row
}

func newLoggerReader(o LoggerOptions, file LoggerFile) *loggerReader {
	l := &loggerReader{o: o, zone: o.Zone, file: file, others: make(map[string]int), parts: make([]part, 1)}
	if l.zone == nil {
		l.zone = time.UTC
	}
	l.split = func(line string) []string { return splitCells(line, l.comma) }
	return l
}

// headLines is how far down a heading is looked for.
const headLines = 12

// findHead finds the heading and returns the index of the first line after it.
func (l *loggerReader) findHead(lines []string) (int, error) {
	first, found := l.lookForHead(lines[:min(len(lines), headLines)])
	if !found {
		found = l.takeTags(lines)
	}
	if !found {
		l.file.Source = unheaded(lines, l.o.File)
	}
	l.recall()
	switch {
	case l.steps != nil:
		return first, l.takeChannels()
	case strings.TrimSpace(l.o.Columns) != "":
		l.split = func(line string) []string { return splitCells(line, l.comma) }
		return 0, l.takeColumns(lines)
	case found:
		return first, nil
	}
	return 0, lab.Invalidf("columns", "write what its columns are, in order, such as: date, time, -, temp", "no heading for time and temperature was found in the first %d lines; the first one is %s", headLines, figure.Clip(strings.TrimSpace(lines[0]), 80))
}

var commas = []rune{'\t', ';', ','}

// lookForHead looks for a line that names a time and a temperature, or that
// says when rows without times begin.
func (l *loggerReader) lookForHead(lines []string) (after int, found bool) {
	for i, line := range lines {
		for _, comma := range commas {
			cells := splitCells(uncomment(line), comma)
			if l.takeHead(cells) || l.takeSteps(lines[:i], cells, comma) {
				l.comma, l.heading = comma, strings.TrimSpace(line)
				l.file.Source = cmp.Or(l.file.Source, HeadingKey(uncomment(line)))
				return i + 1, true
			}
		}
	}
	return 0, false
}

// takeHead takes cells for the heading if they are one.
func (l *loggerReader) takeHead(cells []string) (ok bool) {
	if l.columns, ok = wideHead(cells); !ok {
		l.columns, ok = tallHead(cells)
	}
	return ok
}

// uncomment returns what stands in a line that is set apart by #.
func uncomment(line string) string {
	return strings.TrimLeft(strings.TrimSpace(line), "# ")
}

// unheaded is what files without a heading are known by.
func unheaded(lines []string, file string) string {
	most := 0
	for _, comma := range commas {
		most = max(most, len(splitCells(lines[0], comma)))
	}
	return HeadingKey(fmt.Sprintf("no heading, %d columns, %s", most, app.FileFamily(file)))
}

// recall takes what was said before of this kind of file, where nothing is
// said now, and notes what is to be kept.
func (l *loggerReader) recall() {
	l.file.Said = app.LoggerTold{Unit: l.o.Unit, DayFirst: l.o.DayFirst, Columns: strings.TrimSpace(l.o.Columns)}
	if l.o.Series != "" {
		l.file.Said.Series = map[string]string{l.o.Place: l.o.Series}
	}
	if l.o.Recall == nil {
		return
	}
	told := l.o.Recall(l.file.Source)
	l.o.Unit, l.o.DayFirst = cmp.Or(l.o.Unit, told.Unit), cmp.Or(l.o.DayFirst, told.DayFirst)
	l.o.Columns, l.o.Series = cmp.Or(l.o.Columns, told.Columns), cmp.Or(l.o.Series, told.Series[l.o.Place])
}

func saidColumns(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' })
}

// takeColumns takes what the grower says the columns are for the heading, and
// the separator that parts a line into as many.
func (l *loggerReader) takeColumns(lines []string) error {
	said := saidColumns(l.o.Columns)
	if !l.takeHead(said) {
		return lab.Invalidf("columns", "name a time and a temp, and - for what is left out: time, -, temp", "%q names no time and temperature", clip(l.o.Columns))
	}
	for _, line := range lines[:min(len(lines), headLines)] {
		for _, comma := range commas {
			if len(splitCells(line, comma)) == len(said) {
				l.comma = comma
				return nil
			}
		}
	}
	return lab.Invalidf("columns", "write one word for each column, and - for what is left out", "%d columns are named, and no line has so many", len(said))
}

var (
	tempHead  = regexp.MustCompile(`(?i)temp|[°*℃]\s*[cf]?\b|℃|℉`)
	dewHead   = regexp.MustCompile(`(?i)dew|taupunkt|heat.?index|wet.?bulb|set.?point|sollwert`)
	timeHead  = regexp.MustCompile(`(?i)time|date|zeit|datum|when|m_d_y|last_(changed|updated)`)
	clockHead = regexp.MustCompile(`(?i)^\W*(time|zeit|uhrzeit)\b`)
	dateHead  = regexp.MustCompile(`(?i)^\W*(date|datum|m_d_y\w*)\W*$`)
	fineHead  = regexp.MustCompile(`(?i)high.?res`)
	nameHead  = regexp.MustCompile(`(?i)^\W*(entity(_id)?|sensor(_id)?|name|series|channel|probe|topic|metric|signal|tag|kanal|quantity|variable|parameter)\W*$`)
	valueHead = regexp.MustCompile(`(?i)^\W*(value|state|reading|wert|measurement)\W*$`)
	fHead     = regexp.MustCompile(`(?i)[°*]\s*f\b|℉|\[f\]|_f\b|\bdeg\.? ?f\b|fahrenheit|\(f\)`)
	cHead     = regexp.MustCompile(`(?i)[°*]\s*c\b|℃|\[c\]|_c\b|_c_|\bdeg\.? ?c\b|celsius|\(c\)`)
	zoneHead  = regexp.MustCompile(`(?:GMT|UTC)\s*([+-])(\d\d):?(\d\d)`)
)

// columns is what a heading says of where things stand in a row.
type columns struct {
	head   []string
	date   int   // of the date, or of both; -1 where rows have no time
	clock  int   // of the time where it is apart, -1 if it is not
	temp   int   // that is taken
	temps  []int // all that can be
	series int   // of the name of a series, -1 if there is one series
}

// wideHead reads cells as a heading with a time and a temperature, and reports
// whether they are one.
func wideHead(cells []string) (columns, bool) {
	c := columns{head: cells, date: -1, clock: -1, temp: -1, series: -1}
	for i, cell := range cells {
		switch {
		case timeHead.MatchString(cell) && c.date < 0:
			c.date = i
		case clockHead.MatchString(cell) && c.clock < 0 && dateHead.MatchString(cells[max(c.date, 0)]):
			c.clock = i
		case tempHead.MatchString(cell) && !timeHead.MatchString(cell) && !dewHead.MatchString(cell):
			c.temps = append(c.temps, i)
		case nameHead.MatchString(cell) && c.series < 0:
			c.series = i
		}
	}
	if fine := slices.DeleteFunc(slices.Clone(c.temps), func(i int) bool { return !fineHead.MatchString(cells[i]) }); len(fine) > 0 {
		c.temps = fine
	}
	if len(cells) < 2 || c.date < 0 || len(c.temps) == 0 {
		return c, false
	}
	c.temp = c.temps[0]
	return c, true
}

// settle finds the series, the unit, the zone and the order of day and month.
func (l *loggerReader) settle(lines []string) error {
	if err := l.settleSeries(lines); err != nil {
		return err
	}
	if err := l.settleUnit(lines); err != nil {
		return err
	}
	if l.date < 0 {
		return l.steps.settle(l)
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

// settleUnit finds the unit: in the heading, in the name of the series, below
// the heading, at the first values, or as it was said.
func (l *loggerReader) settleUnit(lines []string) error {
	l.file.Column = cmp.Or(l.of, strings.TrimSpace(l.head[l.temp]))
	units := l.of + " " + l.head[l.temp]
	for _, line := range lines[:min(2, len(lines))] { // some loggers give the units below the names
		if cells := l.split(line); len(cells) == len(l.head) && (cHead.MatchString(cells[l.temp]) || fHead.MatchString(cells[l.temp])) {
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
	return nil
}

var slashDay = regexp.MustCompile(`^\W*(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})\b`)

// settleDays finds whether days go before months.
func (l *loggerReader) settleDays(lines []string) error {
	if strings.Contains(strings.ToLower(l.head[l.date]), "m_d_y") {
		return nil
	}
	return l.settleOrder(func(yield func(string) bool) {
		for _, line := range lines {
			if cells := l.split(line); len(cells) > l.date && !yield(cells[l.date]) {
				return
			}
		}
	})
}

// settleOrder finds it from the dates of a file, or asks.
func (l *loggerReader) settleOrder(dates iter.Seq[string]) error {
	asked := false
	for date := range dates {
		m := slashDay.FindStringSubmatch(date)
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
	if strings.TrimSpace(line) == "" || l.isSeam(line) {
		return
	}
	refuse := func(format string, args ...any) {
		l.file.Refused = append(l.file.Refused, lab.RefusedLine{Line: number, Why: fmt.Sprintf(format, args...)})
	}
	p := l.part()
	cells := l.split(line)
	if l.date < 0 {
		p.at = l.steps.next() // a row that is refused has had its time
	}
	if l.unsure {
		refuse("the heading of this log does not name the temperature that was taken before")
		return
	}
	if len(cells) != len(l.head) {
		refuse("%s", l.miscount(line, cells))
		return
	}
	if l.series >= 0 && HeadingKey(cells[l.series]) != HeadingKey(l.of) {
		l.others[strings.TrimSpace(cells[l.series])]++
		return
	}
	at, err := l.time(p, cells)
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
	if at, err = l.later(*p, at); err != nil {
		refuse("%v", err)
		return
	}
	p.last = at
	p.readings = append(p.readings, lab.Reading{At: at.UTC(), Celsius: c})
}

// later returns at if it is later than the line before, an hour on where
// clocks were set back.
func (l *loggerReader) later(p part, at time.Time) (time.Time, error) {
	if p.last.IsZero() || at.After(p.last) {
		return at, nil
	}
	if back := at.Add(time.Hour); l.repeatedHour(at) && back.After(p.last) {
		return back, nil
	}
	return at, fmt.Errorf("%s is not later than the line before", at.Format("2006-01-02 15:04:05"))
}

// miscount says why a line does not have the fields of the heading.
func (l *loggerReader) miscount(line string, cells []string) string {
	if l.tagged {
		return fmt.Sprintf("%s holds no value: an event of the logger", clip(strings.TrimSpace(line)))
	}
	return fmt.Sprintf("the line has %s, the heading has %d", fields(len(cells)), len(l.head))
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
	return lab.Invalidf("file", "mend the file or export it again with points for decimals", "of %d lines %d are readings, a record needs two; line %d: %s", len(l.file.Refused)+len(l.file.Readings), len(l.file.Readings), r.Line, r.Why)
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
