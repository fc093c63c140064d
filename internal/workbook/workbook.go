// Package workbook reads spreadsheet files as rows of cells without a
// meaning, and writes tables of records as such files. A library knows the
// format (ADR 0014); this package bounds it and settles what a day is.
package workbook

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Bounds of what is read. A sheet of 100 000 jars has about 30 MB unpacked.
const (
	maxUnpacked = 512 << 20
	maxRows     = 1_000_000
)

// Is reports whether raw begins like a workbook, which is a ZIP archive.
func Is(raw []byte) bool { return bytes.HasPrefix(raw, []byte("PK\x03\x04")) }

// Sheet is one sheet of a workbook, as CSV with commas. Rows keep their
// numbers: blank ones are blank lines.
type Sheet struct {
	Name string
	CSV  string
}

// Book is what was read of a workbook.
type Book struct {
	Sheets []Sheet // those that hold anything, in their order
	Macros bool    // it carries macros, which were not looked at
}

// ErrNot says that a file is no workbook that can be read.
var ErrNot = errors.New("not a workbook")

// Read returns the sheets of the workbook raw. Days come as 2026-03-14,
// times as 2026-03-14 15:04, shares as "12 %", other numbers in full and not
// as they are shown; of a formula its last result. Both the day counts from
// 1900 and from 1904 are known.
func Read(raw []byte) (Book, error) {
	f, err := excelize.OpenReader(bytes.NewReader(raw), excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpacked})
	if err != nil {
		return Book{}, fmt.Errorf("%w: %w", ErrNot, err)
	}
	defer f.Close()
	props, err := f.GetWorkbookProps()
	if err != nil {
		return Book{}, fmt.Errorf("%w: %w", ErrNot, err)
	}
	book := Book{Macros: bytes.Contains(raw, []byte("vbaProject.bin"))}
	since1904 := props.Date1904 != nil && *props.Date1904
	for _, name := range f.GetSheetList() {
		text, err := readSheet(f, name, since1904)
		if err != nil {
			return Book{}, fmt.Errorf("%w: sheet %s: %w", ErrNot, name, err)
		}
		if strings.Trim(text, ",\n") != "" {
			book.Sheets = append(book.Sheets, Sheet{name, text})
		}
	}
	return book, nil
}

// readSheet reads the rows twice side by side: as stored, and as shown. Only
// how a number is shown tells whether it is a day.
func readSheet(f *excelize.File, name string, since1904 bool) (_ string, err error) {
	stored, err := f.Rows(name)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, stored.Close()) }()
	shown, err := f.Rows(name)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, shown.Close()) }()
	var b strings.Builder
	w := csv.NewWriter(&b)
	for n := 0; stored.Next() && shown.Next(); n++ {
		if n == maxRows {
			return "", fmt.Errorf("more than %d rows", maxRows)
		}
		raw, err := stored.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return "", err
		}
		seen, err := shown.Columns(excelize.Options{RawCellValue: false})
		if err != nil {
			return "", err
		}
		for i := range raw {
			if i < len(seen) {
				raw[i] = cell(raw[i], seen[i], since1904)
			}
		}
		if len(raw) == 0 {
			raw = []string{""}
		}
		if err := w.Write(raw); err != nil {
			return "", err
		}
	}
	w.Flush()
	return b.String(), w.Error()
}

// cell returns the text of a cell that is stored as raw and shown as seen.
func cell(raw, seen string, since1904 bool) string {
	if raw == seen {
		return raw
	}
	number, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return raw
	}
	if strings.HasSuffix(seen, "%") {
		return strconv.FormatFloat(100*number, 'g', 15, 64) + " %"
	}
	if _, err := strconv.ParseFloat(strings.NewReplacer(",", "", " ", "").Replace(seen), 64); err == nil || !isDay(seen) {
		return raw // the same number in another dress
	}
	at, err := excelize.ExcelDateToTime(number, since1904)
	if err != nil {
		return raw
	}
	at = at.Round(time.Second)
	switch {
	case number < 1:
		return at.Format("15:04")
	case at.Hour() == 0 && at.Minute() == 0 && at.Second() == 0:
		return at.Format(time.DateOnly)
	}
	return at.Format("2006-01-02 15:04")
}

// isDay reports whether a number that is shown so is a day or a time: it has
// two groups of digits or more, parted as days and times are.
func isDay(seen string) bool {
	groups, in := 0, false
	for _, r := range seen {
		digit := r >= '0' && r <= '9'
		if digit && !in {
			groups++
		}
		in = digit
	}
	return groups >= 2 && strings.ContainsAny(seen, "-/.: ") && !strings.ContainsAny(seen, "$€£E")
}

// WriteCSV writes one table as CSV (RFC 4180) in UTF-8, with a byte order
// mark so that spreadsheets take it for that. A text that a spreadsheet would
// take for a formula gets an apostrophe before it.
func WriteCSV(to io.Writer, t app.Table) error {
	if _, err := io.WriteString(to, "\uFEFF"); err != nil {
		return err
	}
	w := csv.NewWriter(to)
	w.UseCRLF = true
	if err := w.Write(t.Head); err != nil {
		return err
	}
	line := make([]string, len(t.Head))
	for _, row := range t.Rows {
		for i := range line {
			line[i] = ""
			if i < len(row) {
				line[i] = text(row[i])
			}
		}
		if err := w.Write(line); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// text writes a cell for CSV.
func text(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return disarmed(v)
	case int:
		return strconv.Itoa(v)
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case lab.Day:
		return v.Format(time.DateOnly)
	case time.Time:
		return v.Format("2006-01-02 15:04")
	}
	panic(fmt.Sprintf("workbook: a cell can not hold a %T", v))
}

// disarmed keeps a spreadsheet from running a text. An apostrophe that was
// there is doubled, so that Armed knows its own.
func disarmed(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r'", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Armed returns the text that disarmed wrote as s.
func Armed(s string) string {
	if len(s) > 1 && s[0] == '\'' && disarmed(s[1:]) == s {
		return s[1:]
	}
	return s
}

// WriteXLSX writes tables as one workbook (ECMA-376), a sheet each, with a
// heading that stays in sight. Texts are texts there: none is run.
func WriteXLSX(to io.Writer, tables ...app.Table) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	day, err := f.NewStyle(&excelize.Style{CustomNumFmt: ptr("yyyy-mm-dd")})
	if err != nil {
		return err
	}
	moment, err := f.NewStyle(&excelize.Style{CustomNumFmt: ptr("yyyy-mm-dd hh:mm")})
	if err != nil {
		return err
	}
	for i, t := range tables {
		if i == 0 {
			err = f.SetSheetName("Sheet1", t.Noun)
		} else {
			_, err = f.NewSheet(t.Noun)
		}
		if err != nil {
			return err
		}
		if err := writeSheet(f, t, day, moment); err != nil {
			return err
		}
	}
	return f.Write(to)
}

func ptr[T any](v T) *T { return &v }

func writeSheet(f *excelize.File, t app.Table, day, moment int) error {
	w, err := f.NewStreamWriter(t.Noun)
	if err != nil {
		return err
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	cells := make([]any, len(t.Head))
	for i, h := range t.Head {
		cells[i] = h
	}
	if err := w.SetRow("A1", cells); err != nil {
		return err
	}
	for n, row := range t.Rows {
		for i := range cells {
			cells[i] = nil
			if i >= len(row) {
				continue
			}
			switch v := row[i].(type) {
			case lab.Day:
				cells[i] = excelize.Cell{StyleID: day, Value: v.Time}
			case time.Time: // a workbook has no zones: the hour of the farm is written
				cells[i] = excelize.Cell{StyleID: moment, Value: time.Date(v.Year(), v.Month(), v.Day(), v.Hour(), v.Minute(), v.Second(), 0, time.UTC)}
			default:
				cells[i] = v
			}
		}
		if err := w.SetRow("A"+strconv.Itoa(n+2), cells); err != nil {
			return err
		}
	}
	return w.Flush()
}
