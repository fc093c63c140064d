package mixed

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
)

// columns of a table in testdata, by name.
func columns(t testing.TB, file string) map[string][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string][]string)
	for j, name := range rows[0] {
		for _, row := range rows[1:] {
			out[name] = append(out[name], row[j])
		}
	}
	return out
}

func numbers(t testing.TB, of []string) []float64 {
	t.Helper()
	out := make([]float64, len(of))
	for i, s := range of {
		var err error
		if out[i], err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// levelsOf numbers the values of the columns taken together.
func levelsOf(of ...[]string) []int {
	known := make(map[string]int)
	out := make([]int, len(of[0]))
	for i := range out {
		key := ""
		for _, column := range of {
			key += column[i] + "|"
		}
		l, ok := known[key]
		if !ok {
			l = len(known)
			known[key] = l
		}
		out[i] = l
	}
	return out
}

// fixed returns a column of ones and an indicator of each value but the first
// in order, of each of the columns.
func fixed(n int, of ...[]string) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = []float64{1}
	}
	for _, column := range of {
		values := slices.Compact(slices.Sorted(slices.Values(column)))
		for i := range out {
			for _, v := range values[1:] {
				x := 0.0
				if column[i] == v {
					x = 1
				}
				out[i] = append(out[i], x)
			}
		}
	}
	return out
}

type answer struct {
	variance      []float64
	residual      float64
	criterion     float64
	weights       []float64
	value, se, df float64
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1e-6, math.Abs(want))) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

func check(t *testing.T, m Model, want answer) *Fit {
	t.Helper()
	f, err := m.Fit()
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range want.variance {
		near(t, "variance", f.Variance[k], v, 1e-7)
	}
	near(t, "residual variance", f.Residual, want.residual, 1e-8)
	near(t, "criterion", f.Criterion, want.criterion, 1e-11)
	e, err := f.KenwardRoger(want.weights)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "effect", e.Value, want.value, 1e-8)
	near(t, "standard error", e.SE, want.se, 1e-7)
	near(t, "degrees of freedom", e.DF, want.df, 1e-6)
	return f
}

// Published: lmer of lme4 1.1-31 with REML, its profile polished by Newton's
// method to 1e-11, and pbkrtest 0.5.2 for Kenward and Roger, both of R 4.2.2,
// on data sets of lme4, nlme and R. What lme4 leaves open of a variance, some
// 1e-7, is the tolerance.
func TestAgainstLme4(t *testing.T) {
	t.Run("one term: dyestuff", func(t *testing.T) {
		d := columns(t, "dyestuff.csv")
		f := check(t, Model{numbers(t, d["Yield"]), fixed(30), [][]int{levelsOf(d["Batch"])}},
			answer{[]float64{1764.05}, 2451.25, 319.654276842257, []float64{1}, 1527.5, 19.3834121519546, 5})
		near(t, "level of batch A", f.Random[0][0], -17.6068513505302, 1e-7)
		near(t, "level of batch F", f.Random[0][5], -44.9952867846873, 1e-7)
	})
	t.Run("crossed: penicillin", func(t *testing.T) {
		d := columns(t, "penicillin.csv")
		f := check(t, Model{numbers(t, d["diameter"]), fixed(144), [][]int{levelsOf(d["plate"]), levelsOf(d["sample"])}},
			answer{[]float64{0.716908213063764, 3.73091787332682}, 0.302415458901746, 330.860588991086, []float64{1}, 22.9722222222185, 0.808573390888119, 5.48709227928267})
		near(t, "level of plate a", f.Random[0][0], 0.804547044464613, 1e-7)
		near(t, "level of sample F", f.Random[1][5], -3.00374417045215, 1e-7)
	})
	t.Run("a slope: sleepstudy", func(t *testing.T) {
		d := columns(t, "sleepstudy.csv")
		x := fixed(180)
		for i, day := range numbers(t, d["Days"]) {
			x[i] = append(x[i], day)
		}
		m := Model{numbers(t, d["Reaction"]), x, [][]int{levelsOf(d["Subject"])}}
		check(t, m, answer{[]float64{1378.17850776123}, 960.456578973666, 1786.46508539492, []float64{0, 1}, 10.4672859595959, 0.804221429118233, 161})
		check(t, m, answer{nil, 960.456578973666, 1786.46508539492, []float64{1, 0}, 251.405104848486, 9.74671625238018, 22.8101991199564})
	})
	t.Run("nested: oats", func(t *testing.T) {
		d := columns(t, "oats.csv")
		m := Model{numbers(t, d["yield"]), fixed(72, d["nitrogen"], d["variety"]), [][]int{levelsOf(d["block"]), levelsOf(d["block"], d["variety"])}}
		want := answer{[]float64{214.47708332327, 109.69293296821}, 162.558823538392, 568.068755045428, []float64{0, 0, 0, 0, 0, 1}, -6.87499999999952, 7.07890384294084, 10}
		check(t, m, want)
		want.weights, want.value, want.se, want.df = []float64{0, 1, 0, 0, 0, 0}, 19.5, 4.24995194140661, 51
		check(t, m, want)
		want.weights, want.value, want.se, want.df = []float64{1, 0, 0, 0, 0, 0}, 79.916666666666, 8.22039565208263, 10.9314568038037
		check(t, m, want)
	})
	t.Run("invented cooks", func(t *testing.T) {
		d := columns(t, "tenruns.csv")
		y := numbers(t, d["yield_g"])
		for i := range y {
			y[i] = math.Log(y[i])
		}
		x := fixed(len(y), d["broth"])
		check(t, Model{y, x, [][]int{levelsOf(d["run"])}},
			answer{[]float64{0.0530215442086362}, 0.0312018917930651, -35.6116340533561, []float64{0, 1}, 0.114636456341407, 0.033501735490056, 103.291453070946})
		// the variance of cook by arm comes out at 0 and still takes the freedom
		f := check(t, Model{y, x, [][]int{levelsOf(d["run"]), levelsOf(d["run"], d["broth"])}},
			answer{[]float64{0.0530215442220958, 0}, 0.0312018917924122, -35.6116340533562, []float64{0, 1}, 0.114636456341967, 0.0339991927052285, 8.22012386902825})
		e, err := f.KenwardRoger([]float64{0, 1})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "p", e.P, 0.009381729187, 1e-6)
	})
}

// Two layers of one invented cook: a variance that two levels tell.
func TestTwoLevels(t *testing.T) {
	d := columns(t, "layers.csv")
	m := Model{numbers(t, d["yield_g"]), fixed(12, d["broth"]), [][]int{levelsOf(d["layer"])}}
	want := answer{[]float64{26.314197513978}, 253.955648154645, 87.8173632940314, []float64{0, 1}, 23.7833333333333, 9.20064577723841, 9}
	check(t, m, want)
	want.weights, want.value, want.se, want.df = []float64{1, 0}, 102.883333333333, 7.44869385302527, 2.50756833743641
	check(t, m, want)
}

// With no random term it is least squares: lm(weight ~ group), level of the
// first group of oats' blocks by its mean.
func TestLeastSquares(t *testing.T) {
	m := Model{Y: []float64{1, 2, 4, 9}, Fixed: [][]float64{{1, 0}, {1, 0}, {1, 1}, {1, 1}}}
	f, err := m.Fit()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "level", f.Beta[0], 1.5, 1e-12)
	near(t, "difference", f.Beta[1], 5, 1e-12)
	near(t, "residual variance", f.Residual, 13.0/2, 1e-12)
	e, err := f.KenwardRoger([]float64{0, 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "standard error", e.SE, math.Sqrt(6.5), 1e-12)
	near(t, "degrees of freedom", e.DF, 2, 1e-9)
}

// Laws: the order of terms and rows does not matter, and a change of unit
// moves all with it.
func TestLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	m := Model{Terms: [][]int{nil, nil, nil}}
	cook := make([]float64, 8)
	for i := range cook {
		cook[i] = r.NormFloat64()
	}
	for i := range 160 {
		arm := float64(i % 2)
		c, mix := i/20, r.IntN(5)
		m.Y = append(m.Y, 10+arm+cook[c]+0.3*float64(mix)+0.5*r.NormFloat64())
		m.Fixed = append(m.Fixed, []float64{1, arm})
		m.Terms[0], m.Terms[1], m.Terms[2] = append(m.Terms[0], c), append(m.Terms[1], mix), append(m.Terms[2], 2*c+i%2)
	}
	a, err := m.Fit()
	if err != nil {
		t.Fatal(err)
	}
	turned := Model{Terms: [][]int{nil, nil, nil}}
	for i := len(m.Y) - 1; i >= 0; i-- {
		turned.Y, turned.Fixed = append(turned.Y, 7*m.Y[i]), append(turned.Fixed, m.Fixed[i])
		for k := range 3 {
			turned.Terms[k] = append(turned.Terms[k], m.Terms[2-k][i])
		}
	}
	b, err := turned.Fit()
	if err != nil {
		t.Fatal(err)
	}
	for k := range 3 {
		near(t, "variance", b.Variance[2-k], 49*a.Variance[k], 1e-6)
	}
	x, err := a.KenwardRoger([]float64{0, 1})
	y, err2 := b.KenwardRoger([]float64{0, 1})
	if err := errors.Join(err, err2); err != nil {
		t.Fatal(err)
	}
	near(t, "effect", y.Value, 7*x.Value, 1e-9)
	near(t, "standard error", y.SE, 7*x.SE, 1e-6)
	near(t, "degrees of freedom", y.DF, x.DF, 1e-5)
}

func TestErrors(t *testing.T) {
	ones := [][]float64{{1}, {1}, {1}}
	for name, c := range map[string]struct {
		m    Model
		want error
	}{
		"no rows":       {Model{}, ErrRange},
		"no number":     {Model{[]float64{1, math.NaN(), 2}, ones, nil}, ErrRange},
		"ragged":        {Model{[]float64{1, 2, 3}, [][]float64{{1}, {1, 2}, {1}}, nil}, ErrRange},
		"few":           {Model{[]float64{1}, [][]float64{{1}}, nil}, ErrFew},
		"all equal":     {Model{[]float64{2, 2, 2}, ones, nil}, ErrFew},
		"aliased":       {Model{[]float64{1, 2, 3}, [][]float64{{1, 2}, {1, 2}, {1, 2}}, nil}, ErrAliased},
		"level":         {Model{[]float64{1, 2, 3}, ones, [][]int{{0, 1, -1}}}, ErrRange},
		"short term":    {Model{[]float64{1, 2, 3}, ones, [][]int{{0, 1}}}, ErrRange},
		"huge level":    {Model{[]float64{1, 2, 3}, ones, [][]int{{0, 1, 3}}}, ErrRange},
		"too many term": {Model{[]float64{1, 2, 3}, ones, make([][]int, 5)}, ErrRange},
	} {
		if _, err := c.m.Fit(); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	f, err := Model{[]float64{1, 2, 4}, ones, nil}.Fit()
	if err != nil {
		t.Fatal(err)
	}
	for _, weights := range [][]float64{nil, {0}, {math.NaN()}, {1, 2}} {
		if _, err := f.KenwardRoger(weights); !errors.Is(err, ErrRange) {
			t.Errorf("weights %v: %v", weights, err)
		}
	}
}
