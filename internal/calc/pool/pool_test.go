package pool

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

// bcg returns the log risk ratios of Colditz et al. (1994).
func bcg(t *testing.T) []Trial {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "bcg.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Trial
	for _, line := range lines[1:] {
		var n [4]float64
		for k := range n {
			if n[k], err = strconv.ParseFloat(line[3+k], 64); err != nil {
				t.Fatal(err)
			}
		}
		n1, n2 := n[0]+n[1], n[2]+n[3]
		out = append(out, Trial{math.Log(n[0] / n1 / (n[2] / n2)), math.Sqrt(1/n[0] - 1/n1 + 1/n[2] - 1/n2)})
	}
	return out
}

// Published: rma(method = "REML", test = "knha") of metafor 3.8-1.
func TestREMLPublished(t *testing.T) {
	m, err := REML(bcg(t), 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", m.Mean, -0.714532342158139, 1e-8)
	near(t, "tau2", m.Tau2, 0.313243258136481, 1e-7)
	near(t, "standard error", m.SE, 0.1807917441, 1e-8)
	near(t, "low", m.Low, -1.108443714, 1e-8)
	near(t, "high", m.High, -0.3206209706, 1e-8)
	near(t, "p", m.P, 0.001920015096, 1e-8)
	near(t, "next, low", m.NextLow, -1.996016834, 1e-8)
	near(t, "next, high", m.NextHigh, 0.5669521499, 1e-8)
	near(t, "Q", m.Q, 152.2330081, 1e-8)
	near(t, "I2", m.I2, 0.922213845212689, 1e-8)
}

// Published: the same model by integrate of R on one difference per cook of
// ten invented cooks, and on Colditz et al.
func TestBayesPublished(t *testing.T) {
	d := []float64{0.0239911139380018, 0.0399539758037308, 0.127263669278962, 0.0706744063300473, 0.271398579893098, 0.0368791731101714, 0.221082142173368, 0.129932462264261, 0.199640350423001, 0.0667877040862725}
	v := []float64{0.0146003872109642, 0.00946321393303238, 0.0162226524566269, 0.011124104541687, 0.0173041626204021, 0.0189264278660648, 0.0118966118015264, 0.008690706673193, 0.00946321393303238, 0.008690706673193} // a spread pooled over all cooks
	var trials []Trial
	for i := range d {
		trials = append(trials, Trial{d[i], math.Sqrt(v[i])})
	}
	for _, c := range []struct {
		prior                          Prior
		trials                         []Trial
		mean, low, high, tau           float64
		above, nextLow, nextHigh, next float64
	}{
		{UsualPrior, trials, 0.116450714216042, 0.0404373679171525, 0.192546704684583, 0.0444026222933426, 0.997696194714879, -0.0245466598487321, 0.25778255235622, 0.959401309620359},
		{UsualPrior, trials[:1], 0.0203832620175451, -0.377124400929395, 0.413333163911298, 0.150994032728021, 0.550333402890824, -0.552200834598804, 0.587166207579327, 0.542846378296767},
		{Prior{4, 0.5}, bcg(t), -0.710286595288597, -1.08861262133426, -0.345704944290308, 0.571762678216852, 0.000385897744646257, -1.95562844227534, 0.518757104976092, 0.114326771916277},
	} {
		p, err := Bayes(c.prior, c.trials)
		if err != nil {
			t.Fatal(err)
		}
		tau, _, _ := p.Spread(0.95)
		low, high := p.Mean().Interval(0.95)
		nextLow, nextHigh := p.Next().Interval(0.95)
		for _, x := range []struct {
			what      string
			got, want float64
		}{
			{"mean", p.Mean().Mean(), c.mean},
			{"low", low, c.low},
			{"high", high, c.high},
			{"tau", tau, c.tau},
			{"above", p.Mean().Above(0), c.above},
			{"next low", nextLow, c.nextLow},
			{"next high", nextHigh, c.nextHigh},
			{"next above", p.Next().Above(0), c.next},
		} {
			near(t, x.what, x.got, x.want, 1e-5) // the reference grid of R is as coarse
		}
	}
}

func inputOf(t *testing.T) PoolInput {
	t.Helper()
	var in PoolInput
	for i, trial := range bcg(t) {
		se := trial.SE
		in.Trials = append(in.Trials, PoolTrial{Name: figure.Label(strconv.Itoa(i + 1)), Estimate: math.Exp(trial.Estimate), SE: &se})
	}
	return in
}

func TestPool(t *testing.T) {
	in := inputOf(t)
	in.Trials[3].Imported = true
	in.Rank = true
	a, err := Pool(in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean by REML", a.Result.REML.Mean.Value, math.Exp(-0.714532342158139), 1e-8)
	if a.Result.MeanOwn == nil || a.Result.MeanOwn.Value <= a.Result.Mean.Value {
		t.Errorf("own mean %v, of all %v", a.Result.MeanOwn, a.Result.Mean)
	}
	sum := 0.0
	for _, trial := range a.Result.Trials {
		sum += trial.Weight
		if g, s := math.Log(trial.Given.Value), math.Log(trial.Shrunk.Value); math.Abs(s) > math.Abs(g)+1 {
			t.Errorf("%s was %g and is %g", trial.Name, g, s)
		}
	}
	near(t, "weights", sum, 1, 1e-12)
	if len(a.Result.Ranking) != 13 || !strings.Contains(codes(a.Cautions), "winners_curse imported") {
		t.Errorf("ranking %v, cautions %s", a.Result.Ranking, codes(a.Cautions))
	}
}

// Law: the same figures as ratios and as per cent say the same.
func TestPoolScales(t *testing.T) {
	trial := func(scale func(float64) float64) []PoolTrial {
		var out []PoolTrial
		for _, x := range [][3]float64{{1.2, 1, 1.44}, {1.1, 0.9, 1.3444}, {1.3, 1, 1.69}} {
			low, high := scale(x[1]), scale(x[2])
			out = append(out, PoolTrial{Name: "x", Estimate: scale(x[0]), Low: &low, High: &high})
		}
		return out
	}
	a, err := Pool(PoolInput{Trials: trial(func(x float64) float64 { return x })})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Pool(PoolInput{Scale: "percent", Trials: trial(func(x float64) float64 { return 100 * (x - 1) })})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "per cent", b.Result.Mean.Value, 100*(a.Result.Mean.Value-1), 1e-9)
	near(t, "next", b.Result.Next.High, 100*(a.Result.Next.High-1), 1e-9)
}

func TestPoolFaults(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		field string
		in    PoolInput
	}{
		{"trials", PoolInput{}},
		{"scale", PoolInput{Scale: "log", Trials: []PoolTrial{{Estimate: 1, SE: x(1)}}}},
		{"typical", PoolInput{Scale: "difference", Trials: []PoolTrial{{Estimate: 1, SE: x(1)}}}},
		{"trials[0].estimate", PoolInput{Trials: []PoolTrial{{Estimate: 0, SE: x(1)}}}},
		{"trials[0].estimate", PoolInput{Trials: []PoolTrial{{Estimate: math.NaN(), SE: x(1)}}}},
		{"trials[0].se", PoolInput{Trials: []PoolTrial{{Estimate: 1, SE: x(0)}}}},
		{"trials[0].se", PoolInput{Trials: []PoolTrial{{Estimate: 1, SE: x(1), Low: x(0.5)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 1}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 1, Low: x(1.2), High: x(1.4)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 1, Low: x(1), High: x(1)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 1, Low: x(math.Inf(-1)), High: x(math.Inf(1))}}}},
	} {
		_, err := Pool(c.in)
		var fault *figure.Fault
		if !errors.As(err, &fault) || fault.Field != c.field || fault.Mend == "" {
			t.Errorf("fault %+v, want one at %s", err, c.field)
		}
	}
}

func codes(cautions []figure.Caution) string {
	var out []string
	for _, c := range cautions {
		out = append(out, c.Code)
	}
	return strings.Join(out, " ")
}

func FuzzPool(f *testing.F) {
	f.Add([]byte(`{"trials":[{"name":"a","estimate":1.2,"low":1,"high":1.5},{"name":2,"estimate":0.9,"se":0.1,"imported":true}],"rank":true}`))
	f.Add([]byte(`{"trials":[{"name":"a","estimate":3,"low":1,"high":5}],"scale":"difference","typical":40}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var in PoolInput
		if json.Unmarshal(raw, &in) != nil || len(in.Trials) > 10 {
			t.Skip()
		}
		a, err := Pool(in)
		if err != nil {
			return
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
	})
}
