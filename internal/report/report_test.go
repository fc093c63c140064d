package report

import (
	"bytes"
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
	"pinset/internal/units"
)

var update = flag.Bool("update", false, "write the golden files")

// sheet is the bench sheet of an invented trial: rice against oats, a broth
// with half a gram of a salt, egg, two cooks.
func sheet(t testing.TB, jars int) app.BenchSheet {
	t.Helper()
	ctx := context.Background()
	db, err := sqldb.Open(ctx, testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	f := app.New(db, app.WithClock(func() time.Time { return now }), app.WithChance(rand.NewChaCha8([32]byte{3})))
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	ok(f.SaveSettings(ctx, app.NewSettings{Name: "Test barn", Zone: "UTC"}))
	for _, grain := range []string{"brown rice", "oats"} {
		_, err := f.AddRecipe(ctx, app.NewRecipe{
			Name: grain + " and broth",
			Mixes: []lab.Mix{
				{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "50 g"}, {Ingredient: "gypsum", Amount: "1/4 tsp"}}},
				{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{
					{Ingredient: "dextrose monohydrate", Amount: "20 g"}, {Ingredient: "soy peptone", Amount: "5 g"}, {Ingredient: "egg, whole", Amount: "1 large"}, {Ingredient: "MgSO4·7H2O", Amount: "0.5 g"},
				}},
			},
			Fills: []lab.Fill{{Mix: "grain", Amount: "50 g"}, {Mix: "broth", Amount: "60 mL"}},
		})
		ok(err)
	}
	_, _, err = f.AddLot(ctx, app.Act{}, app.NewLot{Ingredient: "brown rice", Bought: "5 kg", BestBefore: "2026-02-01", Moisture: "12.4 %"})
	ok(err)
	_, err = f.AddContainer(ctx, app.NewContainer{Name: "half-litre jar", Kind: "jar", Volume: "500 mL", Bore: "80 mm", Height: "110 mm"})
	ok(err)
	_, err = f.AddCulture(ctx, app.NewCulture{Name: "LC-1", Form: "LC", Made: "2026-02-10"})
	ok(err)
	k, err := f.KeepPlan(ctx, app.Act{}, app.PlanInput{
		Name: "rice or oats", Question: "Does rice give more?", Differ: []string{"recipe"},
		Arms:    []app.PlanArm{{Name: "rice", Recipe: "brown rice and broth"}, {Name: "oats", Recipe: "oats and broth"}},
		Culture: "LC-1", Container: "half-litre jar", Jars: jars, BlanksPerCook: 1, Seed: "40218",
		Cooks: []app.PlanCook{{Places: []int{jars/2 + 1, jars / 2}, Hold: "90 min", Gauge: "15 psi"}, {Places: []int{jars/2 + 1, jars / 2}, Hold: "90 min", Gauge: "15 psi"}},
	})
	ok(err)
	s, err := f.BenchSheet(ctx, k.Batch.String())
	ok(err)
	return s
}

// mark is one thing found on a page.
type mark struct {
	page int
	text string
	x, y float64 // mm from the top left
}

var (
	textOp  = regexp.MustCompile(`(?s)BT ([-0-9.]+) ([-0-9.]+) Td \((.*?)\) ?Tj ET`)
	pageTop = regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`)
)

// texts reads what stands where out of a PDF that is not compressed.
func texts(t *testing.T, pdf []byte) []mark {
	t.Helper()
	size := pageTop.FindSubmatch(pdf)
	if size == nil {
		t.Fatal("the PDF has no MediaBox")
	}
	tall, _ := strconv.ParseFloat(string(size[2]), 64)
	var out []mark
	for page, stream := range bytes.Split(pdf, []byte("stream\n")) {
		if page%2 == 0 || !bytes.HasSuffix(stream, []byte("end")) { // between "stream" and "endstream"
			continue
		}
		for _, m := range textOp.FindAllSubmatch(stream, -1) {
			x, _ := strconv.ParseFloat(string(m[1]), 64)
			y, _ := strconv.ParseFloat(string(m[2]), 64)
			out = append(out, mark{page/2 + 1, utf16Text(m[3]), x * 25.4 / 72, (tall - y) * 25.4 / 72})
		}
	}
	return out
}

func utf16Text(escaped []byte) string {
	var raw []byte
	for i := 0; i < len(escaped); i++ {
		if escaped[i] == '\\' && i+1 < len(escaped) {
			i++
			switch escaped[i] {
			case 'r':
				raw = append(raw, '\r')
				continue
			case 'n':
				raw = append(raw, '\n')
				continue
			}
		}
		raw = append(raw, escaped[i])
	}
	var u []uint16
	for i := 0; i+1 < len(raw); i += 2 {
		u = append(u, binary.BigEndian.Uint16(raw[i:]))
	}
	return string(utf16.Decode(u))
}

func listing(marks []mark) string {
	var b strings.Builder
	for _, m := range marks {
		fmt.Fprintf(&b, "%d %6.1f %6.1f  %s\n", m.page, m.x, m.y, m.text)
	}
	return b.String()
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); look at the sheet, and if it is meant run the test with -update:\n%s", path, diff)
	}
}

// papers are the ways in which sheets are printed.
var papers = []Options{{Paper: A4, Units: Metric}, {Paper: Letter, Units: US}, {Paper: A4, Units: US}, {Paper: Letter, Units: Metric}}

func TestBenchGolden(t *testing.T) {
	s := sheet(t, 6)
	for _, o := range papers {
		o.Farm, o.plain = "Test barn", true
		pdf, err := Bench(s, o)
		if err != nil {
			t.Fatal(err)
		}
		golden(t, fmt.Sprintf("bench_%s_%s.txt", o.Paper, o.Units), listing(texts(t, pdf)))
		if dir := os.Getenv("PINSET_SHEETS"); dir != "" { // to look at
			if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("bench_%s_%s.pdf", o.Paper, o.Units)), pdf, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// The same sheet twice is the same bytes.
func TestBenchIsDeterministic(t *testing.T) {
	s := sheet(t, 6)
	first, err := Bench(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	second, err := Bench(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first, second) {
		t.Error("the same sheet twice differs")
	}
}

// Everything stays on the paper and above the footer, and nothing that must be
// said is left out, however many jars there are.
func TestBenchHoldsAll(t *testing.T) {
	for _, jars := range []int{2, 6, 40} {
		s := sheet(t, jars)
		for _, o := range papers {
			o.plain = true
			pdf, err := Bench(s, o)
			if err != nil {
				t.Fatal(err)
			}
			marks := texts(t, pdf)
			wide, tall := 210.0, 297.0
			if o.Paper == Letter {
				wide, tall = 215.9, 279.4
			}
			var all strings.Builder
			for _, m := range marks {
				all.WriteString(m.text + "\n")
				if m.x < left-3 || m.x > wide-right+1 || m.y < top-1 || m.y > tall-8 {
					t.Errorf("%d jars on %s: %q stands at %.0f, %.0f mm, off the paper", jars, o.Paper, m.text, m.x, m.y)
				}
			}
			for _, j := range s.Jars {
				if !strings.Contains(all.String(), string(j.Code)) {
					t.Errorf("%d jars on %s: jar %d is missing", jars, o.Paper, j.Number)
				}
			}
			for _, c := range s.Cautions {
				if !strings.Contains(all.String(), c.Title) {
					t.Errorf("%d jars on %s: the caution %q is missing", jars, o.Paper, c.Title)
				}
			}
		}
	}
}

func TestOptionsRefuse(t *testing.T) {
	for _, o := range []Options{{Paper: "a5"}, {Units: "stone"}} {
		if _, err := Bench(app.BenchSheet{}, o); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("%+v: %v, want a Problem", o, err)
		}
	}
	if pdf, err := Bench(app.BenchSheet{}, Options{}); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Errorf("an empty sheet: %v", err)
	}
}

func TestMassUS(t *testing.T) {
	us := Options{Units: US}
	// 453.59237 g are one pound: NIST SP 811 (2008), B.8.
	for g, want := range map[float64]string{28.349523125: "1.00 oz", 453.59237: "1 lb 0.00 oz", 500: "1 lb 1.64 oz", 0.5: "0.02 oz"} {
		if got := us.mass(units.Gram(g), 1); got != want {
			t.Errorf("%g g is %s, want %s", g, got, want)
		}
	}
}

// Names in any letters are printed as far as the font goes, and no further
// than the paper.
func TestStrangeNames(t *testing.T) {
	for _, name := range []string{"🍄 shelf", "糙米", "Žluťoučký kůň", "рожь", "a\x00b", strings.Repeat("long ", 60), strings.Repeat("x", 300), "\xff\xfe"} {
		s := sheet(t, 2)
		s.Batch.Name = name
		s.Makings[0].Lines[0].Ingredient, s.Makings[0].Mix, s.Jars[0].Mark = name, name, name
		pdf, err := Bench(s, Options{plain: true})
		if err != nil {
			t.Fatalf("%q: %v", name, err)
		}
		said := false
		for _, m := range texts(t, pdf) {
			said = said || strings.Contains(m.text, "□ stands for")
		}
		if want := picture.Printable(name) != name; said != want {
			t.Errorf("%q: a missing letter is said: %v, want %v", name, said, want)
		}
	}
}

// A US fluid ounce is 29.5735295625 mL: NIST SP 811 (2008), B.8.
func TestVolumeUS(t *testing.T) {
	us := Options{Units: US}
	for ml, want := range map[float64]string{29.5735295625: "1.00 fl oz", 60: "2.03 fl oz", 946.352946: "1 qt 0.0 fl oz", 2000: "2 qt 3.6 fl oz"} {
		if got := us.volume(units.Millilitre(ml)); got != want {
			t.Errorf("%g mL are %s, want %s", ml, got, want)
		}
	}
	for typed, want := range map[string]string{"60 mL": "2.03 fl oz", "1/2 cup": "1/2 cup", "50 g": "1.76 oz", "2 large": "2 large"} {
		if got := us.amount(typed); got != want {
			t.Errorf("%s is printed as %s, want %s", typed, got, want)
		}
	}
}

func BenchmarkBench(b *testing.B) {
	s := sheet(b, 12)
	for b.Loop() {
		if _, err := Bench(s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
