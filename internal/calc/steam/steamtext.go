package steam

import (
	"fmt"

	"pinset/internal/figure"
)

// steamCautions says what may mislead in r.
func steamCautions(in SteamInput, r SteamResult) []figure.Caution {
	out := GaugeCautions(r.ReadsPsi, in.GaugeReadsHighPsi)
	if in.AirFraction > 0 {
		out = append(out, figure.Caution{
			Code: "trapped_air", Title: "Air in the chamber", Weight: figure.Stop,
			Text: fmt.Sprintf("The gauge can not see air. The chamber is %.1f °C where air-free steam would be %.1f °C. "+
				"Vent with steady steam for 10 min before the weight goes on.", r.SaturationC, r.AirFreeC),
		})
	}
	if r.AmbientKPa < 98.5 { // more than about 240 m up
		out = append(out, figure.Caution{
			Code: "altitude", Title: "The altitude takes temperature", Weight: figure.Care,
			Text: "A gauge counts from the air around it. Do not use a sea-level time here: hold longer, do not raise the pressure above the rating.",
		})
	}
	if r.GaugePsi < 0 {
		out = append(out, figure.Caution{
			Code: "below_boiling", Title: "Colder than boiling water", Weight: figure.Note,
			Text: fmt.Sprintf("At this air pressure water boils at %.1f °C: no gauge pressure belongs to this temperature.", r.BoilingC),
		})
	}
	if r.SaturationC < 118 && r.GaugePsi >= 0 {
		out = append(out, figure.Caution{
			Code: "below_118", Title: "The lethal rate is optimistic here", Weight: figure.Care,
			Text: "Below 118 °C the usual model can say far too much: one z from 121.1 °C down is not reliable.",
		})
	}
	if in.BarometerKPa != nil {
		out = append(out, figure.Caution{
			Code: "station_pressure", Title: "Station pressure is meant", Weight: figure.Note,
			Text: "A weather report is reduced to sea level and reads too high above it. Use a barometer on the spot.",
		})
	}
	return append(out, figure.Caution{
		Code: "estimate", Title: "An estimate for substrate", Weight: figure.Note,
		Text: "The maker's manual of the vessel goes before this. The figures are for air-free wet steam and validate no food.",
	})
}

// steamWorking shows how the chamber temperature came to be.
func steamWorking(in SteamInput, r SteamResult) []figure.Step {
	out := []figure.Step{
		ambientStep(in, r),
		{
			Step: "water boils in the open at", Formula: "T_sat(p0)", Value: r.BoilingC, Unit: "°C",
			Source: "IAPWS R7-97(2012), region 4, eq. 31",
		},
	}
	if in.Celsius != nil {
		out = append(out, figure.Step{
			Step: "gauge pressure for this temperature", Formula: "p_sat(T) + p_air(T) - p0", Value: r.GaugePsi,
			Unit: "psi", Source: "IAPWS R7-97(2012), region 4, eq. 30; Dalton's law",
		})
	} else {
		out = append(out, figure.Step{
			Step: "pressure counted on", Formula: "reading - what the gauge reads high, never more than the reading",
			Value: r.GaugePsi, Unit: "psi", Source: "the lower pressure is the safe one",
		})
	}
	out = append(out,
		figure.Step{Step: "absolute pressure", Formula: "p0 + gauge", Value: r.AbsoluteKPa, Unit: "kPa", Source: "1 psi = 6.894757 kPa, NIST SP 811"},
		figure.Step{Step: "steam without air", Formula: "T_sat(p0 + gauge)", Value: r.AirFreeC, Unit: "°C", Source: "IAPWS R7-97(2012), region 4, eq. 31"},
	)
	if in.AirFraction > 0 {
		out = append(out,
			figure.Step{
				Step: "chamber with its heated air", Formula: "p_sat(T) + f (p0 - p_sat(20 °C)) T/293.15 K = p0 + gauge",
				Value: r.SaturationC, Unit: "°C", Source: "Dalton's law and the ideal gas",
			},
			figure.Step{
				Step: "check: the air not heated", Formula: "T_sat(p0 + gauge - f p0)", Value: r.DaltonC, Unit: "°C",
				Source: "Dalton's law, as usual tables have it",
			},
		)
	}
	return append(out, figure.Step{
		Step: "lethal rate", Formula: "10^((T - 121.1)/10)", Value: r.LethalRatePerMin, Unit: "min at 121.1 °C per min",
		Source: "F0: 121.1 °C, z 10 K",
	})
}

// ambientStep shows where the air pressure is from.
func ambientStep(in SteamInput, r SteamResult) figure.Step {
	s := figure.Step{Step: "air pressure around the vessel", Value: r.AmbientKPa, Unit: "kPa"}
	if in.BarometerKPa != nil {
		s.Formula, s.Source = "as read", "the barometer"
		return s
	}
	s.Formula = fmt.Sprintf("101.325 kPa (1 - 0.0065 * %g / 288.15)^5.255876", *in.AltitudeM)
	s.Source = "ISO 2533:1975, a standard day"
	return s
}
