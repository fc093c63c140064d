package forecast

import (
	"math"
	"math/rand/v2"
	"slices"

	"pinset/internal/calc/stats"
)

// keptSteps is in how many parts a kept forecast is cut: its days lie at the
// chances 1/40 to 39/40, so that 2.5, 10, 25, 50, 75, 90 and 97.5 % are there.
const keptSteps = 40

// Kept is a forecast as it was kept: the days by which the stage would have
// come with chances of 1/40 to 39/40.
type Kept []float64

// Keep returns what is kept of a forecast, to a ten-thousandth of the days.
// Days that lie closer than that to each other could fall: none is before the
// one of a smaller chance.
func (f Forecast) Keep() Kept {
	k := make(Kept, keptSteps-1)
	y := f.middle()
	for i := range k {
		k[i] = f.quantile(float64(i+1)/keptSteps, y, 1e-4)
		if i > 0 {
			k[i] = math.Max(k[i], k[i-1])
		}
		y = math.Log(k[i])
	}
	return k
}

// Valid reports whether k can be read: days above 0 that do not fall.
func (k Kept) Valid() bool {
	if len(k) != keptSteps-1 {
		return false
	}
	for _, d := range k {
		if !(d > 0 && d <= 4*maxDays) {
			return false
		}
	}
	return slices.IsSorted(k)
}

// at returns the day at a chance, between the kept ones even in days.
func (k Kept) at(chance float64) float64 {
	x := chance*keptSteps - 1
	i := min(max(int(x), 0), len(k)-2)
	return k[i] + min(max(x-float64(i), 0), 1)*(k[i+1]-k[i])
}

// Likely is the middle of the forecast.
func (k Kept) Likely() float64 { return k.at(0.5) }

// Window returns the central window that holds a share, 0.95 at most.
func (k Kept) Window(share float64) Window {
	return Window{k.at((1 - share) / 2), k.at((1 + share) / 2)}
}

// CDF returns the chance that the stage has come by a day. Beyond the outer
// days the middle of what is left there is taken.
func (k Kept) CDF(day float64) float64 {
	n := len(k)
	switch {
	case day < k[0]:
		return 0.5 / keptSteps
	case day > k[n-1]:
		return 1 - 0.5/keptSteps
	}
	i := min(max(sortedBefore(k, day)-1, 0), n-2)
	part := 0.5
	if width := k[i+1] - k[i]; width > 0 {
		part = (day - k[i]) / width
	}
	return (float64(i+1) + part) / keptSteps
}

// sortedBefore counts the days up to and with day.
func sortedBefore(k Kept, day float64) int {
	i, _ := slices.BinarySearchFunc(k, day, func(a, b float64) int {
		if a <= b {
			return -1
		}
		return 1
	})
	return i
}

// CRPS is the continuous ranked probability score of an outcome, in days:
// twice the mean loss of the kept days, each held to its chance. Within a few
// per cent of the score of the whole forecast.
//
// Source: Gneiting and Raftery, J. Am. Stat. Assoc. 102 (2007) 359, with the
// integral over chances in 40 parts (from memory).
func (k Kept) CRPS(day float64) float64 {
	sum := 0.0
	for i, d := range k {
		chance := float64(i+1) / keptSteps
		if day < d {
			sum += (1 - chance) * (d - day)
		} else {
			sum += chance * (day - d)
		}
	}
	return 2 * sum / keptSteps
}

// IntervalScore is the width of the 80 % window, and ten times what an outcome
// lies outside of it, in days.
//
// Source: Gneiting and Raftery (2007), equation 43.
func (k Kept) IntervalScore(day float64) float64 {
	w := k.Window(inMost)
	return w.High - w.Low + 2/(1-inMost)*(math.Max(0, w.Low-day)+math.Max(0, day-w.High))
}

// simple is a forecast of one figure that is believed within a fifth either
// way, for comparison. nil if there is no figure.
func simple(days float64) Kept {
	if !(days >= minDays && days <= maxDays) {
		return nil
	}
	return Forecast{parts: []part{{1, math.Log(days), 0.2}}}.Keep()
}

// Outcome is what came of a kept forecast.
type Outcome struct {
	Forecast Kept
	Came     Span    // the visits around the stage; By is +Inf if it did not come by the last one
	Book     float64 // published days, 0 without
	Own      float64 // average of own batches when it was made, 0 without
	Seed     uint64
}

// Score returns how an outcome lies in its forecast. A stage that came between
// two visits is taken at the middle of its log days, its place in the forecast
// is drawn between those of the two; one that did not come is drawn from what
// is left.
func (o Outcome) Score() Scored {
	w := o.Forecast.Window(inMost)
	s := Scored{Low: w.Low, High: w.High, Came: o.Came.After, Censored: math.IsInf(o.Came.By, 1)}
	low, high := o.Forecast.CDF(o.Came.After), 1.0
	if !s.Censored {
		high = o.Forecast.CDF(o.Came.By)
		s.Came, s.Vague = math.Exp(o.Came.datum().y), o.Came.Wide()
	}
	s.PIT = low + (high-low)*rand.New(rand.NewPCG(o.Seed, keptSteps)).Float64()
	s.CRPS, s.Interval = o.Forecast.CRPS(s.Came), o.Forecast.IntervalScore(s.Came)
	score := func(days float64) *float64 {
		k := simple(days)
		if k == nil {
			return nil
		}
		c := k.CRPS(s.Came)
		return &c
	}
	s.Book, s.Own = score(o.Book), score(o.Own)
	return s
}

// widening is by what factor the log windows of forecasts would have to be
// widened, or narrowed, for 4 of 5 to hold: the 80 % quantile of |z| over that
// of the normal distribution, kept within 0.7 to 2. It wants four at least.
func widening(pit []float64) float64 {
	z := make([]float64, len(pit))
	for i, u := range pit {
		z[i] = math.Abs(stats.NormalQuantile(math.Min(math.Max(u, 1e-6), 1-1e-6)))
	}
	slices.Sort(z)
	q := z[int(math.Ceil(inMost*float64(len(z)+1)))-1]
	return math.Min(math.Max(q/tenth, 0.7), 2)
}
