package ingest

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

var update = flag.Bool("update", false, "write the golden files anew")

// midJune is when the sheets of the tests are read.
var midJune = time.Date(2026, 6, 15, 12, 0, 0, 0, time.UTC)

var asUsual = Options{Zone: time.UTC, Now: midJune}

// read reads a sheet that must be readable.
func read(t *testing.T, text string, o Options) app.JarSheet {
	t.Helper()
	s, err := ReadJars(strings.NewReader(text), "test.csv", o)
	if err != nil {
		t.Fatalf("ReadJars: %v", err)
	}
	return s
}

func readFile(t *testing.T, name string, o Options) app.JarSheet {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := ReadJars(f, name, o)
	if err != nil {
		t.Fatalf("ReadJars %s: %v", name, err)
	}
	return s
}

// shown prints a sheet, one line for each row, refusal and doubt.
func shown(s app.JarSheet) []string {
	var out []string
	for _, r := range s.Rows {
		out = append(out, fmt.Sprintf("%d: %s", r.Row, strings.Join(shownRow(r), " | ")))
	}
	for _, r := range s.Refused {
		out = append(out, fmt.Sprintf("refused %d [%s] %q: %s", r.Row, r.Column, r.Value, r.What))
	}
	for _, c := range s.Doubts {
		out = append(out, c.Code+": "+c.Text)
	}
	return out
}

func shownRow(r app.SheetRow) []string {
	var p []string
	add := func(name, value string) {
		if value != "" {
			p = append(p, strings.TrimSpace(name+" "+value))
		}
	}
	add("", strings.Trim(fmt.Sprintf("%s·%d", r.Batch, r.Number), "·0"))
	for _, f := range [][2]string{
		{"mark", r.Mark},
		{"arm", r.Arm},
		{"recipe", r.Recipe},
		{"from", r.Culture},
		{"dose", r.Amount},
		{"in", r.Container},
		{"cook", r.Cook},
		{"layer", strings.Trim(fmt.Sprint(r.Layer), "0")},
		{"shelf", r.Shelf},
		{"mix", r.MixMade},
		{"filled", day(r.Filled)},
		{"inoculated", day(r.Inoculated)},
	} {
		add(f[0], f[1])
	}
	for _, s := range r.Stages {
		add(string(s.Stage), day(s.At))
	}
	for _, k := range r.Picks {
		add(fmt.Sprintf("flush %d", k.Flush), fmt.Sprintf("%.4g g (%s) %s", float64(k.Grams), k.Typed, day(k.At)))
	}
	if r.DryGrams > 0 {
		add("dry", r.DryGrams.String())
	}
	for _, f := range []struct {
		is   bool
		word string
	}{{r.Blank, "BLANK"}, {r.Barren, "BARREN"}, {r.Spent, "SPENT"}} {
		if f.is {
			add(f.word, " ")
		}
	}
	if r.Lost {
		add("LOST", day(r.LostAt)+" "+r.Reason)
	}
	add("note", r.Note)
	return p
}

func day(w lab.When) string {
	switch w.Exactness {
	case lab.ThatDay:
		return w.Time.Format(time.DateOnly)
	case lab.Exact:
		return w.Time.Format(time.RFC3339)
	case lab.Unknown:
		return "?"
	}
	return ""
}

// same compares lines and says which differ.
func same(t *testing.T, got, want []string) {
	t.Helper()
	for i := range max(len(got), len(want)) {
		g, w := "(none)", "(none)"
		if i < len(got) {
			g = got[i]
		}
		if i < len(want) {
			w = want[i]
		}
		if g != w {
			t.Errorf("line %d\n got %s\nwant %s", i+1, g, w)
		}
	}
}

// The big sheet: two batches, three arms, two flushes, days in five forms,
// units in cells, numbers left out, zeros, blanks and lost jars. The golden
// file was read through by eye against the sheet.
func TestSpringOats(t *testing.T) {
	s := readFile(t, "spring-oats.csv", asUsual)
	golden := filepath.Join("testdata", "spring-oats.want")
	if *update {
		if err := os.WriteFile(golden, []byte(strings.Join(shown(s), "\n")+"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	same(t, shown(s), strings.Split(strings.TrimSpace(string(want)), "\n"))
	if len(s.Rows) != 30 || len(s.Refused) != 0 {
		t.Errorf("%d rows and %d refused, want 30 and 0", len(s.Rows), len(s.Refused))
	}
}

// Counted by hand in the sheet, so that the golden file can not be wrong alone.
func TestSpringOatsCounts(t *testing.T) {
	counts := map[string]int{}
	for _, r := range readFile(t, "spring-oats.csv", asUsual).Rows {
		for key, is := range map[string]bool{
			"blank": r.Blank, "lost": r.Lost && !r.Blank, "foul blank": r.Lost && r.Blank, "barren": r.Barren, "spent": r.Spent,
			"picked": len(r.Picks) > 0, "second flush": len(r.Picks) > 1, r.Arm: r.Arm != "", r.Batch: true,
		} {
			if is {
				counts[key]++
			}
		}
	}
	want := map[string]int{
		"blank": 4, "lost": 3, "foul blank": 1, "barren": 2, "spent": 2, "picked": 19, "second flush": 9,
		"rolled": 10, "whole": 9, "steel cut": 7, "Oats 1": 16, "Oats 2": 14,
	}
	for key, n := range want {
		if counts[key] != n {
			t.Errorf("%s: %d, want %d", key, counts[key], n)
		}
	}
}

// A semicolon sheet with decimal commas, CRLF, days with points, quotation
// marks in quotation marks and a total below.
func TestSemicolons(t *testing.T) {
	same(t, shown(readFile(t, "semicolon.csv", asUsual)), []string{
		"2: Spelt A·1 | arm dense | inoculated 2026-02-03 | flush 1 34.5 g (34,5 g) 2026-04-14 | dry 45 g | note first, of all",
		"3: Spelt A·2 | arm dense | inoculated 2026-02-03 | flush 1 1034 g (1.034,500 g) 2026-04-13 | dry 45 g | note says \"heavy\"; odd",
		"4: Spelt A·3 | arm loose | inoculated 2026-02-03 | dry 40.5 g | BARREN | note Fresh weight (g): 0 g",
		"7: Spelt A·5 | arm loose | inoculated 2026-02-03 | flush 1 28.12 g (28,125 g) 2026-04-14 | dry 40.5 g",
		"refused 6 [Fresh weight (g)] \"28.125\": “28.125” has a point where other numbers of this sheet have a comma: it may be a decimal sign or part thousands",
		"refused 8 [Batch] \"Total\": this row sums up others and is no jar",
		"zero_is_barren: Row 4: 0 g and nothing else, which is a real zero: the jar bore no fruit. Leave the cell blank where a jar was not weighed.",
	})
}

// A tab sheet in UTF-16, both byte orders.
func TestUTF16Tabs(t *testing.T) {
	want := []string{
		"2: 1 | arm A | inoculated 2026-03-04 | cover 2026-03-24 | pins 2026-04-14 | flush 1 42.52 g (1 ½ oz) ? | note Misty: no",
		"3: 2 | arm B | inoculated 2026-03-04 | cover 2026-03-25 | BARREN | note Misty: yes",
		"4: 3 | arm B | inoculated 2026-03-04",
		"5: 4 | arm A | inoculated 2026-03-04 | cover 2026-03-23 | pins 2026-04-12 | flush 1 23.4 g (23,4 g) ?",
		"columns_to_note: Kept in the note of each jar, with its heading: “Misty”. If one of them matters, head it with a word that is known.",
	}
	same(t, shown(readFile(t, "utf16le.txt", asUsual)), want)
	same(t, shown(readFile(t, "utf16be.txt", asUsual)), want)
}

// Title lines, a row of units and forms of dates, the header once more in the
// middle, and a mean below.
func TestTitles(t *testing.T) {
	same(t, shown(readFile(t, "titles.csv", asUsual)), []string{
		"6: 1 | arm plain | cook 1 | inoculated 2026-02-03 | flush 1 22.1 g (22.1 g) 2026-04-05 | flush 2 8 g (8.0 g) ?",
		"7: 2 | arm plain | cook 1 | inoculated 2026-02-03 | flush 1 19.7 g (19.7 g) 2026-04-06",
		"9: 3 | arm coarse | cook 2 | inoculated 2026-02-04 | LOST ? cobweb",
		"10: 4 | arm coarse | cook 2 | inoculated 2026-02-04 | flush 1 16 g (16.0 g) 2026-04-07 | flush 2 0 g (0 g) ?",
		"refused 12 [LOAD] \"mean\": this row sums up others and is no jar",
		"title_rows: Rows 1–2 above the header were taken for a title and passed over.",
		"unit_row: Row 5 holds the units of the columns.",
		"header_again: Row 8: the header once more, passed over.",
	})
}

// Marks and no numbers, months first by the evidence of one row, a day as the
// spreadsheet counts it, weights under "harvest", a loss by its reason alone.
func TestMonthsFirst(t *testing.T) {
	same(t, shown(readFile(t, "months-first.csv", asUsual))[:4], []string{
		"2: 9 | mark R1 | arm red lid | inoculated 2026-02-03 | pins 2026-03-14 | flush 1 18.2 g (18.2 g) ? | flush 2 4.1 g (4.1 g) ?",
		"3: 9 | mark R2 | arm red lid | inoculated 2026-02-03 | pins 2026-03-16 | flush 1 20 g (20.0 g) ?",
		"4: 9 | mark W1 | arm white lid | inoculated 2026-02-13 | pins 2026-03-02 | LOST ? trich on the side",
		"5: 9 | mark W2 | arm white lid | inoculated 2026-02-03 | pins 2026-03-16 | flush 1 17 g (17.0 g) ? | flush 2 3.5 g (3.5 g) ?",
	})
}

// Every row of faults.csv but one is at fault, each in its own way.
func TestFaults(t *testing.T) {
	s := readFile(t, "faults.csv", asUsual)
	if len(s.Rows) != 1 || s.Rows[0].Row != 20 {
		t.Errorf("rows %v, want row 20 alone", s.Rows)
	}
	want := []string{
		`2 inoculated is no day of the calendar`, `3 covered is before “inoculated” on 1 Mar 2026`, `4 inoculated is 3 Apr 2026 or 4 Mar 2026`,
		`5 inoculated has no year`, `6 inoculated is before 1990`, `7 inoculated has not come yet`, `8 fresh g is below 0`,
		`9 fresh g can be read as 1234 or as 1.234`, `10  row 2 holds jar 1 of batch K already`, `11 jar names several jars`,
		`12 fresh g is a volume, a mass is wanted`, `13 discarded does not say whether the jar was lost`, `14 outcome bore no fruit, and that 21 g were picked`,
		`15 outcome does not say what became of the jar`, `16 fresh g holds a formula that failed`, `17  a quotation mark is opened`,
		`18  more cells than the header has headings: 10 and 9`, `19  names no jar`, `21 covered counts from inoculation`,
		`22 fresh g out of the range 0 to 20000 g`, `23 covered is not a day that can be read`, `23 discarded is before “harvest”`, `24 batch sums up others`,
	}
	if len(s.Refused) != len(want) {
		t.Fatalf("%d refusals, want %d", len(s.Refused), len(want))
	}
	for i, w := range want {
		r := s.Refused[i]
		head := fmt.Sprintf("%d %s ", r.Row, r.Column)
		if !strings.HasPrefix(w, head) || !strings.Contains(r.What, strings.TrimPrefix(w, head)) {
			t.Errorf("refusal %d is %s%s, want %s", i, head, r.What, w)
		}
		if r.Mend == "" {
			t.Errorf("refusal %d (%s) does not say what to do", i, r.What)
		}
	}
}

// What a sheet means is said column by column, also what is not understood.
func TestColumns(t *testing.T) {
	s := readFile(t, "months-first.csv", asUsual)
	want := []app.SheetColumn{
		{Header: "mark", Means: "mark on the jar"},
		{Header: "batch", Means: "batch"},
		{Header: "arm", Means: "arm of the trial"},
		{Header: "inoculated", Means: "day inoculated, 3/4 is 4 March"},
		{Header: "pinned", Means: "day: pins, 3/4 is 4 March"},
		{Header: "harvest 1", Means: "fresh weight, flush 1, in g where no unit is written"},
		{Header: "harvest 2", Means: "fresh weight, flush 2, in g where no unit is written"},
		{Header: "reason", Means: "why it was lost"},
	}
	if !slices.Equal(s.Columns, want) {
		t.Errorf("columns %v, want %v", s.Columns, want)
	}
	s = read(t, "jar,dry g,pH,Date,fresh g,total g,\n1,2.1,6.2,x,20,20,left corner\n", asUsual)
	for i, why := range []string{"a dried weight is not a fresh one", "its words are not known", "does not say the day of what"} {
		if !strings.Contains(s.Columns[i+1].Means, why) {
			t.Errorf("%s: %s, want %s", s.Columns[i+1].Header, s.Columns[i+1].Means, why)
		}
	}
	if got, want := s.Rows[0].Note, "dry g: 2.1; pH: 6.2; Date: x; total g: 20; column G: left corner"; got != want {
		t.Errorf("note %q, want %q", got, want)
	}
}

func TestHeaderIsFound(t *testing.T) {
	for _, c := range []struct {
		text   string
		header string
		doubt  string
	}{
		{"trial,cook,run,2026-03-01,24,16\njar,fresh g\n1,20\n", "jar fresh g", "title_rows: Row 1 above the header was taken for a title and passed over."},
		{"sep=;\njar;fresh g\n1;2,5\n", "jar fresh g", ""},
		{"\"Oats, in wide jars\"\n\njar\tfresh g\n1\t20\n", "jar fresh g", "title_rows: Row 1 above the header was taken for a title and passed over."},
		{"jar;note, with comma;fresh g\n1;a,b;20\n", "jar note, with comma fresh g", "columns_to_note"},
		{strings.Repeat("title\n", 29) + "jar,fresh g\n1,20\n", "jar fresh g", "title_rows: Rows 1–29 above the header were taken for a title and passed over."},
		{"mark\nK1\n", "mark", ""},
	} {
		s := read(t, c.text, asUsual)
		var heads []string
		for _, x := range s.Columns {
			heads = append(heads, x.Header)
		}
		if got := strings.Join(heads, " "); got != c.header {
			t.Errorf("%q: header %s, want %s", c.text, got, c.header)
		}
		if c.doubt == "" && len(s.Doubts) > 0 || c.doubt != "" && !strings.HasPrefix(shown(app.JarSheet{Doubts: s.Doubts})[0], c.doubt) {
			t.Errorf("%q: doubts %v, want %s", c.text, s.Doubts, c.doubt)
		}
	}
}

// Doubts name the first five rows, and say when cells were left blank as
// spreadsheets of groups do.
func TestDoubts(t *testing.T) {
	s := read(t, "batch,jar,arm,fresh g\nA,1,x,0\n,2,,0\nA,3,x,0\nA,4,x,0\nA,6,x,0\nA,7,x,0\nA,9,x,0\n", asUsual)
	same(t, shown(app.JarSheet{Doubts: s.Doubts}), []string{
		"zero_is_barren: Rows 2–6 and 2 more: 0 g and nothing else, which is a real zero: the jar bore no fruit. Leave the cell blank where a jar was not weighed.",
		"partly_batch: 1 of 7 jars have a blank batch. A blank cell is not filled from the one above: if that is meant, fill the column down and read the sheet again.",
		"partly_arm: 1 of 7 jars have a blank arm. A blank cell is not filled from the one above: if that is meant, fill the column down and read the sheet again.",
	})
	for _, c := range []struct{ text, code string }{
		{"jar,fresh\n1,20\n", "no_unit"},
		{"jar,dose\n1,2\n", "amount_no_unit"},
		{"jar,lost\n1,x\n", "reason_not_said"},
		{"jar,why\n1,contam\n", "lost_by_reason"},
		{"jar,harvest date\n1,2026-03-01\n", "picked_not_weighed"},
		{"jar,total g\n1,30\n", "totals_as_one"},
		{"jar,arm\n1,blank\n", "blank_by_arm"},
		{"jar,layer\n1,top\n", "layer_words"},
		{"jar,pins\n1,46085\n", "counted_days"},
		{"jar,pins\n1,3/4/2026\n2,3/14/2026\n", "month_first"},
		{"jar,pins\n1,14/3/2026\n2,3/14/2026\n", "days_mixed"},
		{"jar,pins\n1,\njar,pins\n", "header_again"},
	} {
		s := read(t, c.text, asUsual)
		if len(s.Doubts) != 1 || s.Doubts[0].Code != c.code || strings.Contains(s.Doubts[0].Text, "%") || s.Doubts[0].Title == "" || s.Doubts[0].Weight == "" {
			t.Errorf("%q: %v, want %s", c.text, s.Doubts, c.code)
		}
	}
}

func TestSummaries(t *testing.T) {
	for row, is := range map[string]bool{
		"Total,,20": true, "AVERAGE:,,20": true, "mean per jar,,20": true, ",Sum,20": true, "sub-total,,9": true, "Meander,1,20": false,
		"A,1,20": false, "Totally rye,1,20": false,
	} {
		s := read(t, "arm,mark,fresh g\n"+row+"\nA,other,20\n", asUsual)
		got := len(s.Refused) == 1 && strings.Contains(s.Refused[0].What, "sums up")
		if got != is {
			t.Errorf("%q: summary %t, want %t", row, got, is)
		}
	}
	if s := read(t, "note,jar\naverage of two weighings,1\n", asUsual); len(s.Rows) != 1 {
		t.Errorf("a note that begins like a summary: %v", s.Refused)
	}
}

func TestWholeSheetRefused(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "reads as a header"},
		{"prose", "dear diary\ntoday I filled some\n", "reads as a header"},
		{"no jar", "batch,harvest,weight g\nA,2026-03-01,20\n", "no column names the jars"},
		{"no rows", "jar,weight g\n\n,,\n", "there are no jars"},
		{"workbook", "PK\x03\x04\x14\x00", "workbook"},
		{"bytes", "jar,weight\n1,\x00\n", "bytes that are no text"},
		{"wide", "jar,weight g" + strings.Repeat(",x", 500) + "\n1,2\n", "more than 500 columns"},
		{"long", "jar\n" + strings.Repeat("\n", maxRows), "more than 1000000 rows"},
		{"large", "jar\n" + strings.Repeat("1\n", maxBytes/2), "larger than 64 MB"},
	} {
		_, err := ReadJars(strings.NewReader(c.text), "x", asUsual)
		p, ok := lab.AsProblem(err)
		if !ok || p.Kind != lab.Invalid || !strings.Contains(p.What, c.want) || p.Mend == "" {
			t.Errorf("%s: %v, want a problem with %q and what to do", c.name, err, c.want)
		}
	}
}
