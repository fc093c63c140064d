package forecast

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// reference is what an R script computed: the same model on a grid of 61 by
// 61, checked there against MCMC. Its data are invented.
type reference struct {
	Stage []struct {
		Recipe string    `json:"recipe"`
		N      int       `json:"n"`
		Q      []float64 `json:"pred_q_days"`
		P      []float64 `json:"p"`
		Own    float64   `json:"shrink_to_own"`
	} `json:"stage"`
	Hyper struct {
		Tau   float64 `json:"tau_mean"`
		Sigma float64 `json:"sigma_mean"`
		Mu0   float64 `json:"mu0_mean"`
	} `json:"hyper"`
	InProgress struct {
		Already float64   `json:"prob_already"`
		Q       []float64 `json:"q"`
		P       []float64 `json:"p"`
	} `json:"in_progress_S3_after_22_days"`
}

func readReference(t testing.TB) (reference, [][]Span, map[string]int) {
	t.Helper()
	var ref reference
	raw, err := os.ReadFile("testdata/forecast.json")
	if err == nil {
		err = json.Unmarshal(raw, &ref)
	}
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.Open("testdata/stage_durations.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var groups [][]Span
	index := make(map[string]int)
	for _, row := range rows[1:] {
		days, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		i, ok := index[row[0]]
		if !ok {
			i = len(groups)
			index[row[0]], groups = i, append(groups, nil)
		}
		groups[i] = append(groups[i], Span{days, days})
	}
	return ref, groups, index
}

func mustFit(t testing.TB, prior Prior, groups [][]Span) *Model {
	t.Helper()
	m, err := Fit(prior, groups)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The reference gives 15 digits on the same grid. Ours leaves out nodes with less
// than 1e-9 of the mass, which is 1e-7 of it in all: with them the two agree to
// 1e-9, without to 1e-7 and to 1e-5 of a day.
func TestAgainstReference(t *testing.T) {
	ref, groups, index := readReference(t)
	m := mustFit(t, UsualPrior(24), groups)
	between, within, middle := m.Spreads()
	for name, x := range map[string][2]float64{"between": {between, ref.Hyper.Tau}, "within": {within, ref.Hyper.Sigma}, "middle": {middle, ref.Hyper.Mu0}} {
		if math.Abs(x[0]-x[1]) > 1e-7 {
			t.Errorf("%s is %.9g, want %.9g", name, x[0], x[1])
		}
	}
	for _, s := range ref.Stage {
		i, ok := index[s.Recipe]
		if !ok {
			i = -1
		}
		f := m.Of(i)
		for k, p := range s.P {
			if got := f.Quantile(p); math.Abs(got-s.Q[k]) > 1e-5 {
				t.Errorf("%s, %g: day %.6f, want %.6f", s.Recipe, p, got, s.Q[k])
			}
		}
		if math.Abs(f.Own()-s.Own) > 1e-7 {
			t.Errorf("%s leans %.7f on its own, want %.7f", s.Recipe, f.Own(), s.Own)
		}
	}
	f := m.Of(index["S3"])
	if got := f.Came(22); math.Abs(got-ref.InProgress.Already) > 1e-7 {
		t.Errorf("by day 22 it came with %.7f, want %.7f", got, ref.InProgress.Already)
	}
	f = f.After(22)
	for k, p := range ref.InProgress.P {
		if got := f.Quantile(p); math.Abs(got-ref.InProgress.Q[k]) > 1e-5 {
			t.Errorf("after 22 days, %g: day %.6f, want %.6f", p, got, ref.InProgress.Q[k])
		}
	}
}

// Merged parts say the same to 0.2 % of the days: windows are told in whole ones.
func TestMerged(t *testing.T) {
	_, groups, index := readReference(t)
	for name, f := range map[string]Forecast{
		"own": mustFit(t, UsualPrior(24), groups).Of(index["S3"]), "new": mustFit(t, UsualPrior(24), groups).Of(-1), "none": mustFit(t, UsualPrior(24), nil).Of(-1),
		"vague": mustFit(t, Prior{24, 1, 0.3, 0.15, 0.6}, nil).Of(-1),
	} {
		m := f.Merged()
		if len(m.parts) > 200 || m.Own() != f.Own() {
			t.Errorf("%s: %d parts are left of %d", name, len(m.parts), len(f.parts))
		}
		for _, p := range []float64{0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975} {
			for _, passed := range []float64{0, 22} {
				if got, want := m.After(passed).Quantile(p), f.After(passed).Quantile(p); math.Abs(got-want) > 2e-3*want {
					t.Errorf("%s, %g after %g days: day %.5f, want %.5f", name, p, passed, got, want)
				}
			}
		}
	}
}

// A farm without a batch has the book's days; one with many has its own.
func TestOwnBatchesTakeOver(t *testing.T) {
	far := mustFit(t, UsualPrior(40), [][]Span{{}})
	if got := far.Of(0).Quantile(0.5); math.Abs(got-40) > 0.5 {
		t.Errorf("with none of its own, day %.1f", got)
	}
	last := 40.0
	for _, n := range []int{1, 3, 12} {
		g := make([]Span, n)
		for i := range g {
			g[i] = Span{20, 20}
		}
		got := mustFit(t, UsualPrior(40), [][]Span{g}).Of(0).Quantile(0.5)
		if !(got < last) {
			t.Errorf("with %d at day 20 the forecast is day %.1f, before it was %.1f", n, got, last)
		}
		last = got
	}
	if last > 21 {
		t.Errorf("with 12 at day 20 the forecast is day %.1f", last)
	}
}

// A window shrinks as days pass without the stage, and never begins before
// them; far beyond all windows it is today.
func TestWindowsShrink(t *testing.T) {
	_, groups, _ := readReference(t)
	f := mustFit(t, UsualPrior(24), groups).Of(0)
	width := math.Inf(1)
	for _, c := range []float64{0, 15, 20, 25, 30} {
		w := f.After(c).Window(0.8)
		if w.Low < c || !(w.High-w.Low < width) {
			t.Errorf("after %g days the window is %.2f to %.2f", c, w.Low, w.High)
		}
		width = w.High - w.Low
	}
	if w := f.After(1900).Window(0.8); w.Low != 1900 || w.High != 1900 {
		t.Errorf("after 1900 days the window is %v", w)
	}
}

// Wide visits say less: the window is wider than with days that are known.
func TestWideVisitsSayLess(t *testing.T) {
	exact, wide := make([]Span, 6), make([]Span, 6)
	for i := range exact {
		d := 19 + float64(i)/2
		exact[i], wide[i] = Span{d, d}, Span{d - 4, d + 4}
	}
	a, b := mustFit(t, UsualPrior(21), [][]Span{exact}).Of(0), mustFit(t, UsualPrior(21), [][]Span{wide}).Of(0)
	own := func(f Forecast) float64 { return f.Own() }
	if !(own(b) < own(a)) {
		t.Errorf("with wide visits it leans %.3f on its own, with exact ones %.3f", own(b), own(a))
	}
}

// The order of groups and batches does not matter, and a change of the unit of
// days moves the forecast with it.
func TestInvariances(t *testing.T) {
	_, groups, _ := readReference(t)
	f := mustFit(t, UsualPrior(24), groups).Of(2)
	turned := [][]Span{groups[2]}
	for i := len(groups) - 1; i >= 0; i-- {
		if i != 2 {
			turned = append(turned, groups[i])
		}
	}
	g := mustFit(t, UsualPrior(24), turned).Of(0)
	if math.Abs(f.Quantile(0.9)-g.Quantile(0.9)) > 1e-9 {
		t.Error("the order of groups matters")
	}
	doubled := make([][]Span, len(groups))
	for i := range groups {
		for _, s := range groups[i] {
			doubled[i] = append(doubled[i], Span{2 * s.After, 2 * s.By})
		}
	}
	h := mustFit(t, UsualPrior(48), doubled).Of(2)
	if math.Abs(h.Quantile(0.9)-2*f.Quantile(0.9)) > 1e-8 {
		t.Error("half days are not days twice")
	}
}

// Hits that raise the alarm: at most 4, 7, 11, 18 and 32 of 10, 15, 20, 30 and
// 50; usual are 5 to 10, 12 to 19, 19 to 28 and 34 to 45 of 10, 20, 30 and 50
// (reference tables, chance below 1 % and 95 %).
func TestAlarm(t *testing.T) {
	for n, want := range map[int][2]int{10: {5, 10}, 20: {12, 19}, 30: {19, 28}, 50: {34, 45}} {
		if got := usual(n, 0.8); got != want {
			t.Errorf("of %d usual are %v, want %v", n, got, want)
		}
	}
	if got := alarmAt(1000); got != 769 { // R 4.2.2: qbinom(0.01, 1000, 0.8) - 1
		t.Errorf("of 1000 the alarm is at %d", got)
	}
	for n, want := range map[int]int{10: 4, 15: 7, 20: 11, 30: 18, 50: 32, 1: -1, 0: -1} {
		if got := alarmAt(n); got != want {
			t.Errorf("of %d the alarm is at %d, want %d", n, got, want)
		}
	}
	few, _ := WatchOver(make([]Scored, 19))
	enough, _ := WatchOver(make([]Scored, 20))
	if few.Scored != 19 || few.Enough() || !strings.Contains(few.Sentence, "too few to judge") || !enough.Enough() || strings.Contains(enough.Sentence, "judge") {
		t.Errorf("%+v", few)
	}
	var good, bad []Scored
	for i := range 30 {
		good = append(good, Scored{Low: 10, High: 20, Came: 15, PIT: float64(i) / 30})
		bad = append(bad, Scored{Low: 10, High: 20, Came: 25, PIT: 0.99})
	}
	if w, cautions := WatchOver(good); w.Hits != 25 || w.NearHits != 15 || len(cautions) > 0 || w.PITBins != [5]int{6, 6, 6, 6, 6} {
		t.Errorf("%+v %v", w, cautions)
	}
	if _, cautions := WatchOver(bad); len(cautions) != 1 {
		t.Error("thirty misses raise no alarm")
	}
	if w, _ := WatchOver([]Scored{{Low: 10, High: 20, Came: 12, Censored: true}}); w.Scored != 0 {
		t.Error("what may still come in time is scored")
	}
}

// Forecasts of batches that the model itself makes are even in PIT: of 400,
// each fifth has 80 ± 32, four standard errors.
func TestCalibrated(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	var bins [5]int
	for range 100 {
		mu0 := math.Log(24) + 0.1*r.NormFloat64()
		groups := make([][]Span, 4)
		next := make([]float64, 4)
		for i := range groups {
			mu := mu0 + 0.12*r.NormFloat64()
			for range i * 2 {
				d := math.Exp(mu + 0.13*r.NormFloat64())
				groups[i] = append(groups[i], Span{d, d})
			}
			next[i] = math.Exp(mu + 0.13*r.NormFloat64())
		}
		m := mustFit(t, UsualPrior(24), groups)
		for i := range groups {
			bins[min(4, int(5*m.Of(i).CDF(next[i])))]++
		}
	}
	for i, n := range bins {
		if n < 48 || n > 112 {
			t.Errorf("fifth %d has %d of 400", i, n)
		}
	}
}

func TestFaults(t *testing.T) {
	var fault *figure.Fault
	for _, s := range []Span{{-1, 5}, {9, 5}, {math.NaN(), 5}, {5, math.Inf(1)}, {0, 0}} {
		if _, err := Fit(UsualPrior(24), [][]Span{{s}}); !errors.As(err, &fault) {
			t.Errorf("%v: %v", s, err)
		}
	}
	if _, err := Fit(UsualPrior(math.NaN()), nil); !errors.As(err, &fault) {
		t.Errorf("no book: %v", err)
	}
}

func BenchmarkFiftyRecipes(b *testing.B) {
	r := rand.New(rand.NewPCG(3, 3))
	groups := make([][]Span, 50)
	for i := range groups {
		for range i % 13 {
			d := 24 * math.Exp(0.2*r.NormFloat64())
			groups[i] = append(groups[i], Span{d - 1, d + 1})
		}
	}
	for b.Loop() {
		m, err := Fit(UsualPrior(24), groups)
		if err != nil {
			b.Fatal(err)
		}
		for i := range groups {
			f := m.Of(i)
			f.Window(0.8)
			f.Window(0.5)
			f.Quantile(0.5)
		}
	}
}
