package cli

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"pinset/internal/figure"
)

// width is how many columns text for people takes at most, where words allow.
const width = 80

// table prints rows in columns as wide as their widest cell. Columns that
// hold nothing but numbers stand to the right.
type table struct {
	indent string
	header bool
	rows   [][]string
}

// newTable returns a table with those words above its columns, if any.
func newTable(header ...string) *table {
	t := &table{}
	if len(header) > 0 {
		t.header, t.rows = true, [][]string{header}
	}
	return t
}

func (t *table) row(cells ...any) {
	row := make([]string, len(cells))
	for i, c := range cells {
		row[i] = fmt.Sprint(c)
	}
	t.rows = append(t.rows, row)
}

func (t *table) write(w io.Writer) {
	wide, right := t.measure()
	for _, row := range t.rows {
		var line strings.Builder
		line.WriteString(t.indent)
		for i, c := range row {
			pad := strings.Repeat(" ", wide[i]-letters(c))
			if right[i] {
				line.WriteString(pad + c + "  ")
			} else {
				line.WriteString(c + pad + "  ")
			}
		}
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
	}
}

// Bounds of a table of figures.
const (
	tableWidth = 88
	manyRows   = 40
	fewRows    = 12
)

// thin leaves some rows of a long table, evenly spread with the ends, and
// says so.
func (t *table) thin() string {
	n := len(t.rows) - 1
	if n <= manyRows {
		return ""
	}
	kept := t.rows[:1:1]
	for i := range fewRows {
		kept = append(kept, t.rows[1+i*(n-1)/(fewRows-1)])
	}
	t.rows = kept
	return fmt.Sprintf("(%d of %d rows; --json has all)", fewRows, n)
}

// onItsSide returns the table with rows and columns changed.
func (t *table) onItsSide() *table {
	lying := &table{indent: t.indent, header: true, rows: make([][]string, len(t.rows[0]))}
	for _, row := range t.rows {
		for i, c := range row {
			lying.rows[i] = append(lying.rows[i], c)
		}
	}
	return lying
}

// across returns how wide the table is.
func (t *table) across() int {
	wide, _ := t.measure()
	sum := letters(t.indent)
	for _, n := range wide {
		sum += n + 2
	}
	return sum - 2
}

// measure returns how wide each column is, and whether it holds numbers only.
func (t *table) measure() (wide []int, right []bool) {
	for n, row := range t.rows {
		for i, c := range row {
			if i == len(wide) {
				wide, right = append(wide, 0), append(right, t.header)
			}
			wide[i] = max(wide[i], letters(c))
			if n > 0 && !isNumber(c) {
				right[i] = false
			}
		}
	}
	return wide, right
}

var number = regexp.MustCompile(`^[−-]?\d+(\.\d+)?(e[+-]\d+)?$`)

// isNumber reports whether a cell holds a number, or nothing.
func isNumber(cell string) bool { return cell == "" || cell == unknown || number.MatchString(cell) }

func letters(s string) int { return utf8.RuneCountInString(s) }

// unknown stands in tables for a figure that is not known.
const unknown = "–"

// wrap prints text in lines of at most width columns: the first after first,
// the others below it.
func wrap(w io.Writer, first, text string) {
	indent := strings.Repeat(" ", letters(first))
	line, at := first, letters(first)
	for i, word := range strings.Fields(text) {
		n := letters(word)
		switch {
		case i == 0:
		case at+1+n > width:
			fmt.Fprintln(w, line)
			line, at = indent, len(indent)
		default:
			line, at = line+" ", at+1
		}
		line, at = line+word, at+n
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
}

// counted returns "1 row" or "3 rows".
func counted(n int, noun string) string {
	return figure.Counted(n, noun)
}

// joined joins the parts that are not empty.
func joined(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}
