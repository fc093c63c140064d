package ingest

import (
	"strings"

	"pinset/internal/workbook"
)

// records reads the rows of a CSV text: quotation marks as in RFC 4180, lines
// that end in LF, CRLF or CR, and any one-byte separator.
//
// It is forgiving where the meaning is plain (spaces before a quotation mark,
// text after one) and goes on at the next line where a quotation mark is
// never closed, so that one slip does not swallow the rest of the sheet.
type records struct {
	text   string
	pos    int
	sep    byte
	row    int      // of the row last read, from 1, blank ones counted
	fields []string // of the row last read; valid until the next one
	fault  *fault   // why it can not be trusted, nil if it can
}

// next reads one row. It returns false at the end of the text.
func (r *records) next() bool {
	if r.pos >= len(r.text) {
		return false
	}
	r.row++
	r.fields, r.fault = r.fields[:0], nil
	for more := true; more; {
		var cell string
		cell, more = r.cell()
		switch {
		case len(cell) > maxField:
			r.fault = &fault{"a cell of this row is longer than 10 000 bytes", "shorten it"}
			r.add(clip(cell))
		case len(r.fields) < maxColumns:
			r.add(cell)
		case strings.TrimSpace(cell) != "":
			r.fault = &fault{"this row has more than 500 columns", "delete those that are not about the jar"}
		}
	}
	return true
}

func (r *records) add(cell string) { r.fields = append(r.fields, workbook.Armed(cell)) }

// blank reports whether nothing stands in the row last read.
func (r *records) blank() bool {
	for _, f := range r.fields {
		if strings.TrimSpace(f) != "" {
			return false
		}
	}
	return r.fault == nil
}

// cell reads the cell at pos and what ends it. More is true if another cell
// of the same row follows.
func (r *records) cell() (cell string, more bool) {
	open := r.pos
	for open < len(r.text) && r.text[open] == ' ' {
		open++
	}
	if open < len(r.text) && r.text[open] == '"' {
		if cell, end, ok := r.quoted(open + 1); ok {
			return cell, r.endCell(end)
		}
		r.fault = &fault{"a quotation mark is opened in this row and not closed", "close or delete it"}
	}
	end := r.plainEnd(r.pos)
	cell = r.text[r.pos:end]
	return cell, r.endCell(end)
}

// plainEnd returns where a cell without quotation marks ends that goes on at i.
func (r *records) plainEnd(i int) int {
	for i < len(r.text) && r.text[i] != r.sep && r.text[i] != '\n' && r.text[i] != '\r' {
		i++
	}
	return i
}

// endCell steps over what ends a cell: a separator, the end of a line or of
// the text.
func (r *records) endCell(end int) (more bool) {
	r.pos = end
	if end == len(r.text) {
		return false
	}
	r.pos++
	if r.text[end] == '\r' && r.pos < len(r.text) && r.text[r.pos] == '\n' {
		r.pos++
	}
	return r.text[end] == r.sep
}

// quoted reads a cell whose quotation mark was opened before i. Ok is false
// if the mark is not closed, or is closed in the middle of a later line.
func (r *records) quoted(i int) (cell string, end int, ok bool) {
	start, doubled := i, false
	for {
		window := r.text[i:min(len(r.text), max(i, start+maxField+1))]
		n := strings.IndexByte(window, '"')
		if n < 0 {
			return "", 0, false
		}
		i += n + 1
		if i == len(r.text) || r.text[i] != '"' {
			break
		}
		i++
		doubled = true
	}
	cell = r.text[start : i-1]
	for i < len(r.text) && r.text[i] == ' ' {
		i++
	}
	end = r.plainEnd(i)
	if end > i {
		if strings.ContainsAny(cell, "\r\n") {
			return "", 0, false
		}
		cell += r.text[i:end]
	}
	if doubled {
		cell = strings.ReplaceAll(cell, `""`, `"`)
	}
	return cell, end, true
}
