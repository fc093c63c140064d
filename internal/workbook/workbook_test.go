package workbook

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// book makes a workbook as a spreadsheet program would.
func book(t *testing.T, since1904 bool, fill func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	if since1904 {
		if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: ptr(true)}); err != nil {
			t.Fatal(err)
		}
	}
	fill(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func mustRead(t *testing.T, raw []byte) Book {
	t.Helper()
	b, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// 14 March 2026 is day 46095 counted from 1900 and 44633 from 1904 (ECMA-376
// Part 1, 18.17.4.1; by hand: 1462 days lie between the two).
func TestDaysOfBothCounts(t *testing.T) {
	for _, c := range []struct {
		since1904 bool
		serial    float64
	}{{false, 46095}, {true, 44633}} {
		raw := book(t, c.since1904, func(f *excelize.File) {
			for i, format := range []string{"yyyy-mm-dd", "dd/mm/yyyy", "m/d/yy", `d\.m\.yyyy`, "d mmm yyyy"} {
				style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
				if err != nil {
					t.Fatal(err)
				}
				at, _ := excelize.CoordinatesToCellName(i+1, 1)
				if err := errors.Join(f.SetCellValue("Sheet1", at, c.serial), f.SetCellStyle("Sheet1", at, at, style)); err != nil {
					t.Fatal(err)
				}
			}
		})
		if got := mustRead(t, raw).Sheets[0].CSV; got != strings.Repeat("2026-03-14,", 4)+"2026-03-14\n" {
			t.Errorf("counted from 1904 %v: %q", c.since1904, got)
		}
	}
}

// Numbers come in full and not as shown, shares with their sign, a formula as
// its last result; a blank row keeps the numbers of those below it.
func TestCells(t *testing.T) {
	raw := book(t, false, func(f *excelize.File) {
		short, _ := f.NewStyle(&excelize.Style{NumFmt: 1}) // 0
		share, _ := f.NewStyle(&excelize.Style{NumFmt: 9}) // 0%
		money, _ := f.NewStyle(&excelize.Style{NumFmt: 3}) // #,##0
		hours, _ := f.NewStyle(&excelize.Style{CustomNumFmt: ptr("yyyy-mm-dd hh:mm")})
		err := errors.Join(
			f.SetCellValue("Sheet1", "A1", "jar"), f.SetCellValue("Sheet1", "A3", 12.345), f.SetCellStyle("Sheet1", "A3", "A3", short),
			f.SetCellValue("Sheet1", "B3", 0.125), f.SetCellStyle("Sheet1", "B3", "B3", share),
			f.SetCellValue("Sheet1", "C3", 12345.5), f.SetCellStyle("Sheet1", "C3", "C3", money),
			f.SetCellValue("Sheet1", "D3", 46095.75), f.SetCellStyle("Sheet1", "D3", "D3", hours),
			f.SetCellValue("Sheet1", "E3", "=1+1"), f.SetCellFormula("Sheet1", "F3", "A3*2"),
			f.SetCellValue("Sheet1", "G3", "a \"b\", c"))
		if err != nil {
			t.Fatal(err)
		}
	})
	want := "jar\n\n12.345,12.5 %,12345.5,2026-03-14 18:00,=1+1,,\"a \"\"b\"\", c\"\n"
	if got := mustRead(t, raw).Sheets[0].CSV; got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestWhatIsNoWorkbook(t *testing.T) {
	for name, raw := range map[string][]byte{"nothing": nil, "text": []byte("jar,batch\n"), "half": book(t, false, func(*excelize.File) {})[:900]} {
		if _, err := Read(raw); !errors.Is(err, ErrNot) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if b := mustRead(t, book(t, false, func(*excelize.File) {})); len(b.Sheets) != 0 {
		t.Errorf("an empty workbook has %d sheets", len(b.Sheets))
	}
}

// What is written is read back to the letter, in both forms.
func TestWrittenIsReadBack(t *testing.T) {
	day := time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)
	table := app.Table{Noun: "jars", Head: []string{"jar", "grams", "day", "seen", "note"}, Rows: [][]any{
		{1, 12.5, lab.Day{Time: day}, day.Add(9*time.Hour + 30*time.Minute), "=HYPERLINK(\"x\")"},
		{2, 0.1, nil, nil, "two\nlines, \"quoted\""},
		{3, 1e-3, nil, nil, "속 -5"},
	}}
	var b bytes.Buffer
	if err := WriteXLSX(&b, table, app.Table{Noun: "none", Head: []string{"a"}}); err != nil {
		t.Fatal(err)
	}
	got := mustRead(t, b.Bytes())
	want := "jar,grams,day,seen,note\n1,12.5,2026-03-14,2026-03-14 09:30,\"=HYPERLINK(\"\"x\"\")\"\n2,0.1,,,\"two\nlines, \"\"quoted\"\"\"\n3,0.001,,,속 -5\n"
	if len(got.Sheets) != 2 || got.Sheets[0].Name != "jars" || got.Sheets[0].CSV != want {
		t.Errorf("got  %q\nwant %q", got.Sheets, want)
	}
	b.Reset()
	if err := WriteCSV(&b, table); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); !strings.HasPrefix(s, "\uFEFFjar,") || !strings.Contains(s, `"'=HYPERLINK(""x"")"`) || strings.Count(s, "\r\n") < 4 {
		t.Errorf("CSV is %q", s)
	}
	for _, s := range []string{"=1", "-5", "'a", "plain", "'=1", ""} {
		if Armed(disarmed(s)) != s {
			t.Errorf("%q comes back as %q", s, Armed(disarmed(s)))
		}
	}
}

func BenchmarkRead(b *testing.B) {
	table := app.Table{Noun: "jars", Head: []string{"batch", "jar", "day", "grams"}}
	for n := range 10000 {
		table.Rows = append(table.Rows, []any{"B1", n, lab.Day{Time: time.Unix(int64(n)*86400, 0)}, float64(n) / 7})
	}
	var raw bytes.Buffer
	if err := WriteXLSX(&raw, table); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Read(raw.Bytes()); err != nil {
			b.Fatal(err)
		}
	}
}
