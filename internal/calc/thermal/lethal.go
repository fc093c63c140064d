package thermal

import (
	"fmt"
	"math"

	"pinset/internal/calc/steam"
	"pinset/internal/units"
)

// The usual reference of F0. 250 °F is 121.111 °C, and some books take
// 121.0: the choice moves F by 2.6 %, so it is always stated.
const (
	ReferenceC = 121.1 // °C
	ReferenceZ = 10.0  // K
)

// lethalInterval returns the lethality of dt minutes while the temperature
// goes straight from a to b, exactly:
//
//	dt z (L(b) - L(a)) / (ln 10 (b - a)),
//
// written so that it does not cancel when a and b are nearly equal. The
// trapezoid rule overstates it always, for L is convex.
func lethalInterval(dt float64, a, b, reference units.Celsius, z float64) float64 {
	x := math.Ln10 / z * float64(b-a)
	mean := 1.0 // of L over the interval, divided by L(a)
	if math.Abs(x) > 1e-12 {
		mean = math.Expm1(x) / x
	}
	return dt * steam.LethalRate(a, reference, z) * mean
}

// CumulativeF returns the lethality in minutes at reference, up to each
// reading of a record whose temperature is straight between readings. The
// first is 0. Times are minutes, ascending; both slices have the same length.
//
// Source: F = integral of 10^((T-reference)/z) dt (Bigelow; FDA's proposal of
// 1976 for 121 °C and z 10 K).
func CumulativeF(timesMin []float64, temps []units.Celsius, reference units.Celsius, z float64) ([]float64, error) {
	if len(timesMin) != len(temps) {
		return nil, fmt.Errorf("thermal: %d times and %d temperatures", len(timesMin), len(temps))
	}
	if !(z > 0) {
		return nil, fmt.Errorf("thermal: z of %g K", z)
	}
	out := make([]float64, len(timesMin))
	for i := 1; i < len(out); i++ {
		dt := timesMin[i] - timesMin[i-1]
		if !(dt >= 0) {
			return nil, fmt.Errorf("thermal: time %g min after %g min", timesMin[i], timesMin[i-1])
		}
		out[i] = out[i-1] + lethalInterval(dt, temps[i-1], temps[i], reference, z)
	}
	return out, nil
}

// trapezoidF is the sum that books and spreadsheets use; it overstates ramps.
func trapezoidF(timesMin []float64, temps []units.Celsius, reference units.Celsius, z float64) float64 {
	sum := 0.0
	for i := 1; i < len(timesMin); i++ {
		a, b := steam.LethalRate(temps[i-1], reference, z), steam.LethalRate(temps[i], reference, z)
		sum += (a + b) / 2 * (timesMin[i] - timesMin[i-1])
	}
	return sum
}

// Survivors returns how many of n0 are left after f minutes at the reference
// when dMin minutes there leave one in ten: n0 10^(-f/D).
//
// It is an expectation under a straight survivor line. Real spores scatter
// over two orders of magnitude in D.
func Survivors(n0, dMin, f float64) float64 {
	return n0 * math.Pow(10, -f/dMin)
}

// NeededF returns the lethality that leaves one survivor in 10^logs vessels
// that each began with n0: D (log10 n0 + logs).
func NeededF(n0, dMin, logs float64) float64 {
	return dMin * (math.Log10(n0) + logs)
}

// EqualHold returns the minutes at t that are worth f minutes at reference.
func EqualHold(f float64, t, reference units.Celsius, z float64) float64 {
	return f / steam.LethalRate(t, reference, z)
}
