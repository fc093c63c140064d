package steam

import (
	"fmt"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// What a grower's pressure cooker and its surroundings can be. Beyond these
// a figure is far more often a slip of unit than a fact.
const (
	lowestAltitude  = -500.0 // m
	highestAltitude = 5500.0 // m, above the highest towns
	lowestAir       = 50.0   // kPa
	highestAir      = 109.0  // kPa
	highestGauge    = 50.0   // psi
	highestTemp     = 145.0  // °C, about 46 psi at sea level
	usualRating     = 15.5   // psi; a 15 psi weight and a little, common practice, no source
)

// AmbientAt returns the air pressure around a vessel from exactly one of the
// altitude (standard day) and the station barometer. The error is a Fault.
func AmbientAt(altitudeM, barometerKPa *float64) (units.Pascal, error) {
	switch {
	case altitudeM == nil && barometerKPa == nil:
		return 0, figure.Faultf("altitude_m", "give the altitude in metres (0 at the sea), or barometer_kpa",
			"the altitude is missing: a gauge counts from the air around it")
	case altitudeM != nil && barometerKPa != nil:
		return 0, figure.Faultf("barometer_kpa", "leave one of the two out; the station barometer is the better one",
			"both an altitude of %g m and a barometer of %g kPa are given", *altitudeM, *barometerKPa)
	case altitudeM != nil:
		return ambientByAltitude(*altitudeM)
	}
	return ambientByBarometer(*barometerKPa)
}

// ambientByAltitude is the standard day at m metres.
func ambientByAltitude(m float64) (units.Pascal, error) {
	if !(m >= lowestAltitude && m <= highestAltitude) {
		mend := fmt.Sprintf("give %g to %g m", lowestAltitude, highestAltitude)
		if m > highestAltitude && m*0.3048 <= highestAltitude {
			mend += fmt.Sprintf("; if %g was in feet, write %.0f", m, m*0.3048)
		}
		return 0, figure.Faultf("altitude_m", mend, "nobody cooks at an altitude of %g m", m)
	}
	return StandardPressure(units.Metre(m))
}

// ambientByBarometer checks a station barometer in kPa.
func ambientByBarometer(kpa float64) (units.Pascal, error) {
	if !(kpa >= lowestAir && kpa <= highestAir) {
		mend := fmt.Sprintf("give %g to %g kPa, as read on the spot and not reduced to sea level", lowestAir, highestAir)
		if kpa/10 >= lowestAir && kpa/10 <= highestAir {
			mend += fmt.Sprintf("; %g hPa is %g kPa", kpa, kpa/10)
		}
		return 0, figure.Faultf("barometer_kpa", mend, "an air pressure of %g kPa does not occur at ground level", kpa)
	}
	return units.Pascal(kpa * 1000), nil
}

// CheckGauge returns a Fault at field unless psi is a pressure that a
// cooker's gauge can show and that does not exceed its rating, if given.
func CheckGauge(field string, psi float64, ratedPsi *float64) error {
	if !(psi >= 0) {
		return figure.Faultf(field, "give the pressure above the air around, 0 for an open pot", "the gauge reads %g psi", psi)
	}
	if psi > highestGauge {
		mend := "read the maker's manual and give the working pressure in psi"
		if kpa := psi * 1000 / PascalPerPsi; kpa <= 25 {
			mend = fmt.Sprintf("if the gauge is marked in kPa, %g kPa is %.1f psi", psi, kpa)
		}
		return figure.Faultf(field, mend, "%.4g psi is above what a kitchen or small lab pressure cooker can bear", psi)
	}
	return checkRating(field, psi, ratedPsi)
}

// checkRating refuses a pressure above the rating of the vessel.
func checkRating(field string, psi float64, ratedPsi *float64) error {
	if ratedPsi == nil {
		return nil
	}
	if !(*ratedPsi > 0 && *ratedPsi <= highestGauge) {
		return figure.Faultf("rated_psi", "give the pressure on the nameplate or in the manual, or leave it out",
			"a rating of %g psi is outside 0 to %g psi", *ratedPsi, highestGauge)
	}
	if psi > *ratedPsi+1e-6 { // what rounding adds to a pressure in kPa
		return figure.Faultf(field, "hold longer at the pressure the vessel is made for; never load or block the weight or valve",
			"%.4g psi is above the rating of the vessel, %g psi", psi, *ratedPsi)
	}
	return nil
}

// CheckGaugeError returns a Fault unless readsHigh, in psi, is an error that
// can be corrected for.
func CheckGaugeError(readsHigh float64) error {
	if !(readsHigh >= -5 && readsHigh <= 5) {
		return figure.Faultf("gauge_reads_high_psi", "replace the gauge; one that is more than 2 psi off is not to be corrected",
			"a gauge error of %g psi is outside -5 to 5 psi", readsHigh)
	}
	return nil
}

// GaugeCautions returns what must be said about a gauge reading in psi and
// the known error of the gauge.
//
// Source of the 2 psi: Iowa State University Extension (2024), dial gauges:
// correct an error up to 2 psi, replace the gauge beyond.
func GaugeCautions(psi, readsHigh float64) []figure.Caution {
	out := []figure.Caution{}
	if psi > usualRating {
		out = append(out, figure.Caution{
			Code: "above_usual_rating", Title: "More pressure than most cookers are made for", Weight: figure.Stop,
			Text: fmt.Sprintf("%.3g psi is right only if the nameplate or the maker's manual allows it. Otherwise hold longer at the rated pressure.", psi),
		})
	}
	if readsHigh > 2 || readsHigh < -2 {
		out = append(out, figure.Caution{
			Code: "replace_gauge", Title: "The gauge is too far off", Weight: figure.Stop,
			Text: fmt.Sprintf("The gauge is %.2g psi off. Replace it: beyond 2 psi no correction is to be trusted.", readsHigh),
		})
	}
	if readsHigh < 0 {
		out = append(out, figure.Caution{
			Code: "gauge_reads_low", Title: "A gauge that reads low is given no credit", Weight: figure.Note,
			Text: "The reading itself is used, the lower of the two pressures.",
		})
	}
	return out
}
