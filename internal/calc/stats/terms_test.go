package stats

import (
	"errors"
	"math"
	"testing"
)

// codes numbers the words of a column; crossed numbers the pairs of two.
func codes(words []string) []int {
	at := map[string]int{}
	out := make([]int, len(words))
	for i, w := range words {
		k, ok := at[w]
		if !ok {
			k = len(at)
			at[w] = k
		}
		out[i] = k
	}
	return out
}

func crossed(a, b []int) []int {
	out := make([]int, len(a))
	for i := range a {
		out[i] = 100*a[i] + b[i]
	}
	return out
}

func (a table) floats(t testing.TB, key string) []float64 {
	t.Helper()
	out := make([]float64, len(a[key]))
	for i, s := range a[key] {
		out[i] = parse(t, s)
	}
	return out
}

// Reference: R 4.2.2 aov, scripts/03_groups_blocks.R; NPK of a block is aliased
// with the blocks and must read so.
func TestSequentialFAgainstR(t *testing.T) {
	npk, warp, tooth, oats := data(t, "npk"), data(t, "warpbreaks"), data(t, "toothgrowth"), data(t, "oats")
	n, p, k := codes(npk["N"]), codes(npk["P"]), codes(npk["K"])
	wool, tension := codes(warp["wool"]), codes(warp["tension"])
	supp, dose := codes(tooth["supp"]), codes(tooth["dose"])
	whole, sort, nitrogen := crossed(codes(oats["block"]), codes(oats["variety"])), codes(oats["variety"]), codes(oats["nitrogen"])
	for _, c := range []struct {
		name  string
		y     []float64
		terms [][]int
		f     []float64 // NaN for a term that adds nothing
		rest  float64
	}{
		{
			"npk", npk.floats(t, "yield"),
			[][]int{codes(npk["block"]), n, p, k, crossed(n, p), crossed(n, k), crossed(p, k), crossed(crossed(n, p), k)},
			[]float64{4.44666642679811, 12.2587342136509, 0.544129816860359, 6.16568920231713, 1.37829669341202, 2.14597200733998, 0.0311949051919551, math.NaN()},
			12,
		},
		{"warpbreaks", warp.floats(t, "breaks"), [][]int{wool, tension, crossed(wool, tension)}, []float64{3.76528836111864, 8.49804664835803, 4.18906896685104}, 48},
		{"toothgrowth", tooth.floats(t, "len"), [][]int{supp, dose, crossed(supp, dose)}, []float64{15.5719794524972, 91.9999648928671, 4.10699109402252}, 54},
		// The stratum within whole plots of the split plot.
		{"oats", oats.floats(t, "yield"), [][]int{whole, nitrogen, crossed(sort, nitrogen)}, []float64{math.NaN(), 37.6856470588235, 0.302823529411764}, 45},
	} {
		got, err := SequentialF(c.y, c.terms)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		for i, want := range c.f {
			switch {
			case c.name == "oats" && i == 0: // whole plots are tested by themselves
			case math.IsNaN(want):
				if got[i].DF1 != 0 {
					t.Errorf("%s: term %d adds %g degrees of freedom, want none", c.name, i, got[i].DF1)
				}
			default:
				near(t, c.name, got[i].F, want, 1e-11) // sums of squares of up to 1e5 lose 4 digits
			}
			if got[i].DF2 != c.rest {
				t.Errorf("%s: %g degrees of freedom are left, want %g", c.name, got[i].DF2, c.rest)
			}
		}
	}
}

// The stratum of whole plots: one mean each, F 1.485 on 2 and 10.
func TestSequentialFOfUnitMeans(t *testing.T) {
	oats := data(t, "oats")
	block, sort, y := codes(oats["block"]), codes(oats["variety"]), oats.floats(t, "yield")
	sums := make([]float64, 18)
	for i := range y {
		sums[block[i]*3+sort[i]] += y[i] / 4
	}
	var b, v []int
	for i := range sums {
		b, v = append(b, i/3), append(v, i%3)
	}
	got, err := SequentialF(sums, [][]int{b, v})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sort", got[1].F, 1.48534037943634, 1e-12)
	near(t, "p", got[1].P, 0.272386856735206, 1e-11)
}

// Fruit bodies by flush, four treatments in three blocks: the printed LSD follow
// from the printed CV and means with 6 degrees of freedom, not with 8. Source:
// Advances in Agriculture 2019, 6853627, Table 3; t quantile by the definition.
func TestBlocksAreFoundBackFromLSD(t *testing.T) {
	for i, c := range []struct{ mean, cv, lsd, mse float64 }{
		{23.75, 19.14, 9.08, 20.664}, {15.33, 21.60, 6.61, 10.965}, {6.25, 21.82, 2.72, 1.860}, {3.84, 20.85, 1.59, 0.641}, {49.16, 18.82, 18.48, 85.598},
	} {
		mse := math.Pow(c.cv*c.mean/100, 2)
		within(t, "MSE", mse, c.mse, 6e-4) // printed to three decimals
		lsd := func(df float64) float64 { return TQuantile(0.975, df) * math.Sqrt(2*mse/3) }
		// CV and LSD are printed to two decimals: 0.005 of a CV of 20 is 0.03 %, and 0.01 of the LSD.
		within(t, "LSD with blocks", lsd(6), c.lsd, 0.01+3e-4*c.lsd)
		if math.Abs(lsd(8)-c.lsd) < 0.05 {
			t.Errorf("column %d: the LSD does not tell 6 from 8 degrees of freedom", i)
		}
	}
}

func TestSequentialFRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		y     []float64
		terms [][]int
		want  error
	}{
		"no values":       {nil, nil, ErrFew},
		"nothing left":    {[]float64{1, 2}, [][]int{{0, 1}}, ErrFew},
		"no spread":       {[]float64{1, 1, 2, 2}, [][]int{{0, 0, 1, 1}}, ErrFlat},
		"codes too short": {[]float64{1, 2, 3}, [][]int{{0, 1}}, ErrRange},
		"not a number":    {[]float64{1, math.NaN(), 3}, [][]int{{0, 1, 1}}, ErrRange},
	} {
		if _, err := SequentialF(c.y, c.terms); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}
