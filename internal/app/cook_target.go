package app

import (
	"fmt"
	"math"
	"strings"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// target is what a cook aims at: a pressure on the gauge, or a temperature in
// a pot that has none, a steamer without pressure or an autoclave set in °C.
type target struct {
	known   bool
	psi     float64  // on the gauge; of a temperature, what it takes here
	celsius *float64 // as set, nil if the target is a pressure

	cappedFrom float64 // what a steamer was aimed at above its boiling point, 0 if it was not
}

// The temperatures that a cook can aim at, °C.
const coldestTarget, hottestTarget = 90.0, 140.0

// parseTarget reads "15 psi", "103 kPa" or "121 °C".
func parseTarget(typed string) (target, error) {
	if t, err := units.ParseTemperature(typed); err == nil {
		c := float64(t)
		if !(c >= coldestTarget && c <= hottestTarget) {
			mend := "write 100 °C for a steamer, 121 °C for an autoclave"
			if as := (c - 32) / 1.8; as >= coldestTarget && as <= hottestTarget {
				mend = fmt.Sprintf("if it was read in °F, write %.0f °F: that is %.1f °C", c, as)
			}
			return target{}, lab.Invalidf("gauge", mend, "a target of %.4g °C is out of the range %g to %g °C", c, coldestTarget, hottestTarget)
		}
		return target{known: true, celsius: &c}, nil
	}
	p, err := units.ParsePressure(typed)
	return target{known: err == nil, psi: math.Round(float64(p)/steam.PascalPerPsi*1e6) / 1e6}, err // 15 psi typed is 15
}

// targetAt returns the target with the pressure that a temperature takes at
// an altitude, and why it can not be reckoned with, "" if it can.
func targetAt(typed string, altitude *float64) (target, string) {
	if strings.TrimSpace(typed) == "" {
		return target{}, "The cook has no target, on the gauge or in °C."
	}
	t, err := parseTarget(typed)
	if err != nil {
		return target{}, "The target of the cook can not be read."
	}
	if t.celsius == nil || altitude == nil {
		return t, ""
	}
	ambient, err := steam.AmbientAt(altitude, nil)
	if err != nil {
		return target{}, "The altitude of the kitchen is out of range."
	}
	boiling, errBoil := steam.BoilingPoint(ambient)
	gauge, errGauge := steam.GaugeFor(units.Celsius(*t.celsius), ambient)
	switch {
	case errBoil != nil || errGauge != nil:
		return target{}, "The target of the cook is out of range."
	case *t.celsius < float64(boiling)-1:
		return target{}, fmt.Sprintf("A target of %.4g °C is below boiling here, %.1f °C: that warms and does not steam, and is not reckoned.", *t.celsius, float64(boiling))
	}
	t.psi = max(float64(gauge)/steam.PascalPerPsi, 0)
	return t, ""
}

// doubts says what a target in °C leaves open.
func (t target) doubts(altitude *float64) []figure.Caution {
	if t.celsius == nil {
		return nil
	}
	var out []figure.Caution
	if t.cappedFrom > 0 {
		out = append(out, figure.Caution{
			Code: "boils_lower", Title: "It boils below the target here", Weight: figure.Care,
			Text: fmt.Sprintf("The target is %.4g °C; steam without pressure is %.1f °C at this altitude and no hotter, and that is counted.", t.cappedFrom, *t.celsius),
		})
	}
	if boiling, ok := boilingAt(altitude); ok && t.psi > 0.1 {
		out = append(out, figure.Caution{
			Code: "needs_pressure", Title: "This takes pressure", Weight: figure.Care,
			Text: fmt.Sprintf("%.4g °C is %.1f psi here. A steamer without pressure gets to %.1f °C and no further: write that as the target if it is one.", *t.celsius, t.psi, boiling),
		})
	}
	if *t.celsius < 110 {
		worth := float64(steam.LethalRate(units.Celsius(*t.celsius), 121.1, 10))
		out = append(out, figure.Caution{
			Code: "near_nothing", Title: "Next to nothing for spores", Weight: figure.Stop,
			Text: fmt.Sprintf("At %.4g °C an hour is worth %s min of F0, even if the core were there at once. Long steaming lives off a load that was nearly clean; keep more blanks.", *t.celsius, twoDigits(60*worth)),
		})
	}
	return append(out, figure.Caution{
		Code: "sensor", Title: "Where the temperature is read", Weight: figure.Note,
		Text: "It has to be that of the steam at the coldest place, often the drain, not of a wall or a heater. Air left in makes it colder beside the sensor.",
	})
}
