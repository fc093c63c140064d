package stats

import "math"

// Places takes the effects of several factors of place, added up, out of values.
type Places struct{ basis [][]float64 }

// NewPlaces returns places over n values, coded as in FitPlaces: none leaves only
// the common mean.
func NewPlaces(places [][]int, n int) Places {
	return Places{orthonormal(nil, placeColumns(places, n))}
}

// Left returns y less what the places explain.
func (p Places) Left(y []float64) []float64 {
	left := make([]float64, len(y))
	for i, v := range y {
		left[i] = v - y[0]
	}
	twice(left, p.basis)
	return left
}

// Apart returns the least-squares difference of arm 1 less arm 0 within the places,
// from what Left returned; NaN where the places leave nothing to tell them apart by.
func (p Places) Apart(left []float64, arm []int) float64 {
	top, square := 0.0, 0.0
	for i, a := range arm {
		if a == 1 {
			top += left[i]
			square++
		}
	}
	for _, q := range p.basis {
		along := 0.0
		for i, a := range arm {
			if a == 1 {
				along += q[i]
			}
		}
		square -= along * along
	}
	if !(square > rankShare*float64(len(arm))) {
		return math.NaN()
	}
	return top / square
}
