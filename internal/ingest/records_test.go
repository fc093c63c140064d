package ingest

import (
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// rowsOf reads all rows; a row that can not be trusted is marked.
func rowsOf(text string, sep byte) [][]string {
	var out [][]string
	r := records{text: text, sep: sep}
	for r.next() {
		row := slices.Clone(r.fields)
		if r.fault != nil {
			row = append(row, "FAULT")
		}
		out = append(out, row)
	}
	return out
}

func TestRecords(t *testing.T) {
	for _, c := range []struct {
		text string
		sep  byte
		want string
	}{
		{"", ',', `[]`},
		{"a", ',', `[["a"]]`},
		{"a,b\n", ',', `[["a" "b"]]`},
		{"a,b\r\nc\r\n", ',', `[["a" "b"] ["c"]]`},
		{"a\rb\r", ',', `[["a"] ["b"]]`},
		{"a,\n,b", ',', `[["a" ""] ["" "b"]]`},
		{"a\n\nb", ',', `[["a"] [""] ["b"]]`},
		{"a;b,c", ';', `[["a" "b,c"]]`},
		{"a\t\"b\tc\"", '\t', `[["a" "b\tc"]]`},
		{`"a,b",c`, ',', `[["a,b" "c"]]`},
		{`"say ""hi""",c`, ',', `[["say \"hi\"" "c"]]`},
		{"\"two\nlines\",c\nd", ',', `[["two\nlines" "c"] ["d"]]`},
		{`"",x`, ',', `[["" "x"]]`},
		{`""""`, ',', `[["\""]]`},
		{`a "quoted" word,b`, ',', `[["a \"quoted\" word" "b"]]`},
		// Forgiven: spaces before a quotation mark, and text behind one.
		{` "a,b" ,c`, ',', `[["a,b" "c"]]`},
		{`"5"" x,y",c`, ',', `[["5\" x,y" "c"]]`},
		{`"12" oz,c`, ',', `[["12oz" "c"]]`},
		// A mark that is not closed damages its own line only.
		{"\"a,b\nc,d\n", ',', `[["\"a" "b" "FAULT"] ["c" "d"]]`},
		{"\"a,b\nc,\"d\"\ne", ',', `[["\"a" "b" "FAULT"] ["c" "d"] ["e"]]`},
		{"x,\"a\n\ny,z", ',', `[["x" "\"a" "FAULT"] [""] ["y" "z"]]`},
	} {
		if got := fmt.Sprintf("%q", rowsOf(c.text, c.sep)); got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}

// What the standard library writes as CSV is read back as it was.
func TestRecordsReadWhatIsWritten(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, seed))
	pieces := []string{"a", "jar", "\"", ",", ";", "\n", " ", "½", "", "x\"y", "12,5"}
	for range 3000 {
		rows := make([][]string, 1+r.IntN(4))
		for i := range rows {
			rows[i] = make([]string, 1+r.IntN(4))
			for k := range rows[i] {
				for range r.IntN(4) {
					rows[i][k] += pieces[r.IntN(len(pieces))]
				}
			}
			if len(rows[i]) == 1 {
				rows[i][0] += "z" // the library writes a row of one blank as nothing
			}
		}
		for _, sep := range []byte{',', ';', '\t'} {
			var b strings.Builder
			w := csv.NewWriter(&b)
			w.Comma, w.UseCRLF = rune(sep), r.IntN(2) == 0
			if err := w.WriteAll(rows); err != nil {
				t.Fatal(err)
			}
			got := rowsOf(b.String(), sep)
			if w.UseCRLF {
				for _, row := range got {
					for k := range row {
						row[k] = strings.ReplaceAll(row[k], "\r\n", "\n")
					}
				}
			}
			if fmt.Sprint(got) != fmt.Sprint(rows) {
				t.Fatalf("seed %d: %q is read as %q from %q", seed, rows, got, b.String())
			}
		}
	}
}

func TestRecordBounds(t *testing.T) {
	long := strings.Repeat("x", maxField+1)
	if got := rowsOf(long+",b\nc", ','); len(got) != 2 || got[0][2] != "FAULT" || len(got[0][0]) > 200 {
		t.Errorf("a long cell: %d rows, %q", len(got), got)
	}
	// A quoted cell may hold exactly as much as is read.
	fits := `"` + strings.Repeat("\n", maxField) + `",b`
	if got := rowsOf(fits, ','); len(got) != 1 || len(got[0][0]) != maxField {
		t.Errorf("a cell of 10 000 bytes: %d rows", len(got))
	}
	if got := rowsOf(`"`+strings.Repeat("\n", maxField+1)+`",b`, ','); len(got) == 1 {
		t.Error("a quoted cell of 10 001 bytes was read")
	}
	if got := rowsOf(strings.Repeat(",", 2000)+"\nb", ','); len(got) != 2 || len(got[0]) != maxColumns {
		t.Errorf("2001 blank cells: %d rows of %d cells", len(got), len(got[0]))
	}
	if got := rowsOf(strings.Repeat(",", 2000)+"x\nb", ','); got[0][maxColumns] != "FAULT" {
		t.Error("something in column 2001 was passed over")
	}
}
