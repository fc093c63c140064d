package stats

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
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
// Newcombe (1998), Statistics in Medicine 17, 857-872, table I: 0.2553-0.3662.
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
// 56/70-48/80 gives 0.0524-0.3339, 9/10-3/10 gives 0.1705-0.8090.
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
