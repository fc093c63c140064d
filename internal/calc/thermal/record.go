package thermal

import (
	"fmt"

	"pinset/internal/figure"
)

// ChamberRecord is what a cook's chamber did, reading by reading; between readings it
// goes straight.
type ChamberRecord struct {
	TimesMin   []float64 `json:"times_min" jsonschema:"minutes of the readings, rising, from the first to the last reading three days at most"`
	ChamberC   []float64 `json:"chamber_c" jsonschema:"temperatures of the steam around the vessel, one for each time, 1 to 149 °C"`
	HeatOffMin *float64  `json:"heat_off_min,omitempty" jsonschema:"minute at which the heat went off; the last reading if left out"`
	DoubtK     float64   `json:"doubt_k,omitempty" jsonschema:"how far the readings may be off either way, 0 to 5 K; none if left out"`
}

// mostReadings bounds the readings that the model steps through.
const mostReadings = 2000

// checkRecord checks the readings, and that nothing says the same otherwise.
func (in CookInput) checkRecord() error {
	r, n := in.Record, len(in.Record.TimesMin)
	switch {
	case in.ComeUpMin != 0 || in.HoldMin != 0:
		return figure.Faultf("record", "leave come_up_min and hold_min out", "the record says when the chamber was how hot, and so do a come-up of %g and a hold of %g min", in.ComeUpMin, in.HoldMin)
	case n < 2 || len(r.ChamberC) != n:
		return figure.Faultf("record.chamber_c", "give two readings or more, a temperature for each time", "there are %d times and %d temperatures", n, len(r.ChamberC))
	case !(r.DoubtK >= 0 && r.DoubtK <= 5):
		return figure.Faultf("record.doubt_k", "give how far the logger may be off, such as 0.5", "%g K is outside 0 to 5", r.DoubtK)
	}
	if err := checkTimes("record.times_min", r.TimesMin); err != nil {
		return err
	}
	if long := r.TimesMin[n-1] - r.TimesMin[0]; !(long <= 3*24*60) {
		return figure.Faultf("record.times_min", "cut the record to the cook", "%g min are more than three days", long)
	}
	for i, c := range r.ChamberC {
		if err := checkCelsius(fmt.Sprintf("record.chamber_c[%d]", i), c, 1, 149); err != nil {
			return err
		}
	}
	if off := r.HeatOffMin; off != nil && !(*off >= r.TimesMin[0] && *off <= r.TimesMin[n-1]) {
		return figure.Faultf("record.heat_off_min", "give a minute of the record", "minute %g is outside %g to %g", *off, r.TimesMin[0], r.TimesMin[n-1])
	}
	return nil
}

// split parts the record at heat-off, the readings counted from minute 0 and
// more than mostReadings of them thinned to the lowest of each while.
func (r ChamberRecord) split() (heating, cooling ChamberRecord) {
	begin, last := r.TimesMin[0], len(r.TimesMin)-1
	off := r.TimesMin[last] - begin
	if r.HeatOffMin != nil {
		off = *r.HeatOffMin - begin
	}
	all := ChamberRecord{}
	every := (r.TimesMin[last] - begin) / mostReadings
	for i, m := range r.TimesMin {
		minute, c := m-begin, r.ChamberC[i]
		n := len(all.TimesMin)
		if i > 0 && i < last && len(r.TimesMin) > mostReadings && minute-all.TimesMin[n-1] < every {
			if n > 1 {
				all.ChamberC[n-1] = min(all.ChamberC[n-1], c)
			}
			continue
		}
		all.TimesMin, all.ChamberC = append(all.TimesMin, minute), append(all.ChamberC, c)
	}
	between := readAt(all.TimesMin, all.ChamberC, off)
	cooling = ChamberRecord{TimesMin: []float64{off}, ChamberC: []float64{between}}
	for i, m := range all.TimesMin {
		if m < off {
			heating.TimesMin, heating.ChamberC = append(heating.TimesMin, m), append(heating.ChamberC, all.ChamberC[i])
		} else if m > off {
			cooling.TimesMin, cooling.ChamberC = append(cooling.TimesMin, m), append(cooling.ChamberC, all.ChamberC[i])
		}
	}
	heating.TimesMin, heating.ChamberC = append(heating.TimesMin, off), append(heating.ChamberC, between)
	return heating, cooling
}

// follow sends h along a record, shifted by so many K.
func (h *heating) follow(r ChamberRecord, shift float64) error {
	for i := 1; i < len(r.TimesMin); i++ {
		a := surround{r.TimesMin[i] - r.TimesMin[i-1], r.ChamberC[i-1] + shift, r.ChamberC[i] + shift, h.vessel.steam}
		if err := h.stretch(a, nil); err != nil {
			return err
		}
	}
	return nil
}

// followed is Cook along a record: nothing is searched for, and of the cooling
// only what the record shows is counted.
func followed(in CookInput) (figure.Answer[CookResult], error) {
	none := figure.Answer[CookResult]{}
	if err := in.checkRecord(); err != nil {
		return none, err
	}
	plan := in
	plan.HoldMin = 1 // of the record's own length: what is planned is only checked
	c, err := newCookTask(plan)
	if err != nil {
		return none, err
	}
	c.in = in
	heating, cooling := in.Record.split()
	c.process.chamber = hottestOf(in.Record.ChamberC)
	c.process.comeUp, c.process.hold = cooling.TimesMin[0], 0
	c.process.cool = cooling.TimesMin[len(cooling.TimesMin)-1] - cooling.TimesMin[0]
	var runs [3]coreRun
	for i, v := range c.jar.vessels {
		if runs[i], err = c.runAlong(v, c.runs[i].start, [2]ChamberRecord{heating, cooling}, float64(i-best)*in.Record.DoubtK); err != nil {
			return none, err
		}
	}
	r, err := c.result(runs)
	if err != nil {
		return none, err
	}
	return figure.Answer[CookResult]{Result: r, Cautions: c.cautions(r), Working: c.working(r)}, nil
}

// runAlong sends one vessel along the record: parts are what came before and
// after heat-off.
func (c *cookTask) runAlong(v vessel, start float64, parts [2]ChamberRecord, shift float64) (coreRun, error) {
	h := newHeating(v, process{start: start})
	h.probe.chamber[0] = parts[0].ChamberC[0] + shift
	r := coreRun{probe: h.probe}
	if err := h.follow(parts[0], shift); err != nil {
		return r, err
	}
	q, heatOff := h.probe.coldest(), len(h.probe.minute)-1
	if err := h.follow(parts[1], shift); err != nil {
		return r, err
	}
	r.opened = h.onTheBench(v.air)
	if c.process.room < 29.5 {
		minutes, ok, err := r.opened.onTheBench(v.air).coolInAir(c.process, 30)
		if err != nil {
			return r, err
		}
		if ok {
			hours := minutes / 60
			r.hours = &hours
		}
	}
	c.read(&r, q, heatOff, len(h.probe.minute)-1)
	return r, nil
}
