package growth

import "math"

// Logistic is cover in per cent by days, b = {half, rate}: half covered on day
// half, symmetric about it. Rate is per day.
var Logistic = Curve{"logistic", func(x float64, b, slope []float64) float64 {
	p := 1 / (1 + math.Exp(-b[1]*(x-b[0])))
	bend := 100 * p * (1 - p)
	slope[0], slope[1] = -bend*b[1], bend*(x-b[0])
	return 100 * p
}}

// Gompertz is cover in per cent by days, b = {half, rate}: fast at first, then
// ever slower. Half covered on day half: 100 · 2^−exp(−rate·(x − half)).
var Gompertz = Curve{"gompertz", func(x float64, b, slope []float64) float64 {
	e := math.Exp(-b[1] * (x - b[0]))
	y := 100 * math.Exp(-math.Ln2*e)
	bend := y * math.Ln2 * e
	if math.IsInf(e, 1) {
		bend = 0
	}
	slope[0], slope[1] = -bend*b[1], bend*(x-b[0])
	return y
}}
