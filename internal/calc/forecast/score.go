package forecast

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// Scored is a forecast that was kept when it was made, and what came of it.
type Scored struct {
	Low, High float64 // the 80 % window, days
	PIT       float64
	CRPS      float64
	Interval  float64  // interval score of the 80 % window, days
	Book, Own *float64 // CRPS of the published days, and of the average of own batches, each within a fifth; nil without
	Came      float64  // the day on which it came; for one that is censored, the last day without it
	Censored  bool
}

// Watch is how a farm's forecasts turned out.
type Watch struct {
	Scored   int      `json:"scored"`
	Hits     int      `json:"hits"`      // within the 80 % window
	AlarmAt  int      `json:"alarm_at"`  // so few hits or fewer come by chance less than once in a hundred
	PITBins  [5]int   `json:"pit_bins"`  // even if the forecasts are right
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
		if !s.Censored && s.Came >= s.Low && s.Came <= s.High {
			w.Hits++
		}
		w.PITBins[min(4, int(5*s.PIT))]++
		kept = append(kept, s)
	}
	w.average(kept)
	w.AlarmAt = alarmAt(w.Scored)
	switch {
	case w.Scored < fewScored:
		w.Sentence = fmt.Sprintf("%d forecasts came due so far: too few to judge them.", w.Scored)
		return w, nil
	case w.Hits <= w.AlarmAt:
		w.Sentence = fmt.Sprintf("%d of %d came within their window of 4 in 5: too few. The windows are too narrow or lie wrong.", w.Hits, w.Scored)
		return w, []figure.Caution{{
			Code: "forecasts_off", Title: "The forecasts are off", Weight: figure.Care,
			Text: "Fewer stages came within their windows than chance explains. Did the room, the culture or the recipe change? Until then take the windows as wider.",
		}}
	}
	w.Sentence = fmt.Sprintf("%d of %d came within their window of 4 in 5, as they should.", w.Hits, w.Scored)
	return w, nil
}

// fewToWiden is how many must be scored before a widening is said.
const fewToWiden = 30

func (w *Watch) average(all []Scored) {
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
	if len(all) >= fewToWiden {
		pit := make([]float64, len(all))
		for i, s := range all {
			pit[i] = s.PIT
		}
		factor := widening(pit)
		w.Widen = &factor
	}
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
func alarmAt(n int) int {
	const p = 0.8
	sum, term := 0.0, math.Pow(1-p, float64(n))
	for k := 0; k <= n; k++ {
		if sum += term; sum >= alarmChance {
			return k - 1
		}
		term *= float64(n-k) / float64(k+1) * p / (1 - p)
	}
	return n
}
