package forecast

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// What is kept says the same as the forecast it was kept of. The score of 39
// days lies within 3 % of that of the whole (24 and 27 days of a lognormal with
// middle 24 and spread 0.18, the latter 1.78467460175406 by closed form).
func TestKept(t *testing.T) {
	f := Forecast{parts: []part{{1, math.Log(24), 0.18}}}
	k := f.Keep()
	if !k.Valid() || Kept(nil).Valid() || (Kept{0: -1, 38: 1}).Valid() {
		t.Error("what was kept can not be read, or what was not can")
	}
	for _, share := range []float64{0.5, 0.8, 0.95} {
		a, b := f.Window(share), k.Window(share)
		if math.Abs(a.Low-b.Low) > 1e-4*a.Low || math.Abs(a.High-b.High) > 1e-4*a.High {
			t.Errorf("window of %g is %v, want %v", share, b, a)
		}
	}
	for _, day := range []float64{18, 21, 24, 27, 32} {
		if got, want := k.CDF(day), f.CDF(day); math.Abs(got-want) > 2e-3 {
			t.Errorf("by day %g it came with %.4f, want %.4f", day, got, want)
		}
	}
	if got := k.CRPS(27); math.Abs(got-1.78467460175406) > 0.03*1.7847 {
		t.Errorf("CRPS %.5f", got)
	}
	if k.CDF(1) != 0.0125 || k.CDF(1000) != 0.9875 {
		t.Errorf("far off: %g and %g", k.CDF(1), k.CDF(1000))
	}
	w := k.Window(0.8)
	if got := k.IntervalScore(w.High + 2); math.Abs(got-(w.High-w.Low+20)) > 1e-9 {
		t.Errorf("interval score %g", got)
	}
}

// An outcome between two visits lies in the forecast between those of the
// visits; one that did not come, beyond the last.
func TestScore(t *testing.T) {
	k := Forecast{parts: []part{{1, math.Log(24), 0.18}}}.Keep()
	s := Outcome{Forecast: k, Came: Span{23, 26}, Book: 22, Seed: 1}.Score()
	if s.PIT < k.CDF(23) || s.PIT > k.CDF(26) || s.Censored || s.Came < 23 || s.Came > 26 || s.Book == nil || s.Own != nil {
		t.Errorf("%+v", s)
	}
	s = Outcome{Forecast: k, Came: Span{30, math.Inf(1)}, Own: 25, Seed: 1}.Score()
	if s.PIT < k.CDF(30) || !s.Censored || s.Came != 30 || s.Book != nil || s.Own == nil {
		t.Errorf("%+v", s)
	}
}

// Law: windows half as wide as they should be are to be widened twice.
func TestWidening(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var right, narrow []Scored
	k := Forecast{parts: []part{{1, math.Log(24), 0.18}}}.Keep()
	for i := range 400 {
		z := r.NormFloat64()
		right = append(right, Outcome{Forecast: k, Came: Span{24 * math.Exp(0.18*z), 24 * math.Exp(0.18*z)}, Own: 24, Book: 40, Seed: uint64(i)}.Score())
		narrow = append(narrow, Outcome{Forecast: k, Came: Span{24 * math.Exp(0.3*z), 24 * math.Exp(0.3*z)}, Seed: uint64(i)}.Score())
	}
	a, cautions := WatchOver(right)
	if len(cautions) > 0 || a.Widen == nil || math.Abs(*a.Widen-1) > 0.12 || a.Book == nil || a.Book.Simple < 3*a.Book.MeanCRPS || a.Own == nil || a.Own.Scored != 400 {
		t.Errorf("%+v, %v", a, cautions)
	}
	b, cautions := WatchOver(narrow)
	if len(cautions) == 0 || b.Widen == nil || math.Abs(*b.Widen-1.6) > 0.2 {
		t.Errorf("%+v, %v", b, cautions)
	}
	if w, _ := WatchOver(right[:29]); w.Widen != nil {
		t.Error("29 forecasts say how wide windows should be")
	}
}

// An outcome between two visits with an end of the window between them is put
// to one side by lot: of 2000 that come right, 1600 ± 54 lie within, three
// standard errors, though they were looked for every fifth day only.
func TestWithinByLot(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	k := Forecast{parts: []part{{1, math.Log(24), 0.18}}}.Keep()
	hits, wide := 0, 0
	for i := range 2000 {
		day := 24 * math.Exp(0.18*r.NormFloat64())
		from := 5*math.Floor((day-float64(i%5))/5) + float64(i%5)
		s := Outcome{Forecast: k, Came: Span{from, from + 5}, Seed: uint64(i)}.Score()
		if s.Within(0.8) {
			hits++
		}
		if s.Vague {
			wide++
		}
	}
	if hits < 1546 || hits > 1654 || wide != 0 {
		t.Errorf("%d of 2000 lie within, %d are vague", hits, wide)
	}
	s := Outcome{Forecast: k, Came: Span{0, 24}, Seed: 1}.Score()
	if !s.Vague || s.PIT > 0.51 {
		t.Errorf("no visit before: %+v", s)
	}
	w, _ := WatchOver([]Scored{s})
	if w.Scored != 1 || w.MeanCRPS != nil {
		t.Errorf("its score says something: %+v", w)
	}
}

// Of 30 the counts of fifths and halves lie where R's qbinom(c(0.025, 0.975))
// puts them; from 30 on it is said how wide windows should be, 0.7 times at
// least; and hits beyond what is usual are said.
func TestThirty(t *testing.T) {
	sure := make([]Scored, 30)
	for i := range sure {
		sure[i] = Scored{Low: 20, High: 28, Came: 24, PIT: 0.5}
	}
	w, cautions := WatchOver(sure)
	if w.Usual.Fifth != [2]int{2, 11} || w.Usual.NearHits != [2]int{10, 20} {
		t.Errorf("usual are %+v", w.Usual)
	}
	if w.Widen == nil || *w.Widen != 0.7 || len(cautions) != 0 || !strings.Contains(w.Sentence, "30 of 30") || !strings.Contains(w.Sentence, "more than should") {
		t.Errorf("%+v", w)
	}
	for i := range sure {
		sure[i].PIT = []float64{0.3, 0.5, 0.7, 0.85, 0.95}[i%5]
	}
	if w, _ := WatchOver(sure); w.Hits != 24 || !strings.HasSuffix(w.Sentence, "as they should.") {
		t.Errorf("%+v", w)
	}
	simple := simple(24).Window(0.8)
	if want := 24 * math.Exp(0.2*1.2816); math.Abs(simple.High-want) > 0.01 {
		t.Errorf("the book alone goes to day %g, want %g", simple.High, want)
	}
}
