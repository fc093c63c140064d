package steam

import (
	"fmt"
	"math"

	"pinset/internal/units"
)

// PascalPerPsi is one pound per square inch. Source: NIST SP 811 (2008),
// appendix B.
const PascalPerPsi = 6894.757293168

// StandardPressure returns the air pressure at the altitude h on a standard
// day. Weather moves the real one by 3 kPa either way, which is 1 °C on the
// boiling point: a station barometer is better.
//
// Valid for -1000 m <= h <= 11000 m; otherwise the error is ErrRange. H is
// taken as geopotential metres; up to 3000 m a map's metres differ by less
// than 14 Pa.
//
// Source: ISO 2533:1975; the exponent is g0*M/(R*L) with the constants of
// the US Standard Atmosphere 1976.
func StandardPressure(h units.Metre) (units.Pascal, error) {
	if !(h >= -1000 && h <= 11000) {
		return 0, fmt.Errorf("steam: air pressure at %g m: %w", float64(h), ErrRange)
	}
	return units.Pascal(101325 * math.Pow(1-0.0065*float64(h)/288.15, airExponent)), nil
}

// airExponent is that of the standard atmosphere below 11 km.
const airExponent = 9.80665 * 0.0289644 / (8.31432 * 0.0065)

// PressureAltitude is the inverse of StandardPressure: the height at which a
// standard day has the air pressure p, above 0 Pa.
func PressureAltitude(p units.Pascal) units.Metre {
	return units.Metre(288.15 / 0.0065 * (1 - math.Pow(float64(p)/101325, 1/airExponent)))
}

// GaugeTemp returns the temperature of air-free steam in a vessel whose
// gauge is right and reads gauge above the air pressure ambient.
//
// Ambient + gauge must lie within 611.213 Pa and 22.064 MPa; otherwise the
// error is ErrRange.
func GaugeTemp(ambient, gauge units.Pascal) (units.Celsius, error) {
	return BoilingPoint(ambient + gauge)
}

// GaugeFor returns the gauge pressure at which air-free steam is at t, below
// zero if t is below the boiling point under ambient.
func GaugeFor(t units.Celsius, ambient units.Pascal) (units.Pascal, error) {
	p, err := saturationPressureC(t)
	return p - ambient, err
}

// fillTemp is the temperature at which the air of the pot was shut in.
const fillTemp = 20.0 // °C

// TrappedAirTemp returns the temperature of the chamber when the fraction of
// its first air was shut in at 20 °C and is now as hot as the steam. It is
// the figure to work by: the air expands as it heats and takes more of the
// pressure than DaltonTemp says.
//
// Fraction is 0 (vented) to 1 (not vented at all). Not valid where a gauge of
// 0 is kept with much air in: then no pressure is left for the steam, and the
// error is ErrRange.
//
// Source: Dalton's law and the ideal gas: p_sat(T) + f*(p0 - p_sat(20 °C))*
// (T/293.15 K) = p0 + p_gauge, solved for T.
func TrappedAirTemp(ambient, gauge units.Pascal, fraction units.Fraction) (units.Celsius, error) {
	cold, err := trappedAir(ambient, fraction)
	if err != nil {
		return 0, err
	}
	hi, err := GaugeTemp(ambient, gauge)
	if err != nil {
		return 0, err
	}
	lo := units.Celsius(fillTemp)
	excess := func(t units.Celsius) float64 {
		steam, _ := saturationPressureC(t) // t lies between 20 °C and hi, in range
		return float64(steam) + float64(airAt(cold, t)) - float64(ambient+gauge)
	}
	if !(excess(lo) <= 1e-6 && hi >= lo) {
		return 0, fmt.Errorf("steam: no steam beside the air at %g Pa gauge: %w", float64(gauge), ErrRange)
	}
	for range 60 { // bisection: both terms rise with t, so there is one root
		mid := (lo + hi) / 2
		if excess(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

// trappedAir returns the pressure of the shut-in air at 20 °C.
func trappedAir(ambient units.Pascal, fraction units.Fraction) (units.Pascal, error) {
	if !(fraction >= 0 && fraction <= 1) {
		return 0, fmt.Errorf("steam: air fraction %g: %w", float64(fraction), ErrRange)
	}
	vapour, err := saturationPressureC(fillTemp)
	if err != nil {
		return 0, err
	}
	if !(ambient > vapour) {
		return 0, fmt.Errorf("steam: air pressure %g Pa: %w", float64(ambient), ErrRange)
	}
	return units.Pascal(float64(fraction) * float64(ambient-vapour)), nil
}

// airAt heats air shut in at 20 °C under the pressure cold to t.
func airAt(cold units.Pascal, t units.Celsius) units.Pascal {
	return cold * units.Pascal((float64(t)+zeroCelsius)/(fillTemp+zeroCelsius))
}

// TrappedAirGauge returns the gauge pressure at which a chamber with trapped
// air is at t: the inverse of TrappedAirTemp.
func TrappedAirGauge(t units.Celsius, ambient units.Pascal, fraction units.Fraction) (units.Pascal, error) {
	cold, err := trappedAir(ambient, fraction)
	if err != nil {
		return 0, err
	}
	gauge, err := GaugeFor(t, ambient)
	return gauge + airAt(cold, t), err
}

// DaltonTemp returns what the usual tables of trapped air give: the air
// keeps its first pressure although it is heated. Kept as a check against
// such tables; it is warmer than TrappedAirTemp and so not safe to work by.
//
// Source: Dalton's law, T = T_sat(p0 + p_gauge - f*p0).
func DaltonTemp(ambient, gauge units.Pascal, fraction units.Fraction) (units.Celsius, error) {
	if !(fraction >= 0 && fraction <= 1) {
		return 0, fmt.Errorf("steam: air fraction %g: %w", float64(fraction), ErrRange)
	}
	return BoilingPoint(ambient + gauge - units.Pascal(fraction)*ambient)
}

// LowerGauge returns the pressure to count on when a gauge was tested and
// reads high by readsHigh: the reading less the error. A gauge that reads
// low (readsHigh < 0) is given no credit: the lower figure is the safe one.
func LowerGauge(reading, readsHigh units.Pascal) units.Pascal {
	if readsHigh > 0 {
		return reading - readsHigh
	}
	return reading
}

// LethalRate returns how many minutes at reference one minute at t is worth:
// 10^((t-reference)/z), with z in kelvin. F0 uses 121.1 °C and 10 K.
//
// Not for dry heat, and optimistic below 118 °C (van Doornmalen and Kopinga,
// J. Appl. Microbiol. 2009, doi 10.1111/j.1365-2672.2009.04290.x).
func LethalRate(t, reference units.Celsius, z float64) float64 {
	return math.Exp(math.Ln10 / z * float64(t-reference)) // several times as fast as Pow, and as good to 1e-15
}
