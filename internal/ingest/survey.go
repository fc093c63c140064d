package ingest

import (
	"fmt"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// survey is what the cells of one column show of how they are meant. It is
// taken before any row is read, because one row can settle another.
type survey struct {
	filled  int
	days    int // cells that are days
	masses  int // cells that are weights
	flushes int // cells that are whole numbers up to 20
	serials int // days as a spreadsheet counts them
	slashes orders
	dots    orders
	open    int // days such as 3/4/2026 that do not show their order
	middle  bool
	highest int // layer given as a number
	pairs   int // cells such as 3-7
	commas  bool
	repeats bool // of marks: two jars of one batch bear the same
}

// orders are the rows that show which of day and month comes first.
type orders struct {
	dayRow, monthRow     int // the first that shows it, 0 if none does
	dayTyped, monthTyped string
}

func (o *orders) add(e dayOrder, row int, typed string) {
	switch {
	case e == dayFirst && o.dayRow == 0:
		o.dayRow, o.dayTyped = row, typed
	case e == monthFirst && o.monthRow == 0:
		o.monthRow, o.monthTyped = row, typed
	}
}

// order returns what the rows show, or otherwise if they show nothing.
func (o orders) order(otherwise dayOrder) dayOrder {
	switch {
	case o.dayRow > 0 && o.monthRow > 0:
		return orderMixed
	case o.dayRow > 0:
		return dayFirst
	case o.monthRow > 0:
		return monthFirst
	}
	return otherwise
}

// surveyed reads all rows behind the header once and returns what each column
// shows, or a Problem if there are too many rows.
func (l *layout) surveyed() ([]survey, error) {
	all := make([]survey, len(l.columns))
	r := l.records
	marks := make(map[string]bool)
	for r.next() {
		if r.row > maxRows {
			return nil, lab.Invalidf("file", "save it in parts, by batch or by year", "the sheet has more than %d rows", maxRows)
		}
		for i := range min(len(r.fields), len(all)) {
			if cell := strings.TrimSpace(r.fields[i]); !isUnknown(cell) {
				all[i].filled++
				all[i].add(&l.columns[i], cell, r.row)
				l.addMark(&all[i], i, cell, r.fields, marks)
			}
		}
	}
	return all, nil
}

// addMark finds marks that several jars of a batch bear, such as the colour
// of a tape. Marks holds those met so far.
func (l *layout) addMark(s *survey, i int, cell string, fields []string, marks map[string]bool) {
	if m := l.columns[i].means; s.repeats || m != isMark && m != isCode {
		return
	}
	key := number(i) + "\x00" + lab.NameKey(cell)
	for k := range min(len(fields), len(l.columns)) {
		if l.columns[k].means == isBatch {
			key += "\x00" + lab.NameKey(fields[k])
		}
	}
	s.repeats, marks[key] = marks[key], true
}

func (s *survey) add(c *column, cell string, row int) {
	day := written{}
	if c.dated() {
		day = readDay(cell)
		s.addDay(day, row, cell)
	}
	switch c.means {
	case isPick, isFlush:
		if !day.sure() {
			if _, err := units.ParseIn(cell, "g"); err == nil {
				s.masses++
			}
		}
		if n, ok := digits(cell, 2); ok && n <= 20 {
			s.flushes++
		}
	case isLayer:
		n, word := readLayer(cell)
		s.middle = s.middle || word == middleLayer
		s.highest = max(s.highest, n)
	case isJar:
		if _, _, ok := pairOf(cell); ok {
			s.pairs++
		}
	}
	s.commas = s.commas || hasDecimalComma(cell)
}

func (s *survey) addDay(w written, row int, cell string) {
	switch w.kind {
	case fullDay, instant:
		s.days++
	case serialDay:
		s.days++
		s.serials++
	case twoOrders:
		s.days++
		e := w.evidence()
		if w.dotted {
			s.dots.add(e, row, cell)
		} else {
			s.slashes.add(e, row, cell)
			if e == orderOpen && w.first != w.mid {
				s.open++
			}
		}
	}
}

// hasDecimalComma reports whether a number in cell has one comma and no point.
func hasDecimalComma(cell string) bool {
	at := strings.IndexByte(cell, ',')
	return at > 0 && at+1 < len(cell) && isDigit(cell[at-1]) && isDigit(cell[at+1]) &&
		strings.Count(cell, ",") == 1 && !strings.Contains(cell, ".")
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// settle decides what each column means, now that its cells are known.
func (l *layout) settle(all []survey, o Options) {
	given := orderOpen
	if o.DayFirst != nil {
		given = monthFirst
		if *o.DayFirst {
			given = dayFirst
		}
	}
	for i := range l.columns {
		c, s := &l.columns[i], &all[i]
		if c.dated() {
			l.settleOrder(c, s, given)
		}
		c.top = max(2, s.highest)
		if s.middle {
			c.top = max(3, s.highest)
		}
		c.ranges = s.pairs < s.filled
		c.empty = c.unnamed && s.filled == 0
	}
	l.settleMarks(all)
	l.settlePicks(all)
	l.settleNumbers(all)
	l.settleRepeats()
}

// settleOrder decides which of day and month comes first in a column, by its
// heading, else by its rows, else as the grower said.
func (l *layout) settleOrder(c *column, s *survey, given dayOrder) {
	stated := c.slashes != orderOpen
	if !stated {
		c.slashes = s.slashes.order(given)
		c.dots = s.dots.order(orderOpen)
	}
	shown := s.slashes
	switch {
	case c.slashes == orderMixed:
		l.doubt("days_mixed", "Two ways of writing days", figure.Care, "In “%s” the day comes first in row %d (%s) and the month in row %d (%s): rows that fit both ways are refused.",
			c.header, shown.dayRow, clip(shown.dayTyped), shown.monthRow, clip(shown.monthTyped))
	case s.open > 0 && !stated && c.slashes == dayFirst && shown.dayRow > 0:
		l.doubt("day_first", "Day first", figure.Note, "In “%s” the day comes first, as row %d (%s) shows: 3/4 is 3 April.", c.header, shown.dayRow, clip(shown.dayTyped))
	case s.open > 0 && !stated && c.slashes == monthFirst && shown.monthRow > 0:
		l.doubt("month_first", "Month first", figure.Note, "In “%s” the month comes first, as row %d (%s) shows: 3/4 is 4 March.", c.header, shown.monthRow, clip(shown.monthTyped))
	}
	if s.serials > 0 {
		l.doubt("counted_days", "Days as numbers", figure.Note, "“%s” holds days as a spreadsheet counts them, from 1900. If they come out four years too early, that spreadsheet counts from 1904: show the column as dates and save it again.", c.header)
	}
}

func (l *layout) doubt(code, title string, w figure.Weight, format string, args ...any) {
	l.doubts = append(l.doubts, figure.Caution{Code: code, Title: title, Text: fmt.Sprintf(format, args...), Weight: w})
}

// settleMarks sends marks that do not tell the jars apart to the note, where
// numbers do.
func (l *layout) settleMarks(all []survey) {
	numbered := false
	for i := range l.columns {
		numbered = numbered || l.columns[i].means == isJar
	}
	for i := range l.columns {
		if c := &l.columns[i]; numbered && all[i].repeats {
			c.means, c.whyNoted = forNote, "several jars bear the same"
		}
	}
}

// settlePicks decides between weights, days of picking and numbers of flushes.
func (l *layout) settlePicks(all []survey) {
	weighed := false
	for i := range l.columns {
		c, s := &l.columns[i], &all[i]
		if c.means == isPick {
			c.means = isPickDay
			if s.masses > s.days || s.filled == 0 && c.flush > 0 {
				c.means = isWeight
			}
		}
		weighed = weighed || c.means == isWeight
	}
	for i := range l.columns {
		c, s := &l.columns[i], &all[i]
		switch {
		case c.means == isFlush && s.days > s.masses:
			c.means = isPickDay
		case c.means == isFlush && !weighed:
			c.means = isWeight
		case c.means == isFlush && s.flushes < s.filled:
			c.means, c.whyNoted = forNote, "another column holds the weight"
		case c.means == isAnyDay && i > 0 && l.columns[i-1].means == isWeight:
			c.means, c.flush, c.total = isPickDay, l.columns[i-1].flush, l.columns[i-1].total
		case c.means == isAnyDay:
			c.means, c.whyNoted = forNote, "it does not say the day of what"
		}
	}
}

// settleNumbers keeps one weight column for each flush.
func (l *layout) settleNumbers(all []survey) {
	numbered, single := false, false
	for i := range l.columns {
		c := &l.columns[i]
		numbered = numbered || c.means == isWeight && c.flush > 0
		single = single || c.means == isWeight && !c.total
	}
	for i := range l.columns {
		c := &l.columns[i]
		switch {
		case c.means == isFlush && numbered:
			c.means, c.whyNoted = forNote, "the weights say of which flush they are"
		case c.means != isWeight || c.flush > 0:
		case numbered, c.total && single:
			c.means, c.whyNoted = forNote, "the weights of the flushes stand in other columns"
		case c.total && all[i].filled > 0:
			l.doubt("totals_as_one", "All flushes together", figure.Care, "“%s” holds one weight for all flushes: it is kept as one pick of each jar.", c.header)
		}
	}
}

// settleRepeats sends a second column of the same kind to the note.
func (l *layout) settleRepeats() {
	type kind struct {
		means meaning
		stage lab.Stage
		flush int
	}
	first := make(map[kind]string)
	var noted []string
	for i := range l.columns {
		c := &l.columns[i]
		k := kind{c.means, c.stage, c.flush}
		if before, seen := first[k]; seen && c.means != isNote && c.means != isReason && c.means != isLost && c.means != forNote {
			c.means, c.whyNoted = forNote, "“"+before+"” holds that already"
		}
		first[k] = c.header
		if c.means == forNote && !c.empty {
			noted = append(noted, "“"+clip(c.header)+"”")
		}
	}
	if len(noted) > 0 {
		l.doubt("columns_to_note", "Columns kept as notes", figure.Note, "Kept in the note of each jar, with %s heading: %s. If one of them matters, head it with a word that is known.", itsOr(len(noted)), strings.Join(noted[:min(len(noted), 12)], ", ")+more(len(noted)-12))
	}
}

func itsOr(n int) string {
	if n == 1 {
		return "its"
	}
	return "their"
}

func more(n int) string {
	if n <= 0 {
		return ""
	}
	return fmt.Sprintf(" and %d more", n)
}
