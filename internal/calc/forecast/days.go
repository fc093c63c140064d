package forecast

import "math"

// Forecast is the distribution of the day on which a stage comes: a mixture of
// lognormals, perhaps cut off at a day that has passed without it.
type Forecast struct {
	parts []part
	own   float64 // share that it leans on the group's own batches
	after float64 // days that passed without the stage, 0 if none
	gone  float64 // probability before them
}

// part is one normal of the mixture, of log days.
type part struct{ weight, mean, sd float64 }

// Own is how far the forecast leans on the group's own batches, 0..1; the rest
// is other groups and the book.
func (f Forecast) Own() float64 { return f.own }

// Came returns the probability that the stage would have come by a day, had
// nobody looked.
func (f Forecast) Came(days float64) float64 { return f.whole(days) }

// After returns the forecast for a batch on which the stage has not come after
// so many days.
func (f Forecast) After(days float64) Forecast {
	if days > f.after {
		f.after, f.gone = days, f.whole(days)
	}
	return f
}

// Spread returns the forecast for one of several things that scatter about
// the middle which f is of, such as a jar of a batch: with a further standard
// deviation of log days. It is of a forecast that is not cut yet.
func (f Forecast) Spread(sd float64) Forecast {
	parts := make([]part, len(f.parts))
	for i, p := range f.parts {
		parts[i] = part{p.weight, p.mean, math.Hypot(p.sd, sd)}
	}
	f.parts = parts
	return f
}

// whole is the distribution function without the cut.
func (f Forecast) whole(days float64) float64 {
	if !(days > 0) {
		return 0
	}
	y, sum := math.Log(days), 0.0
	for _, p := range f.parts {
		sum += p.weight * 0.5 * math.Erfc(-(y-p.mean)/(p.sd*math.Sqrt2))
	}
	return sum
}

// CDF returns the probability that the stage has come by a day, 0..1.
func (f Forecast) CDF(days float64) float64 {
	if days <= f.after {
		return 0
	}
	if left := 1 - f.gone; left > 1e-12 {
		return math.Min(1, (f.whole(days)-f.gone)/left)
	}
	return 1
}

// Quantile returns the day by which the stage comes with probability p, the day
// being cut to a sixteenth .. 8000. Far beyond all that was expected it is the
// day that has passed.
func (f Forecast) Quantile(p float64) float64 { return f.quantile(p, f.middle(), 1e-12) }

// quantile looks for it from a start to within tol, both of log days.
func (f Forecast) quantile(p, start, tol float64) float64 {
	left := 1 - f.gone
	if left <= 1e-12 {
		return f.after
	}
	want := f.gone + p*left
	bottom, top := math.Log(minDays/4), math.Log(4*maxDays)
	low, high, y := bottom, top, start
	for range 200 { // Newton, kept within what bisection knows
		value, slope := f.at(y)
		if value < want {
			low = y
		} else {
			high = y
		}
		next := y - (value-want)/slope
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-y) < tol {
			y = next
			break
		}
		y = next
	}
	switch { // beyond the ends, where all quantiles are the same
	case y-bottom < 2*tol:
		y = bottom
	case top-y < 2*tol:
		y = top
	}
	return math.Max(math.Exp(y), f.after)
}

// middle is the mean of log days.
func (f Forecast) middle() float64 {
	sum := 0.0
	for _, p := range f.parts {
		sum += p.weight * p.mean
	}
	return sum
}

// at returns distribution function and density at y, of log days.
func (f Forecast) at(y float64) (value, slope float64) {
	for _, p := range f.parts {
		z := (y - p.mean) / p.sd
		value += p.weight * 0.5 * math.Erfc(-z/math.Sqrt2)
		slope += p.weight * math.Exp(-z*z/2) / (p.sd * math.Sqrt(2*math.Pi))
	}
	return value, slope
}

// Window is between which days the stage is expected.
type Window struct{ Low, High float64 }

// Window returns the central window that holds a share of what is expected.
func (f Forecast) Window(share float64) Window {
	return Window{f.Quantile((1 - share) / 2), f.Quantile((1 + share) / 2)}
}
