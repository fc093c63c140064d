package app

import (
	"context"
	"fmt"
	"math"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// StepCook logs an event of the cook called name around its hold. typed is
// the amount of water or the reading of the gauge; of an acknowledgement, the
// alarm. Nothing about the hold changes.
func (f *Farm) StepCook(ctx context.Context, a Act, name string, event lab.Event, typed, at string) (lab.DeedID, error) {
	if !event.IsStep() {
		return "", lab.Invalidf("event", "choose fill, mass, lid, start, barometer, water, heat_on, vent, weight_on, gauge, reads, zero or water_left", "%q is not a step of a cook", event)
	}
	var id lab.DeedID
	return id, f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CookByName(ctx, name)
		if err != nil {
			return err
		}
		typed := typedOf(c, event, typed)
		value, err := stepValue(event, typed)
		if err != nil {
			return err
		}
		when, err := f.when(ctx, w, "at", at)
		if err != nil {
			return err
		}
		if when.Exactness != lab.Exact {
			return lab.Invalidf("at", "write a clock time, such as 19:40", "a step of a cook needs the minute")
		}
		what := event.Label()
		if typed != "" && event != lab.Heard {
			what += " " + typed
		}
		deed, err := f.deed(a, "", "%s: %s", c, what)
		if err != nil {
			return err
		}
		id = deed.ID
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		return w.AddCookSteps(ctx, []lab.CookStep{{Entry: entryOf(deed, when), Cook: c.ID, Event: event, Typed: typed, Value: value}})
	})
}

// typedOf is what a step keeps of what was typed: of a lid the word for it, of
// a bare number on the gauge the unit that the target is in.
func typedOf(c lab.Cook, event lab.Event, typed string) string {
	t := strings.TrimSpace(typed)
	switch {
	case event == lab.LidAt:
		return lab.NameKey(t)
	case event == lab.GaugeAt && isBare(t):
		return t + " " + gaugeUnit(c.Gauge)
	}
	return t
}

// isBare reports whether a number was typed without its unit.
func isBare(typed string) bool { return typed != "" && strings.Trim(typed, "0123456789.,") == "" }

// gaugeUnit is the unit of a target on the gauge, psi where it says none.
func gaugeUnit(target string) string {
	t := strings.ToLower(target)
	switch {
	case strings.Contains(t, "kpa"):
		return "kPa"
	case strings.Contains(t, "bar"):
		return "bar"
	}
	return "psi"
}

// stepValue reads what a step carries.
func stepValue(event lab.Event, typed string) (float64, error) {
	switch event {
	case lab.FillAt:
		return measuredIn(typed, "mm", 1, 5, 600, "measure the height of the substrate, such as 62 mm")
	case lab.MassAt:
		return measuredIn(typed, "g", 1, 1, 20000, "weigh one jar full and empty, such as 240 g of substrate")
	case lab.LidAt:
		_, err := lab.ParseLid(typed)
		return 0, atField("typed", err)
	case lab.StartAt:
		return celsiusIn(typed, 1, 95, "write how warm the load is as the heat goes on, such as 5 °C from the fridge or 20 °C")
	case lab.ReadsAt:
		return celsiusIn(typed, 0, 150, "read the thermometer again, such as 98.5 °C")
	case lab.Barometer:
		return measuredIn(typed, "kPa", 1000, 50, 110, "write the pressure of the air at the pot, not reduced to sea level, such as 96.3 kPa or 963 hPa")
	case lab.WaterLeft:
		return measuredIn(typed, "L", 1, 0, 100000, "write the water that was left, such as 1.9 L")
	case lab.WaterIn:
		ml, err := units.ParseIn(typed, "L")
		if err != nil {
			return 0, atField("typed", err)
		}
		if !(ml.Value > 0 && ml.Value <= 100000) {
			return 0, lab.Invalidf("typed", "write the litres poured in, such as 2.8 L", "%g mL of water can not be", ml.Value)
		}
		return ml.Value, nil
	case lab.GaugeAt:
		if _, err := units.ParsePressure(typed); err != nil {
			return 0, atField("typed", err)
		}
		v := gaugePsi(typed)
		if !(v >= 0 && v <= 50) {
			return 0, lab.Invalidf("typed", "read the gauge again and write its unit, such as 14.5 psi or 100 kPa", "a gauge at %s can not be, that is %.4g psi", clipTyped(typed), v)
		}
		return v, nil
	case lab.Heard:
		if len(typed) == 0 || len(typed) > 40 {
			return 0, lab.Invalidf("typed", "reload the page", "which alarm was heard is not said")
		}
	}
	return 0, nil
}

// celsiusIn reads a temperature. One that fits only in °F is said to be one.
func celsiusIn(typed string, low, high float64, mend string) (float64, error) {
	t := strings.TrimSpace(typed)
	if isBare(t) {
		t += " °C"
	}
	v, err := units.ParseTemperature(t)
	if err != nil {
		return 0, atField("typed", err)
	}
	c := math.Round(float64(v)*1e6) / 1e6
	if c >= low && c <= high {
		return c, nil
	}
	if as := (c - 32) / 1.8; as >= low && as <= high {
		mend = fmt.Sprintf("if it was read in °F, write %.4g °F: that is %.1f °C", c, as)
	}
	return 0, lab.Invalidf("typed", mend, "%.4g °C is out of the range %g to %g °C", c, low, high)
}

// measuredIn reads a figure in unit, kept in per of the parsed one.
func measuredIn(typed, unit string, per, low, high float64, mend string) (float64, error) {
	q, err := units.ParseIn(typed, unit)
	if err != nil {
		return 0, atField("typed", err)
	}
	if v := q.Value / per; v >= low && v <= high {
		return v, nil
	}
	return 0, lab.Invalidf("typed", mend, "%q can not be", clipTyped(typed))
}
