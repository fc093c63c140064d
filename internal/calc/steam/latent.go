package steam

import (
	"fmt"
	"math"

	"pinset/internal/units"
)

// The critical point. Source: IAPWS SR1-86(1992).
const (
	criticalTemp    = 647.096 // K
	criticalDensity = 322     // kg/m3
)

// LiquidDensity returns the density of boiling water at t, in kg/m3.
//
// Valid for 273.16 K <= t <= 647.096 K; otherwise the error is ErrRange.
//
// Source: IAPWS SR1-86(1992), equation 2. The coefficients are from memory;
// the check numbers of the release are met in the tests.
func LiquidDensity(t units.Kelvin) (float64, error) {
	tau, err := saturationTau(t)
	if err != nil {
		return 0, err
	}
	cube := math.Cbrt(tau)
	sum := 1 + 1.99274064*cube + 1.09965342*cube*cube -
		0.510839303*math.Pow(tau, 5.0/3) - 1.75493479*math.Pow(tau, 16.0/3) -
		45.5170352*math.Pow(tau, 43.0/3) - 6.74694450e5*math.Pow(tau, 110.0/3)
	return criticalDensity * sum, nil
}

// VapourDensity returns the density of saturated steam at t, in kg/m3.
//
// Valid for 273.16 K <= t <= 647.096 K; otherwise the error is ErrRange.
//
// Source: IAPWS SR1-86(1992), equation 3; coefficients as for LiquidDensity.
func VapourDensity(t units.Kelvin) (float64, error) {
	tau, err := saturationTau(t)
	if err != nil {
		return 0, err
	}
	sum := -2.03150240*math.Cbrt(tau) - 2.68302940*math.Pow(tau, 4.0/6) -
		5.38626492*math.Pow(tau, 8.0/6) - 17.2991605*math.Pow(tau, 18.0/6) -
		44.7586581*math.Pow(tau, 37.0/6) - 63.9201063*math.Pow(tau, 71.0/6)
	return criticalDensity * math.Exp(sum), nil
}

// saturationTau is 1 - t/Tc, checked for range.
func saturationTau(t units.Kelvin) (float64, error) {
	if !(t >= 273.16-1e-9 && t <= criticalTemp) {
		return 0, fmt.Errorf("steam: density at %g K: %w", float64(t), ErrRange)
	}
	return 1 - float64(t)/criticalTemp, nil
}

// LatentHeat returns the heat that evaporates water at t, in J/kg.
//
// Valid for 273.66 K to 640 K; otherwise the error is ErrRange.
//
// Source: Clapeyron's equation, with IAPWS R7-97(2012) for the slope of the
// pressure and IAPWS SR1-86(1992) for the densities.
func LatentHeat(t units.Kelvin) (float64, error) {
	const half = 0.01 // K; the central difference errs by less than 1e-7 of the slope
	if !(t >= 273.66 && t <= 640) {
		return 0, fmt.Errorf("steam: latent heat at %g K: %w", float64(t), ErrRange)
	}
	lo, errLo := SaturationPressure(t - half)
	hi, errHi := SaturationPressure(t + half)
	liquid, errLiquid := LiquidDensity(t)
	vapour, errVapour := VapourDensity(t)
	for _, err := range []error{errLo, errHi, errLiquid, errVapour} {
		if err != nil {
			return 0, err
		}
	}
	slope := float64(hi-lo) / (2 * half)
	return float64(t) * (1/vapour - 1/liquid) * slope, nil
}
