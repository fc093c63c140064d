package ingest

import (
	"math"
	"strconv"
	"strings"
	"time"

	"pinset/internal/lab"
)

// dayKind says in which way a day is written.
type dayKind int

const (
	noDay        dayKind = iota
	fullDay              // year, month and day are sure
	twoOrders            // a/b/year: which of a and b is the month is open
	instant              // with its own zone
	serialDay            // days counted by a spreadsheet
	afterDay             // "day 12": days after inoculation
	bareNumber           // a small number alone
	noYear               // day and month only
	noDayOfMonth         // month and year only
)

// written is a day as written, before it is known what it means.
type written struct {
	kind       dayKind
	year       int // 0 not written; two digits stand for 20yy
	month, day int
	first, mid int     // of twoOrders, as written
	dotted     bool    // of twoOrders: 4.3.2026, which has the day first
	shortYear  bool    // the year has two digits
	clock      float64 // of the day, in seconds; −1 if none is written
	at         time.Time
	number     float64
}

// sure reports whether w is a day, beyond a mere number.
func (w written) sure() bool {
	return w.kind == fullDay || w.kind == twoOrders || w.kind == instant || w.kind == afterDay
}

// dayOrder says which comes first in days such as 3/4/2026.
type dayOrder int

const (
	orderOpen dayOrder = iota
	dayFirst
	monthFirst
	orderMixed // rows of the column contradict each other
)

// evidence returns the order that w alone proves, orderOpen if it fits both.
func (w written) evidence() dayOrder {
	switch {
	case w.kind != twoOrders:
		return orderOpen
	case w.first > 12 && w.first <= 31 && w.mid >= 1 && w.mid <= 12:
		return dayFirst
	case w.mid > 12 && w.mid <= 31 && w.first >= 1 && w.first <= 12:
		return monthFirst
	}
	return orderOpen
}

// The first and last numbers that a spreadsheet writes for days that are
// read: 1 January 1990, and the end of 2199.
//
// The count is that of the 1900 date system of ISO/IEC 29500-1, 18.17.4, from
// memory: 1 is 1 January 1900, and a 29 February 1900 that never was is
// counted, so that from March 1900 on the count begins at 30 December 1899.
const (
	firstSerial = 32874
	lastSerial  = 109574
)

func fromSerial(days int) time.Time {
	return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, days)
}

// readDay reads a day with or without a time of the day. What is none has
// the kind noDay.
func readDay(s string) written {
	if len(s) >= len("2006-01-02T15:04:05Z") {
		if t, err := time.Parse(time.RFC3339, s); err == nil {
			return written{kind: instant, at: t, clock: -1}
		}
	}
	words, clock, ok := dayWords(s)
	if !ok || len(words) == 0 || len(words) > 4 {
		return written{}
	}
	w := readDayWords(words)
	if w.kind == noDay {
		return written{}
	}
	if clock >= 0 && w.kind != fullDay && w.kind != twoOrders && w.kind != noYear {
		return written{}
	}
	if w.kind != serialDay || clock >= 0 {
		w.clock = clock
	}
	return w
}

// dayWords takes s apart: words in lower case, without names of weekdays, and
// the time of the day in seconds, −1 if none is written.
func dayWords(s string) (words []string, clock float64, ok bool) {
	if len(s) > 60 {
		return nil, -1, false
	}
	s = strings.ToLower(s)
	if len(s) > 10 && s[10] == 't' && s[4] == '-' { // 2026-03-04T14:30
		s = s[:10] + " " + s[11:]
	}
	clock = -1
	named := strings.ContainsAny(s, "aeiou") // a comma may part the words then, and is a decimal sign otherwise
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\u00a0' || r == '\t' || r == ',' && named }) {
		switch {
		case strings.Contains(w, ":"):
			if clock >= 0 {
				return nil, -1, false
			}
			if clock, ok = readClock(w); !ok {
				return nil, -1, false
			}
		case w == "am" || w == "pm":
			if clock, ok = halfDay(clock, w); !ok {
				return nil, -1, false
			}
		case !weekdays[strings.TrimSuffix(w, ".")]:
			words = append(words, w)
		}
	}
	return words, clock, true
}

var weekdays = map[string]bool{
	"mon": true, "tue": true, "tues": true, "wed": true, "thu": true, "thur": true, "thurs": true, "fri": true, "sat": true, "sun": true,
	"monday": true, "tuesday": true, "wednesday": true, "thursday": true, "friday": true, "saturday": true, "sunday": true,
}

// readClock reads "14:30", "14:30:05" and "2:30pm" into seconds of the day.
func readClock(s string) (float64, bool) {
	for _, half := range []string{"am", "pm"} {
		if cut, ok := strings.CutSuffix(s, half); ok {
			c, ok := readClock(cut)
			if !ok {
				return -1, false
			}
			return halfDay(c, half)
		}
	}
	parts := strings.Split(s, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return -1, false
	}
	total := 0.0
	for i, p := range parts {
		if i == 2 {
			p, _, _ = strings.Cut(p, ".") // parts of a second are not kept
		}
		n, ok := digits(p, 2)
		if !ok || n > 59 || i == 0 && n > 23 || i > 0 && len(p) != 2 {
			return -1, false
		}
		total = total*60 + float64(n)
	}
	if len(parts) == 2 {
		total *= 60
	}
	return total, true
}

// halfDay turns a clock of twelve hours into one of 24.
func halfDay(clock float64, half string) (float64, bool) {
	const hour, noon = 3600, 12 * 3600
	if clock < hour || clock >= noon+hour {
		return -1, false
	}
	clock = math.Mod(clock, noon)
	if half == "pm" {
		clock += noon
	}
	return clock, true
}

// digits reads s if it is one to most digits and nothing else.
func digits(s string, most int) (int, bool) {
	if s == "" || len(s) > most {
		return 0, false
	}
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, true
}

func readDayWords(words []string) written {
	if w, ok := readAfter(words); ok {
		return w
	}
	if len(words) == 1 {
		if w := readNumber(words[0]); w.kind != noDay {
			return w
		}
		if w := readSeparated(words[0]); w.kind != noDay {
			return w
		}
		words = strings.FieldsFunc(words[0], func(r rune) bool { return r == '-' || r == '/' || r == '.' })
	}
	return readNamedMonth(words)
}

// readAfter reads "day 12", "d12", "12 d", "12 days", "+12".
func readAfter(words []string) (written, bool) {
	s := strings.Join(words, "")
	number := s
	for _, front := range []string{"day", "d", "+"} {
		if cut, ok := strings.CutPrefix(s, front); ok {
			number = cut
			break
		}
	}
	for _, back := range []string{"days", "day", "d"} {
		if cut, ok := strings.CutSuffix(s, back); ok {
			number = cut
			break
		}
	}
	n, ok := digits(number, 4)
	if !ok || number == s {
		return written{}, false
	}
	return written{kind: afterDay, number: float64(n)}, true
}

// readNumber reads what a spreadsheet writes for a day, 20260304, or a bare
// number, which means nothing without its column.
func readNumber(s string) written {
	if n, ok := digits(s, 8); ok && len(s) == 8 {
		return written{kind: fullDay, year: n / 10000, month: n / 100 % 100, day: n % 100}
	}
	whole, part, _ := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	n, ok := digits(whole, 6)
	if !ok {
		return written{}
	}
	if n < firstSerial || n > lastSerial {
		if part == "" && whole == s {
			return written{kind: bareNumber, number: float64(n)}
		}
		return written{}
	}
	w := written{kind: serialDay, number: float64(n), clock: -1}
	if part != "" {
		if _, ok := digits(part, 15); !ok {
			return written{}
		}
		f, _ := strconv.ParseFloat("0."+part, 64)
		if s := math.Round(f * 86400); s > 0 && s < 86400 {
			w.clock = s
		}
	}
	return w
}

// readSeparated reads 2026-03-04, 2026/3/4, 4.3.2026, 04/03/26 and 3/4.
func readSeparated(s string) written {
	at := strings.IndexAny(s, "-/.")
	if at < 0 {
		return written{}
	}
	sep := s[at : at+1]
	parts := strings.Split(strings.TrimSuffix(s, "."), sep)
	if len(parts) > 3 {
		return written{}
	}
	var n [3]int
	for i, p := range parts {
		var ok bool
		if n[i], ok = digits(p, 4); !ok {
			return written{}
		}
	}
	switch {
	case len(parts) == 2 && len(parts[0]) <= 2 && len(parts[1]) <= 2:
		return written{kind: noYear}
	case len(parts) == 2 && (len(parts[0]) == 4 || len(parts[1]) == 4):
		return written{kind: noDayOfMonth}
	case len(parts) != 3 || len(parts[1]) > 2:
		return written{}
	case len(parts[0]) == 4 && len(parts[2]) <= 2:
		return written{kind: fullDay, year: n[0], month: n[1], day: n[2]}
	case len(parts[0]) > 2 || len(parts[2]) != 2 && len(parts[2]) != 4:
		return written{}
	}
	w := written{kind: twoOrders, first: n[0], mid: n[1], year: n[2], dotted: sep == ".", shortYear: len(parts[2]) == 2}
	if w.shortYear {
		w.year += 2000
	}
	return w
}

// readNamedMonth reads 4 Mar 2026, Mar 4 2026, 2026 Mar 4, and 4-Mar-26.
func readNamedMonth(words []string) written {
	w := written{}
	var numbers []string
	for _, word := range words {
		if m := monthNamed(word); m > 0 && w.month == 0 {
			w.month = m
			continue
		}
		numbers = append(numbers, strings.TrimSuffix(word, "."))
	}
	if w.month == 0 || len(numbers) > 2 || len(numbers) == 0 {
		return written{}
	}
	if len(numbers) == 1 {
		if n, ok := digits(numbers[0], 4); ok && len(numbers[0]) == 4 && n > 0 {
			w.kind = noDayOfMonth
		} else if _, ok := dayOfMonth(numbers[0]); ok {
			w.kind = noYear
		}
		return w
	}
	day, year := numbers[0], numbers[1]
	if len(day) == 4 && !strings.ContainsAny(day, "stndrh") {
		day, year = year, day
	}
	var okDay, okYear bool
	w.day, okDay = dayOfMonth(day)
	w.year, okYear = digits(strings.TrimPrefix(year, "'"), 4)
	switch len(strings.TrimPrefix(year, "'")) {
	case 2:
		w.year, w.shortYear = w.year+2000, true
	case 4:
	default:
		okYear = false
	}
	if okDay && okYear {
		w.kind = fullDay
	}
	return w
}

// dayOfMonth reads "4", "04", "4th".
func dayOfMonth(s string) (int, bool) {
	for _, ending := range []string{"st", "nd", "rd", "th"} {
		s = strings.TrimSuffix(s, ending)
	}
	return digits(s, 2)
}

var monthNames = []string{"january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"}

// monthNamed reads the name of a month or its first three letters or more.
func monthNamed(s string) int {
	s = strings.TrimSuffix(s, ".")
	if len(s) < 3 {
		return 0
	}
	for i, name := range monthNames {
		if strings.HasPrefix(name, s) {
			return i + 1
		}
	}
	return 0
}

// when turns w into a time, or says what is wrong with it. Typed is w as
// written; inoculated counts for "day 12" and may be unknown.
func (o Options) when(w written, typed string, order dayOrder, inoculated lab.When) (lab.When, *fault) {
	switch w.kind {
	case instant:
		return o.bounded(lab.At(w.at))
	case serialDay:
		return o.bounded(o.onDay(fromSerial(int(w.number)), w.clock))
	case afterDay:
		return o.after(int(w.number), typed, inoculated)
	case fullDay:
		return o.calendar(w, typed)
	case twoOrders:
		first, f := w.order(order, typed)
		if f != nil {
			return lab.When{}, f
		}
		w.day, w.month = w.first, w.mid
		if first == monthFirst {
			w.day, w.month = w.mid, w.first
		}
		return o.calendar(w, typed)
	}
	return lab.When{}, unreadDay(w, typed)
}

// order returns which comes first in w, given what its column shows.
func (w written) order(column dayOrder, typed string) (dayOrder, *fault) {
	if own := w.evidence(); own != orderOpen {
		return own, nil
	}
	switch {
	case w.first == w.mid, min(w.first, w.mid) < 1, max(w.first, w.mid) > 12:
		return dayFirst, nil // one day either way, or none
	case column == dayFirst || column == monthFirst:
		return column, nil
	case column == orderOpen && w.dotted:
		return dayFirst, nil
	}
	a := time.Date(w.year, time.Month(w.mid), w.first, 0, 0, 0, 0, time.UTC).Format("2 Jan 2006")
	b := time.Date(w.year, time.Month(w.first), w.mid, 0, 0, 0, 0, time.UTC).Format("2 Jan 2006")
	what := "“" + typed + "” is " + a + " or " + b + ", and no other row of its column shows which"
	if column == orderMixed {
		what = "“" + typed + "” is " + a + " or " + b + ": in its column some days come first and some months"
	}
	return orderOpen, &fault{what, "say whether the day or the month comes first, or write it like 4 Mar 2026"}
}

func unreadDay(w written, typed string) *fault {
	switch w.kind {
	case noYear:
		return &fault{"“" + clip(typed) + "” has no year", "write the year too, like 2026-03-04 or 4 Mar 2026"}
	case noDayOfMonth:
		return &fault{"“" + clip(typed) + "” has no day of the month", "write the day too, like 4 Mar 2026, or leave the cell blank"}
	case bareNumber:
		return &fault{"“" + clip(typed) + "” is a number and not a day", "write day " + typed + " if it counts from inoculation, or a day such as 2026-03-04"}
	}
	return &fault{"“" + clip(typed) + "” is not a day that can be read", "write it like 2026-03-04, 4 Mar 2026 or day 12, or leave the cell blank"}
}

// after returns the day that is n days after inoculation.
func (o Options) after(n int, typed string, inoculated lab.When) (lab.When, *fault) {
	day, ok := inoculated.Day(o.zone())
	if !ok {
		return lab.When{}, &fault{"“" + clip(typed) + "” counts from inoculation, and this row does not say when that was", "write the day of inoculation, or a day such as 2026-03-04"}
	}
	return o.bounded(lab.OnDay(day.AddDate(0, 0, n)))
}

// calendar returns w, whose day and month are settled.
func (o Options) calendar(w written, typed string) (lab.When, *fault) {
	t := time.Date(w.year, time.Month(w.month), w.day, 0, 0, 0, 0, time.UTC)
	if t.Year() != w.year || int(t.Month()) != w.month || t.Day() != w.day {
		return lab.When{}, &fault{"“" + clip(typed) + "” is no day of the calendar", "check the day and the month"}
	}
	if w.shortYear && !o.Now.IsZero() && w.year < o.Now.Year()-10 {
		return lab.When{}, &fault{"“" + clip(typed) + "” would be " + t.Format("2 Jan 2006") + ", which is long ago", "write the year with four digits"}
	}
	return o.bounded(o.onDay(t, w.clock))
}

// onDay returns the day of t, or the time on it if clock is not negative.
// Midnight is what spreadsheets add to a day without a time.
func (o Options) onDay(t time.Time, clock float64) lab.When {
	if clock <= 0 {
		return lab.OnDay(t)
	}
	s := int(clock)
	return lab.At(time.Date(t.Year(), t.Month(), t.Day(), s/3600, s/60%60, s%60, 0, o.zone()))
}

// bounded refuses days before 1990 and more than one day after now.
func (o Options) bounded(w lab.When) (lab.When, *fault) {
	if w.Time.Year() < 1990 {
		return lab.When{}, &fault{w.Show(o.zone()) + " is before 1990", "check the year"}
	}
	if o.Now.IsZero() {
		return w, nil
	}
	late := w.Time.After(o.Now.Add(24 * time.Hour))
	if w.Exactness == lab.ThatDay {
		late = w.Time.After(lab.OnDay(o.Now.In(o.zone())).Time.AddDate(0, 0, 1))
	}
	if late {
		return lab.When{}, &fault{w.Show(o.zone()) + " has not come yet", "check the year, and which of day and month comes first"}
	}
	return w, nil
}
