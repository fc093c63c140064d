package forecast

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/figure"
)

// Scored is a forecast that was kept when it was made, and what came of it.
type Scored struct {
	Low, High float64 // the 80 % window, days
	PIT       float64 // where the outcome lies in the forecast, 0..1
	CRPS      float64
	Interval  float64  // interval score of the 80 % window, days
	Book, Own *float64 // CRPS of the published days, and of the average of own batches, each within a fifth; nil without
	Came      float64  // the day on which it came; for one that is censored, the last day without it
	Censored  bool
	Vague     bool // it came between visits so far apart that CRPS and Interval say nothing
}

// Within reports whether the outcome lies in the central window of that share.
// Of one that came between two visits, an end of the window between them, the
// PIT was drawn: over many outcomes as many lie within as should.
func (s Scored) Within(share float64) bool { return !s.Censored && math.Abs(s.PIT-0.5) <= share/2 }

// Watch is how a farm's forecasts turned out.
type Watch struct {
	Scored   int      `json:"scored"`
	Hits     int      `json:"hits"`      // within the 80 % window
	NearHits int      `json:"hits_50"`   // within the 50 % window
	AlarmAt  *int     `json:"alarm_at"`  // so few hits or fewer come by chance less than once in a hundred; nil if even none would not
	PITBins  [5]int   `json:"pit_bins"`  // even if the forecasts are right
	Usual    Usual    `json:"usual"`     // what chance alone shows
	MeanCRPS *float64 `json:"mean_crps"` // days; nil with none
	// MeanInterval is the mean interval score of the 80 % windows, days.
	MeanInterval *float64 `json:"mean_interval_score"`
	// Book and Own compare with simpler forecasts where those can be made.
	Book *Beside `json:"book"`
	Own  *Beside `json:"own_average"`
	// Widen is by what factor windows would have to be widened in log days for 4
	// of 5 to hold, 0.7 to 2; nil below 30 scored. It is said, never applied.
	Widen    *float64 `json:"widen"`
	Sentence string   `json:"sentence"`
}

// Usual is how many of the scored lie where, 19 times in 20, if the forecasts
// are right: both ends are usual still.
type Usual struct {
	Hits     [2]int `json:"hits"`
	NearHits [2]int `json:"hits_50"`
	Fifth    [2]int `json:"pit_bin"`
}

// Beside is how the forecasts and a simpler one scored on the same stages.
type Beside struct {
	Scored   int     `json:"scored"`
	MeanCRPS float64 `json:"mean_crps"` // of the forecasts, days
	Simple   float64 `json:"simple_crps"`
}

// fewScored is how many forecasts must be scored before anything is said.
const fewScored = 20

// alarmChance is how rarely forecasts that are right raise the alarm.
const alarmChance = 0.01

// Enough reports whether so many were scored that anything can be said.
func (w Watch) Enough() bool { return w.Scored >= fewScored }

func counted(n int) string {
	switch n {
	case 0:
		return "No forecast"
	case 1:
		return "1 forecast"
	}
	return fmt.Sprintf("%d forecasts", n)
}

// WatchOver judges forecasts that were scored. An outcome that is censored
// within its window is no hit and no miss: it is left out.
func WatchOver(all []Scored) (Watch, []figure.Caution) {
	w := Watch{}
	var kept []Scored
	for _, s := range all {
		if s.Censored && s.Came < s.High {
			continue
		}
		w.Scored++
		if s.Within(inMost) {
			w.Hits++
		}
		if s.Within(inHalf) {
			w.NearHits++
		}
		w.PITBins[min(4, int(5*s.PIT))]++
		kept = append(kept, s)
	}
	w.average(kept)
	if n := alarmAt(w.Scored); n >= 0 {
		w.AlarmAt = &n
	}
	w.Usual = Usual{usual(w.Scored, inMost), usual(w.Scored, inHalf), usual(w.Scored, 0.2)}
	switch {
	case !w.Enough():
		w.Sentence = fmt.Sprintf("%s came due so far: too few to judge, %d are wanted.", counted(w.Scored), fewScored)
		return w, nil
	case w.Hits <= *w.AlarmAt: // there is one for so many
		w.Sentence = fmt.Sprintf("%d of %d came within their window of 4 in 5: too few. The windows are too narrow or lie wrong.", w.Hits, w.Scored)
		return w, []figure.Caution{{
			Code: "forecasts_off", Title: "The forecasts are off", Weight: figure.Care,
			Text: "Fewer stages came within their windows than chance explains. Did the room, the culture or the recipe change? Until then take the windows as wider.",
		}}
	}
	end := "as they should."
	if w.Hits > w.Usual.Hits[1] {
		end = "more than should: the windows are wider than they need be."
	}
	w.Sentence = fmt.Sprintf("%d of %d came within their window of 4 in 5, %s", w.Hits, w.Scored, end)
	return w, nil
}

// fewToWiden is how many must be scored before a widening is said.
const fewToWiden = 30

func (w *Watch) average(all []Scored) {
	if len(all) >= fewToWiden {
		pit := make([]float64, len(all))
		for i, s := range all {
			pit[i] = s.PIT
		}
		factor := widening(pit)
		w.Widen = &factor
	}
	all = slices.DeleteFunc(all, func(s Scored) bool { return s.Vague })
	if len(all) == 0 {
		return
	}
	mean := func(of func(Scored) float64) *float64 {
		sum := 0.0
		for _, s := range all {
			sum += of(s)
		}
		sum /= float64(len(all))
		return &sum
	}
	w.MeanCRPS, w.MeanInterval = mean(func(s Scored) float64 { return s.CRPS }), mean(func(s Scored) float64 { return s.Interval })
	w.Book, w.Own = beside(all, func(s Scored) *float64 { return s.Book }), beside(all, func(s Scored) *float64 { return s.Own })
}

// beside compares over what the simpler forecast could be made of.
func beside(all []Scored, simple func(Scored) *float64) *Beside {
	b := Beside{}
	for _, s := range all {
		if x := simple(s); x != nil {
			b.Scored++
			b.MeanCRPS += s.CRPS
			b.Simple += *x
		}
	}
	if b.Scored == 0 {
		return nil
	}
	b.MeanCRPS /= float64(b.Scored)
	b.Simple /= float64(b.Scored)
	return &b
}

// alarmAt is the most hits of n that come less than once in a hundred if 4 of
// 5 are to be expected; -1 if even none is no alarm.
func alarmAt(n int) int { return countAt(n, inMost, alarmChance) - 1 }

// usual is between which counts of n, each with chance p, 19 of 20 lie: 1 in
// 40 at most lies below, and 1 in 40 above.
func usual(n int, p float64) [2]int { return [2]int{countAt(n, p, 0.025), countAt(n, p, 0.975)} }

// countAt is the least count of n, each with chance p, at or below which lies
// a share of the binomial distribution.
func countAt(n int, p, share float64) int {
	sum := 0.0
	for k := range n {
		if sum += binomial(n, k, p); sum >= share {
			return k
		}
	}
	return n
}

// binomial is the chance of k of n, by logarithms: 0.2^n alone is 0 beyond
// 460.
func binomial(n, k int, p float64) float64 {
	choose := func(m int) float64 { l, _ := math.Lgamma(float64(m + 1)); return l }
	return math.Exp(choose(n) - choose(k) - choose(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}
