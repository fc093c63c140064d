package ingest

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// celsius reads a temperature in the unit of the file.
func (l *loggerReader) celsius(cell string) (float64, error) {
	s := strings.TrimSpace(cell)
	if s == "" {
		return 0, fmt.Errorf("no temperature: an event of the logger, or a gap")
	}
	if l.comma != ',' {
		s = strings.Replace(s, ",", ".", 1)
	}
	figures := strings.TrimSpace(strings.TrimRight(s, "°CF℃℉ "))
	v, err := strconv.ParseFloat(figures, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is no temperature", clip(s))
	}
	unit := l.unit
	switch said := s[len(figures):]; { // what stands behind a value goes before the heading
	case strings.ContainsAny(said, "F℉"):
		unit = "F"
	case strings.ContainsAny(said, "C℃"):
		unit = "C"
	}
	if unit == "F" {
		v = (v - 32) / 1.8
	}
	if !(v >= -20 && v <= 150) {
		return 0, fmt.Errorf("%s °%s is outside of −20 to 150 °C: a fault of the probe, or the wrong unit", clip(figures), unit)
	}
	return v, nil
}

// loggerTimes are the layouts with the year first. Fractions of a second are
// read with each.
var loggerTimes = []string{
	"2006-01-02T15:04:05Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04",
	"2006-01-02 15:04:05 -0700", "2006-01-02T15:04:05-0700", "2 Jan 2006 15:04:05 -0700", "2 Jan 2006 15:04:05", "2 Jan 2006 15:04",
	"2006/1/2 15:04:05", "2006/1/2 15:04", "2.1.2006 15:04:05", "2.1.2006 15:04",
}

var spaces = regexp.MustCompile(`\s+`)

// time reads the time of a line.
func (l *loggerReader) time(p *part, cells []string) (time.Time, error) {
	if l.date < 0 {
		return p.at, nil
	}
	s := cells[l.date]
	if l.clock >= 0 {
		s += " " + cells[l.clock]
	}
	s = spaces.ReplaceAllString(strings.TrimSpace(s), " ")
	if n, err := strconv.ParseFloat(s, 64); err == nil {
		return l.counted(p, n)
	}
	return l.parseTime(s)
}

// parseTime reads a date with a clock behind it.
func (l *loggerReader) parseTime(s string) (time.Time, error) {
	for _, form := range loggerTimes {
		if t, err := time.ParseInLocation(form, s, l.zone); err == nil {
			return t, nil
		}
	}
	if m := slashDay.FindStringSubmatch(s); m != nil {
		if t, err := l.slashTime(m, s[strings.Index(s, m[0])+len(m[0]):]); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is no time that is known here", clip(s))
}

// Seconds since 1970 are told from all other counts by their size: those from
// 2001 to 2100.
const firstEpoch, lastEpoch = 1e9, 4.1e9

// counted reads a time that is a number: seconds or milliseconds since 1970,
// or a count from the start that the grower gave.
func (l *loggerReader) counted(p *part, n float64) (time.Time, error) {
	switch {
	case n >= firstEpoch && n <= lastEpoch:
		return time.UnixMilli(int64(n * 1000)), nil
	case n >= 1000*firstEpoch && n <= 1000*lastEpoch:
		return time.UnixMilli(int64(n)), nil
	case !(n >= 0 && n <= 1e7):
		return time.Time{}, fmt.Errorf("%g is no count from a start", n)
	}
	p.counted = true
	unit := time.Minute
	switch head := strings.ToLower(l.head[l.date]); {
	case strings.Contains(head, "sec"), strings.Contains(head, "[s]"), strings.Contains(head, "(s)"):
		unit = time.Second
	case strings.Contains(head, "hour"), strings.Contains(head, "(h)"):
		unit = time.Hour
	}
	start, given := l.startOf()
	switch {
	case !given:
		return time.Time{}, fmt.Errorf("%g counts from a start that the file does not give", n)
	case start.IsZero():
		return time.Time{}, fmt.Errorf("this log is left out, as you said")
	}
	return start.Add(time.Duration(n * float64(unit))), nil
}

// slashTime reads a day such as 3/2/2026 with the clock behind it.
func (l *loggerReader) slashTime(day []string, clock string) (time.Time, error) {
	month, dom := day[1], day[2]
	if l.dayFirst {
		month, dom = dom, month
	}
	year := day[3]
	if len(year) == 2 {
		year = "20" + year
	}
	s := year + "/" + month + "/" + dom + " " + strings.ToUpper(strings.TrimSpace(clock))
	for _, form := range []string{"2006/1/2 3:04:05 PM", "2006/1/2 3:04 PM", "2006/1/2 15:04:05", "2006/1/2 15:04"} {
		if t, err := time.ParseInLocation(form, s, l.zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is no time", clip(s))
}
