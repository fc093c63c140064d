package ingest

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// tallHead reads cells as the heading of a file with one reading in a row:
// the name of a sensor, its value, the time.
func tallHead(cells []string) (columns, bool) {
	c := columns{head: cells, date: -1, clock: -1, temp: -1, series: -1}
	for i, cell := range cells {
		switch {
		case timeHead.MatchString(cell) && c.date < 0:
			c.date = i
		case valueHead.MatchString(cell) && c.temp < 0:
			c.temp = i
		case nameHead.MatchString(cell) && c.series < 0:
			c.series = i
		}
	}
	c.temps = []int{c.temp}
	return c, c.date >= 0 && c.temp >= 0 && c.series >= 0
}

// tagged is a line of one channel whose value is glued to its tag:
// "02 Mar 2026 07:51:38 +0000,AA,TEMP18.1".
var tagged = regexp.MustCompile(`^(.*\d{1,2}:\d\d.*?)[,;\t]((?:[^,;\t]*[,;\t])?)\s*([A-Za-z_]*[A-Za-z_])\s*([-+]?\d+(?:\.\d+)?)\s*$`)

// takeTags reports whether the lines are tagged values, and reads them so.
func (l *loggerReader) takeTags(lines []string) bool {
	var tags []string
	for _, line := range lines[:min(len(lines), 20*headLines)] {
		if m := tagged.FindStringSubmatch(line); m != nil && !slices.Contains(tags, m[3]) {
			tags = append(tags, m[3])
		}
	}
	if len(tags) == 0 || len(tags) > headLines {
		return false
	}
	slices.Sort(tags)
	l.columns = columns{head: []string{"time", "series", "value"}, date: 0, clock: -1, series: 1, temp: 2, temps: []int{2}}
	l.split, l.tagged = splitTag, true
	l.file.Source = HeadingKey("lines of " + strings.Join(tags, ", "))
	return true
}

// splitTag splits a tagged line into time, series and value.
func splitTag(line string) []string {
	m := tagged.FindStringSubmatch(line)
	if m == nil {
		return nil
	}
	station := strings.Trim(m[2], ",;\t ")
	return []string{m[1], strings.TrimSpace(station + " " + m[3]), m[4]}
}

// Names that speak of a temperature, and names that speak of something else.
var (
	warmName  = regexp.MustCompile(`(?i)temp|tmp|thermo|°|celsius|fahrenheit|_[cf]$`)
	otherName = regexp.MustCompile(`(?i)(^|[\W_\d])(rh\w*|hum\w*|feucht\w*|moist\w*|co2|ppm|batt\w*|volt\w*|press\w*|druck|lux|light\w*|par|voc|o2|ph|dew\w*|rssi|signal|link\w*|weight|door|motion|fan|vpd)($|[\W_\d])`)
)

// found is a series that stands in a file.
type found struct {
	name string
	rows int
}

// settleSeries finds which temperatures are meant where a file holds several.
func (l *loggerReader) settleSeries(lines []string) error {
	if l.series >= 0 {
		return l.settleNamed(lines)
	}
	if len(l.temps) < 2 {
		return nil
	}
	var names []string
	for _, i := range l.temps {
		names = append(names, strings.TrimSpace(l.head[i]))
		if HeadingKey(l.head[i]) == HeadingKey(l.o.Series) {
			l.temp = i
			return nil
		}
	}
	return l.askSeries(names)
}

// settleNamed finds it where the name of a series stands in each row.
func (l *loggerReader) settleNamed(lines []string) error {
	all := l.seriesOf(lines)
	var warm, open []string
	for _, s := range all {
		switch {
		case HeadingKey(s.name) == HeadingKey(l.o.Series):
			l.of = s.name
			return nil
		case warmName.MatchString(s.name):
			warm = append(warm, s.name)
		case !otherName.MatchString(s.name):
			open = append(open, s.name)
		}
	}
	switch choice := append(warm, open...); {
	case len(all) == 0:
		return lab.Invalidf("file", "export the hours of this cook", "no line follows the heading")
	case len(all) == 1:
		l.of = all[0].name
	case len(warm) == 1 && len(open) == 0 && l.o.Series == "":
		l.of = warm[0]
	case len(choice) == 0:
		return lab.Invalidf("file", "export the sensor that lay in the cook", "no series of the file is a temperature: it holds %s", figure.Clip(listed(all), 200))
	default:
		return l.askSeries(choice)
	}
	return nil
}

// seriesOf counts the rows of each series, in the order of the file.
func (l *loggerReader) seriesOf(lines []string) []found {
	var out []found
	at := make(map[string]int)
	for _, line := range lines {
		cells := l.split(line)
		if len(cells) != len(l.head) || strings.HasPrefix(line, "#") {
			continue
		}
		name := strings.TrimSpace(cells[l.series])
		i, seen := at[name]
		if !seen {
			i, at[name], out = len(out), len(out), append(out, found{name: name})
		}
		out[i].rows++
	}
	return out
}

func listed(all []found) string {
	var out []string
	for _, s := range all {
		out = append(out, s.name)
	}
	return strings.Join(out, ", ")
}

func (l *loggerReader) askSeries(names []string) error {
	if l.o.Series != "" {
		return lab.Invalidf("series", "write one of "+figure.Clip(strings.Join(names, ", "), 200), "the file holds no %q", clip(l.o.Series))
	}
	where := l.o.Place
	if where == "" {
		where = "cook"
	}
	return lab.Invalidf("series", "write one of "+figure.Clip(strings.Join(names, ", "), 200), "the file holds %d series that can be meant; which of them lay in the %s is not said", len(names), where)
}

// noteSeries says which series was taken, and which was not.
func (l *loggerReader) noteSeries() {
	if len(l.others) == 0 {
		return
	}
	var names []string
	rows := 0
	for name, n := range l.others {
		names, rows = append(names, name), rows+n
	}
	slices.Sort(names)
	l.file.Cautions = append(l.file.Cautions, figure.Caution{
		Code: "other_series", Title: "One series of several", Weight: figure.Note,
		Text: fmt.Sprintf("%s is taken. Left out as other series: %s, %d lines.", l.of, figure.Clip(strings.Join(names, ", "), 200), rows),
	})
}
