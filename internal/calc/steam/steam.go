package steam

import (
	"errors"
	"fmt"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// SteamInput asks for the steam in a vessel. Give one of AltitudeM and
// BarometerKPa, and one of GaugePsi, GaugeKPa and Celsius.
type SteamInput struct {
	AltitudeM         *float64 `json:"altitude_m,omitempty" jsonschema:"height above the sea, -500 to 5500 m; give this or the barometer, not both"`
	BarometerKPa      *float64 `json:"barometer_kpa,omitempty" jsonschema:"air pressure at the place itself, not reduced to sea level, 50 to 109 kPa; in place of the altitude"`
	GaugePsi          *float64 `json:"gauge_psi,omitempty" jsonschema:"pressure as the gauge shows it; give one of psi, kPa or temperature"`
	GaugeKPa          *float64 `json:"gauge_kpa,omitempty" jsonschema:"pressure as the gauge shows it, in kPa"`
	Celsius           *float64 `json:"celsius,omitempty" jsonschema:"temperature wanted, 0 to 145 °C; asks for the pressure that it takes"`
	AirFraction       float64  `json:"air_fraction,omitempty" jsonschema:"share of the first air still in the pot, 0 to 1; none if left out"`
	GaugeReadsHighPsi float64  `json:"gauge_reads_high_psi,omitempty" jsonschema:"how much the gauge shows too much, below 0 if too little; 0 if left out"`
	RatedPsi          *float64 `json:"rated_psi,omitempty" jsonschema:"pressure on the pot's nameplate; left out, nothing is checked against it"`
}

// SteamResult is the steam in the vessel.
type SteamResult struct {
	AmbientKPa        float64 `json:"ambient_kpa"`
	AbsoluteKPa       float64 `json:"absolute_kpa"`
	GaugePsi          float64 `json:"gauge_psi"`           // true pressure above the air around
	ReadsPsi          float64 `json:"reads_psi"`           // what the gauge shows at it
	SaturationC       float64 `json:"saturation_c"`        // of the chamber, its trapped air counted
	SaturationF       float64 `json:"saturation_f"`        // the same in °F
	AirFreeC          float64 `json:"air_free_c"`          // were there no air in it
	DaltonC           float64 `json:"dalton_c"`            // trapped air not heated: a check against usual tables
	BoilingC          float64 `json:"boiling_c"`           // in the open at this air pressure
	LethalRatePerMin  float64 `json:"lethal_rate_per_min"` // z 10 K, 121.1 °C
	AirFreeRatePerMin float64 `json:"air_free_rate_per_min"`
}

// Steam turns a gauge reading into the temperature of the chamber, or a
// temperature into the gauge pressure it needs, at an altitude.
func Steam(in SteamInput) (figure.Answer[SteamResult], error) {
	none := figure.Answer[SteamResult]{}
	ambient, err := checkSteam(in)
	if err != nil {
		return none, err
	}
	var r SteamResult
	if in.Celsius != nil {
		r, err = fromTemp(in, ambient)
	} else {
		r, err = fromGauge(in, ambient)
	}
	if err != nil {
		return none, err
	}
	return figure.Answer[SteamResult]{Result: r, Cautions: steamCautions(in, r), Working: steamWorking(in, r)}, nil
}

// checkSteam checks the input and returns the air pressure.
func checkSteam(in SteamInput) (units.Pascal, error) {
	given := 0
	for _, p := range []*float64{in.GaugePsi, in.GaugeKPa, in.Celsius} {
		if p != nil {
			given++
		}
	}
	if given != 1 {
		return 0, figure.Faultf("gauge_psi", "give exactly one of gauge_psi, gauge_kpa and celsius",
			"%d of gauge_psi, gauge_kpa and celsius are given", given)
	}
	if !(in.AirFraction >= 0 && in.AirFraction <= 1) {
		return 0, figure.Faultf("air_fraction", "give the share of the first air that is still in, 0 to 1",
			"an air fraction of %g is outside 0 to 1", in.AirFraction)
	}
	if err := CheckGaugeError(in.GaugeReadsHighPsi); err != nil {
		return 0, err
	}
	if err := checkTemp(in.Celsius); err != nil {
		return 0, err
	}
	field, psi := "gauge_psi", in.GaugePsi
	if in.GaugeKPa != nil {
		v := *in.GaugeKPa * 1000 / PascalPerPsi
		field, psi = "gauge_kpa", &v
	}
	if psi != nil {
		if err := CheckGauge(field, *psi, in.RatedPsi); err != nil {
			return 0, err
		}
	}
	return AmbientAt(in.AltitudeM, in.BarometerKPa)
}

// checkTemp refuses a temperature no cooker reaches.
func checkTemp(c *float64) error {
	if c == nil || *c >= 0.01 && *c <= highestTemp {
		return nil
	}
	mend := fmt.Sprintf("give 0.01 to %g °C", highestTemp)
	if f := (*c - 32) / 1.8; f > 90 && f <= highestTemp {
		mend += fmt.Sprintf("; if %g was in °F, write %.1f", *c, f)
	}
	return figure.Faultf("celsius", mend, "steam at %g °C is not met in a pressure cooker", *c)
}

// fromGauge computes what a gauge reading means.
func fromGauge(in SteamInput, ambient units.Pascal) (SteamResult, error) {
	var reading units.Pascal
	if in.GaugePsi != nil {
		reading = units.Pascal(*in.GaugePsi * PascalPerPsi)
	} else {
		reading = units.Pascal(*in.GaugeKPa * 1000)
	}
	high := units.Pascal(in.GaugeReadsHighPsi * PascalPerPsi)
	gauge := max(LowerGauge(reading, high), 0)
	chamber, err := TrappedAirTemp(ambient, gauge, units.Fraction(in.AirFraction))
	if errors.Is(err, ErrRange) {
		return SteamResult{}, figure.Faultf("air_fraction", "vent until steam has blown steadily for 10 min",
			"with %g of the air shut in, no pressure is left for steam", in.AirFraction)
	}
	if err != nil {
		return SteamResult{}, err
	}
	if in.AirFraction == 0 {
		chamber, err = GaugeTemp(ambient, gauge) // free of the last bit of bisection
		if err != nil {
			return SteamResult{}, err
		}
	}
	return result(chamber, ambient, gauge, reading, in)
}

// fromTemp computes the gauge pressure that a temperature needs.
func fromTemp(in SteamInput, ambient units.Pascal) (SteamResult, error) {
	t := units.Celsius(*in.Celsius)
	gauge, err := TrappedAirGauge(t, ambient, units.Fraction(in.AirFraction))
	if err != nil {
		return SteamResult{}, err
	}
	psi := float64(gauge) / PascalPerPsi
	if err := checkRating("celsius", psi, in.RatedPsi); err != nil {
		return SteamResult{}, err
	}
	shown := gauge + units.Pascal(max(in.GaugeReadsHighPsi, 0)*PascalPerPsi)
	return result(t, ambient, gauge, shown, in)
}

// result fills in the rest from the chamber temperature and the pressures.
func result(chamber units.Celsius, ambient, gauge, reads units.Pascal, in SteamInput) (SteamResult, error) {
	f := units.Fraction(in.AirFraction)
	airFree, errFree := GaugeTemp(ambient, gauge)
	dalton, errDalton := DaltonTemp(ambient, gauge, f)
	boiling, errBoil := BoilingPoint(ambient)
	if err := errors.Join(errFree, errDalton, errBoil); err != nil {
		return SteamResult{}, figure.Faultf("air_fraction", "vent until steam has blown steadily for 10 min",
			"with %g of the air shut in, no pressure is left for steam", in.AirFraction)
	}
	cold := min(chamber, dalton) // dalton is the colder one only below about 35 °C
	return SteamResult{
		AmbientKPa: float64(ambient) / 1000, AbsoluteKPa: float64(ambient+gauge) / 1000,
		GaugePsi: float64(gauge) / PascalPerPsi, ReadsPsi: float64(reads) / PascalPerPsi,
		SaturationC: float64(cold), SaturationF: float64(cold)*1.8 + 32,
		AirFreeC: float64(airFree), DaltonC: float64(dalton), BoilingC: float64(boiling),
		LethalRatePerMin:  LethalRate(cold, 121.1, 10),
		AirFreeRatePerMin: LethalRate(airFree, 121.1, 10),
	}, nil
}
