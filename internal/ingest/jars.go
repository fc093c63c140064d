package ingest

import (
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// ReadJars reads a grower's own sheet of jars, one row for each jar, under
// headings in words of the trade; doc/guide/import.md lists them. Name is
// what the sheet is called in messages.
//
// UTF-8 and, with a byte order mark, UTF-16 are read; cells parted by commas,
// semicolons or tabs; numbers with a decimal point or comma; and workbooks
// (.xlsx), of which the first sheet with such headings is taken. At most 64 MB
// are read, 1 000 000 rows, 500 columns and 10 000 bytes in a cell.
//
// A row with a fault is refused with every fault in it and does not keep the
// others from being read. The error is an Invalid Problem if the file as a
// whole can not be read as a sheet of jars, or that of src.
func ReadJars(src io.Reader, name string, o Options) (app.JarSheet, error) {
	l, doubts, err := readLayout(src, o.Headings)
	if err != nil {
		return app.JarSheet{}, err
	}
	l.readUnits()
	all, err := l.surveyed()
	if err != nil {
		return app.JarSheet{}, err
	}
	l.settle(all, o)
	j := newJarReader(l, all, o)
	if err := j.check(); err != nil {
		return app.JarSheet{}, err
	}
	j.sheet.Source = name
	for j.next() {
		j.readRow()
	}
	if len(j.sheet.Rows)+len(j.sheet.Refused) == 0 {
		return app.JarSheet{}, lab.Invalidf("file", "write one row for each jar", "below the header in row %d there are no jars", l.header)
	}
	j.sheet.Doubts = append(append(doubts, l.doubts...), j.tallied()...)
	return j.sheet, nil
}

// jarReader turns the rows of a sheet into jars.
type jarReader struct {
	*layout
	options    Options
	commas     bool // numbers have a decimal comma
	inoculated int  // column of the day inoculated, −1 if there is none
	sheet      app.JarSheet
	seen       map[string]int // row in which a jar was named first
	tallies    []tally
	batches    filling
	arms       filling
}

// filling counts rows that say something and rows that do not.
type filling struct{ said, blank int }

func (f *filling) add(s string) {
	if s == "" {
		f.blank++
	} else {
		f.said++
	}
}

func newJarReader(l *layout, all []survey, o Options) *jarReader {
	j := &jarReader{layout: l, options: o, inoculated: -1, seen: make(map[string]int)}
	for i := range l.columns {
		c := &l.columns[i]
		if c.means == isInoculated {
			j.inoculated = i
		}
		j.commas = j.commas || l.sep == ';' && all[i].commas && c.means != forNote && c.means != isNote
		if c.empty {
			continue
		}
		j.sheet.Columns = append(j.sheet.Columns, app.SheetColumn{Header: c.header, Means: c.says(), As: c.as})
	}
	return j
}

// check returns a Problem if no column tells one jar from another.
func (j *jarReader) check() error {
	var headers []string
	for i := range j.columns {
		if j.columns[i].names() {
			return nil
		}
		if !j.columns[i].empty {
			headers = append(headers, clip(j.columns[i].header))
		}
	}
	return lab.Invalidf("file", "head the column that numbers or names the jars with “jar”",
		"no column names the jars: row %d is headed %s", j.header, strings.Join(headers[:min(len(headers), 12)], ", ")+more(len(headers)-12))
}

// readRow reads the row that records stand at.
func (j *jarReader) readRow() {
	switch {
	case j.blank():
		return
	case j.fault != nil:
		j.refuse(app.RefusedRow{Row: j.row, What: j.fault.what, Mend: j.fault.mend})
		return
	case j.repeatsHeader():
		j.tally(doubt{"header_again", ""}, j.row)
		return
	}
	if i := j.summary(); i >= 0 {
		j.refuse(app.RefusedRow{
			Row: j.row, Column: j.columns[i].header, Value: clip(strings.TrimSpace(j.fields[i])),
			What: "this row sums up others and is no jar", Mend: "delete it, or go on without it: sums are computed anew",
		})
		return
	}
	d := &draft{SheetRow: app.SheetRow{Row: j.row}}
	j.readCells(d)
	j.finish(d)
	if len(d.faults) > 0 {
		j.sheet.Refused = append(j.sheet.Refused, d.faults...)
		return
	}
	for _, x := range d.doubts {
		j.tally(x, d.Row)
	}
	j.batches.add(d.Batch)
	if !d.Blank {
		j.arms.add(d.Arm)
	}
	j.sheet.Rows = append(j.sheet.Rows, d.SheetRow)
}

func (j *jarReader) refuse(r app.RefusedRow) { j.sheet.Refused = append(j.sheet.Refused, r) }

// repeatsHeader reports whether the row is the header once more, as in sheets
// that were pasted together.
func (j *jarReader) repeatsHeader() bool {
	if len(j.fields) < len(j.columns) {
		return false
	}
	for i := range j.columns {
		c, head := &j.columns[i], figure.Clip(strings.Join(strings.Fields(j.fields[i]), " "), 120)
		if !(c.unnamed && head == "") && !strings.EqualFold(head, c.header) {
			return false
		}
	}
	return true
}

// summary returns the column of the cell that marks the row as a summary, −1
// if it is a jar: the first cell that says something, or the one that should
// name the jar.
func (j *jarReader) summary() int {
	first := true
	for i, f := range j.fields[:min(len(j.fields), len(j.columns))] {
		cell := strings.TrimSpace(f)
		if cell == "" {
			continue
		}
		if (first || j.columns[i].names()) && isSummary(cell) && j.columns[i].means != isNote {
			return i
		}
		first = false
	}
	return -1
}

// readCells reads the cells of a row into d: the day inoculated first,
// because other days may count from it.
func (j *jarReader) readCells(d *draft) {
	if i := j.inoculated; i >= 0 && i < len(j.fields) {
		j.readCell(d, &j.columns[i], strings.TrimSpace(j.fields[i]))
		d.unsureStart = len(d.faults) > 0
	}
	for i, f := range j.fields {
		cell := strings.TrimSpace(f)
		switch {
		case i == j.inoculated || cell == "":
		case i >= len(j.columns):
			d.fault("", cell, fault{"this row has more cells than the header has headings: " + number(len(j.fields)) + " and " + number(len(j.columns)), j.whyWider()})
			return
		default:
			j.readCell(d, &j.columns[i], cell)
		}
	}
}

func (j *jarReader) whyWider() string {
	if j.sep == ',' {
		return "give the column a heading; or if numbers have a decimal comma, save the sheet with semicolons"
	}
	return "give the column a heading, or delete what stands there"
}

// tally counts rows that share a doubt.
type tally struct {
	doubt
	rows []int // the first few
	all  int
}

func (j *jarReader) tally(d doubt, row int) {
	for i := range j.tallies {
		if t := &j.tallies[i]; t.doubt == d {
			if t.all++; len(t.rows) < 5 {
				t.rows = append(t.rows, row)
			}
			return
		}
	}
	j.tallies = append(j.tallies, tally{d, []int{row}, 1})
}

// tallyTexts says the doubts that are tallied: after "Rows 3, 5–7", or with
// the column in the place of %s.
var tallyTexts = map[string]struct {
	title, text string
	weight      figure.Weight
}{
	"header_again":       {"Header again", "%s: the header once more, passed over.", figure.Note},
	"no_unit":            {"No unit", "“%s” has numbers without a unit: they are read as grams.", figure.Care},
	"amount_no_unit":     {"No unit", "“%s” has amounts without a unit: they are kept as written.", figure.Note},
	"layer_words":        {"Layers in words", "“%s” names layers in words: the bottom is 1, the top is the highest.", figure.Note},
	"reason_not_said":    {"Lost without a reason", "%s: lost, and why is not written. The reason is kept as “not said”.", figure.Care},
	"lost_by_reason":     {"Lost by the reason alone", "%s: a reason is written and no day or yes. Read as lost.", figure.Care},
	"zero_is_barren":     {"Zero weights", "%s: 0 g and nothing else, which is a real zero: the jar bore no fruit. Leave the cell blank where a jar was not weighed.", figure.Care},
	"picked_not_weighed": {"Picked, not weighed", "%s: picked, and no weight is written. It is unknown and does not count as zero; the jar is kept as spent.", figure.Care},
	"blank_by_arm":       {"Blanks", "%s: the arm says blank, so these are uninoculated jars of their cook and no arm of the trial.", figure.Note},
}

// tallied returns the doubts that were tallied, in the order of their first rows.
func (j *jarReader) tallied() []figure.Caution {
	var out []figure.Caution
	for _, t := range j.tallies {
		says := tallyTexts[t.code]
		subject := t.column
		if subject == "" {
			subject = rowsNamed(t.rows, t.all)
		}
		out = append(out, figure.Caution{Code: t.code, Title: says.title, Text: strings.Replace(says.text, "%s", subject, 1), Weight: says.weight})
	}
	for _, f := range []struct {
		word string
		filling
	}{{"batch", j.batches}, {"arm", j.arms}} {
		if f.said > 0 && f.blank > 0 {
			out = append(out, figure.Caution{
				Code: "partly_" + f.word, Title: "The " + f.word + " is not always said", Weight: figure.Care,
				Text: number(f.blank) + " of " + number(f.said+f.blank) + " jars have a blank " + f.word + ". A blank cell is not filled from the one above: if that is meant, fill the column down and read the sheet again.",
			})
		}
	}
	return out
}
