package ingest

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// accounted checks that every row below the header is read, refused, blank or
// passed over with a caution, and none of them twice.
func accounted(t *testing.T, raw string, s app.JarSheet) {
	t.Helper()
	text, _, err := readText(strings.NewReader(raw))
	if err != nil {
		t.Fatalf("read before, now %v", err)
	}
	l, err := findLayout(text, nil)
	if err != nil {
		t.Fatalf("read before, now %v", err)
	}
	kept, refused := make(map[int]bool), make(map[int]bool)
	for _, r := range s.Rows {
		if kept[r.Row] {
			t.Fatalf("row %d is there twice", r.Row)
		}
		kept[r.Row] = true
	}
	for _, r := range s.Refused {
		if kept[r.Row] {
			t.Fatalf("row %d is read and refused", r.Row)
		}
		if r.What == "" {
			t.Fatalf("row %d is refused without a word", r.Row)
		}
		refused[r.Row] = true
	}
	passed := false
	for _, c := range s.Doubts {
		passed = passed || c.Code == "header_again" || c.Code == "unit_row"
	}
	for l.next() {
		if l.blank() || kept[l.row] || refused[l.row] || passed && (l.repeats() || l.row > l.header) && !isJarRow(l) {
			continue
		}
		t.Fatalf("row %d vanished: %q", l.row, l.fields)
	}
}

// repeats reports whether the row is the header once more.
func (l *layout) repeats() bool {
	j := jarReader{layout: l}
	return j.repeatsHeader()
}

// isJarRow reports whether a row can be neither a header nor a row of units.
func isJarRow(l *layout) bool {
	if l.repeats() {
		return false
	}
	for _, f := range l.fields {
		if _, ok := unitCell(f); !ok {
			return true
		}
	}
	return false
}

// sound checks what holds for every row that is read.
func sound(t *testing.T, s app.JarSheet, o Options) {
	t.Helper()
	for _, r := range s.Rows {
		if r.Number == 0 && r.Mark == "" {
			t.Fatalf("row %d names no jar", r.Row)
		}
		if r.Lost && r.Reason == "" || r.Lost && r.Barren || r.Blank && !r.Inoculated.IsZero() {
			t.Fatalf("row %d contradicts itself: %+v", r.Row, r)
		}
		grams := 0.0
		for _, p := range r.Picks {
			if _, err := (lab.Pick{Flush: p.Flush, Grams: p.Grams}).Check(); err != nil || p.Typed == "" || p.At.IsZero() {
				t.Fatalf("row %d has a pick that can not be: %+v", r.Row, p)
			}
			grams += float64(p.Grams)
		}
		if len(r.Picks) > 0 && !(grams > 0) || r.Barren && grams > 0 {
			t.Fatalf("row %d counts a zero among the picked: %+v", r.Row, r)
		}
		days := []lab.When{r.Filled, r.Inoculated, r.LostAt}
		for _, x := range r.Stages {
			days = append(days, x.At)
		}
		for _, d := range days {
			if !d.IsZero() && d.Exactness != lab.Unknown && (d.Time.Year() < 1990 || d.Time.After(o.Now.Add(48*time.Hour))) {
				t.Fatalf("row %d has a day out of range: %s", r.Row, d.Show(time.UTC))
			}
		}
		if utf8.RuneCountInString(r.Mark) > 200 || !utf8.ValidString(r.Mark) {
			t.Fatalf("row %d has a mark of %d bytes", r.Row, len(r.Mark))
		}
	}
	for _, c := range s.Columns {
		if c.Means == "" {
			t.Fatalf("column %q means nothing", c.Header)
		}
	}
}

func FuzzReadJars(f *testing.F) {
	files, err := filepath.Glob("testdata/*.[ct][sx][vt]")
	if err != nil || len(files) < 6 {
		f.Fatalf("%v %v", files, err)
	}
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if len(raw) < 1000 { // the fuzzer takes long to make less of more
			f.Add(string(raw), true)
		}
	}
	for _, s := range []string{
		"", "jar", "jar\n1", "jar,fresh g\n1,\"20\n2,30\n", "sep=;\njar;fresh g\n1;2,5", "jar,inoc,pins\n1,3/4/2026,day 9\n2,13/4/2026,x\n",
		"mark;lost;why\nA;ja;x\nA;;\n", "jar,jar,jar\n1,2,3\n", "jar\tlayer\n1\ttop\n", "jar,g\n(no),oz\n1,2\n", "\xff\xfej\x00", "jar,fresh g,,\n1,2,x,\ntotal\n",
		"jar,flush 1,flush 2,date,date\n1,1,1,1,1\n", "jar,% covered,covered\n1,100,yes\n", "jar,fresh g\nTotal,1\n-,2\n?,?\n",
	} {
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, raw string, first bool) {
		if len(raw) > 1<<16 {
			return
		}
		o := Options{Now: midJune, Zone: time.FixedZone("", 3600)}
		if first {
			o.DayFirst = &first
		}
		s, err := ReadJars(strings.NewReader(raw), "x", o)
		if err != nil {
			if p, ok := lab.AsProblem(err); !ok || p.What == "" || p.Mend == "" {
				t.Fatalf("an error that nobody can mend: %v", err)
			}
			return
		}
		accounted(t, raw, s)
		sound(t, s, o)
		if again, err := ReadJars(strings.NewReader(raw), "x", o); err != nil || !reflect.DeepEqual(s, again) {
			t.Fatalf("read again it is another sheet: %v", err)
		}
	})
}

func FuzzReadDay(f *testing.F) {
	for _, s := range []string{
		"2026-03-04", "4 Mar 2026", "04/03/26", "3/4", "day 12", "46085.5", "12:30", "2026-03-04T14:30:00Z", "4.3.", "Mar 4, 2026 2:30 pm", "99999999",
		"+12", "d", "0/0/0000", "29 Feb 2023", "Wed", "12 am", "1:1:1", "٣/٤/٢٠٢٦",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		w := readDay(s)
		for _, order := range []dayOrder{orderOpen, dayFirst, monthFirst, orderMixed} {
			got, fault := asUsual.when(w, s, order, date(2026, 2, 10))
			if (fault == nil) == got.IsZero() {
				t.Fatalf("%q: %v and %v", s, got, fault)
			}
			if fault == nil && (got.Time.Year() < 1990 || got.Time.After(midJune.AddDate(0, 0, 2))) {
				t.Fatalf("%q is %v", s, got)
			}
		}
	})
}

func FuzzReadHeader(f *testing.F) {
	for _, s := range []string{"Jar", "1st flush (g)", "% covered", "LC mL/jar", "inoc. (dd/mm/yy)", "][)(", "flush 1 2 3", "yes no", "ÄÖ#%", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c := readHeader(s)
		if c.says() == "" || c.flush < 0 || c.flush > 20 || len(c.header) > 500 {
			t.Fatalf("%q: %+v", s, c)
		}
		if up := readHeader(strings.ToUpper(strings.ToLower(s))); up.means != readHeader(strings.ToLower(s)).means && isASCII(s) {
			t.Fatalf("%q: capital letters change what it means", s)
		}
	})
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

func FuzzRecords(f *testing.F) {
	for _, s := range []string{"a,b\nc", "\"a\nb\",c", "\"a,b\n\"c\"", "\"\"\"", "a\r\n\r\nb", "\" \"\" ,"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r := records{text: s, sep: ','}
		last := 0
		for r.next() {
			if r.pos <= last || len(r.fields) == 0 || len(r.fields) > maxColumns {
				t.Fatalf("%q: row %d ends at %d after %d with %d cells", s, r.row, r.pos, last, len(r.fields))
			}
			last = r.pos
		}
		if r.pos != len(s) {
			t.Fatalf("%q: read up to %d", s, r.pos)
		}
	})
}

// Whatever stands in a column that is not understood is in the note.
func TestNothingVanishes(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, seed))
	headings := []string{"jar", "zeal", "note", "", "control", "dry g", "who", "second note", "fresh g", "total g", "reason", "outcome"}
	for range 300 {
		r.Shuffle(len(headings), func(i, k int) { headings[i], headings[k] = headings[k], headings[i] })
		var b strings.Builder
		fmt.Fprintln(&b, strings.Join(headings, ","))
		var tokens []string
		for i, h := range headings {
			cell := ""
			switch h {
			case "jar":
				cell = "7"
			case "fresh g":
				cell = "20"
			default:
				if r.IntN(3) > 0 {
					cell = fmt.Sprintf("token%dx", i)
					tokens = append(tokens, cell)
				}
			}
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(cell)
		}
		s := read(t, b.String()+"\n", asUsual)
		if len(s.Rows) != 1 {
			t.Fatalf("seed %d: %q: refused: %v", seed, b.String(), s.Refused)
		}
		for _, token := range tokens {
			if !strings.Contains(s.Rows[0].Note, token) {
				t.Fatalf("seed %d: %q vanished from %q: note %q", seed, token, b.String(), s.Rows[0].Note)
			}
		}
	}
}
