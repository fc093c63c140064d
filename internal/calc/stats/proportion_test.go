package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// twoByTwo is one case of the 2x2 references.
type twoByTwo struct {
	X1, N1, X2, N2 int
	Fisher         float64    `json:"fisher_two"`
	MidP           float64    `json:"fisher_midp_two"`
	Newcombe       [2]float64 `json:"newcombe_diff"`
	MN             [2]float64 `json:"miettinen_nurminen_diff"`
	Boschloo       *struct {
		Two float64 `json:"two_sided_fisher_ordering"`
	} `json:"boschloo_own"`
}

func twoByTwos(t testing.TB) map[string]twoByTwo {
	var all map[string]twoByTwo
	read(t, reference(t, "proportions"), "two_by_two", &all)
	return all
}

// share is one case of the one-sample references.
type share struct {
	Wilson   [2]float64
	Clopper  [2]float64 `json:"clopper_pearson"`
	Jeffreys [2]float64
}

func shares(t testing.TB) map[[2]int]share {
	var all map[string]share
	read(t, reference(t, "proportions"), "one_sample", &all)
	out := map[[2]int]share{}
	for name, s := range all {
		var x, n int
		if _, err := fmt.Fscanf(strings.NewReader(name), "%d/%d", &x, &n); err != nil {
			t.Fatal(err)
		}
		out[[2]int{x, n}] = s
	}
	return out
}

// Reference: closed form in Python, scripts/05_proportions.py; 81/263 is
// Newcombe (1998), Statistics in Medicine 17, 857-872, table I: 0.2553-0.3662 (from memory).
func TestWilson(t *testing.T) {
	for c, want := range shares(t) {
		low, high, err := Wilson(c[0], c[1], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, fmt.Sprint(c, " low"), low, want.Wilson[0], 1e-10)
		within(t, fmt.Sprint(c, " high"), high, want.Wilson[1], 1e-10)
	}
	low, high, _ := Wilson(81, 263, 0.95)
	within(t, "published low", low, 0.2553, 5e-5)
	within(t, "published high", high, 0.3662, 5e-5)
}

// Reference: closed form in Python, scripts/05_proportions.py. Published: Newcombe
// (1998), Statistics in Medicine 17, 873-890, table II, method 10:
// 56/70-48/80 gives 0.0524-0.3339, 9/10-3/10 gives 0.1705-0.8090 (from memory).
func TestNewcombe(t *testing.T) {
	for name, c := range twoByTwos(t) {
		diff, low, high, err := Newcombe(c.X1, c.N1, c.X2, c.N2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name+" difference", diff, float64(c.X1)/float64(c.N1)-float64(c.X2)/float64(c.N2), 1e-15)
		within(t, name+" low", low, c.Newcombe[0], 1e-10)
		within(t, name+" high", high, c.Newcombe[1], 1e-10)
		_, back, forth, _ := Newcombe(c.X2, c.N2, c.X1, c.N1, 0.95)
		within(t, name+" swapped low", back, -high, 1e-12)
		within(t, name+" swapped high", forth, -low, 1e-12)
	}
	_, low, high, _ := Newcombe(56, 70, 48, 80, 0.95)
	within(t, "published low", low, 0.0524, 5e-5)
	within(t, "published high", high, 0.3339, 5e-5)
}

func TestWilsonLaws(t *testing.T) {
	for n := 1; n <= 40; n++ {
		for x := 0; x <= n; x++ {
			low, high, err := Wilson(x, n, 0.9)
			if err != nil {
				t.Fatal(err)
			}
			p := float64(x) / float64(n)
			if !(0 <= low && low <= p && p <= high && high <= 1) {
				t.Errorf("%d of %d: %g..%g does not hold %g", x, n, low, high, p)
			}
			back, forth, _ := Wilson(n-x, n, 0.9)
			within(t, "mirror", back, 1-high, 1e-12)
			within(t, "mirror", forth, 1-low, 1e-12)
		}
	}
}

func TestProportionRefusals(t *testing.T) {
	for _, c := range []struct {
		x, n  int
		level float64
		want  error
	}{{0, 0, 0.95, ErrFew}, {-1, 5, 0.95, ErrRange}, {6, 5, 0.95, ErrRange}, {0, -1, 0.95, ErrRange}, {1, 5, 0, ErrRange}, {1, 5, math.NaN(), ErrRange}} {
		if _, _, err := Wilson(c.x, c.n, c.level); !errors.Is(err, c.want) {
			t.Errorf("Wilson(%+v): %v", c, err)
		}
		if _, _, _, err := Newcombe(1, 4, c.x, c.n, c.level); !errors.Is(err, c.want) {
			t.Errorf("Newcombe(%+v): %v", c, err)
		}
		if _, _, _, err := Newcombe(c.x, c.n, 1, 4, c.level); !errors.Is(err, c.want) {
			t.Errorf("Newcombe(%+v) first: %v", c, err)
		}
	}
}

// Reference: beta quantiles in SciPy 1.10, scripts/05_proportions.py.
func TestBetaIntervals(t *testing.T) {
	for c, want := range shares(t) {
		low, high, err := ClopperPearson(c[0], c[1], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, fmt.Sprint(c, " Clopper-Pearson low"), low, want.Clopper[0], 1e-10)
		within(t, fmt.Sprint(c, " Clopper-Pearson high"), high, want.Clopper[1], 1e-10)
		low, high, err = Jeffreys(c[0], c[1], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, fmt.Sprint(c, " Jeffreys low"), low, want.Jeffreys[0], 1e-10)
		within(t, fmt.Sprint(c, " Jeffreys high"), high, want.Jeffreys[1], 1e-10)
	}
}

// Reference: SciPy 1.10 root finding, scripts/05_proportions.py. Published: Newcombe
// (1998), 873-890, table II, method 5 for 56/70-48/80: 0.0528-0.3382 (from memory).
func TestMiettinenNurminen(t *testing.T) {
	for name, c := range twoByTwos(t) {
		_, low, high, err := MiettinenNurminen(c.X1, c.N1, c.X2, c.N2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		within(t, name+" low", low, c.MN[0], 1e-9)
		within(t, name+" high", high, c.MN[1], 1e-9)
	}
	_, low, high, _ := MiettinenNurminen(56, 70, 48, 80, 0.95)
	within(t, "published low", low, 0.0528, 5e-5)
	within(t, "published high", high, 0.3382, 5e-5)
}

// Every interval holds its estimate and lies in -1..1; swapping arms mirrors it.
func TestMiettinenNurminenLaws(t *testing.T) {
	for _, n := range [][2]int{{1, 1}, {1, 5}, {6, 6}, {7, 12}} {
		for x1 := range n[0] + 1 {
			for x2 := range n[1] + 1 {
				d, low, high, err := MiettinenNurminen(x1, n[0], x2, n[1], 0.9)
				if err != nil {
					t.Fatal(err)
				}
				if !(-1 <= low && low <= d && d <= high && high <= 1) {
					t.Errorf("%d/%d - %d/%d: %g in %g..%g", x1, n[0], x2, n[1], d, low, high)
				}
				_, back, forth, _ := MiettinenNurminen(x2, n[1], x1, n[0], 0.9)
				within(t, "mirror low", back, -high, 1e-7)
				within(t, "mirror high", forth, -low, 1e-7)
			}
		}
	}
}

// Reference: SciPy 1.10 fisher_exact, R 4.2.2 fisher.test.
func TestFisher(t *testing.T) {
	for name, c := range twoByTwos(t) {
		p, mid, err := Fisher(c.X1, c.N1, c.X2, c.N2)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" p", p, c.Fisher, closed)
		near(t, name+" mid-p", mid, c.MidP, closed)
		table := [][]int{{c.X1, c.N1 - c.X1}, {c.X2, c.N2 - c.X2}}
		f, err := FreemanHalton(table)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" as a table", f, p, 1e-11)
	}
}

// Reference: own grid of 2001 and polish in SciPy 1.10, scripts/05_proportions.py.
func TestBoschloo(t *testing.T) {
	for name, c := range twoByTwos(t) {
		p, err := Boschloo(c.X1, c.N1, c.X2, c.N2)
		if err != nil {
			t.Fatal(err)
		}
		if c.Boschloo != nil {
			within(t, name, p, c.Boschloo.Two, 1e-8)
		}
		if p > c.Fisher*(1+1e-9) {
			t.Errorf("%s: Boschloo %g is above Fisher %g", name, p, c.Fisher)
		}
	}
}

// Reference: SciPy 1.10, scripts/07_exact_power.py, the supremum on a grid of 999
// shares there.
func TestPowerOfShares(t *testing.T) {
	ref := reference(t, "exact_power")
	for _, n := range []int{6, 8, 12, 20, 40} {
		var cases map[string]struct{ Fisher, Boschloo float64 }
		read(t, ref, fmt.Sprint(n), &cases)
		for name, want := range cases {
			var p1, p2 float64
			if _, err := fmt.Sscanf(name, "%gv%g", &p1, &p2); err != nil {
				continue // max_type1
			}
			got, err := PowerFisher(n, n, p1, p2, 0.05)
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprint("Fisher ", n, " ", name), got, want.Fisher, closed)
			got, err = PowerBoschloo(n, n, p1, p2, 0.05)
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprint("Boschloo ", n, " ", name), got, want.Boschloo, closed)
		}
	}
	if p, err := PowerBoschloo(1, 1, 0, 1, 0.05); err != nil || p != 0 {
		t.Errorf("1 v 1 can not reach 5 %%: power %g, %v", p, err)
	}
	if p, err := PowerFisher(10, 10, 0, 1, 0.05); err != nil || math.Abs(p-1) > 1e-12 {
		t.Errorf("none against all: power %g, %v", p, err)
	}
}

// 2 of 10 against 1 of 18: no bad jar in the first arm is 0.7 % likelier and must
// not count. Exact fraction, from binomial coefficients by hand.
func TestFisherNearTie(t *testing.T) {
	p, _, err := Fisher(2, 10, 1, 18)
	if err != nil {
		t.Fatal(err)
	}
	choose := func(n, k float64) float64 { return math.Round(choose(int(n), int(k))) }
	all := choose(28, 3)
	want := (choose(10, 2)*18 + choose(10, 3)) / all
	near(t, "p", p, want, closed)
	f, err := FreemanHalton([][]int{{2, 8}, {1, 17}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "as a table", f, want, closed)
}

// The smallest clear-cut split that Fisher calls 5 %: with six v six, 0 v 5 or 1 v 6.
// Reference: R 4.2.2, scripts/12_design.R.
func TestFisherSixBySix(t *testing.T) {
	for _, c := range []struct {
		x1, x2 int
		below  bool
	}{{0, 4, false}, {0, 5, true}, {1, 5, false}, {1, 6, true}} {
		p, _, err := Fisher(c.x1, 6, c.x2, 6)
		if err != nil {
			t.Fatal(err)
		}
		if (p <= 0.05) != c.below {
			t.Errorf("%d v %d of six: p %g", c.x1, c.x2, p)
		}
	}
}

// Reference: R 4.2.2 fisher.test.
func TestFreemanHaltonAgainstR(t *testing.T) {
	var want struct {
		Table [][]int
		P     float64
	}
	read(t, reference(t, "proportions"), "fisher_rxc", &want)
	p, err := FreemanHalton(want.Table)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "p", p, want.P, 1e-9) // fisher.test's network is good to about 1e-7 relative
}

// All tables with the same margins, one by one.
func tablesByHand(table [][]int) float64 {
	rows, cols, seen := margins(table)
	hits, all := 0.0, 0.0
	var walk func(i int, rest []int, length float64)
	walk = func(i int, rest []int, length float64) {
		if i == len(rows) {
			all += math.Exp(length)
			if length <= seen+1e-7 {
				hits += math.Exp(length)
			}
			return
		}
		fillRow(rest, rows[i], 1<<40, func(row, rest []int) { walk(i+1, slices.Clone(rest), length+logMultinomial(row)) })
	}
	walk(0, cols, 0)
	return hits / all
}

func TestFreemanHaltonByHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, c := rapid.IntRange(2, 4).Draw(t, "rows"), rapid.IntRange(2, 3).Draw(t, "cols")
		table := make([][]int, r)
		for i := range table {
			for range c {
				table[i] = append(table[i], rapid.IntRange(0, 4).Draw(t, "count"))
			}
		}
		p, err := FreemanHalton(table)
		if err != nil {
			return
		}
		alike(t, "p", p, tablesByHand(table), 1e-10)
		slices.Reverse(table)
		q, err := FreemanHalton(turned(table))
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "turned", q, p, 1e-10)
	})
}

// Twenty cooks of about ten jars: what a search for a cause asks.
func TestFreemanHaltonManyRows(t *testing.T) {
	var table [][]int
	for i := range 20 {
		bad := []int{1, 0, 2, 1, 6}[i%5]
		table = append(table, []int{bad, 8 + i%4 - bad})
	}
	p, err := FreemanHalton(table)
	if err != nil {
		t.Fatal(err)
	}
	if !(p > 1e-12 && p < 1e-3) {
		t.Errorf("p %g of a glaring table", p)
	}
}

// Reference: R 4.2.2 mantelhaen.test.
func TestMantelHaenszelAgainstR(t *testing.T) {
	var want struct {
		OR     float64 `json:"mh_or"`
		Chi2   float64 `json:"mh_chi2"`
		P      float64 `json:"mh_p"`
		ExactP float64 `json:"exact_p"`
	}
	read(t, reference(t, "proportions"), "strata", &want)
	d := data(t, "contam_strata")
	layers := map[string]*Stratum{"bottom": {}, "top": {}}
	for i := range d["broth"] {
		s, x, n := layers[d["layer"][i]], int(parse(t, d["contaminated"][i])), int(parse(t, d["n"][i]))
		if d["broth"][i] == "A" {
			s.X1, s.N1 = x, n
		} else {
			s.X2, s.N2 = x, n
		}
	}
	got, err := MantelHaenszel([]Stratum{*layers["bottom"], *layers["top"]})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "odds ratio", got.OddsRatio, want.OR, closed)
	near(t, "chi-squared", got.ChiSquared, want.Chi2, closed)
	near(t, "p", got.P, want.P, closed)
	near(t, "exact p", got.ExactP, want.ExactP, closed)
}

// One stratum is Fisher's table; idle strata change nothing.
func TestMantelHaenszelOneStratum(t *testing.T) {
	for name, c := range twoByTwos(t) {
		s := Stratum{c.X1, c.N1, c.X2, c.N2}
		got, err := MantelHaenszel([]Stratum{s, {0, 5, 0, 6}, {0, 0, 3, 4}, {2, 2, 3, 3}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, name, got.ExactP, c.Fisher, closed)
	}
	none, err := MantelHaenszel([]Stratum{{3, 6, 0, 6}})
	if err != nil || !math.IsInf(none.OddsRatio, 1) {
		t.Errorf("none in arm 2: %+v, %v", none, err)
	}
	if _, err := MantelHaenszel([]Stratum{{0, 5, 0, 6}}); !errors.Is(err, ErrFew) {
		t.Errorf("nothing to see: %v", err)
	}
	if _, err := MantelHaenszel([]Stratum{{6, 5, 0, 6}}); !errors.Is(err, ErrRange) {
		t.Errorf("6 of 5: %v", err)
	}
}

func TestCountRefusals(t *testing.T) {
	for _, c := range []struct {
		x, n int
		want error
	}{{0, 0, ErrFew}, {-1, 5, ErrRange}, {6, 5, ErrRange}} {
		_, _, cp := ClopperPearson(c.x, c.n, 0.95)
		_, _, je := Jeffreys(c.x, c.n, 0.95)
		_, _, _, mn := MiettinenNurminen(1, 4, c.x, c.n, 0.95)
		_, _, fi := Fisher(c.x, c.n, 1, 4)
		_, bo := Boschloo(1, 4, c.x, c.n)
		for i, err := range []error{cp, je, mn, fi, bo} {
			if !errors.Is(err, c.want) {
				t.Errorf("%d of %d, case %d: %v", c.x, c.n, i, err)
			}
		}
	}
	if _, err := Boschloo(1, 5000, 2, 5); !errors.Is(err, ErrRange) {
		t.Errorf("too large: %v", err)
	}
	if _, err := PowerFisher(5, 5, 1.2, 0.1, 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("share above 1: %v", err)
	}
	if _, err := PowerBoschloo(5, 5, 0.2, math.NaN(), 0.05); !errors.Is(err, ErrRange) {
		t.Errorf("NaN share: %v", err)
	}
	if _, _, err := Jeffreys(1, 5, 2); !errors.Is(err, ErrRange) {
		t.Errorf("level 2: %v", err)
	}
	for name, c := range map[string]struct {
		table [][]int
		want  error
	}{
		"empty":    {nil, ErrFew},
		"one row":  {[][]int{{1, 2}, {0, 0}}, ErrFew},
		"ragged":   {[][]int{{1, 2}, {1}}, ErrRange},
		"negative": {[][]int{{1, -2}, {1, 1}}, ErrRange},
		"huge":     {[][]int{{90, 80, 70, 60}, {50, 90, 60, 70}, {40, 80, 60, 90}, {30, 50, 90, 80}}, ErrRange},
	} {
		if _, err := FreemanHalton(c.table); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if x := BetaQuantile(0.5, 3, 3); math.Abs(x-0.5) > 1e-15 {
		t.Errorf("median of Beta(3, 3) is %g", x)
	}
	if !math.IsNaN(BetaQuantile(2, 1, 1)) || BetaQuantile(0, 2, 3) != 0 || BetaQuantile(1, 2, 3) != 1 {
		t.Error("ends of the beta quantile")
	}
}

func BenchmarkFreemanHaltonTwentyCooks(b *testing.B) {
	var table [][]int
	for i := range 20 {
		bad := []int{1, 0, 2, 1, 6}[i%5]
		table = append(table, []int{bad, 8 + i%4 - bad})
	}
	for b.Loop() {
		if _, err := FreemanHalton(table); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoschloo(b *testing.B) {
	for b.Loop() {
		if _, err := Boschloo(3, 24, 9, 23); err != nil {
			b.Fatal(err)
		}
	}
}
