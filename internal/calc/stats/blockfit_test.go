package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Reference: dense-matrix computation in NumPy 1.24, scripts/14_blocked_hetero.py.
func TestBlockedAgainstNumPy(t *testing.T) {
	var want struct{ Est, SE, DF, P float64 }
	ref := reference(t, "blocked")
	for name := range ref {
		read(t, ref, name, &want)
		file, drop := "trialA_balanced", []int(nil)
		switch {
		case strings.HasPrefix(name, "trialA_rows_4_5_9_removed"):
			drop = []int{4, 5, 9}
		case strings.HasPrefix(name, "trialB"):
			file = "trialB_lostjars"
		case strings.HasPrefix(name, "trialD"):
			file = "trialD_partly_aligned"
		}
		y, arm, block := trial(t, file, drop...)
		if strings.Contains(name, "log") {
			y = logs(y)
		}
		if strings.HasSuffix(name, "unblocked") {
			block = nil
		}
		got, err := fitDifference(y, arm, block, 2, 0, 1)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" estimate", got.Value, want.Est, closed)
		near(t, name+" se", got.SE, want.SE, closed)
		near(t, name+" df", got.DF, want.DF, closed)
		near(t, name+" p", got.P, want.P, closed)
	}
}

func fitDifference(y []float64, arm, block []int, arms, a, b int) (Estimate, error) {
	f, err := FitBlocks(y, arm, block, arms)
	if err != nil {
		return Estimate{}, err
	}
	return f.Difference(a, b, 0.95)
}

// Reference: R 4.2.2 lm and emmeans 1.8, scripts/03_groups_blocks.R. The means of
// emmeans give every layer the same weight, ours every jar, so that they agree
// where layers are of one size.
func TestBlockedEstimatesAgainstR(t *testing.T) {
	ref := reference(t, "groups")
	for _, c := range []struct {
		name, file string
		drop       []int
		sameSize   bool
	}{
		{"trialA", "trialA_balanced", nil, true},
		{"trialB", "trialB_lostjars", nil, false},
		{"trialA_rows_4_5_9_removed", "trialA_balanced", []int{4, 5, 9}, false},
		{"trialD", "trialD_partly_aligned", nil, true},
	} {
		var want struct {
			Effect     struct{ Est float64 }    `json:"effect_B_minus_A"`
			Means      struct{ Mean []float64 } `json:"adj_means"`
			Efficiency float64
		}
		read(t, ref, c.name, &want)
		y, arm, block := trial(t, c.file, c.drop...)
		f, err := FitBlocks(y, arm, block, 2)
		if err != nil {
			t.Fatal(err)
		}
		d, err := f.Difference(0, 1, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		mean, _, err := f.Means()
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name+" estimate", d.Value, want.Effect.Est, closed)
		near(t, c.name+" efficiency", f.Efficiency(0, 1), want.Efficiency, closed)
		if c.sameSize {
			near(t, c.name+" mean A", mean[0], want.Means.Mean[0], closed)
			near(t, c.name+" mean B", mean[1], want.Means.Mean[1], closed)
		}
	}
}

// Reference: generalised inverses in R 4.2.2 (MASS::ginv), scripts/12_design.R.
func TestEfficiencyOfDesigns(t *testing.T) {
	ref := reference(t, "design")
	for name := range ref {
		var want struct {
			Rank      int
			Contrasts map[string]struct {
				Estimable  bool
				Efficiency float64
			}
			Counts []map[string]any
		}
		if strings.HasPrefix(name, "min_p") || name == "totals_prove_nothing" {
			continue
		}
		read(t, ref, name, &want)
		arm, block := cellsOf(want.Counts)
		y := make([]float64, len(arm))
		rng := rand.New(rand.NewPCG(7, 7))
		for i := range y {
			y[i] = rng.NormFloat64()
		}
		f, err := FitBlocks(y, arm, block, 4)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := Rank(dummies(arm, block)); got != want.Rank {
			t.Errorf("%s: rank %d, want %d", name, got, want.Rank)
		}
		for pair, c := range want.Contrasts {
			a, b := int(pair[2]-'A'), int(pair[0]-'A')
			within(t, name+" "+pair+" efficiency", f.Efficiency(a, b), c.Efficiency, 1e-12)
			_, err := f.Difference(a, b, 0.95)
			if c.Estimable != (err == nil) || !c.Estimable && !errors.Is(err, ErrAliased) {
				t.Errorf("%s %s: %v, estimable %v", name, pair, err, c.Estimable)
			}
		}
	}
}

// cellsOf expands a table of counts, blocks down and arms A.. across.
func cellsOf(counts []map[string]any) (arm, block []int) {
	for b, row := range counts {
		for a := range 4 {
			n, _ := row[string(rune('A'+a))].(float64)
			for range int(n) {
				arm, block = append(arm, a), append(block, b)
			}
		}
	}
	return arm, block
}

// dummies returns the indicator columns of every code.
func dummies(codes ...[]int) [][]float64 {
	var out [][]float64
	for _, c := range codes {
		for code := range 12 {
			col := make([]float64, len(c))
			used := false
			for i, v := range c {
				if v == code {
					col[i], used = 1, true
				}
			}
			if used {
				out = append(out, col)
			}
		}
	}
	return out
}

func TestBlockedWithoutBlocksIsWelch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := sample(t, "a", 2), sample(t, "b", 2)
		want, err := Welch(a, b, 0.95)
		y, arm := together(a, b)
		got, err2 := fitDifference(y, arm, nil, 2, 0, 1)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("Welch says %v, the fit %v", err, err2)
		}
		if err != nil {
			return
		}
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"value", got.Value, want.Value}, {"se", got.SE, want.SE}, {"df", got.DF, want.DF}, {"p", got.P, want.P}} {
			if !(math.Abs(c.got-c.want) <= 1e-12*math.Max(math.Abs(c.want), want.SE)) && c.got != c.want {
				t.Fatalf("%s: fit %.17g, Welch %.17g", c.what, c.got, c.want)
			}
		}
	})
}

// together puts samples one after the other with their arm codes.
func together(samples ...[]float64) (y []float64, arm []int) {
	for g, s := range samples {
		for _, v := range s {
			y, arm = append(y, v), append(arm, g)
		}
	}
	return y, arm
}

// layout is a drawn design: values with arm and block codes.
func layout(t *rapid.T, arms, blocks int) (y []float64, arm, block []int) {
	n := rapid.IntRange(4, 30).Draw(t, "n")
	for range n {
		y = append(y, rapid.Float64Range(50, 200).Draw(t, "y"))
		arm = append(arm, rapid.IntRange(0, arms-1).Draw(t, "arm"))
		block = append(block, rapid.IntRange(0, blocks-1).Draw(t, "block"))
	}
	return y, arm, block
}

func TestBlockedAgainstDenseMatrices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, arm, block := layout(t, 4, 5)
		got, err := fitDifference(y, arm, block, 4, 0, 1)
		if err != nil {
			return
		}
		value, se, df := dense(y, arm, block, 4, 0, 1)
		alike(t, "value", got.Value, value, 1e-9)
		alike(t, "se", got.SE, se, 1e-9)
		alike(t, "df", got.DF, df, 1e-7*df)
	})
}

// Estimates follow a change of unit, and do not mind the order of rows, the
// codes of blocks, a common shift, or a level added to a whole block.
func TestBlockedLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, arm, block := layout(t, 3, 4)
		base, err := fitDifference(y, arm, block, 3, 0, 1)
		if err != nil {
			return
		}
		by := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		z, order := linear(y, by, 1000), rapid.Permutation(index(len(y))).Draw(t, "order")
		var zs []float64
		var as, bs []int
		for _, i := range order {
			zs = append(zs, z[i]+10*float64(block[i]))
			as = append(as, 2-arm[i])
			bs = append(bs, -1000*block[i]-3)
		}
		got, err := fitDifference(zs, as, bs, 3, 1, 2)
		if err != nil {
			t.Fatal(err)
		}
		alike(t, "value", -got.Value, by*base.Value, 1e-8*by)
		alike(t, "se", got.SE, by*base.SE, 1e-8*by)
		alike(t, "df", got.DF, base.DF, 1e-6*base.DF)
	})
}

func index(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestBlockedRefusals(t *testing.T) {
	y := []float64{1, 3, 2, 6, 5, 9}
	nan := append([]float64{math.NaN()}, y[1:]...)
	for _, c := range []struct {
		name       string
		y          []float64
		arm, block []int
		want       error
	}{
		{"no values", nil, nil, nil, ErrFew},
		{"short arm", y, []int{0}, nil, ErrRange},
		{"short block", y, []int{0, 0, 0, 1, 1, 1}, []int{1}, ErrRange},
		{"arm code", y, []int{0, 0, 0, 1, 1, 2}, nil, ErrRange},
		{"arm code below", y, []int{0, 0, 0, 1, 1, -1}, nil, ErrRange},
		{"NaN", nan, []int{0, 0, 0, 1, 1, 1}, nil, ErrRange},
		{"one jar in an arm", y, []int{0, 0, 0, 0, 0, 1}, nil, ErrFew},
		{"absent arm", y, []int{0, 0, 0, 0, 0, 0}, nil, ErrAliased},
		{"arm is block", y, []int{0, 0, 0, 1, 1, 1}, []int{4, 4, 4, 2, 2, 2}, ErrAliased},
		{"all equal", []float64{5, 5, 5, 5, 5, 5}, []int{0, 0, 0, 1, 1, 1}, nil, ErrFlat},
		{"equal but for blocks", []float64{0.1, 0.1, 0.1, 0.7, 0.7, 0.7}, []int{0, 0, 1, 1, 1, 0}, []int{0, 0, 0, 1, 1, 1}, ErrFlat},
		{"sums of arm and block", []float64{0.1, 0.4, 0.7, 1, 1.3, 1.6}, []int{0, 1, 0, 1, 0, 1}, []int{0, 0, 1, 1, 2, 2}, ErrFlat},
		{"one pair", []float64{5, 6}, []int{0, 1}, []int{0, 0}, ErrFew},
		{"bridge of one jar", y, []int{0, 0, 1, 1, 1, 1}, []int{0, 0, 0, 1, 1, 1}, ErrFew},
	} {
		if _, err := fitDifference(c.y, c.arm, c.block, 2, 0, 1); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	f, err := FitBlocks(y, []int{0, 0, 0, 1, 1, 1}, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	for _, pair := range [][2]int{{0, 0}, {0, 2}, {-1, 1}} {
		if _, err := f.Difference(pair[0], pair[1], 0.95); !errors.Is(err, ErrRange) {
			t.Errorf("arms %v: %v, want ErrRange", pair, err)
		}
		if e := f.Efficiency(pair[0], pair[1]); e != 0 {
			t.Errorf("efficiency of %v is %g, want 0", pair, e)
		}
	}
	if _, err := f.Difference(0, 1, 95); !errors.Is(err, ErrRange) {
		t.Errorf("level 95: %v", err)
	}
}

// A jar alone in its block, and a third arm of one jar, tell nothing of the
// first two arms and change nothing.
func TestBlockedIdleJars(t *testing.T) {
	y, arm, block := trial(t, "trialA_balanced")
	want, err := fitDifference(y, arm, block, 2, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	got, err := fitDifference(append(y, 500, 90), append(arm, 1, 2), append(block, 9, 0), 3, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "value", got.Value, want.Value, 1e-12)
	near(t, "se", got.SE, want.SE, 1e-12)
	near(t, "df", got.DF, want.DF, 1e-12)
}

// Levels of the blocks far beyond the spread cost no digits: all values here are
// exact in binary.
func TestBlockedGreatLevels(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 8))
	var y, z []float64
	var arm, block []int
	for i := range 60 {
		v := math.Round(64*rng.NormFloat64()) / 64
		arm, block = append(arm, rng.IntN(3)), append(block, i%7)
		y, z = append(y, v), append(z, v+float64(int64(i%7)<<32))
	}
	want, err := fitDifference(y, arm, block, 3, 0, 2)
	if err != nil {
		t.Fatal(err)
	}
	got, err := fitDifference(z, arm, block, 3, 0, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "value", got.Value, want.Value, 1e-10)
	near(t, "se", got.SE, want.SE, 1e-10)
	near(t, "df", got.DF, want.DF, 1e-10)
}

// A ring of 101 arms and 101 blocks, each jar the only one of its arm in its block:
// leverage 201/202, and still everything can be told.
func TestBlockedRing(t *testing.T) {
	const n = 101
	rng := rand.New(rand.NewPCG(4, 4))
	var y []float64
	var arm, block []int
	for i := range n {
		for _, b := range []int{i, (i + 1) % n} {
			y, arm, block = append(y, 100+rng.NormFloat64()), append(arm, i), append(block, b)
		}
	}
	got, err := fitDifference(y, arm, block, n, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if !(got.SE > 0 && got.DF >= 0.99 && got.DF < 1.01) { // one residual degree of freedom in all
		t.Errorf("%+v", got)
	}
}

// Pairs as blocks: the adjusted difference is the mean of the differences.
// Reference: R 4.2.2 t.test(paired=TRUE) on the sleep data.
func TestBlockedPairs(t *testing.T) {
	var want struct{ T struct{ Est number } }
	read(t, reference(t, "two_sample"), "sleep_paired", &want)
	d := data(t, "sleep")
	var y []float64
	var arm, block []int
	for i, s := range d["extra"] {
		y, arm, block = append(y, parse(t, s)), append(arm, code(d["group"][i] == "1")), append(block, int(parse(t, d["ID"][i])))
	}
	got, err := fitDifference(y, arm, block, 2, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", got.Value, float64(want.T.Est), closed)
}

// large is a trial of n jars in blocks of five, two arms by lot.
func large(n int) (y []float64, arm, block []int) {
	rng := rand.New(rand.NewPCG(3, 5))
	for i := range n {
		arm, block = append(arm, rng.IntN(2)), append(block, i/5)
		y = append(y, 100+20*float64(arm[i])+rng.NormFloat64()*float64(10+10*arm[i])+float64(block[i]%7))
	}
	return y, arm, block
}

func TestBlockedManyBlocks(t *testing.T) {
	y, arm, block := large(100_000)
	got, err := fitDifference(y, arm, block, 2, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Invented: true difference 20, standard error near sqrt(500/2/50000)·… ; ten of them.
	if !(math.Abs(got.Value-20) < 10*got.SE && got.SE < 0.2 && got.DF > 10_000) {
		t.Errorf("%+v", got)
	}
	y, arm, block = large(60)
	got, err = fitDifference(y, arm, block, 2, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	value, se, df := dense(y, arm, block, 2, 0, 1)
	near(t, "value", got.Value, value, 1e-10)
	near(t, "se", got.SE, se, 1e-10)
	near(t, "df", got.DF, df, 1e-10)
}

func BenchmarkFitBlocks(b *testing.B) {
	for _, n := range []int{200, 100_000} {
		y, arm, block := large(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := fitDifference(y, arm, block, 2, 0, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
