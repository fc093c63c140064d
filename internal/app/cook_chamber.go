package app

import (
	"fmt"
	"time"

	"pinset/internal/calc/thermal"
)

// chamber is what the chamber of a cook did, for the model of its cores.
type chamber struct {
	thermal.ChamberRecord
	begin time.Time
	file  string // of the logger that saw it; "" by the marks
	why   string // how it was made
}

// chamberOf is the record of a logger that lay in the chamber through all
// of the stretch that counts; else, where the target was lost and came back,
// that of the marks. nil where one hold says it all.
func (c cookFacts) chamberOf(records []RecordView, standing CookStanding, counted Stretch) (*chamber, error) {
	last := standing.Stretches[len(standing.Stretches)-1].To
	for _, r := range records {
		if x := loggedChamber(r, counted, last); x != nil {
			return x, nil
		}
	}
	if len(standing.Stretches) < 2 {
		return nil, nil
	}
	return c.markedChamber(standing.Stretches)
}

// unseen is how much of a stretch a logger may miss at either end, for clocks
// and readings are that far apart.
const unseen = 2 * time.Minute

// loggedChamber is what a logger saw from its first reading on; nil unless it
// lay in the chamber and saw the stretch.
func loggedChamber(r RecordView, counted Stretch, heatOff time.Time) *chamber {
	first, last := r.Readings[0].At, r.Readings[len(r.Readings)-1].At
	if r.Place != "chamber" || len(r.Logs()) > 1 || first.After(counted.From.Add(unseen)) || last.Before(counted.To.Add(-unseen)) {
		return nil
	}
	off := min(heatOff.Sub(first), last.Sub(first)).Minutes()
	x := &chamber{ChamberRecord: thermal.ChamberRecord{HeatOffMin: &off, DoubtK: loggerDoubt}, begin: first, file: r.File, why: fmt.Sprintf("The chamber is that of %s.", r.File)}
	for _, reading := range r.Readings {
		if !(reading.Celsius >= 1 && reading.Celsius <= 149) {
			return nil // no steam: the marks tell more
		}
		m := reading.At.Sub(first).Minutes()
		if n := len(x.TimesMin); n > 0 && m <= x.TimesMin[n-1] {
			continue // a clock that stood still
		}
		x.TimesMin, x.ChamberC = append(x.TimesMin, m), append(x.ChamberC, reading.Celsius)
	}
	return x
}

// How a pot that lost its target is taken to cool, on the safe side: to below
// boiling within a minute, to the room within four hours, and up to the target
// again within the last five minutes. Ours, no source.
const (
	lostAtOnce  = time.Minute
	coldAgain   = 4 * time.Hour
	backAgain   = 5 * time.Minute
	roomC       = 22.0
	belowBoilsK = 3.0
	coolingMin  = 45.0 // in the closed pot after heat-off, which counts for nothing
)

// markedChamber is the chamber by the marks: steam at the lowest that was read
// in each stretch, and between two what a lost target leaves at the least.
func (c cookFacts) markedChamber(stretches []Stretch) (*chamber, error) {
	boils, err := c.steamIn(*c.altitude, 0)
	if err != nil {
		return nil, err
	}
	comeUp, _ := c.comeUp(stretches[0])
	begin := stretches[0].From.Add(-time.Duration(comeUp * float64(time.Minute)))
	x := &chamber{begin: begin, why: "Where the target was lost the pot is taken to fall below boiling at once, and to be back when it was marked."}
	add := func(at time.Time, celsius float64) {
		m := at.Sub(begin).Minutes()
		if n := len(x.TimesMin); n == 0 || m > x.TimesMin[n-1] {
			x.TimesMin, x.ChamberC = append(x.TimesMin, m), append(x.ChamberC, celsius)
		}
	}
	start := 20.0
	if c.startC != nil {
		start = *c.startC
	}
	add(begin, start)
	low := boils - belowBoilsK
	for i, s := range stretches {
		held, err := c.lowestPot(s)
		if err != nil {
			return nil, err
		}
		t, doubt, err := c.doubted(held)
		if err != nil {
			return nil, err
		}
		x.DoubtK = max(x.DoubtK, doubt)
		if i > 0 {
			lost, gap := stretches[i-1].To, s.From.Sub(stretches[i-1].To)
			add(lost.Add(min(lostAtOnce, gap/3)), low)
			rise := s.From.Add(-min(backAgain, gap/3))
			add(rise, max(roomC, low-(low-roomC)*rise.Sub(lost).Hours()/coldAgain.Hours()))
		}
		add(s.From, t)
		add(s.To, t)
	}
	off := x.TimesMin[len(x.TimesMin)-1]
	x.HeatOffMin = &off
	add(begin.Add(time.Duration((off+coolingMin)*float64(time.Minute))), low)
	return x, nil
}

// doubted is the temperature of a pot, and by how much the doubt about its
// gauge may lower it.
func (c cookFacts) doubted(p pot) (celsius, doubt float64, err error) {
	celsius, err = c.steamIn(p.altitude, p.psi)
	if err != nil {
		return 0, 0, err
	}
	lower, err := c.steamIn(p.altitude, p.psi-c.gaugeDoubt())
	return celsius, celsius - lower, err
}
