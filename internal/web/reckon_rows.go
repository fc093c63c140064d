package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/lab"
)

// A table is typed row by row into cells called "marks[].at", each column a
// list in the address; or it is pasted as text into the field "marks", which
// then goes before the rows. Columns that may be left out are shown if
// "marks[]" names them, or if something stands in them.

// maxRows bounds the rows that a page shows: longer tables are pasted.
const maxRows = 60

// calcRow is one row of cells.
type calcRow struct {
	Number int // from 1
	Drop   string
	Cells  []calcField
}

func (c calcField) cellName(column string) string { return c.Name + "[]." + column }

// layRows fills in the rows of a table as the form has them, and one more if
// the form asks for it.
func (c *calcField) layRows(f form) {
	n := 0
	for _, col := range c.columns {
		n = max(n, len(f.All(c.cellName(col.Name))))
	}
	if f.Get("more") == c.Name {
		n++
	}
	n = min(max(n, 1), maxRows)
	for _, col := range c.columns {
		if !col.Must {
			c.More = append(c.More, choice{col.Name, col.Label, c.shows(col, f)})
		}
	}
	for i := range n {
		row := calcRow{Number: i + 1, Drop: c.Name + "." + strconv.Itoa(i)}
		for _, col := range c.columns {
			if c.shows(col, f) {
				row.Cells = append(row.Cells, c.at(col, i, f))
			}
		}
		c.Rows = append(c.Rows, row)
	}
}

// shows reports whether a column is on the page.
func (c calcField) shows(col calcField, f form) bool {
	return col.Must || c.allMay() || f.Is(c.Name+"[]", col.Name) ||
		slices.ContainsFunc(f.All(c.cellName(col.Name)), func(s string) bool { return s != "" })
}

// allMay reports whether the table is narrow enough to show every column.
func (c calcField) allMay() bool { return len(c.columns) <= 4 }

// at returns the cell of a column in row i.
func (c calcField) at(col calcField, i int, f form) calcField {
	col.ID = f.prefix + c.cellName(col.Name) + strconv.Itoa(i)
	typed := nth(f.All(c.cellName(col.Name)), i)
	col.Name = c.cellName(col.Name)
	col.Value = typed
	col.Hint = col.lineHint()
	col.Options = slices.Clone(col.Options)
	for k := range col.Options {
		col.Options[k].Chosen = col.Options[k].Value == typed
	}
	return col
}

// lineHint says how the lines of a cell are written, "" if it has one only.
func (c calcField) lineHint() string {
	if c.kind == mapField {
		return "One line each: a name, a comma, its value."
	}
	var must []string
	for _, col := range c.columns {
		if col.Must {
			must = append(must, strings.ToLower(col.Label))
		}
	}
	if len(must) == 0 {
		return ""
	}
	return "One line each: " + strings.Join(must, ", ") + "."
}

func nth(list []string, i int) string {
	if i < len(list) {
		return list[i]
	}
	return ""
}

// typedRows returns the rows as JSON values. Blank rows are left out.
func (c calcField) typedRows(f form) ([]any, error) {
	rows := []any{}
	for i := 0; ; i++ {
		row, there := make(map[string]any), false
		for _, col := range c.columns {
			list := f.All(c.cellName(col.Name))
			there = there || i < len(list)
			typed := strings.TrimSpace(nth(list, i))
			if typed == "" {
				continue
			}
			v, err := c.cell(col.Name, typed)
			if p, ok := lab.AsProblem(err); ok {
				return nil, lab.Invalidf(c.Name, p.Mend, "row %d: %s", i+1, p.What)
			}
			row[col.Name] = v
		}
		if !there {
			return rows, nil
		}
		if len(row) > 0 {
			rows = append(rows, row)
		}
	}
}

// editsRows reports whether the form only asks for a row more or less, and
// takes out the row that is to go.
func editsRows(fields []calcField, f form) bool {
	less := f.Get("less")
	dot := strings.LastIndexByte(less, '.')
	if dot < 0 {
		return f.Has("more")
	}
	i, err := strconv.Atoi(less[dot+1:])
	for _, c := range fields {
		if err == nil && i >= 0 && c.kind == tableField && c.Name == less[:dot] {
			c.dropRow(f.values, i)
		}
	}
	return true
}

func (c calcField) dropRow(values url.Values, i int) {
	for _, col := range c.columns {
		name := c.cellName(col.Name)
		if list := values[name]; i < len(list) {
			values[name] = slices.Delete(slices.Clone(list), i, i+1)
		}
	}
}

// linesText reads lines such as "rye, 40 g" into a table: without a first line
// of keys, the columns are those that must be there.
func (c calcField) linesText(typed string) (any, error) {
	first, _, _ := strings.Cut(typed, "\n")
	var must []string
	for _, col := range c.columns {
		if strings.HasPrefix(strings.TrimSpace(first), col.Name) {
			return c.table(typed)
		}
		if col.Must {
			must = append(must, col.Name)
		}
	}
	sep := ","
	for _, s := range []string{"\t", ";"} {
		if strings.Contains(first, s) {
			sep = s
		}
	}
	rows, err := c.table(strings.Join(must, sep) + "\n" + typed)
	if err != nil {
		return nil, lab.Invalidf(c.Name, "write "+strings.Join(must, sep+" ")+" in each line", "a line does not hold %d things", len(must))
	}
	return rows, nil
}

// eachName reads lines such as "grain, 40 g" into an object.
func (c calcField) eachName(typed string) (any, error) {
	out := make(map[string]any)
	for line := range strings.Lines(typed) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		i := strings.IndexAny(line, ",;:=\t")
		if i < 0 {
			return nil, lab.Invalidf(c.Name, "write a name, a comma and its value in each line", "%q has no comma", clipped(line, 30))
		}
		name, said := strings.TrimSpace(line[:i]), strings.TrimSpace(line[i+1:])
		out[name] = said
		if !c.words {
			x, ok := readNumber(said)
			if !ok {
				return nil, lab.Invalidf(c.Name, "write a name, a comma and a number in each line", "%q of %s is not a number", clipped(said, 30), clipped(name, 30))
			}
			out[name] = x
		}
	}
	return out, nil
}
