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
		jars = append(jars, Jar{math.Log(y), arm[i], cook[i], cook[i]})
	}
	return jars
}

// Published: lmer with pbkrtest, and t.test of one difference for each cook, of
// R 4.2.2 on ten invented cooks (see TestAgainstLme4).
func TestCooks(t *testing.T) {
	jars := cooksOf(t)
	r, err := Cooks(jars, 0, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	e := r.Effects[0]
	near(t, "effect", e.Value, 0.114636456341967, 1e-8)
	near(t, "degrees of freedom", e.DF, 8.22012386902825, 1e-6)
	near(t, "cook", r.Cook, 0.0530215442220958, 1e-7)
	if r.CookByArm != 0 || r.Mixings || len(r.Effects) != 1 {
		t.Errorf("%+v", r)
	}
	p, err := PerCook(jars, 1, 0, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean difference", p.Value, 0.118760357730091, 1e-12)
	near(t, "low", p.Low, 0.0568469767193897, 1e-10)
	near(t, "high", p.High, 0.180673738740793, 1e-10)
	near(t, "p", p.P, 0.00187965773804532, 1e-10)
}

// Mixings are told from cooks where a cook and arm had more than one, or one
// served several cooks.
func TestMixings(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	jars := cooksOf(t)
	for i := range jars {
		jars[i].Mixing = 2*jars[i].Cook + i%2
	}
	if got, err := Cooks(jars, 0, 0.95); err != nil || !got.Mixings {
		t.Errorf("two mixings a cook: %+v, %v", got, err)
	}
	for i := range jars {
		jars[i].Mixing = jars[i].Cook / 2
		jars[i].Y += 0.01 * r.NormFloat64()
	}
	if got, err := Cooks(jars, 0, 0.95); err != nil || !got.Mixings {
		t.Errorf("a mixing for two cooks: %+v, %v", got, err)
	}
	for i := range jars {
		jars[i].Mixing = 2*jars[i].Cook + jars[i].Arm
	}
	if got, err := Cooks(jars, 0, 0.95); err != nil || got.Mixings {
		t.Errorf("a mixing for each cook and arm: %+v, %v", got, err)
	}
}

func TestCooksErrors(t *testing.T) {
	one := []Jar{{1, 0, 1, 1}, {2, 1, 1, 1}, {3, 0, 1, 1}, {5, 1, 1, 1}}
	apart := []Jar{{1, 0, 1, 1}, {2, 0, 1, 1}, {3, 1, 2, 1}, {5, 1, 2, 1}}
	for _, jars := range [][]Jar{nil, one, apart} {
		if _, err := Cooks(jars, 0, 0.95); !errors.Is(err, ErrFew) {
			t.Errorf("%v: %v", jars, err)
		}
		if _, err := PerCook(jars, 1, 0, 0.95); !errors.Is(err, ErrFew) {
			t.Errorf("%v, per cook: %v", jars, err)
		}
	}
	if _, err := Cooks(cooksOf(t), 7, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("a control without jars: %v", err)
	}
	if _, err := Cooks([]Jar{{1, -1, 1, 1}}, 0, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("an arm below 0: %v", err)
	}
}

func FuzzCooks(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24})
	f.Fuzz(func(t *testing.T, raw []byte) {
		var jars []Jar
		for i := 0; i+2 < len(raw) && i < 120; i += 3 {
			jars = append(jars, Jar{float64(raw[i]) / 16, int(raw[i+1] % 3), int(raw[i+1] / 64), int(raw[i+2] % 5)})
		}
		r, err := Cooks(jars, 0, 0.95)
		if err != nil {
			return
		}
		for _, e := range r.Effects {
			if !(e.SE > 0) || !(e.DF > 0) || !(e.Low <= e.Value && e.Value <= e.High) {
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
		jars = append(jars, Jar{100 + 5*float64(i%2) + 30*u + 60*e, i % 2, block, block})
	}
	for b.Loop() {
		if _, err := Cooks(jars, 0, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
