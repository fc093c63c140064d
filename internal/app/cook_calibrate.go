package app

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// NewCalibration is a fit as asked for.
type NewCalibration struct {
	What      string  // one of lab.CalibrationKinds; "" is multiplier
	Container string  // which kind of jar held the probe, with ", recipe" if need be; "" if there is one kind
	ProbeMM   float64 // above the bottom of the fill; 0 is the middle
}

func fitWords(what string) string {
	if what == "surface" {
		return "transfer at its faces"
	}
	return "conductivity"
}

// Calibrate fits the model to the newest records of core and chamber of the
// cook called name, and keeps the fit.
func (f *Farm) Calibrate(ctx context.Context, a Act, name string, n NewCalibration) (lab.Calibration, []figure.Caution, error) {
	var facts cookFacts
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		c, err := r.CookByName(ctx, name)
		if err != nil {
			return err
		}
		facts, err = f.cookFacts(ctx, r, c)
		return err
	})
	if err != nil {
		return lab.Calibration{}, nil, err
	}
	cal, cautions, err := facts.calibrate(n)
	if err != nil {
		return cal, nil, err
	}
	deed, err := f.deed(a, "", "%s: model fitted to a probe in %s", facts.cook, cal.Fit.Vessel)
	if err != nil {
		return cal, nil, err
	}
	cal.Entry = entryOf(deed, lab.At(cal.Fit.Course[0].At))
	return cal, cautions, f.store.Write(ctx, func(w store.Writer) error {
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		return w.AddCalibrations(ctx, []lab.Calibration{cal})
	})
}

// calibrate fits one factor.
func (c cookFacts) calibrate(n NewCalibration) (lab.Calibration, []figure.Caution, error) {
	none := lab.Calibration{}
	v, err := c.probed(n.Container)
	if err != nil {
		return none, nil, err
	}
	core, in, err := c.probeCourse()
	if err != nil {
		return none, nil, err
	}
	in.Container, in.Substrate, in.Lid, in.Fit = v.container, v.substrate, v.lid, n.What
	in.Container.Surface, in.Substrate.Multiplier, in.Substrate.SpreadPct = nil, nil, nil
	probe := v.FillMM / 2
	if n.ProbeMM != 0 {
		probe, in.ProbeMM = n.ProbeMM, &n.ProbeMM
	}
	answer, err := thermal.Calibrate(in)
	if err != nil {
		return none, nil, err
	}
	r := answer.Result
	fit := lab.CalibrationFit{
		What: in.Fit, Factor: r.Factor, RMSEC: r.RMSEC, FillMM: v.FillMM, Probe: probe, Vessel: v.Name, Mix: v.Recipe, Record: core.ID,
	}
	if fit.What == "" {
		fit.What = lab.CalibrationKinds[0]
	}
	if r.Lag != nil {
		fit.FHMin, fit.JH = &r.Lag.FHMin, &r.Lag.JH
	}
	for i, t := range in.TimesMin {
		at := core.Readings[0].At.Add(time.Duration(t * float64(time.Minute)))
		fit.Course = append(fit.Course, lab.Reading{At: at, Celsius: math.Round(r.ModelC[i]*100) / 100})
	}
	for _, x := range answer.Cautions {
		if x.Weight == figure.Stop && x.Code == "at_the_bound" {
			return none, nil, lab.Invalidf("fit", "check the sizes, the fill and the place of the probe", "no factor brings the model to the record: it would be %.2g, and miss by %.1f °C", r.Factor, r.RMSEC)
		}
	}
	return lab.Calibration{Cook: c.cook.ID, Container: v.kind.container, Recipe: v.kind.recipe, Fit: fit}, answer.Cautions, nil
}

// probed returns the kind of jar that held the probe.
func (c cookFacts) probed(container string) (CookVessel, error) {
	c.vessels = slices.DeleteFunc(slices.Clone(c.vessels), func(v CookVessel) bool { return v.kind.recipe == "" })
	if len(c.vessels) == 1 && container == "" {
		return c.vessels[0], nil
	}
	var found []CookVessel
	for _, v := range c.vessels {
		if lab.NameKey(v.label()) == lab.NameKey(container) {
			return v, nil
		}
		if lab.NameKey(v.Name) == lab.NameKey(container) {
			found = append(found, v)
		}
	}
	if len(found) == 1 {
		return found[0], nil
	}
	if len(c.vessels) == 0 {
		return CookVessel{}, lab.Invalidf("container", "plan a batch in this cook, with a container that has a bore and a recipe that can be weighed out", "no jar of this cook can be reckoned")
	}
	return CookVessel{}, lab.Invalidf("container", "say which kind of jar held the probe, such as "+c.vessels[0].label(), "there are %d kinds of jar in this cook", len(c.vessels))
}

// fitReadings bounds the readings that are fitted and kept.
const fitReadings = 150

// probeCourse is the newest record of a core with the chamber at its times,
// until the heat is off.
func (c cookFacts) probeCourse() (lab.CookRecord, thermal.CalibrateInput, error) {
	var core, chamber *lab.CookRecord
	for i, r := range c.records {
		switch r.Place {
		case "core":
			core = &c.records[i]
		case "chamber":
			chamber = &c.records[i]
		}
	}
	in := thermal.CalibrateInput{}
	if core == nil || chamber == nil {
		return lab.CookRecord{}, in, lab.Invalidf("file", "take in the files of two loggers that ran together, one in the chamber and one in a core", "a fit needs the temperature around the jar and in it")
	}
	core, chamber = longestLog(core), longestLog(chamber)
	from, to := chamber.Readings[0].At, chamber.Readings[len(chamber.Readings)-1].At
	if off, ok := c.markAt(lab.HeatOff); ok && off.Before(to) {
		to = off
	}
	used := slices.DeleteFunc(slices.Clone(core.Readings), func(x lab.Reading) bool { return x.At.Before(from) || x.At.After(to) })
	if len(used) < 6 {
		return *core, in, lab.Invalidf("file", "check the clocks of both loggers; a shift in minutes puts them right", "core and chamber have %d readings in common before the heat was off", len(used))
	}
	every := (len(used) + fitReadings - 1) / fitReadings
	kept := *core
	kept.Readings = nil
	for i := 0; i < len(used); i += every {
		x := used[i]
		kept.Readings = append(kept.Readings, x)
		in.TimesMin = append(in.TimesMin, x.At.Sub(used[0].At).Minutes())
		in.CoreC = append(in.CoreC, x.Celsius)
		in.ChamberC = append(in.ChamberC, readingAt(chamber.Readings, x.At))
	}
	return kept, in, nil
}

// longestLog returns r with the readings of its longest log alone: no line is
// drawn from one log to another.
func longestLog(r *lab.CookRecord) *lab.CookRecord {
	out := *r
	logs := RecordView{CookRecord: *r}.Logs()
	out.Readings = slices.MaxFunc(logs, func(a, b []lab.Reading) int { return cmp.Compare(len(a), len(b)) })
	return &out
}

// readingAt reads a record at t by a straight line; t lies within it.
func readingAt(list []lab.Reading, t time.Time) float64 {
	i, exact := slices.BinarySearchFunc(list, t, func(x lab.Reading, t time.Time) int { return x.At.Compare(t) })
	if exact || i == 0 {
		return list[i].Celsius
	}
	a, b := list[i-1], list[i]
	return a.Celsius + (b.Celsius-a.Celsius)*float64(t.Sub(a.At))/float64(b.At.Sub(a.At))
}

// CalibrationRow is a fit that holds.
type CalibrationRow struct {
	lab.Calibration
	CookNumber int
}

// What the factor multiplies, in words.
func (c CalibrationRow) What() string { return fitWords(c.Fit.What) }

// Calibrations returns the fits that hold, newest first.
func (f *Farm) Calibrations(ctx context.Context) ([]CalibrationRow, error) {
	var out []CalibrationRow
	err := f.store.Read(ctx, func(r store.Reader) error {
		all, err := r.Calibrations(ctx)
		if err != nil {
			return err
		}
		for _, c := range slices.Backward(lab.Current(all)) {
			cook, err := r.Cook(ctx, c.Cook)
			if err != nil {
				return err
			}
			out = append(out, CalibrationRow{c, cook.Number})
		}
		return nil
	})
	return out, err
}
