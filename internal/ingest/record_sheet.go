package ingest

import (
	"cmp"
	"io"
	"regexp"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// ReadRecords reads a sheet of one of RecordNouns, one record in each row,
// under headings in words of the trade; what is taken out can be read again.
// Files, bounds and doubts about days are those of ReadJars; of a workbook the
// sheet that reads best is taken. A column that is not understood is left out,
// and said so.
//
// The error is an Invalid Problem if the file as a whole can not be read as
// such a sheet, or that of src.
func ReadRecords(src io.Reader, name, noun string, o Options) (app.RecordSheet, error) {
	out := app.RecordSheet{Source: name, Noun: noun}
	if recordFields[noun] == nil {
		return out, lab.Invalidf("noun", "choose one of "+strings.Join(RecordNouns, ", "), "a sheet of %q can not be read", clip(noun))
	}
	in, err := readSheets(src)
	if err != nil {
		return out, err
	}
	t := bestTable(in.texts, noun, o.Headings)
	if t == nil {
		var known []string
		for _, f := range recordFields[noun] {
			known = append(known, strings.Split(f.words, ";")[0])
		}
		return out, lab.Invalidf("file", "head its columns "+strings.Join(known, ", "), "none of the first %d rows reads as the header of a sheet of %s", maxTitles, noun)
	}
	out.Doubts = in.doubts
	for _, c := range t.columns {
		if c.header != "" {
			out.Columns = append(out.Columns, app.SheetColumn{Header: c.header, Means: c.says(), As: c.as})
		}
	}
	return out, t.read(&out, o)
}

// recordColumn is one column of a table; of is nil if it is not understood.
type recordColumn struct {
	header string
	as     string
	unit   string
	of     *recordField
}

func (c recordColumn) says() string {
	if c.of == nil {
		return "left out: its words are not known"
	}
	first, _, _ := strings.Cut(c.of.words, ";")
	if c.unit != "" {
		first += ", in " + c.unit + " where no unit is written"
	}
	if c.as != "" {
		first += ", as you said"
	}
	return first
}

// recordTable is a sheet whose header is known; records stand behind it.
type recordTable struct {
	records
	columns []recordColumn
}

// bestTable returns the sheet and row that read best as the header of noun.
func bestTable(texts []string, noun string, told Aliases) *recordTable {
	var best *recordTable
	most := 1 // one heading alone may be by chance
	for _, text := range texts {
		for _, sep := range []byte{',', ';', '\t'} {
			r := records{text: text, sep: sep}
			for n := 0; n < maxTitles && r.next(); {
				if r.blank() {
					continue
				}
				n++
				if columns, known := readRecordHeader(r.fields, noun, told); known > most {
					best, most = &recordTable{r, columns}, known
				}
			}
		}
	}
	return best
}

// readRecordHeader reads a row as headings, and counts those that are known.
// Of two columns with the same meaning the first one counts.
func readRecordHeader(fields []string, noun string, told Aliases) ([]recordColumn, int) {
	columns, known := make([]recordColumn, len(fields)), 0
	taken := make(map[string]bool)
	for i, text := range fields {
		text = strings.TrimPrefix(text, "\uFEFF")
		words, unit := recordHeading(text)
		c := recordColumn{header: figure.Clip(strings.Join(strings.Fields(text), " "), 120), as: told[HeadingKey(text)]}
		c.of = recordHeadings[noun][cmp.Or(c.as, words)]
		if c.of != nil && taken[c.of.key] {
			c.of = nil
		}
		if c.of != nil {
			taken[c.of.key] = true
			known++
			if c.unit = cmp.Or(unit, c.of.unit); c.of.unit == "" {
				c.unit = ""
			}
		}
		columns[i] = c
	}
	return columns, known
}

// recordRow is one row of a table as it stands in the file.
type recordRow struct {
	row   int
	cells []string
	fault *fault
}

// read reads the rows behind the header into out.
func (t *recordTable) read(out *app.RecordSheet, o Options) error {
	var rows []recordRow
	for t.next() {
		if t.row > maxRows {
			return lab.Invalidf("file", "save it in parts", "the sheet has more than %d rows", maxRows)
		}
		if !t.blank() {
			rows = append(rows, recordRow{t.row, slices.Clone(t.fields), t.fault})
		}
	}
	if len(rows) == 0 {
		return lab.Invalidf("file", "write one row for each", "below the header there is nothing")
	}
	order := t.dayOrders(rows, o)
	for _, r := range rows {
		if r.fault != nil {
			out.Refused = append(out.Refused, app.RefusedRow{Row: r.row, What: r.fault.what, Mend: r.fault.mend})
			continue
		}
		fields, refused := t.readRow(r, order, o)
		if refused != nil {
			out.Refused = append(out.Refused, *refused)
			continue
		}
		out.Rows = append(out.Rows, app.RecordRow{Row: r.row, Fields: fields})
	}
	return nil
}

// dayOrders says for each column of days which of day and month comes first,
// as its rows show.
func (t *recordTable) dayOrders(rows []recordRow, o Options) []dayOrder {
	given := orderOpen
	if o.DayFirst != nil {
		if given = monthFirst; *o.DayFirst {
			given = dayFirst
		}
	}
	out := make([]dayOrder, len(t.columns))
	for i, c := range t.columns {
		if c.of == nil || !c.of.day {
			continue
		}
		var shown orders
		for _, r := range rows {
			if i < len(r.cells) {
				cell := strings.TrimSpace(r.cells[i])
				shown.add(readDay(cell).evidence(), r.row, cell)
			}
		}
		out[i] = shown.order(given)
	}
	return out
}

// bare is a number without a unit.
var bare = regexp.MustCompile(`^[0-9]+([.,][0-9]+)?$`)

// readRow returns the fields of a row that say something.
func (t *recordTable) readRow(r recordRow, order []dayOrder, o Options) (map[string]string, *app.RefusedRow) {
	fields := make(map[string]string)
	for i, cell := range r.cells {
		cell = strings.TrimSpace(cell)
		if i >= len(t.columns) || t.columns[i].of == nil || cell == "" {
			continue
		}
		c := t.columns[i]
		switch {
		case failedFormula(cell):
			return nil, &app.RefusedRow{Row: r.row, Column: c.header, Value: clip(cell), What: "a formula in this cell failed", Mend: "mend it in the spreadsheet, or write the value"}
		case c.of.day && cell != "?":
			day, part := lab.CutPart(cell)
			if !part {
				day = cell
			}
			at, f := o.when(readDay(day), day, order[i], lab.When{})
			if f != nil {
				return nil, &app.RefusedRow{Row: r.row, Column: c.header, Value: clip(cell), What: f.what, Mend: f.mend}
			}
			cell = at.InPart(cell).Typed(o.zone())
		case c.unit != "" && bare.MatchString(cell):
			cell += " " + c.unit
		}
		fields[c.of.key] = cell
	}
	return fields, nil
}
