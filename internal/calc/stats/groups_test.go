package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// groupCase is one case of the references for several groups.
type groupCase struct {
	Anova struct {
		DF, SS, F, P []number
	}
	Sigma, R2 float64
	Welch     struct {
		F, P float64
		DF   [2]float64
	} `json:"welch_anova"`
	Kruskal       struct{ H, DF, P float64 }
	BrownForsythe struct{ F, P float64 } `json:"brown_forsythe"`
	Tukey         struct {
		Comparison        []string
		Diff, Lwr, Upr, P []float64
	}
	GamesHowell map[string]struct{ Diff, DF, P, Half float64 } `json:"games_howell"`
	Dunnett     *struct {
		Comparison []string
		Diff, T    []float64
		P          []float64 `json:"p_quadrature"`
		Q          float64   `json:"q95_quadrature"`
		Low        []float64 `json:"ci95_lo"`
		High       []float64 `json:"ci95_hi"`
	}
	Raw  []float64 `json:"pairwise_welch_raw"`
	Holm []float64 `json:"pairwise_welch_holm"`
}

// groupCases returns the groups of each case and their names, in order.
func groupCases(t testing.TB) (cases map[string][][]float64, names map[string][]string) {
	plant, insect := data(t, "plantgrowth"), data(t, "insectsprays")
	cases, names = map[string][][]float64{}, map[string][]string{}
	for _, g := range []string{"ctrl", "trt1", "trt2"} {
		for _, c := range []string{"plantgrowth", "plantgrowth_unbalanced_rows_3_11_12_29_removed"} {
			names[c] = append(names[c], g)
			var in []float64
			for i, s := range plant["weight"] {
				if plant["group"][i] == g && (c == "plantgrowth" || !slices.Contains([]int{2, 10, 11, 28}, i)) {
					in = append(in, parse(t, s))
				}
			}
			cases[c] = append(cases[c], in)
		}
	}
	for _, g := range strings.Split("ABCDEF", "") {
		names["insectsprays"] = append(names["insectsprays"], g)
		in := insect.where(t, "count", "spray", g)
		for i, v := range in {
			in[i] = math.Sqrt(v)
		}
		cases["insectsprays"] = append(cases["insectsprays"], in)
	}
	return cases, names
}

// Reference: R 4.2.2 anova, oneway.test, kruskal.test, scripts/03_groups_blocks.R.
func TestGroupsAgainstR(t *testing.T) {
	ref := reference(t, "groups")
	cases, _ := groupCases(t)
	for name, groups := range cases {
		var want groupCase
		read(t, ref, name, &want)
		a, err := ANOVA(groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" F", a.F, float64(want.Anova.F[0]), closed)
		near(t, name+" p", a.P, float64(want.Anova.P[0]), closed)
		near(t, name+" between", a.Between, float64(want.Anova.SS[0]), closed)
		near(t, name+" within", a.Within, float64(want.Anova.SS[1]), closed)
		near(t, name+" df", a.DF2, float64(want.Anova.DF[1]), 0)
		near(t, name+" sd", a.SD, want.Sigma, closed)
		near(t, name+" R²", a.RSquared, want.R2, closed)
		w, err := WelchANOVA(groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" Welch F", w.F, want.Welch.F, closed)
		near(t, name+" Welch df", w.DF2, want.Welch.DF[1], closed)
		near(t, name+" Welch p", w.P, want.Welch.P, closed)
		k, err := KruskalWallis(groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" H", k.Statistic, want.Kruskal.H, closed)
		near(t, name+" H p", k.P, want.Kruskal.P, closed)
		b, err := BrownForsythe(groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" Brown-Forsythe F", b.F, want.BrownForsythe.F, closed)
		near(t, name+" Brown-Forsythe p", b.P, want.BrownForsythe.P, closed)
	}
}

// Reference: R 4.2.2 TukeyHSD; its ptukey is good to about 1e-9, its qtukey to four
// decimals, so the limits are loose.
func TestTukeyAgainstR(t *testing.T) {
	ref := reference(t, "groups")
	cases, names := groupCases(t)
	for name, groups := range cases {
		var want groupCase
		read(t, ref, name, &want)
		got, err := TukeyHSD(groups, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		howell, err := GamesHowell(groups, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for n, c := range got {
			label := names[name][c.B] + "-" + names[name][c.A]
			i := slices.Index(want.Tukey.Comparison, label)
			if i < 0 {
				t.Fatalf("%s: no reference for %s", name, label)
			}
			within(t, label+" difference", c.Value, want.Tukey.Diff[i], 1e-12)
			within(t, label+" p", c.P, want.Tukey.P[i], 1e-8)
			within(t, label+" low", c.Low, want.Tukey.Lwr[i], 2e-4)
			within(t, label+" high", c.High, want.Tukey.Upr[i], 2e-4)
			g := want.GamesHowell[label]
			w := howell[n]
			if w.A != c.A || w.B != c.B {
				t.Fatalf("%s: orders differ", name)
			}
			within(t, label+" Games-Howell p", w.P, g.P, 1e-8)
			near(t, label+" Games-Howell df", w.DF, g.DF, closed)
			within(t, label+" half width", (w.High-w.Low)/2, g.Half, 2e-4)
		}
	}
}

// Reference: nested integrate in R 4.2.2, checked there with mvtnorm 1.1-3.
func TestDunnettAgainstR(t *testing.T) {
	ref := reference(t, "groups")
	cases, names := groupCases(t)
	for name, groups := range cases {
		var want groupCase
		read(t, ref, name, &want)
		if want.Dunnett == nil {
			continue
		}
		got, err := Dunnett(groups, 0, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range got {
			label := names[name][c.B] + " - " + names[name][c.A]
			if want.Dunnett.Comparison[i] != label {
				t.Fatalf("%s: %s in place of %s", name, label, want.Dunnett.Comparison[i])
			}
			within(t, label+" p", c.P, want.Dunnett.P[i], 1e-8)
			near(t, label+" t", c.T, want.Dunnett.T[i], closed)
			within(t, label+" quantile", (c.High-c.Low)/2/c.SE, want.Dunnett.Q, 1e-8)
			within(t, label+" low", c.Low, want.Dunnett.Low[i], 1e-8)
			within(t, label+" high", c.High, want.Dunnett.High[i], 1e-8)
		}
	}
}

// One treatment against a control is Student's t.
func TestDunnettOneTreatmentIsStudent(t *testing.T) {
	tail := newDunnettTail([]float64{math.Sqrt(0.4)}, 11)
	for _, q := range []float64{0.3, 1, 2.2, 4} {
		within(t, "tail", tail.upper(q), 2*TUpper(q, 11), 1e-10)
	}
}

// Reference: R 4.2.2 ptukey, which by the closed form for two groups is itself off
// by up to 1.1e-4 at 2 degrees of freedom, and not better than 1e-7 at 5.
func TestStudentizedRangeAgainstR(t *testing.T) {
	var rows [][4]number
	read(t, reference(t, "groups"), "ptukey_upper", &rows)
	for _, r := range rows {
		q, k, df, want := float64(r[0]), int(r[1]), float64(r[2]), float64(r[3])
		tol := 1e-8
		if df == 5 {
			tol = 1e-7
		} else if df == 2 {
			tol = 2e-4
		}
		within(t, fmt.Sprintf("P(Q >= %g), k %d, df %g", q, k, df), StudentizedRangeUpper(q, k, df), want, tol)
	}
	read(t, reference(t, "groups"), "qtukey", &rows)
	for _, r := range rows {
		p, k, df, want := float64(r[0]), int(r[1]), float64(r[2]), float64(r[3])
		got := StudentizedRangeQuantile(1-p, k, df)
		within(t, fmt.Sprintf("q of %g, k %d, df %g", p, k, df), got, want, 1e-3*want/4) // qtukey: four digits at best
		within(t, "and back", StudentizedRangeUpper(got, k, df), 1-p, 1e-12)
	}
}

// The range of two is √2 times |t|, whose tail is in closed form.
func TestStudentizedRangeOfTwoIsStudent(t *testing.T) {
	for _, df := range []float64{1, 2, 3.5, 9, 40, 1e4, math.Inf(1)} {
		for _, q := range []float64{0.1, 1, 3, 8, 20} {
			within(t, fmt.Sprintf("q %g, df %g", q, df), StudentizedRangeUpper(q, 2, df), 2*TUpper(q/math.Sqrt2, df), 1e-10)
		}
	}
	if !math.IsNaN(StudentizedRangeUpper(1, 1, 5)) || !math.IsNaN(StudentizedRangeUpper(1, 3, math.NaN())) || !math.IsNaN(StudentizedRangeQuantile(0, 3, 5)) {
		t.Error("out of range is not NaN")
	}
	if StudentizedRangeUpper(0, 3, 5) != 1 {
		t.Error("the tail from 0 is not 1")
	}
}

// Reference: R 4.2.2 p.adjust.
func TestHolmAgainstR(t *testing.T) {
	ref := reference(t, "groups")
	for _, name := range []string{"plantgrowth", "insectsprays"} {
		var want groupCase
		read(t, ref, name, &want)
		for i, p := range Holm(want.Raw) {
			near(t, "adjusted", p, want.Holm[i], closed)
		}
	}
	got := Holm([]float64{0.04, math.NaN(), 0.01})
	if got[0] != 0.04 || !math.IsNaN(got[1]) || got[2] != 0.02 {
		t.Errorf("with NaN: %v", got)
	}
	if len(Holm(nil)) != 0 {
		t.Error("adjusted from nothing")
	}
}

// NIST StRD one-way analysis of variance, certified F. As float64 the decimals of
// the stiff sets are gone before we start; as text they are not. The digits to
// reach are those measured with Python's exact sums, scripts/00_nist_lre.py.
func TestANOVAAgainstNIST(t *testing.T) {
	var certified map[string]struct {
		F, SSB, SSW, R2 float64
		SD              float64 `json:"resid_sd"`
		DFB, DFW        float64
	}
	var reach map[string]struct {
		Float   float64 `json:"float_first"`
		Decimal float64 `json:"decimal_centred"`
	}
	read(t, reference(t, "nist"), "anova", &certified)
	read(t, reference(t, "nist"), "digits", &reach)
	for name, c := range certified {
		groups := nistGroups(t, name)
		a, err := ANOVADecimal(groups)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" F from decimals", a.F, c.F, 1e-14)
		near(t, name+" R²", a.RSquared, c.R2, 1e-14)
		near(t, name+" sd", a.SD, c.SD, 1e-14)
		if a.DF1 != c.DFB || a.DF2 != c.DFW {
			t.Errorf("%s: %g and %g degrees of freedom", name, a.DF1, a.DF2)
		}
		f, err := ANOVA(floats(t, groups))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		digits := math.Min(15, -math.Log10(math.Abs(f.F/c.F-1)))
		if digits < reach[name].Float-0.3 {
			t.Errorf("%s: %.1f digits of F from float64, %g can be had", name, digits, reach[name].Float)
		}
	}
}

// nistGroups returns the values of a NIST set as text. SmLs are written by their
// rule, which the sets in the data folder check.
func nistGroups(t *testing.T, name string) [][]string {
	t.Helper()
	if !strings.HasPrefix(name, "SmLs") {
		return fileGroups(t, name)
	}
	number := int(name[5] - '1')
	groups := smooth(number/3, []int{21, 201, 2001}[number%3])
	if number%3 == 0 && !slices.EqualFunc(groups, fileGroups(t, name), func(a, b []string) bool {
		return slices.EqualFunc(a, b, func(x, y string) bool { return parse(t, x) == parse(t, y) })
	}) {
		t.Errorf("%s is not what its rule writes", name)
	}
	return groups
}

func fileGroups(t *testing.T, name string) [][]string {
	t.Helper()
	d := data(t, "nist_"+name)
	var groups [][]string
	last := ""
	for i, g := range d["group"] {
		if g != last {
			groups, last = append(groups, nil), g
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], d["y"][i])
	}
	return groups
}

// smooth writes a SmLs set: nine groups of n; base 1, 1e6 or 1e12; the first value of
// a group is base plus a few tenths, then a tenth below and above it in turn.
func smooth(size, n int) [][]string {
	base := []string{"1", "1000000", "1000000000000"}[size]
	var groups [][]string
	for _, tenths := range []int{4, 3, 5, 3, 5, 3, 5, 3, 5} {
		g := []string{fmt.Sprintf("%s.%d", base, tenths)}
		for j := 1; j < n; j++ {
			g = append(g, fmt.Sprintf("%s.%d", base, tenths-1+2*((j+1)%2)))
		}
		groups = append(groups, g)
	}
	return groups
}

func floats(t *testing.T, groups [][]string) [][]float64 {
	t.Helper()
	out := make([][]float64, len(groups))
	for i, g := range groups {
		for _, s := range g {
			out[i] = append(out[i], parse(t, s))
		}
	}
	return out
}

// Two groups: F is t squared, and Welch's F the square of Welch's t.
func TestTwoGroupsAreT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := sample(t, "a", 2), sample(t, "b", 2)
		w, err := Welch(a, b, 0.95)
		if err != nil {
			return
		}
		if f, err := WelchANOVA([][]float64{a, b}); err == nil {
			alike(t, "Welch F", f.F, w.T*w.T, 1e-9)
			alike(t, "Welch df", f.DF2, w.DF, 1e-9)
			alike(t, "Welch p", f.P, w.P, 1e-9)
		}
		d, _, err := Hedges(a, b)
		if err != nil {
			return
		}
		f, err := ANOVA([][]float64{a, b})
		if err != nil {
			t.Fatal(err)
		}
		pooled := d / math.Sqrt(1/float64(len(a))+1/float64(len(b)))
		alike(t, "F", f.F, pooled*pooled, 1e-9)
	})
}

func TestGroupRefusals(t *testing.T) {
	one, nan := []float64{1}, []float64{1, math.NaN()}
	ok, flat := []float64{1, 2, 4}, []float64{3, 3, 3}
	for _, c := range []struct {
		name   string
		groups [][]float64
		want   error
		tests  string // which of anova, welch, kruskal, spread refuse
	}{
		{"no groups", nil, ErrFew, "awks"},
		{"one group", [][]float64{ok}, ErrFew, "awks"},
		{"empty group", [][]float64{ok, {}}, ErrFew, "awks"},
		{"one value each", [][]float64{one, {2}, {3}}, ErrFew, "aws"},
		{"one value in a group", [][]float64{ok, one}, ErrFew, "w"},
		{"NaN", [][]float64{ok, nan}, ErrRange, "awks"},
		{"all equal", [][]float64{flat, flat}, ErrFlat, "awks"},
		{"flat within", [][]float64{flat, {5, 5}}, ErrFlat, "aws"},
		{"one flat group", [][]float64{ok, flat}, ErrFlat, "w"},
	} {
		_, a := ANOVA(c.groups)
		_, w := WelchANOVA(c.groups)
		_, k := KruskalWallis(c.groups)
		_, s := BrownForsythe(c.groups)
		for i, err := range []error{a, w, k, s} {
			test := "awks"[i : i+1]
			if strings.Contains(c.tests, test) != errors.Is(err, c.want) {
				t.Errorf("%s, %s: %v", c.name, test, err)
			}
		}
		_, tk := TukeyHSD(c.groups, 0.95)
		_, gh := GamesHowell(c.groups, 0.95)
		_, du := Dunnett(c.groups, 0, 0.95)
		if fmt.Sprint(tk) != fmt.Sprint(a) || fmt.Sprint(gh) != fmt.Sprint(w) || len(c.groups) > 0 && fmt.Sprint(du) != fmt.Sprint(a) {
			t.Errorf("%s: comparisons say %v, %v, %v", c.name, tk, gh, du)
		}
	}
	if _, err := Dunnett([][]float64{ok, ok}, 2, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("control out of range: %v", err)
	}
	if _, err := TukeyHSD([][]float64{ok, ok}, 1); !errors.Is(err, ErrRange) {
		t.Errorf("level 1: %v", err)
	}
	if _, err := ANOVADecimal([][]string{{"1,5", "2"}, {"3", "4"}}); !errors.Is(err, ErrRange) {
		t.Errorf("comma: %v", err)
	}
}

func TestRoot(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		f         func(float64) float64
		want      float64
	}{
		{0, 2, func(x float64) float64 { return x*x - 2 }, math.Sqrt2},
		{2, 0, func(x float64) float64 { return x*x - 2 }, math.Sqrt2},
		{0, 1, func(x float64) float64 { return math.Cos(x) - x }, 0.7390851332151607}, // Dottie number
		{-10, 10, func(x float64) float64 { return math.Copysign(math.Pow(math.Abs(x-1), 5), x-1) }, 1},
		{0, 1e6, func(x float64) float64 { return math.Exp(-x) - 1e-9 }, 9 * math.Ln10},
		{0, 1, func(x float64) float64 { return x - 1 }, 1},
	} {
		got, ok := root(c.low, c.high, c.f)
		if !ok {
			t.Errorf("no root near %g", c.want)
		}
		near(t, "root", got, c.want, 1e-15)
	}
	if _, ok := root(0, 1, func(x float64) float64 { return x + 1 }); ok {
		t.Error("a root without a change of sign")
	}
	if _, ok := root(0, 1, func(x float64) float64 { return math.NaN() }); ok {
		t.Error("a root of NaN")
	}
}

func BenchmarkStudentizedRangeUpper(b *testing.B) {
	for b.Loop() {
		StudentizedRangeUpper(3.5, 3, 27)
	}
}

// Published: Harter, Ann. Math. Stat. 31 (1960) 1122-1147, table 3 (from memory of
// the standard table): 3.31 for k 3 and 4.47 for k 10 without limit of degrees; 3.88
// for k 3 and 10 degrees.
func TestStudentizedRangePublished(t *testing.T) {
	for _, c := range []struct {
		k        int
		df, want float64
	}{{3, math.Inf(1), 3.31}, {10, math.Inf(1), 4.47}, {3, 10, 3.88}, {2, 1, 17.97}, {3, 1, 26.98}} {
		within(t, fmt.Sprintf("5 %% point, k %d, df %g", c.k, c.df), StudentizedRangeQuantile(0.05, c.k, c.df), c.want, 0.006)
	}
}

func FuzzDecimal(f *testing.F) {
	for _, s := range []string{"1000000000000.4", "-0.5", "+7", ".5", "5.", "1e9", "1/3", "", "1-2", "0x1p4", "1_000", "..", "\u0663"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := decimal(s)
		if err != nil {
			if !errors.Is(err, ErrRange) {
				t.Fatalf("%q: %v", s, err)
			}
			return
		}
		got, _ := v.Float64()
		want, err := strconv.ParseFloat(s, 64)
		if err != nil || got != want {
			t.Fatalf("%q reads as %g, strconv says %g, %v", s, got, want, err)
		}
	})
}
