// Package steam knows saturated steam: the temperature that belongs to a
// pressure, the air around a vessel at an altitude, what a gauge reading
// means there, and what trapped air takes away.
//
// It is pure. Temperatures are of pure water on the saturation line; a pot
// with air in it is colder than its gauge says.
package steam

import (
	"errors"
	"fmt"
	"math"

	"pinset/internal/units"
)

// ErrRange says that a value lies outside the range of a formula.
var ErrRange = errors.New("outside the range of the formula")

// zeroCelsius is 0 °C in kelvin.
const zeroCelsius = 273.15

// n are the coefficients of region 4, counted from 1 as in the source.
//
// Source: IAPWS R7-97(2012), table 34. The published points of tables 35 and
// 36 feel eight of them at 1e-8; n[3] and n[9] move those points less and
// are felt by the triple and the critical point in the tests.
var n = [11]float64{
	1: 0.11670521452767e4, 2: -0.72421316703206e6, 3: -0.17073846940092e2,
	4: 0.12020824702470e5, 5: -0.32325550322333e7, 6: 0.14915108613530e2,
	7: -0.48232657361591e4, 8: 0.40511340542057e6, 9: -0.23855557567849,
	10: 0.65017534844798e3,
}

// SaturationPressure returns the absolute pressure at which pure water boils
// at the temperature t.
//
// Valid for 273.15 K <= t <= 647.096 K; otherwise the error is ErrRange.
//
// Source: IAPWS R7-97(2012), region 4, equation 30.
func SaturationPressure(t units.Kelvin) (units.Pascal, error) {
	if !(t >= 273.15 && t <= 647.096) { // written so that NaN fails
		return 0, fmt.Errorf("steam: saturation pressure at %g K: %w", float64(t), ErrRange)
	}
	th := float64(t) + n[9]/(float64(t)-n[10])
	a := th*th + n[1]*th + n[2]
	b := n[3]*th*th + n[4]*th + n[5]
	c := n[6]*th*th + n[7]*th + n[8]
	root := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return units.Pascal(1e6 * root * root * root * root), nil
}

// SaturationTemp returns the temperature at which pure water boils under the
// absolute pressure p.
//
// Valid for 611.213 Pa <= p <= 22.064 MPa; otherwise the error is ErrRange.
// Not for a gauge reading (add the air pressure of the day), nor for a
// chamber with air left in it, which is colder than p says.
//
// Source: IAPWS R7-97(2012), region 4, equation 31.
func SaturationTemp(p units.Pascal) (units.Kelvin, error) {
	if !(p >= 611.213 && p <= 22.064e6) { // written so that NaN fails
		return 0, fmt.Errorf("steam: saturation temperature at %g Pa: %w", float64(p), ErrRange)
	}
	beta := math.Sqrt(math.Sqrt(float64(p) / 1e6))
	e := beta*beta + n[3]*beta + n[6]
	f := n[1]*beta*beta + n[4]*beta + n[7]
	g := n[2]*beta*beta + n[5]*beta + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	s := n[10] + d
	return units.Kelvin((s - math.Sqrt(s*s-4*(n[9]+n[10]*d))) / 2), nil
}

// saturationPressureC is SaturationPressure at a temperature in °C.
func saturationPressureC(t units.Celsius) (units.Pascal, error) {
	return SaturationPressure(units.Kelvin(float64(t) + zeroCelsius))
}

// BoilingPoint returns the temperature at which water boils under the
// absolute pressure p. Range and source as SaturationTemp.
func BoilingPoint(p units.Pascal) (units.Celsius, error) {
	t, err := SaturationTemp(p)
	return units.Celsius(float64(t) - zeroCelsius), err
}
