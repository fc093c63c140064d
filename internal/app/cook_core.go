package app

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"time"

	"pinset/internal/calc/steam"
	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// CookCore is what the cores of a cook's jars got, by the model, beside the
// verdict that it never changes.
type CookCore struct {
	Result   *thermal.CookResult `json:"result"` // nil if it can not be said
	Vessel   *CookVessel         `json:"vessel"` // the slowest kind of jar
	Psi      float64             `json:"gauge_psi"`
	Begin    time.Time           `json:"begin"` // of the come-up, minute 0 of the trace
	Low      string              `json:"f0_low"`
	Best     string              `json:"f0_best"`
	High     string              `json:"f0_high"`
	Sentence string              `json:"sentence"`
	Fitted   string              `json:"fitted"` // that a probe speaks in the figures, "" if none does
	Missing  []string            `json:"missing"`
	Cautions []figure.Caution    `json:"cautions"`
	Gauge    []GaugeReading      `json:"gauge"`
	Records  []RecordView        `json:"records"`
	Spans    []Stretch           `json:"-"`
	Fits     []lab.Calibration   `json:"-"` // of the records of this cook
	Kinds    []string            `json:"-"` // of jars that a probe can be in
}

// GaugeReading is a reading of the gauge with the temperature of air-free
// steam at it.
type GaugeReading struct {
	At      time.Time `json:"at"`
	Psi     float64   `json:"psi"`
	Celsius float64   `json:"celsius"`
}

// CookCore reckons the cores of the cook called name from its longest stretch.
// fillMM is the height of the substrate as measured; 0 reckons it.
func (f *Farm) CookCore(ctx context.Context, name string, fillMM float64) (CookCore, error) {
	var facts cookFacts
	err := f.store.Read(ctx, func(r store.Reader) error {
		c, err := r.CookByName(ctx, name)
		if err != nil {
			return err
		}
		facts, err = f.cookFacts(ctx, r, c)
		return err
	})
	if err != nil {
		return CookCore{}, err
	}
	if err := facts.fillTo(fillMM); err != nil {
		return CookCore{}, err
	}
	facts.matchFits()
	return facts.core(f.now())
}

func (c cookFacts) core(now time.Time) (CookCore, error) {
	out := CookCore{Missing: append([]string{}, c.missing...), Cautions: []figure.Caution{}, Gauge: []GaugeReading{}, Records: []RecordView{}}
	standing, err := standCook(c.cook, c.marks, now)
	if err != nil {
		return out, err
	}
	out.Spans = standing.Stretches
	for _, x := range c.fits {
		if x.Cook == c.cook.ID {
			out.Fits = append(out.Fits, x)
		}
	}
	for _, v := range c.vessels {
		out.Kinds = append(out.Kinds, v.label())
	}
	c.addGauge(&out)
	if err := c.addRecords(&out); err != nil {
		return out, err
	}
	counted, ok := countedStretch(standing)
	if !ok || counted.Minutes < 1 || !c.known || c.altitude == nil || len(c.vessels) == 0 {
		return out, nil
	}
	return out, c.reckonCore(&out, standing, counted)
}

func countedStretch(s CookStanding) (Stretch, bool) {
	for _, x := range s.Stretches {
		if x.Counts {
			return x, true
		}
	}
	return Stretch{}, false
}

// comeUp returns the minutes from heat on to the counted stretch, 20 if it
// was not logged or the pressure was lost between.
func (c cookFacts) comeUp(counted Stretch) (minutes float64, logged bool) {
	on, ok := c.stepAt(lab.HeatOn)
	reached, _ := c.markAt(lab.Reached)
	if m := counted.From.Sub(on).Minutes(); ok && counted.From.Equal(reached) && m > 0 && m <= 600 {
		return m, true
	}
	return 20, false
}

// reckonCore runs the model for each kind of jar and keeps the slowest.
func (c cookFacts) reckonCore(out *CookCore, standing CookStanding, counted Stretch) error {
	comeUp, logged := c.comeUp(counted)
	out.Psi, out.Begin = c.lowestGauge(counted), counted.From.Add(-time.Duration(comeUp*float64(time.Minute)))
	in := thermal.CookInput{
		AltitudeM: c.altitude, GaugePsi: out.Psi, GaugeReadsHighPsi: c.readsHigh(), ComeUpMin: comeUp,
		HoldMin: min(counted.Minutes, 1440), Cool: "natural",
	}
	var slowest *figure.Answer[thermal.CookResult]
	for i, v := range c.vessels {
		in.Container, in.Substrate = v.container, v.substrate
		answer, err := thermal.Cook(in)
		if err != nil {
			return err
		}
		if slowest == nil || answer.Result.Core.Low.F0HeatOffMin < slowest.Result.Core.Low.F0HeatOffMin {
			slowest, out.Vessel = &answer, &c.vessels[i]
		}
	}
	out.Result = &slowest.Result
	core := slowest.Result.Core
	out.Low, out.Best, out.High = twoDigits(core.Low.F0HeatOffMin), twoDigits(core.Best.F0HeatOffMin), twoDigits(core.High.F0HeatOffMin)
	out.Sentence = fmt.Sprintf("By heat-off the core of a %s had earned at least %s and up to %s min of F0, likeliest %s. This validates no food.", out.Vessel.Name, out.Low, out.High, out.Best)
	out.Fitted = out.Vessel.fitted()
	out.Cautions = append(append(out.Cautions, c.doubts(c.altitude)...), c.coreDoubts(out, standing, logged)...)
	out.Cautions = append(append(out.Cautions, out.Vessel.fillDoubt()...), slowest.Cautions...)
	c.checkChamber(out, counted)
	return nil
}

// lowestGauge is the target, or the lowest reading within the stretch.
func (c cookFacts) lowestGauge(s Stretch) float64 {
	psi := c.psi
	for _, x := range c.steps {
		if x.Event == lab.GaugeAt && !x.At.Time.Before(s.From) && !x.At.Time.After(s.To) {
			psi = min(psi, x.Value)
		}
	}
	return psi
}

// coreDoubts says what the band rests on.
func (c cookFacts) coreDoubts(out *CookCore, standing CookStanding, comeUpLogged bool) []figure.Caution {
	list := []figure.Caution{}
	if target := out.Result.TargetF0Min; !(out.Result.Core.Low.F0HeatOffMin >= target) {
		list = append(list, figure.Caution{
			Code: "core_below_target", Title: "The low end misses the target", Weight: figure.Care,
			Text: fmt.Sprintf("The slow run earned %s min, the target is %g. The hold stands as it is judged; keep the blanks in sight and hold longer next time.", out.Low, target),
		})
	}
	if standing.State == lab.NotHeld {
		list = append(list, figure.Caution{
			Code: "f0_rescues_nothing", Title: "A broken hold stays broken", Weight: figure.Stop,
			Text: "Whatever the band says, it is a model of one jar that stands free. The cook did not hold by its rule.",
		})
	}
	if out.Psi < c.psi-0.01 {
		list = append(list, figure.Caution{
			Code: "gauge_below_target", Title: "The gauge stood lower than the target", Weight: figure.Care,
			Text: fmt.Sprintf("A reading of %.4g psi within the stretch counts for all of it, for the target was %.4g psi. If the pressure was lost, log lost and back.", out.Psi, c.psi),
		})
	}
	if !comeUpLogged {
		list = append(list, figure.Caution{
			Code: "come_up_assumed", Title: "The come-up is assumed", Weight: figure.Note,
			Text: "20 min from cold are taken, for heat on was not logged or the pressure was lost before this stretch. What came before it earns nothing.",
		})
	}
	return list
}

// addGauge turns readings into temperatures of steam free of air.
func (c cookFacts) addGauge(out *CookCore) {
	if c.altitude == nil {
		return
	}
	ambient, err := steam.AmbientAt(c.altitude, nil)
	if err != nil {
		return
	}
	for _, s := range c.steps {
		if s.Event != lab.GaugeAt {
			continue
		}
		gauge := steam.LowerGauge(units.Pascal(s.Value*steam.PascalPerPsi), units.Pascal(c.readsHigh()*steam.PascalPerPsi))
		if t, err := steam.GaugeTemp(ambient, max(gauge, 0)); err == nil {
			out.Gauge = append(out.Gauge, GaugeReading{s.At.Time, s.Value, float64(t)})
		}
	}
}

// checkChamber compares a logger in the chamber with what the gauge says.
func (c cookFacts) checkChamber(out *CookCore, s Stretch) {
	for _, r := range out.Records {
		if r.Place != "chamber" {
			continue
		}
		sum, n := 0.0, 0
		for _, x := range r.Readings {
			if !x.At.Before(s.From) && !x.At.After(s.To) {
				sum, n = sum+x.Celsius, n+1
			}
		}
		if n > 0 && sum/float64(n) < out.Result.ChamberC-1.5 {
			out.Cautions = append(out.Cautions, figure.Caution{
				Code: "air_in_chamber", Title: "Colder than the gauge says", Weight: figure.Stop,
				Text: fmt.Sprintf("The logger in the chamber stood at %.1f °C on average, steam free of air would be %.1f °C. Air was left in, or the gauge reads high: vent for 10 min and have the gauge tested.", sum/float64(n), out.Result.ChamberC),
			})
		}
	}
}

// twoDigits writes a lethality, which is not known better.
func twoDigits(v float64) string {
	switch {
	case !(v >= 0.01):
		return "less than 0.01"
	case v < 10:
		return strconv.FormatFloat(v, 'g', 2, 64)
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	return strconv.FormatFloat(math.Floor(v/step)*step, 'f', 0, 64)
}
