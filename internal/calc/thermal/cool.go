package thermal

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pinset/internal/figure"
)

// CoolReading is one reading of a cooling jar.
type CoolReading struct {
	At      string  `json:"at" jsonschema:"time as HH:MM or RFC 3339, the same way in all rows"`
	Celsius float64 `json:"celsius" jsonschema:"temperature of the jar, -20 to 150 °C, above that of the room"`
}

// CoolInput asks when a jar will be cool enough.
type CoolInput struct {
	Readings []CoolReading `json:"readings" jsonschema:"two readings or more, in order"`
	RoomC    float64       `json:"room_c" jsonschema:"temperature of the room, -20 to 60 °C"`
	TargetC  float64       `json:"target_c" jsonschema:"temperature at which you inoculate, such as 27 °C"`
}

// CoolResult is when the target is met.
type CoolResult struct {
	RatePerH      *float64 `json:"rate_per_h"`      // null if the jar does not cool
	HoursToTarget *float64 `json:"hours_to_target"` // from the first reading; null if never
	At            *string  `json:"at"`              // in the style of the readings; null if never
	RMSEC         *float64 `json:"rmse_c"`          // scatter of the readings about the curve; null with two
}

// Cool fits Newton's law of cooling to readings: the difference to the room
// shrinks by the same share each hour.
//
// It holds for the later part of a cooling, after the jar has evened out: the
// surface runs ahead of the core at first.
func Cool(in CoolInput) (figure.Answer[CoolResult], error) {
	none := figure.Answer[CoolResult]{}
	log, hours, err := readCool(in)
	if err != nil {
		return none, err
	}
	rate, start := fitCooling(hours, in)
	r := CoolResult{}
	if rate > 0 {
		r.RatePerH = &rate
		r.RMSEC = coolScatter(hours, in, rate, start)
	}
	if rate > 0 && in.TargetC > in.RoomC {
		h := max(math.Log(start/(in.TargetC-in.RoomC))/rate, 0)
		r.HoursToTarget = &h
		if h < 24*365 {
			r.At = log.text(log.marks[0].At.Add(time.Duration(h * float64(time.Hour))).Round(time.Minute))
		}
	}
	return figure.Answer[CoolResult]{Result: r, Cautions: coolCautions(in, rate, r), Working: coolWorking(in, rate, start, r)}, nil
}

// readCool checks the input; hours count from the first reading.
func readCool(in CoolInput) (heldLog, []float64, error) {
	if len(in.Readings) < 2 {
		return heldLog{}, nil, figure.Faultf("readings", "read the jar again after an hour or two", "%d reading tells no rate", len(in.Readings))
	}
	if err := checkCelsius("room_c", in.RoomC, -20, 60); err != nil {
		return heldLog{}, nil, err
	}
	if err := checkCelsius("target_c", in.TargetC, -20, 120); err != nil {
		return heldLog{}, nil, err
	}
	log := heldLog{clock: !strings.Contains(in.Readings[0].At, "T")}
	hours, last := []float64{}, time.Time{}
	for i, c := range in.Readings {
		key := fmt.Sprintf("readings[%d]", i)
		at, err := readMoment(key+".at", c.At, log.clock, last)
		if err != nil {
			return log, nil, err
		}
		if i > 0 && !at.After(last) {
			return log, nil, figure.Faultf(key+".at", "put the readings in order, one per moment", "reading %d at %s is not after the one before", i+1, c.At)
		}
		if err := checkCelsius(key+".celsius", c.Celsius, -20, 150); err != nil {
			return log, nil, err
		}
		if !(c.Celsius > in.RoomC) {
			return log, nil, figure.Faultf(key+".celsius", "measure the room where the jar stands, or leave this reading out",
				"reading %d, %g °C, is not above the room at %g °C", i+1, c.Celsius, in.RoomC)
		}
		last = at
		log.marks = append(log.marks, Mark{At: at})
		hours = append(hours, at.Sub(log.marks[0].At).Hours())
	}
	return log, hours, nil
}

// fitCooling returns the rate per hour and the fitted difference to the room
// at the first reading. It is the line through the logarithms, each weighted
// by its difference squared, so that all readings count alike in °C.
func fitCooling(hours []float64, in CoolInput) (rate, start float64) {
	var sw, sx, sy float64
	for i, h := range hours {
		d := in.Readings[i].Celsius - in.RoomC
		w := d * d
		sw, sx, sy = sw+w, sx+w*h, sy+w*math.Log(d)
	}
	mx, my := sx/sw, sy/sw
	var sxx, sxy float64
	for i, h := range hours {
		d := in.Readings[i].Celsius - in.RoomC
		w := d * d
		sxx += w * (h - mx) * (h - mx)
		sxy += w * (h - mx) * (math.Log(d) - my)
	}
	rate = -sxy / sxx
	return rate, math.Exp(my + rate*mx)
}

// coolScatter is the root mean square of the readings about the curve, nil
// where two readings leave nothing to judge by.
func coolScatter(hours []float64, in CoolInput, rate, start float64) *float64 {
	if len(hours) < 3 {
		return nil
	}
	sum := 0.0
	for i, h := range hours {
		d := in.Readings[i].Celsius - in.RoomC - start*math.Exp(-rate*h)
		sum += d * d
	}
	rmse := math.Sqrt(sum / float64(len(hours)-2))
	return &rmse
}

// coolCautions says why there is no time, or what the time rests on.
func coolCautions(in CoolInput, rate float64, r CoolResult) []figure.Caution {
	out := []figure.Caution{}
	switch {
	case !(in.TargetC > in.RoomC):
		out = append(out, figure.Caution{
			Code: "never_reached", Title: "The room is too warm", Weight: figure.Stop,
			Text: fmt.Sprintf("A jar in a room of %g °C never falls to %g °C. Take a target above the room, or a cooler room.", in.RoomC, in.TargetC),
		})
	case !(rate > 0):
		out = append(out, figure.Caution{
			Code: "not_cooling", Title: "The jar does not cool", Weight: figure.Care,
			Text: "The readings do not fall. Check the times and the probe, and read again in an hour.",
		})
	case *r.HoursToTarget > 72:
		out = append(out, figure.Caution{
			Code: "far_ahead", Title: "Days ahead", Weight: figure.Care,
			Text: "The target is so close to the room that small errors of the readings move the time by hours.",
		})
	}
	if r.RMSEC != nil && *r.RMSEC > 2 {
		out = append(out, figure.Caution{
			Code: "poor_fit", Title: "The readings do not follow one curve", Weight: figure.Care,
			Text: fmt.Sprintf("They scatter by %.1f °C. Was the jar moved, or the room changed?", *r.RMSEC),
		})
	}
	if in.TargetC > 30 {
		out = append(out, figure.Caution{
			Code: "too_warm_to_inoculate", Title: "Too warm to inoculate", Weight: figure.Care,
			Text: "Inoculate only when the core is below 30 °C, for tender species below 25 °C.",
		})
	}
	return append(out, figure.Caution{
		Code: "touch_is_not_core", Title: "Judge by the core", Weight: figure.Note,
		Text: "The glass is cooler than the core. Measure a jar that is given up for it, and wait longer rather than shorter: warm jars also suck in air.",
	})
}

// coolWorking shows the fit.
func coolWorking(in CoolInput, rate, start float64, r CoolResult) []figure.Step {
	const newton = "Newton's law of cooling"
	out := []figure.Step{
		{Step: "difference to the room at the first reading, fitted", Formula: "T - T_room", Value: start, Unit: "K", Source: newton},
	}
	if r.RatePerH == nil {
		return out
	}
	out = append(out, figure.Step{
		Step: "rate of cooling", Formula: "ln(d1/d2)/hours, all readings fitted", Value: rate, Unit: "1/h", Source: newton,
	})
	if r.HoursToTarget != nil {
		out = append(out, figure.Step{
			Step: "hours from the first reading", Formula: fmt.Sprintf("ln(d0/(%g - %g))/rate", in.TargetC, in.RoomC),
			Value: *r.HoursToTarget, Unit: "h", Source: newton,
		})
	}
	return out
}
