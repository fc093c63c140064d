package app

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// RecordView is a record with what it is worth.
type RecordView struct {
	lab.CookRecord `json:"-"`

	Lay        string           `json:"place"` // where the logger lay
	Name       string           `json:"file"`
	F0         string           `json:"f0_min"` // two digits, "" if it can not be said
	PeakC      float64          `json:"peak_c"`
	LimitC     *float64         `json:"limit_c"`     // the target less what loggers are off, null if it is not known
	LongestMin *float64         `json:"longest_min"` // without a break at LimitC or above
	Cautions   []figure.Caution `json:"cautions"`
}

// Longest says how long it stood at the limit, "" if that is not known.
func (v RecordView) Longest() string {
	if v.LongestMin == nil {
		return ""
	}
	return fmt.Sprintf("at %.1f °C or more for %.0f min without a break", *v.LimitC, math.Floor(*v.LongestMin))
}

// Logs are the readings, parted where another log begins.
func (v RecordView) Logs() [][]lab.Reading {
	var out [][]lab.Reading
	for i, x := range v.Readings {
		if i == 0 || x.Seam {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], x)
	}
	return out
}

// addRecords says what each record is worth by itself.
func (c cookFacts) addRecords(out *CookCore, standing CookStanding) error {
	limit := c.loggerLimit()
	for _, r := range c.records {
		v := RecordView{CookRecord: r, Lay: r.Place, Name: r.File, LimitC: limit, Cautions: []figure.Caution{}}
		if err := v.addLethality(); err != nil {
			return fmt.Errorf("record %s of %s: %w", r.File, c.cook, err)
		}
		if limit != nil {
			v.addLongest(*limit)
		}
		out.Cautions = append(out.Cautions, c.recordDoubt(v, standing)...)
		out.Records = append(out.Records, v)
	}
	return nil
}

// addLethality integrates the lethality exactly, straight lines between
// readings. Nothing is earned between two logs.
func (v *RecordView) addLethality() error {
	sum := 0.0
	v.PeakC = v.Readings[0].Celsius
	for _, log := range v.Logs() {
		in := thermal.LethalityInput{}
		for _, x := range log {
			in.TimesMin = append(in.TimesMin, x.At.Sub(v.Readings[0].At).Minutes())
			in.Celsius = append(in.Celsius, x.Celsius)
			v.PeakC = math.Max(v.PeakC, x.Celsius)
		}
		if len(log) < 2 {
			continue // a lone reading lasts no time
		}
		answer, err := thermal.Lethality(in)
		if err != nil {
			return err
		}
		sum += answer.Result.FMin
		for _, x := range answer.Cautions {
			if !slices.ContainsFunc(v.Cautions, func(y figure.Caution) bool { return x.Code == y.Code }) {
				v.Cautions = append(v.Cautions, x)
			}
		}
	}
	v.F0 = twoDigits(sum)
	return nil
}

// loggerDoubt is how far a logger may read too low, K. Common practice, no
// source: half a kelvin is what makers promise of small loggers.
const loggerDoubt = 0.5

// loggerLimit is what a logger has to show to stand at the target: what steam
// free of air has there, less loggerDoubt. It is nil without a target.
func (c cookFacts) loggerLimit() *float64 {
	if !c.known {
		return nil
	}
	if c.celsius != nil {
		limit := *c.celsius - loggerDoubt
		return &limit
	}
	t, ok := c.steamAt(c.psi)
	if !ok {
		return nil
	}
	t -= loggerDoubt
	return &t
}

// addLongest finds how long the record stood at limit without a break.
func (v *RecordView) addLongest(limit float64) {
	readings := make([]thermal.Logged, len(v.Readings))
	for i, x := range v.Readings {
		readings[i] = thermal.Logged{At: x.At, Celsius: x.Celsius, Seam: x.Seam}
	}
	minutes := 0.0
	if s, ok := thermal.Longest(thermal.StretchesAbove(readings, limit)); ok {
		minutes, _ = s.Minutes()
	}
	v.LongestMin = &minutes
}

// recordDoubt says that a record is of another time than the cook, or that a
// chamber was not seen at the target as long as the rule asks, though the
// marks say that it held.
func (c cookFacts) recordDoubt(v RecordView, standing CookStanding) []figure.Caution {
	from, to := v.Readings[0].At, v.Readings[len(v.Readings)-1].At
	stretches, need := standing.Stretches, float64(c.cook.Hold)
	switch {
	case len(stretches) == 0:
		return nil
	case to.Before(stretches[0].From) || from.After(stretches[len(stretches)-1].To):
		return []figure.Caution{{
			Code: "record_elsewhere", Title: "The record is of another time", Weight: figure.Stop,
			Text: fmt.Sprintf("%s begins %s and does not touch the hold. Take it back, and say by how many minutes the logger's clock was behind, or bring the right file in.", v.File, fromHold(from.Sub(stretches[0].From))),
		}}
	case v.Place == "chamber" && v.LongestMin != nil && standing.State == lab.Held && *v.LongestMin < need-1:
		return []figure.Caution{{
			Code: "record_shorter", Title: "The logger saw less of it", Weight: figure.Care,
			Text: fmt.Sprintf("By %s the chamber stood at %.1f °C or more for %.0f min without a break; the rule asks for %.0f. The verdict goes by the marks: look whether they are right, or whether the logger ran all the time.", v.File, *v.LimitC, math.Floor(*v.LongestMin), need),
		}}
	}
	return nil
}

// fromHold says how far a moment is from the beginning of the hold.
func fromHold(d time.Duration) string {
	way := "after"
	if d < 0 {
		way, d = "before", -d
	}
	return fmt.Sprintf("%.0f min %s its beginning", d.Minutes(), way)
}
