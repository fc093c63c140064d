package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// table prints rows in columns as wide as their widest cell.
type table struct {
	rows [][]string
}

func newTable(header ...string) *table { return &table{rows: [][]string{header}} }

func (t *table) row(cells ...any) {
	row := make([]string, len(cells))
	for i, c := range cells {
		row[i] = fmt.Sprint(c)
	}
	t.rows = append(t.rows, row)
}

func (t *table) write(w io.Writer) {
	var wide []int
	for _, row := range t.rows {
		for i, c := range row {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], utf8.RuneCountInString(c))
		}
	}
	for _, row := range t.rows {
		var line strings.Builder
		for i, c := range row {
			line.WriteString(c)
			if i < len(row)-1 {
				line.WriteString(strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c)+2))
			}
		}
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
	}
}
