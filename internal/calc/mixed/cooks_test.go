package mixed

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

func cooksOf(t *testing.T) []Jar {
	t.Helper()
	d := columns(t, "tenruns.csv")
	cook, arm := levelsOf(d["run"]), levelsOf(d["broth"])
	var jars []Jar
	for i, y := range numbers(t, d["yield_g"]) {
		jars = append(jars, Jar{Y: math.Log(y), Arm: arm[i], Cook: cook[i], Mixing: cook[i]})
	}
	return jars
}

// perCook is one difference of means for each cook.
func perCook(jars []Jar) []float64 {
	sums, n := map[int][2]float64{}, map[int][2]float64{}
	var order []int
	for _, j := range jars {
		if n[j.Cook] == [2]float64{} {
			order = append(order, j.Cook)
		}
		s, k := sums[j.Cook], n[j.Cook]
		s[j.Arm] += j.Y
		k[j.Arm]++
		sums[j.Cook], n[j.Cook] = s, k
	}
	var out []float64
	for _, c := range order {
		out = append(out, sums[c][1]/n[c][1]-sums[c][0]/n[c][0])
	}
	return out
}

// Published: lmer with pbkrtest, and t.test of one difference for each cook, of
// R 4.2.2 on ten invented cooks (see TestAgainstLme4).
func TestCooks(t *testing.T) {
	jars := cooksOf(t)
	r, err := FitCooks(jars)
	if err != nil {
		t.Fatal(err)
	}
	e, err := r.Difference(1, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "effect", e.Value, 0.114636456341967, 1e-8)
	near(t, "degrees of freedom", e.DF, 8.22012386902825, 1e-6)
	near(t, "cook", r.Cook, 0.0530215442220958, 1e-7)
	if r.CookByArm != 0 || r.Mixings || r.Places {
		t.Errorf("%+v", r)
	}
	p, err := OnePerCook(perCook(jars))
	if err != nil {
		t.Fatal(err)
	}
	low, high := p.Interval(0.95)
	near(t, "mean difference", p.Value, 0.118760357730091, 1e-12)
	near(t, "low", low, 0.0568469767193897, 1e-10)
	near(t, "high", high, 0.180673738740793, 1e-10)
	near(t, "p", p.P, 0.00187965773804532, 1e-10)
}

// balanced cooks: jars of two arms in each, arms apart by what a cook does to them.
func balanced(r *rand.Rand, cooks, each int, tau float64) []Jar {
	var jars []Jar
	for c := range cooks {
		level, apart := 20*r.NormFloat64(), tau*r.NormFloat64()
		for n := range 2 * each {
			y := 100 + level + 5*r.NormFloat64()
			if n%2 == 1 {
				y += 8 + apart
			}
			jars = append(jars, Jar{Y: y, Arm: n % 2, Cook: c})
		}
	}
	return jars
}

// Law: where every cook holds as many jars of either arm, and the arms differ from
// cook to cook, the model and one difference for each cook say the same, to the
// degrees of freedom.
func TestModelAgreesWithOnePerCook(t *testing.T) {
	for seed := range uint64(6) {
		jars := balanced(rand.New(rand.NewPCG(seed, 3)), 4+int(seed), 5, 12)
		f, err := FitCooks(jars)
		if err != nil {
			t.Fatal(err)
		}
		if f.CookByArm == 0 {
			continue
		}
		a, err := f.Difference(1, 0)
		b, err2 := OnePerCook(perCook(jars))
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		near(t, "difference", a.Value, b.Value, 1e-9)
		near(t, "standard error", a.SE, b.SE, 1e-6)
		near(t, "degrees of freedom", a.DF, b.DF, 1e-5)
		near(t, "p", a.P, b.P, 1e-5)
	}
}

// Mixings are told from cooks where a cook and arm had more than one, or one
// served several cooks; places where they hold both arms of a cook.
func TestMixings(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	jars := cooksOf(t)
	for i := range jars {
		jars[i].Mixing = 2*jars[i].Cook + i%2
	}
	if got, err := FitCooks(jars); err != nil || !got.Mixings {
		t.Errorf("two mixings a cook: %+v, %v", got, err)
	}
	for i := range jars {
		jars[i].Mixing = jars[i].Cook / 2
		jars[i].Y += 0.01 * r.NormFloat64()
	}
	if got, err := FitCooks(jars); err != nil || !got.Mixings {
		t.Errorf("a mixing for two cooks: %+v, %v", got, err)
	}
	for i := range jars {
		jars[i].Mixing = 2*jars[i].Cook + jars[i].Arm
		jars[i].Place = jars[i].Arm
	}
	if got, err := FitCooks(jars); err != nil || got.Mixings || got.Places {
		t.Errorf("a mixing and a place for each cook and arm: %+v, %v", got, err)
	}
	for i := range jars {
		jars[i].Place = i % 3
		jars[i].Y += float64(jars[i].Place)
	}
	if got, err := FitCooks(jars); err != nil || !got.Places || !(got.Place > 0.5) {
		t.Errorf("places a point apart: %+v, %v", got, err)
	}
}

func TestCooksErrors(t *testing.T) {
	one := []Jar{{1, 0, 1, 1, 0}, {2, 1, 1, 1, 0}, {3, 0, 1, 1, 0}, {5, 1, 1, 1, 0}}
	apart := []Jar{{1, 0, 1, 1, 0}, {2, 0, 1, 1, 0}, {3, 1, 2, 1, 0}, {5, 1, 2, 1, 0}}
	for _, jars := range [][]Jar{nil, one, apart} {
		if _, err := FitCooks(jars); !errors.Is(err, ErrFew) {
			t.Errorf("%v: %v", jars, err)
		}
	}
	if _, err := FitCooks([]Jar{{1, -1, 1, 1, 0}}); !errors.Is(err, ErrRange) {
		t.Errorf("an arm below 0: %v", err)
	}
	f, err := FitCooks(cooksOf(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, weights := range [][]float64{nil, {0, 0}, {1, 1}, {-1, 0, 1}, {math.NaN(), 1}} {
		if _, err := f.Contrast(weights); !errors.Is(err, ErrRange) {
			t.Errorf("weights %v: %v", weights, err)
		}
	}
	for _, pair := range [][2]int{{0, 0}, {-1, 0}, {0, 7}} {
		if _, err := f.Difference(pair[0], pair[1]); !errors.Is(err, ErrRange) {
			t.Errorf("arms %v: %v", pair, err)
		}
	}
	for _, values := range [][]float64{nil, {1}, {3, 3, 3}, {0.1 + 0.2, 0.3}} {
		if _, err := OnePerCook(values); !errors.Is(err, ErrFew) {
			t.Errorf("cooks %v: %v", values, err)
		}
	}
	if _, err := OnePerCook([]float64{1, math.Inf(1)}); !errors.Is(err, ErrRange) {
		t.Errorf("an infinite difference: %v", err)
	}
}

func FuzzCooks(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24})
	f.Fuzz(func(t *testing.T, raw []byte) {
		var jars []Jar
		for i := 0; i+2 < len(raw) && i < 120; i += 3 {
			jars = append(jars, Jar{float64(raw[i]) / 16, int(raw[i+1] % 3), int(raw[i+1] / 64), int(raw[i+2] % 5), int(raw[i+2] / 100)})
		}
		r, err := FitCooks(jars)
		if err != nil {
			return
		}
		for arm := range 3 {
			e, err := r.Difference(arm, (arm+1)%3)
			if err != nil {
				continue
			}
			if low, high := e.Interval(0.95); !(e.SE > 0) || !(e.DF > 0) || !(low <= e.Value && e.Value <= high) {
				t.Errorf("%v gives %+v", jars, e)
			}
		}
	})
}

// 5000 jars of 200 blocks, as bench/days/reml.R fits them.
func BenchmarkREML5000(b *testing.B) {
	m := Model{Terms: [][]int{nil}}
	for i := range 5000 {
		block := i / 25
		u := math.Mod(float64(block)*0.618033988749895, 1) - 0.5
		e := math.Mod(float64(i)*0.754877666246693, 1) - 0.5
		m.Y = append(m.Y, 100+5*float64(i%2)+30*u+60*e)
		m.Fixed = append(m.Fixed, []float64{1, float64(i % 2)})
		m.Terms[0] = append(m.Terms[0], block)
	}
	for b.Loop() {
		f, err := m.Fit()
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(f.Variance[0], "variance")
		b.ReportMetric(f.Residual, "residual")
		b.ReportMetric(f.Criterion, "criterion")
	}
}

// The same with blocks by arms beside the blocks, and Kenward and Roger.
func BenchmarkKenwardRoger5000(b *testing.B) {
	var jars []Jar
	for i := range 5000 {
		block := i / 25
		u := math.Mod(float64(block)*0.618033988749895, 1) - 0.5
		e := math.Mod(float64(i)*0.754877666246693, 1) - 0.5
		jars = append(jars, Jar{100 + 5*float64(i%2) + 30*u + 60*e, i % 2, block, block, 0})
	}
	for b.Loop() {
		f, err := FitCooks(jars)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := f.Difference(1, 0); err != nil {
			b.Fatal(err)
		}
	}
}
