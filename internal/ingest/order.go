package ingest

import "pinset/internal/lab"

// step is what happened to a jar on a day.
type step int

const (
	filledStep step = iota
	inoculatedStep
	growthStep
	coverStep
	lightStep
	colourStep
	pinsStep
	readyStep
	pickStep
	lostStep
)

var stageStep = map[lab.Stage]step{
	lab.Growth: growthStep, lab.Cover: coverStep, lab.Light: lightStep, lab.Colour: colourStep, lab.Pins: pinsStep, lab.Ready: readyStep,
}

// datedStep is a step with the heading of the column that dates it.
type datedStep struct {
	step   step
	flush  int // of picks
	header string
	at     lab.When
}

func (d *draft) step(s step, header string, at lab.When) {
	d.dated = append(d.dated, datedStep{s, 0, header, at})
}

// precedes reports whether a can not come after b. Steps whose order differs
// between growers, such as light and full cover, are left free.
func (a datedStep) precedes(b datedStep) bool {
	switch a.step {
	case filledStep:
		return b.step != filledStep
	case inoculatedStep:
		return b.step > inoculatedStep
	case growthStep:
		return b.step > growthStep && b.step != lightStep
	case pinsStep, readyStep:
		return b.step > a.step
	case pickStep:
		return b.step == lostStep || b.step == pickStep && a.flush > 0 && a.flush < b.flush
	}
	return b.step == pickStep && a.step < pickStep && a.step != lightStep || b.step == lostStep && a.step < lostStep
}

// checkOrder refuses a jar whose days run backwards.
func (j *jarReader) checkOrder(d *draft) {
	zone := j.options.zone()
	for _, a := range d.dated {
		for _, b := range d.dated {
			days, known := b.at.DaysSince(a.at, zone)
			if known && days < 0 && a.precedes(b) {
				d.fault(b.header, b.at.Show(zone), fault{
					"“" + b.header + "” on " + b.at.Show(zone) + " is before “" + a.header + "” on " + a.at.Show(zone),
					"check both days, and which of day and month comes first",
				})
				return
			}
		}
	}
}
