package trialstat

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func fouled(t testing.TB, in FouledInput) figure.Answer[FouledResult] {
	t.Helper()
	a, err := Fouled(in)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (r FouledResult) factor(t testing.TB, name string) FouledFactor {
	t.Helper()
	for _, f := range r.Factors {
		if f.Name == name {
			return f
		}
	}
	t.Fatalf("no factor %s", name)
	return FouledFactor{}
}

// jarsOf appends n jars like row, bad of which fouled.
func jarsOf(rows []FouledRow, row FouledRow, bad, n int) []FouledRow {
	for k := range n {
		row.Jar, row.Bad = Label(strconv.Itoa(len(rows)+1)), Flag(k < bad)
		rows = append(rows, row)
	}
	return rows
}

func closeTo(t testing.TB, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil || !(math.Abs(*got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v", what, showPointer(got), want)
	}
}

func showPointer(p *float64) string {
	if p == nil {
		return "nil"
	}
	return strconv.FormatFloat(*p, 'g', -1, 64)
}

// Two groups of jars. The first three as computed with exact fractions, four
// decimals, so half of the last; the fourth by R 4.2.2, fisher.test, 15 digits.
func TestFouledTwoLevels(t *testing.T) {
	for _, c := range []struct {
		bad1, n1, bad2, n2 int
		p, tolerance       float64
	}{
		{6, 20, 0, 20, 0.0202, 5e-5},
		{5, 20, 0, 20, 0.0471, 5e-5},
		{4, 20, 0, 20, 0.1060, 5e-5},
		{2, 12, 7, 12, 0.08937945888, 1e-11},
	} {
		rows := jarsOf(nil, FouledRow{LC: "LC-3"}, c.bad1, c.n1)
		rows = jarsOf(rows, FouledRow{LC: "LC-2"}, c.bad2, c.n2)
		f := fouled(t, FouledInput{Rows: rows}).Result.factor(t, "lc")
		closeTo(t, fmt.Sprint(c.bad1, c.bad2), f.P, c.p, c.tolerance)
		if f.Method != "fisher" {
			t.Errorf("method is %s", f.Method)
		}
	}
}

// Fouled jars by broth within layers: R 4.2.2, mantelhaen.test(exact = TRUE).
func TestFouledWithinLayers(t *testing.T) {
	file, err := os.Open("testdata/contam_strata.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []FouledRow
	for _, l := range lines[1:] {
		n, _ := strconv.Atoi(l[2])
		bad, _ := strconv.Atoi(l[3])
		rows = jarsOf(rows, FouledRow{Layer: Label(l[0]), Recipe: Label(l[1])}, bad, n)
	}
	f := fouled(t, FouledInput{Rows: rows}).Result.factor(t, "recipe")
	if f.Within != "layer" {
		t.Fatalf("the broth is tested within %q, want the layer, which is suspect", f.Within)
	}
	closeTo(t, "p within", f.PWithin, 0.171991958657904, 1e-12)
}

// Three levels: a table small enough to enumerate by hand. Of 6 jars in 3 cooks
// of 2, two fouled: 15 placements, 3 of them both in one cook.
func TestFouledThreeLevels(t *testing.T) {
	rows := jarsOf(nil, FouledRow{Cook: "1"}, 2, 2)
	rows = jarsOf(rows, FouledRow{Cook: "2"}, 0, 2)
	rows = jarsOf(rows, FouledRow{Cook: "3"}, 0, 2)
	f := fouled(t, FouledInput{Rows: rows}).Result.factor(t, "cook")
	closeTo(t, "p", f.P, 3.0/15, 1e-12)
	if f.Method != "freeman_halton" {
		t.Errorf("method is %s", f.Method)
	}
	// The deals come to the same: 4 standard errors of a share of 0.2.
	closeTo(t, "p adjusted of the only factor", f.PAdjusted, 0.2, 4*math.Sqrt(0.2*0.8/4999))
}

// Four jars of five from one culture fouled over two cooks and two layers.
func suspectRows() []FouledRow {
	var rows []FouledRow
	for _, cook := range []Label{"4", "5"} {
		for _, layer := range []Label{"1", "2"} {
			rows = jarsOf(rows, FouledRow{LC: "LC-3", Cook: cook, Layer: layer, Person: "AB", Culture: "king"}, 5, 6)
			for _, lc := range []Label{"LC-1", "LC-2"} {
				bad := 0
				if cook == "4" && layer == "1" {
					bad = 1
				}
				rows = jarsOf(rows, FouledRow{LC: lc, Cook: cook, Layer: layer, Person: "AB", Culture: "pearl"}, bad, 6)
			}
		}
	}
	return rows
}

func TestFouledSuspect(t *testing.T) {
	r := fouled(t, FouledInput{Rows: suspectRows()}).Result
	if len(r.Suspects) != 1 {
		t.Fatalf("suspects are %+v", r.Suspects)
	}
	s := r.Suspects[0]
	if s.Level != "king" && s.Level != "LC-3" || s.Bad != 20 || s.Total != 24 || s.OtherBad != 2 || s.OtherTotal != 48 {
		t.Errorf("suspect is %+v", s)
	}
	if len(s.Inseparable) != 1 || !strings.Contains(s.Sentence, "20 of 24 jars") || !strings.Contains(s.Sentence, "2 of 48") || !strings.Contains(s.Sentence, "LC-3") {
		t.Errorf("it says %q, inseparable %q", s.Sentence, s.Inseparable)
	}
	if r.Sentence != s.Sentence {
		t.Errorf("the first sentence is %q", r.Sentence)
	}
	if p := r.factor(t, "person"); p.P != nil || p.PAdjusted != nil || len(p.Levels) != 1 {
		t.Errorf("one person for all: %+v", p)
	}
	if p := r.factor(t, "cook"); p.Within != "culture" && p.Within != "lc" || p.PWithin == nil {
		t.Errorf("the cook is not tested within the culture: %+v", p)
	}
	if top := r.factor(t, "lc").Levels[0]; top != (FouledLevel{"LC-3", 20, 24}) {
		t.Errorf("the worst level is %+v", top)
	}
}

// A shelf that was filled mostly from the foul culture looks bad alone, not
// among jars of the same culture.
func TestFouledFadesWithin(t *testing.T) {
	rows := jarsOf(nil, FouledRow{LC: "LC-3", Shelf: "top"}, 16, 18)
	rows = jarsOf(rows, FouledRow{LC: "LC-3", Shelf: "low"}, 5, 6)
	rows = jarsOf(rows, FouledRow{LC: "LC-2", Shelf: "top"}, 0, 6)
	rows = jarsOf(rows, FouledRow{LC: "LC-2", Shelf: "low"}, 1, 18)
	r := fouled(t, FouledInput{Rows: rows}).Result
	shelf, lc := r.factor(t, "shelf"), r.factor(t, "lc")
	if *shelf.P > 0.05 || shelf.Within != "lc" || *shelf.PWithin < 0.5 {
		t.Errorf("shelf: p %v, within %s %v", *shelf.P, shelf.Within, showPointer(shelf.PWithin))
	}
	if lc.Within != "shelf" || *lc.PWithin > 0.001 {
		t.Errorf("lc: within %s %v", lc.Within, showPointer(lc.PWithin))
	}
	if r.Suspects[0].Level != "LC-3" {
		t.Errorf("first suspect is %+v", r.Suspects[0])
	}
	for _, s := range r.Suspects {
		if fades := strings.Contains(s.Sentence, "no longer clear"); fades != (s.Factor == "shelf") {
			t.Errorf("%s: %q", s.Factor, s.Sentence)
		}
	}
}

func TestFouledConfused(t *testing.T) {
	rows := jarsOf(nil, FouledRow{LC: "LC-3", Cook: "4", Day: "mon", Layer: "1"}, 4, 6)
	rows = jarsOf(rows, FouledRow{LC: "LC-2", Cook: "5", Day: "tue", Layer: "1"}, 0, 6)
	rows = jarsOf(rows, FouledRow{LC: "LC-2", Cook: "5", Day: "tue", Layer: "2"}, 0, 6)
	a := fouled(t, FouledInput{Rows: rows})
	if got := a.Result.Confused; len(got) != 1 || !reflect.DeepEqual(got[0].Factors, []string{"cook", "lc", "day"}) {
		t.Fatalf("confused: %+v", got)
	}
	if w := a.Result.factor(t, "lc").Within; w == "cook" || w == "day" {
		t.Errorf("tested within what can not be told from it: %s", w)
	}
	if !hasCaution(a.Cautions, "confused") || !hasCaution(a.Cautions, "ranking_only") {
		t.Errorf("cautions: %+v", a.Cautions)
	}
}

// With a true failure of 30 % a jar, two clean blanks come about 49 times in
// 100, four 24 times: 0.7², 0.7⁴.
func TestFouledBlanks(t *testing.T) {
	for n, want := range map[int]float64{0: 1, 1: 0.7, 2: 0.49, 4: 0.2401} {
		rows := jarsOf(nil, FouledRow{Cook: "1"}, 1, 4)
		rows = jarsOf(rows, FouledRow{Cook: "1", Blank: true}, 0, n)
		a := fouled(t, FouledInput{Rows: rows})
		b := a.Result.Blanks
		closeTo(t, fmt.Sprint(n, " blanks"), &b.MissedAt30Pct, want, 1e-15)
		if b.Total != n || b.Bad != 0 || a.Result.Total != 4 || a.Result.Bad != 1 {
			t.Errorf("%d blanks: %+v", n, a.Result)
		}
		if hasCaution(a.Cautions, "no_blanks") != (n == 0) {
			t.Errorf("%d blanks: cautions %+v", n, a.Cautions)
		}
	}
	rows := jarsOf(nil, FouledRow{Cook: "1"}, 1, 4)
	rows = jarsOf(rows, FouledRow{Cook: "1", Blank: true}, 1, 2)
	rows = jarsOf(rows, FouledRow{Cook: "2", Blank: true}, 0, 1)
	a := fouled(t, FouledInput{Rows: rows})
	if b := a.Result.Blanks; b.Bad != 1 || len(b.ByCook) != 2 || b.ByCook[0].Bad != 1 || b.ByCook[1].MissedAt30Pct != 0.7 || !hasCaution(a.Cautions, "blank_fouled") {
		t.Errorf("a fouled blank: %+v", b)
	}
}

// The order of the rows changes nothing; other names for the levels change no
// exact p.
func TestFouledLaws(t *testing.T) {
	rows := suspectRows()
	want := fouled(t, FouledInput{Rows: rows})
	mixed := slices.Clone(rows)
	r := rand.New(rand.NewPCG(1, 2))
	r.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	if got := fouled(t, FouledInput{Rows: mixed}); !reflect.DeepEqual(got, want) {
		t.Errorf("another order of the rows: %+v, want %+v", got.Result, want.Result)
	}
	if !reflect.DeepEqual(rows, suspectRows()) {
		t.Error("the input was changed")
	}
	named := slices.Clone(rows)
	for i := range named {
		named[i].LC = map[Label]Label{"LC-1": "zeta", "LC-2": "균사", "LC-3": "a"}[named[i].LC]
	}
	got := fouled(t, FouledInput{Rows: named}).Result
	for i, f := range got.Factors {
		if *orZero(f.P) != *orZero(want.Result.Factors[i].P) || *orZero(f.PWithin) != *orZero(want.Result.Factors[i].PWithin) && f.Method == "fisher" {
			t.Errorf("%s under other names: %+v, want %+v", f.Name, f, want.Result.Factors[i])
		}
		if f.P != nil && *f.PAdjusted < *f.P-0.01 { // deals of one part in 10⁴
			t.Errorf("%s: adjusted p %v is under p %v", f.Name, *f.PAdjusted, *f.P)
		}
	}
}

func orZero(p *float64) *float64 {
	if p == nil {
		return new(float64)
	}
	return p
}

// Where nothing fouls jars but chance, a suspect is named in no more than about
// 5 farms of 100: of 100, within 4 standard errors.
func TestFouledSeldomAccuses(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	accused := 0
	const farms = 100
	for range farms {
		rows := make([]FouledRow, 48)
		for i := range rows {
			pick := func(n int) Label { return Label(strconv.Itoa(r.IntN(n))) }
			rows[i] = FouledRow{Bad: Flag(r.Float64() < 0.2), Cook: pick(3), LC: pick(4), Layer: pick(2), Shelf: pick(3), Person: pick(2)}
		}
		if len(fouled(t, FouledInput{Rows: rows}).Result.Suspects) > 0 {
			accused++
		}
	}
	if limit := farms*0.05 + 4*math.Sqrt(farms*0.05*0.95); float64(accused) > limit {
		t.Errorf("%d of %d farms accuse something of nothing", accused, farms)
	}
	t.Logf("%d of %d", accused, farms)
}

func TestFouledEdges(t *testing.T) {
	none := fouled(t, FouledInput{Rows: jarsOf(jarsOf(nil, FouledRow{Cook: "1"}, 0, 5), FouledRow{Cook: "2"}, 0, 5)})
	if f := none.Result.factor(t, "cook"); f.P != nil || f.PAdjusted != nil || none.Result.Sentence != "None of 10 jars fouled." {
		t.Errorf("no jar fouled: %+v", none.Result)
	}
	all := fouled(t, FouledInput{Rows: jarsOf(jarsOf(nil, FouledRow{Cook: "1"}, 5, 5), FouledRow{Cook: "2"}, 5, 5)})
	if f := all.Result.factor(t, "cook"); f.P != nil || !hasCaution(all.Cautions, "no_clean_jars") {
		t.Errorf("all fouled: %+v", all)
	}
	blanks := fouled(t, FouledInput{Rows: jarsOf(nil, FouledRow{Blank: true}, 1, 2)})
	if blanks.Result.Total != 0 || blanks.Result.Blanks.Bad != 1 {
		t.Errorf("blanks only: %+v", blanks.Result)
	}
	own := jarsOf(nil, FouledRow{}, 2, 6)
	for i := range own {
		own[i].Shelf = own[i].Jar
	}
	if f := fouled(t, FouledInput{Rows: own}).Result.factor(t, "shelf"); f.P != nil {
		t.Errorf("a place for every jar: %+v", f)
	}
	partly := jarsOf(jarsOf(nil, FouledRow{Cook: "1"}, 3, 4), FouledRow{}, 0, 4)
	partly = jarsOf(partly, FouledRow{Cook: "2"}, 0, 4)
	a := fouled(t, FouledInput{Rows: partly})
	if f := a.Result.factor(t, "cook"); f.Unknown != 4 || !hasCaution(a.Cautions, "not_recorded") {
		t.Errorf("partly recorded: %+v", f)
	}
	var fault *figure.Fault
	for what, rows := range map[string][]FouledRow{"no rows": nil, "twice": {{Jar: "1"}, {Jar: "1", Bad: true}}} {
		if _, err := Fouled(FouledInput{Rows: rows}); !errors.As(err, &fault) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// A hundred thousand jars are within reach: the exact methods step aside.
func TestFouledManyRows(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	rows := make([]FouledRow, 100_000)
	for i := range rows {
		pick := func(n int) Label { return Label(strconv.Itoa(r.IntN(n))) }
		rows[i] = FouledRow{Cook: pick(1000), Layer: pick(3), LC: pick(40), Day: pick(300), Shelf: pick(2), Person: pick(2)}
		share := 0.3
		if rows[i].LC == "7" {
			share = 0.5
		}
		rows[i].Bad = Flag(r.Float64() < share)
	}
	got := fouled(t, FouledInput{Rows: rows}).Result
	if len(got.Suspects) == 0 || got.Suspects[0].Level != "7" || got.factor(t, "cook").Method != "draws" {
		t.Errorf("suspects %+v", got.Suspects)
	}
}

func TestFlag(t *testing.T) {
	var in FouledInput
	if err := json.Unmarshal([]byte(`{"rows":[{"bad":1},{"bad":true,"blank":0},{"bad":null}]}`), &in); err != nil || !in.Rows[0].Bad || !in.Rows[1].Bad || in.Rows[2].Bad {
		t.Errorf("%+v, %v", in, err)
	}
	for _, bad := range []string{`"yes"`, `2`, `[]`} {
		if json.Unmarshal([]byte(`{"rows":[{"bad":`+bad+`}]}`), &in) == nil {
			t.Errorf("%s was taken", bad)
		}
	}
}

// Whatever the table, every figure is one that JSON can hold, and every share
// is a share.
func FuzzFouled(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, uint64(1))
	f.Add([]byte{255, 255, 0, 0}, uint64(0))
	f.Fuzz(func(t *testing.T, data []byte, seed uint64) {
		var rows []FouledRow
		for _, b := range data[:min(len(data), 60)] {
			rows = append(rows, FouledRow{
				Bad: b&1 == 1, Blank: b&14 == 14, Cook: Label(strconv.Itoa(int(b >> 4 & 3))), LC: Label([]string{"", "a", "b", "c"}[b>>1&3]),
				Layer: Label(strconv.Itoa(int(b >> 6))),
			})
		}
		a, err := Fouled(FouledInput{Rows: rows, Seed: &seed})
		if err != nil {
			return
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Result.Factors {
			for _, p := range []*float64{x.P, x.PWithin, x.PAdjusted} {
				if p != nil && !(*p >= 0 && *p <= 1) {
					t.Fatalf("%s: p %v", x.Name, *p)
				}
			}
		}
	})
}

func BenchmarkFouled200(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	rows := make([]FouledRow, 200)
	for i := range rows {
		pick := func(n int) Label { return Label(strconv.Itoa(r.IntN(n))) }
		rows[i] = FouledRow{Bad: Flag(r.Float64() < 0.2), Cook: pick(8), LC: pick(4), Layer: pick(2), Shelf: pick(3), Person: pick(2), Day: pick(6), Container: pick(2)}
	}
	for b.Loop() {
		if _, err := Fouled(FouledInput{Rows: rows}); err != nil {
			b.Fatal(err)
		}
	}
}
