package pool

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
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

// Published: rma(method = "REML", test = "knha") on the first of ten invented cooks, which
// differ by less than chance: the variance between them is 0.
func TestREMLOfAlike(t *testing.T) {
	for _, c := range []struct {
		trials                 int
		mean, se, p, low, high float64
	}{
		{2, 0.033676445856534, 0.00779743298574135, 0.144850226666169, -0.0653993340768975, 0.132752225789965},
		{3, 0.0581411557138493, 0.0294615718722175, 0.187163850192928, -0.0686217569248573, 0.184904068352556},
		{5, 0.0932156484989237, 0.041010349449812, 0.0854461085499652, -0.0206473354934578, 0.207078632491305},
	} {
		m, err := REML(tenCooks()[:c.trials], 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mean", m.Mean, c.mean, 1e-9)
		near(t, "standard error", m.SE, c.se, 1e-8)
		near(t, "p", m.P, c.p, 1e-8)
		near(t, "low", m.Low, c.low, 1e-8)
		near(t, "high", m.High, c.high, 1e-8)
		if m.Tau2 != 0 || m.I2 != 0 {
			t.Errorf("%d trials: variance between %g, I2 %g", c.trials, m.Tau2, m.I2)
		}
		// By rma of the same without the test, the normal interval is 0.2970, 0.2553 and
		// 0.2002 wide.
		if wide := c.high - c.low; m.Narrow != (wide < map[int]float64{2: 0.2970, 3: 0.2553, 5: 0.2002}[c.trials]) {
			t.Errorf("%d trials, interval %.4f wide: narrow %t", c.trials, wide, m.Narrow)
		}
	}
	if _, err := REML(tenCooks()[:1], 0.95); !errors.Is(err, ErrFew) {
		t.Errorf("one trial: %v", err)
	}
}

// tenCooks are one difference for each of ten invented cooks, with the spread of jars
// pooled over all.
func tenCooks() []Trial {
	d := []float64{0.0239911139380018, 0.0399539758037308, 0.127263669278962, 0.0706744063300473, 0.271398579893098, 0.0368791731101714, 0.221082142173368, 0.129932462264261, 0.199640350423001, 0.0667877040862725}
	v := []float64{0.0146003872109642, 0.00946321393303238, 0.0162226524566269, 0.011124104541687, 0.0173041626204021, 0.0189264278660648, 0.0118966118015264, 0.008690706673193, 0.00946321393303238, 0.008690706673193}
	var trials []Trial
	for i := range d {
		trials = append(trials, Trial{d[i], math.Sqrt(v[i])})
	}
	return trials
}

// Published: the same model by integrate of R (testdata/bayes.R) on one
// difference per cook of ten invented cooks, on the first of them, on Colditz et
// al., on trials whose errors are a thousandth of what is believed of their
// spread, and on trials ten such spreads apart. R and ours agree to a ten-millionth of
// the smallest error. The quantiles of the spread are by sums over nodes that are 2 %
// apart: where density falls by a third from one to the next, to 0.1 %.
func TestBayesPublished(t *testing.T) {
	trials := tenCooks()
	for _, c := range []struct {
		prior  Prior
		trials []Trial
		want   [13]float64 // in the order of bayes.R, the first trial last
	}{
		{UsualPrior, trials, [13]float64{0.116450714216, 0.0404373679172, 0.192546704685, 0.0444026222933, 0.997696194715, -0.0245466598487, 0.257782552356, 0.95940130962, 0.00167347529757, 0.133484608498, 0.103498728743, -0.0247991269958, 0.207863450103}},
		{UsualPrior, trials[:1], [13]float64{0.0203832620175, -0.377124400916, 0.413333163911, 0.150994032728, 0.550333402891, -0.552200834588, 0.587166207579, 0.542846378297, 0.00589937385573, 0.427159948353, 0.0228006998657, -0.2080753203, 0.253679547262}},
		{Prior{4, 0.5}, bcg(t), [13]float64{-0.710286595289, -1.08861262133, -0.34570494429, 0.571762678217, 0.000385897744646, -1.95562844228, 0.518757104972, 0.114326771916, 0.345420495874, 0.901644450509, -0.795872343535, -1.61117117553, 0.00137143304292}},
		{UsualPrior, []Trial{{0.1, 1e-4}, {0.1002, 1e-4}, {0.0997, 1e-4}, {0.1001, 1e-4}}, [13]float64{0.0999999186176, 0.0994572001822, 0.100542539817, 0.000426095822815, 0.999999583717, 0.0987974972458, 0.101202240088, 0.999996798002, 7.88027417395e-05, 0.00158301013606, 0.099999999, 0.099815601089, 0.100184396911}},
		{UsualPrior, []Trial{{-3, 0.1}, {2, 0.1}, {4, 0.2}}, [13]float64{0.415046462261, -0.336483318669, 1.15635679733, 0.996917889662, 0.862403850193, -1.70429506638, 2.51171386214, 0.653646379669, 0.815149308335, 1.20576098477, -2.96488075309, -3.16057245305, -2.76919720127}},
	} {
		p, err := Bayes(c.prior, c.trials)
		if err != nil {
			t.Fatal(err)
		}
		var got [13]float64
		got[0], got[4], got[7] = p.Mean().Mean(), p.Mean().Above(0), p.Next().Above(0)
		got[1], got[2] = p.Mean().Interval(0.95)
		got[5], got[6] = p.Next().Interval(0.95)
		got[3], got[8], got[9] = p.Spread(0.95)
		got[10] = p.Of(0).Mean()
		got[11], got[12] = p.Of(0).Interval(0.95)
		for k, want := range c.want {
			tol := 1e-9 * min(1, 100*c.trials[0].SE)
			if k == 8 || k == 9 {
				tol = 1e-3 * want
			}
			if !(math.Abs(got[k]-want) <= tol) {
				t.Errorf("%d trials, figure %d is %.12g, want %.12g", len(c.trials), k, got[k], want)
			}
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
		for _, x := range [][3]float64{{1.2, 1, 1.44}, {1.1, 0.9, 1.21 / 0.9}, {1.3, 1, 1.69}} {
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
	near(t, "chance above", b.Result.Above, a.Result.Above, 1e-12)
	in := trial(func(x float64) float64 { return 10 * math.Log(x) })
	typical := 10.0
	c, err := Pool(PoolInput{Scale: "difference", Typical: &typical, Trials: in})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "logs as differences of a control of 10", c.Result.Mean.Value, 10*math.Log(a.Result.Mean.Value), 1e-9)
	near(t, "chance above", c.Result.Above, a.Result.Above, 1e-12)
	for i, x := range a.Result.Trials {
		if given := in[i]; math.Abs(10*math.Log(x.Given.Low)-*given.Low) > 1e-11 || math.Abs(10*math.Log(x.Given.High)-*given.High) > 1e-11 {
			t.Errorf("trial %d was given %g to %g and is shown as %+v", i, *given.Low, *given.High, x.Given)
		}
	}
}

// An interval of 95 % and the standard error that it was made of say the same.
func TestPoolIntervalOrError(t *testing.T) {
	var with, without PoolInput
	for _, x := range bcg(t) {
		low, high, se := math.Exp(x.Estimate-1.959963984540054*x.SE), math.Exp(x.Estimate+1.959963984540054*x.SE), x.SE
		with.Trials = append(with.Trials, PoolTrial{Estimate: math.Exp(x.Estimate), Low: &low, High: &high})
		without.Trials = append(without.Trials, PoolTrial{Estimate: math.Exp(x.Estimate), SE: &se})
	}
	a, err := Pool(with)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Pool(without)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", a.Result.Mean.Low, b.Result.Mean.Low, 1e-9)
	near(t, "spread by REML", a.Result.REML.Tau2, 0.313243258136481, 1e-7)
	near(t, "weight of the first", b.Result.Trials[0].Weight, 0.0506, 1e-3) // metafor 3.8-1, weights(rma): 5.06 %
	if len(a.Cautions) != 0 {
		t.Errorf("%+v", a.Cautions)
	}
}

// Five trials are enough to read a spread from, four are not; an estimate that lies more
// than half a standard error off the middle of its interval is asked about; 500 are the
// most that are taken.
func TestPoolLimits(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	trials := func(n int, off float64) (out []PoolTrial) {
		for i := range n {
			middle := 6 + 8*float64(i%2)
			out = append(out, PoolTrial{Name: "a", Estimate: middle + off, Low: x(middle - 3.92), High: x(middle + 3.92)})
		}
		return out
	}
	for _, c := range []struct {
		trials []PoolTrial
		codes  string
	}{
		{trials(4, 0), "few_trials"},
		{trials(5, 0), ""},
		{trials(5, 0.99), ""},
		{trials(5, -0.99), ""},
		{trials(1, 1.01), "few_trials lopsided"},
		{trials(1, -1.01), "few_trials lopsided"},
	} {
		a, err := Pool(PoolInput{Scale: "difference", Typical: x(40), Trials: c.trials})
		if err != nil || codes(a.Cautions) != c.codes {
			t.Errorf("%d trials at %g: %q, %v, want %q", len(c.trials), c.trials[0].Estimate, codes(a.Cautions), err, c.codes)
		}
	}
	for _, c := range []struct {
		field string
		in    PoolInput
	}{
		{"", PoolInput{Scale: "difference", Typical: x(40), Trials: trials(500, 0)}},
		{"trials", PoolInput{Scale: "difference", Typical: x(40), Trials: trials(501, 0)}},
		{"typical", PoolInput{Scale: "difference", Typical: x(0), Trials: trials(2, 0)}},
		{"typical", PoolInput{Scale: "difference", Typical: x(1e12), Trials: trials(2, 0)}},
		{"trials[0].se", PoolInput{Scale: "percent", Trials: []PoolTrial{{Estimate: 10, SE: x(3)}}}},
		{"trials[0].se", PoolInput{Trials: []PoolTrial{{Estimate: 1, SE: x(math.NaN())}}}},
		{"trials[0].se", PoolInput{Trials: []PoolTrial{{Estimate: 1, SE: x(1e13)}}}},
		{"trials[0].se", PoolInput{Trials: []PoolTrial{{Estimate: 1, SE: x(1e-11)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 2, Low: x(2), High: x(2)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 2, Low: x(2.1), High: x(3)}}}},
		{"trials[0].low", PoolInput{Trials: []PoolTrial{{Estimate: 2, Low: x(1), High: x(1.9)}}}},
		{"", PoolInput{Trials: []PoolTrial{{Estimate: 2, Low: x(2), High: x(3)}}}},
		{"", PoolInput{Trials: []PoolTrial{{Estimate: 2, Low: x(1), High: x(2)}}}},
		{"trials[0].low", PoolInput{Scale: "percent", Trials: []PoolTrial{{Estimate: 2, Low: x(-100), High: x(3)}}}},
	} {
		_, err := Pool(c.in)
		var fault *figure.Fault
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%d trials: %v", len(c.in.Trials), err)
		case c.field != "" && (!errors.As(err, &fault) || fault.Field != c.field):
			t.Errorf("%v, want a fault at %s", err, c.field)
		}
	}
}

// The first after shrinking need not be the first as given: one that was tried in few
// jars is drawn further.
func TestPoolRanking(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	in := PoolInput{Rank: true, Trials: []PoolTrial{
		{Name: "sure", Estimate: 1.3, SE: x(0.05)}, {Name: "lucky", Estimate: 1.5, SE: x(0.5)}, {Name: "plain", Estimate: 1, SE: x(0.05)}, {Name: "poor", Estimate: 0.8, SE: x(0.05)}, {Name: "other", Estimate: 1, SE: x(0.05)},
	}}
	a, err := Pool(in)
	if err != nil {
		t.Fatal(err)
	}
	if got := a.Result.Ranking; !slices.Equal(got, []figure.Label{"sure", "lucky", "plain", "other", "poor"}) {
		t.Errorf("ranking %v", got)
	}
	if !strings.HasPrefix(a.Result.Sentence, "sure stands first with 1.2") || codes(a.Cautions) != "winners_curse" {
		t.Errorf("%q, %s", a.Result.Sentence, codes(a.Cautions))
	}
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
			var fault *figure.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no Fault", err)
			}
			return
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
		r := a.Result
		if !(r.Mean.Low <= r.Mean.Value && r.Mean.Value <= r.Mean.High) || r.Spread.Low > r.Spread.High || !(r.Above >= 0 && r.Above <= 1) {
			t.Errorf("%+v", r)
		}
		if !(r.Next.High-r.Next.Low >= (1-1e-9)*(r.Mean.High-r.Mean.Low)) {
			t.Errorf("the next grow is surer than the mean: %+v, %+v", r.Next, r.Mean)
		}
	})
}
