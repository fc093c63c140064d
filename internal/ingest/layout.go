package ingest

import (
	"fmt"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// maxTitles is how many rows that are not blank may stand before the header.
const maxTitles = 30

// layout is how a sheet is laid out: what parts its cells, where its header
// is and what its columns mean.
type layout struct {
	records // stands behind the header
	header  int
	columns []column
	doubts  []figure.Caution
}

// findLayout tries every separator on the first rows and takes the row that
// reads best as a header.
func findLayout(text string, told Aliases) (*layout, error) {
	best, most := (*layout)(nil), 0
	for _, sep := range []byte{',', ';', '\t'} {
		l, score := bestHeader(text, sep, told)
		if score > most {
			best, most = l, score
		}
	}
	if best == nil {
		return nil, lab.Invalidf("file", "head its columns with words such as jar, batch, inoculated, flush 1 g; doc/guide/import.md lists them",
			"none of the first %d rows reads as a header", maxTitles)
	}
	if best.fault != nil {
		return nil, lab.Invalidf("file", best.fault.mend, "the header in row %d can not be read: %s", best.header, best.fault.what)
	}
	best.fields = nil
	return best, nil
}

// bestHeader returns the layout with the best header among the first rows,
// and its score: 0 if there is none.
func bestHeader(text string, sep byte, told Aliases) (best *layout, most int) {
	r := records{text: text, sep: sep}
	var titles []int
	for len(titles) < maxTitles && r.row < maxRows && r.next() {
		if r.blank() {
			continue
		}
		columns := readHeaders(r.fields, told)
		if score := headerScore(columns, r.fields); score > most {
			best, most = &layout{records: r, header: r.row, columns: columns}, score
			if best.doubts = nil; len(titles) > 0 {
				best.doubts = []figure.Caution{titleCaution(titles)}
			}
		}
		if !isSeparatorLine(r.fields) {
			titles = append(titles, r.row)
		}
	}
	return best, most
}

// isSeparatorLine reports whether a row is the line "sep=;" that some
// spreadsheets write first.
func isSeparatorLine(fields []string) bool {
	return len(fields) > 0 && strings.EqualFold(strings.TrimSpace(fields[0]), "sep=")
}

func titleCaution(rows []int) figure.Caution {
	return figure.Caution{
		Code: "title_rows", Title: "Rows before the header", Weight: figure.Note,
		Text: fmt.Sprintf("%s above the header %s taken for a title and passed over.", rowsNamed(rows, len(rows)), were(len(rows))),
	}
}

// headerScore counts the columns that are understood. Cells that are numbers
// or days speak against a header. One alone is enough if it names the jar.
func headerScore(columns []column, fields []string) int {
	score, jar := 0, false
	for i := range columns {
		switch cell := strings.TrimSpace(fields[i]); {
		case columns[i].means != forNote:
			score++
			jar = jar || columns[i].names()
		case cell == "":
		case isValue(cell):
			score -= 2
		}
	}
	if score < 2 && !(score == 1 && jar) {
		return 0
	}
	return score
}

// names reports whether the column tells one jar from another.
func (c *column) names() bool { return c.means == isJar || c.means == isMark || c.means == isCode }

// isValue reports whether a cell holds a number or a day, as headings do not.
func isValue(cell string) bool {
	if w := readDay(cell); w.kind != noDay {
		return true
	}
	_, err := units.Parse(cell)
	return err == nil
}

// readHeaders reads all headings of a row. A blank one is a column too: the
// rows below may hold remarks in it.
func readHeaders(fields []string, told Aliases) []column {
	columns := make([]column, len(fields))
	for i, f := range fields {
		columns[i] = told.read(strings.TrimPrefix(f, "\uFEFF"))
		if columns[i].header == "" {
			columns[i].header, columns[i].unnamed = "column "+columnName(i), true
			columns[i].whyNoted = "it has no heading"
		}
	}
	return columns
}

// columnName names column i from 0 as spreadsheets do: A … Z, AA …
func columnName(i int) string {
	name := ""
	for i++; i > 0; i = (i - 1) / 26 {
		name = string(rune('A'+(i-1)%26)) + name
	}
	return name
}

// rowsNamed names up to five rows: "row 3", "rows 3, 5–7 and 2 more".
func rowsNamed(rows []int, all int) string {
	text := lab.ShowNumbers(rows)
	switch {
	case all > len(rows):
		text += " and " + strconv.Itoa(all-len(rows)) + " more"
	case all == 1:
		return "Row " + text
	}
	return "Rows " + text
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// readUnits reads the row below the header if it holds nothing but units and
// forms of dates.
func (l *layout) readUnits() {
	r := l.records
	if !r.next() || r.fault != nil || len(r.fields) > len(l.columns) {
		return
	}
	found := false
	for _, f := range r.fields {
		u, ok := unitCell(f)
		if !ok {
			return
		}
		found = found || u != ""
	}
	if !found {
		return
	}
	for i, f := range r.fields {
		c := &l.columns[i]
		if o := statedOrder(f); o != orderOpen {
			c.slashes, c.dots = o, o
		}
		if u, _ := unitCell(f); u != "" && c.means != forNote && c.means != isNote {
			c.takeUnit(u)
		}
	}
	r.fields = nil
	l.records = r
	l.doubt("unit_row", "A row of units", figure.Note, "Row %d holds the units of the columns.", r.row)
}

// takeUnit gives the column the unit that stands below its heading.
func (c *column) takeUnit(u string) {
	if (c.means == isPick || c.means == isFlush) && !volumeUnits[u] {
		c.means = isWeight
	}
	if c.unit != "" && c.unit != u {
		c.units = true
	}
	if c.unit = u; !c.unitFits() {
		c.means, c.whyNoted = forNote, "a column of this kind has no unit"
	}
}

// unitCell reads "g", "(oz)", "date" and "dd/mm/yyyy"; ok is false if the
// cell holds anything else.
func unitCell(cell string) (unit string, ok bool) {
	text := strings.ToLower(strings.Trim(strings.TrimSpace(cell), "()[]"))
	if u, known := headerUnits[text]; known {
		return u, true
	}
	return "", text == "" || text == "date" || statedOrder(text) != orderOpen && !strings.ContainsAny(text, "0123456789")
}
