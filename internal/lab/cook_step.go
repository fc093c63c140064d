package lab

import "slices"

// The events of a cook around its hold. They are kept apart from the marks
// that the hold is judged by: none of them makes or breaks a hold.
const (
	WaterIn  Event = "water"     // water poured in, in mL
	HeatOn   Event = "heat_on"   // the come-up begins
	Venting  Event = "vent"      // steam blows steadily
	WeightOn Event = "weight_on" // the vent is closed
	GaugeAt  Event = "gauge"     // a reading of the gauge, in psi
	Zero     Event = "zero"      // no pressure left
	Heard    Event = "heard"     // an alarm was acknowledged

	FillAt    Event = "fill"       // height of the substrate as measured, in mm
	MassAt    Event = "mass"       // substrate in one jar as weighed, in g
	LidAt     Event = "lid"        // how the lids of this cook vent, if not as their containers do
	StartAt   Event = "start"      // temperature of the load as the heat goes on, in °C
	ReadsAt   Event = "reads"      // a thermometer or display, in °C
	Barometer Event = "barometer"  // pressure of the air at the pot, not reduced to sea level, in kPa
	WaterLeft Event = "water_left" // water measured when it was opened, in mL
)

// Steps lists the events of CookStep that people enter, in the order of a cook.
var Steps = []Event{FillAt, MassAt, LidAt, StartAt, Barometer, WaterIn, HeatOn, Venting, WeightOn, GaugeAt, ReadsAt, Zero, WaterLeft}

// IsStep reports whether e is kept as a CookStep and not as a CookMark.
func (e Event) IsStep() bool { return e == Heard || slices.Contains(Steps, e) }

func (e Event) stepLabel() string {
	switch e {
	case WaterIn:
		return "water poured"
	case HeatOn:
		return "heat on"
	case Venting:
		return "venting"
	case WeightOn:
		return "weight on"
	case GaugeAt:
		return "gauge"
	case Zero:
		return "zero pressure"
	case Heard:
		return "alarm heard"
	case FillAt:
		return "filled to"
	case MassAt:
		return "weighed in a jar"
	case LidAt:
		return "lids"
	case StartAt:
		return "load begins at"
	case ReadsAt:
		return "thermometer"
	case Barometer:
		return "barometer"
	case WaterLeft:
		return "water left"
	}
	return string(e)
}

// CookStep is one event of a cook around its hold.
type CookStep struct {
	Entry
	Cook  CookID
	Event Event
	Typed string  // the amount or reading as typed; of Heard, which alarm; of LidAt, which Lid
	Value float64 // psi of GaugeAt, mL of WaterIn and WaterLeft, mm of FillAt, g of MassAt, °C of StartAt and ReadsAt, kPa of Barometer, else 0
}

// CurrentSteps returns the steps that hold, in the order of their times.
func CurrentSteps(steps []CookStep) []CookStep {
	out := Current(steps)
	slices.SortStableFunc(out, func(a, b CookStep) int { return a.At.Time.Compare(b.At.Time) })
	return out
}
