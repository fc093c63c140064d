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
	Chamber  string              `json:"chamber"` // how the chamber was followed, "" for one hold by the marks
	Followed bool                `json:"-"`       // the chamber is that of a logger
	Fitted   string              `json:"fitted"`  // that a probe speaks in the figures, "" if none does
	Missing  []string            `json:"missing"`
	Cautions []figure.Caution    `json:"cautions"`
	Gauge    []GaugeReading      `json:"gauge"`
	Records  []RecordView        `json:"records"`
	Spans    []Stretch           `json:"-"`
	Fits     []lab.Calibration   `json:"-"` // of the records of this cook
	Kinds    []string            `json:"-"` // of jars that a probe can be in
}

// GaugeReading is a reading of the gauge with the temperature of air-free
// steam at it, or one of a thermometer.
type GaugeReading struct {
	At      time.Time `json:"at"`
	Psi     *float64  `json:"psi"` // null for a thermometer
	Celsius float64   `json:"celsius"`
}

// CookCore reckons the cores of the cook called name along what a logger saw of
// the chamber, else along its marks.
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
		if v.kind.recipe != "" {
			out.Kinds = append(out.Kinds, v.label())
		}
	}
	c.addGauge(&out)
	if err := c.addRecords(&out, standing); err != nil {
		return out, err
	}
	counted, ok := countedStretch(standing)
	if ok {
		out.recordGaps(counted)
	}
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
	held, err := c.lowestPot(counted)
	if err != nil {
		out.Missing = append(out.Missing, err.Error())
		return nil
	}
	out.Psi, out.Begin = held.psi, counted.From.Add(-time.Duration(comeUp*float64(time.Minute)))
	in := thermal.CookInput{
		AltitudeM: &held.altitude, GaugePsi: out.Psi, StartC: c.startC, GaugeReadsHighPsi: c.readsHigh(), ComeUpMin: comeUp,
		HoldMin: min(counted.Minutes, 1440), Cool: "natural", GaugeDoubtPsi: c.gaugeDoubt(),
	}
	along, err := c.chamberOf(out.Records, standing, counted)
	if err != nil {
		return err
	}
	if along != nil {
		in.Record, in.ComeUpMin, in.HoldMin = &along.ChamberRecord, 0, 0
		out.Begin, out.Chamber, out.Followed = along.begin, along.why, along.file != ""
		_, logged = c.comeUp(standing.Stretches[0])
	}
	var slowest *figure.Answer[thermal.CookResult]
	for i, v := range c.vessels {
		in.Container, in.Substrate, in.Mode, in.Lid = v.container, v.substrate, v.mode, v.lid
		answer, err := thermal.Cook(in)
		if why, ok := c.faulty(&v, err); ok {
			out.Missing = append(out.Missing, why)
			continue
		}
		if err != nil {
			return err
		}
		if slowest == nil || answer.Result.Core.Low.F0HeatOffMin < slowest.Result.Core.Low.F0HeatOffMin {
			slowest, out.Vessel = &answer, &c.vessels[i]
		}
	}
	if slowest == nil {
		return nil
	}
	out.Result = &slowest.Result
	core := slowest.Result.Core
	out.Low, out.Best, out.High = digitsBy(core.Low.F0HeatOffMin, math.Floor), twoDigits(core.Best.F0HeatOffMin), digitsBy(core.High.F0HeatOffMin, math.Ceil)
	out.Sentence = fmt.Sprintf("By heat-off the core of a %s had earned %s. This validates no food.", out.Vessel.Name, earnedText(core, out)+out.loggedCooling())
	out.Fitted = out.Vessel.fitted()
	out.Cautions = append(append(out.Cautions, c.doubts(c.altitude)...), c.coreDoubts(out, standing, held, logged)...)
	out.Cautions = append(out.Cautions, c.itemDoubts...)
	out.Cautions = append(out.Cautions, out.Vessel.fillDoubt()...)
	out.Cautions = append(out.Cautions, c.gaugeDoubts()...)
	out.Cautions = append(out.Cautions, unsaid(out.Cautions, c.ofGauge(slowest.Cautions))...)
	free, err := c.steamIn(held.altitude, held.psi)
	if err != nil {
		return err
	}
	out.checkChamber(free, counted)
	return nil
}

// loggedCooling says what a logger saw earned after heat-off; "" without one.
func (out *CookCore) loggedCooling() string {
	if !out.Followed {
		return ""
	}
	core := out.Result.Core
	return fmt.Sprintf(", and with the cool-down as it was logged at least %s and up to %s", digitsBy(core.Low.F0TotalMin, math.Floor), digitsBy(core.High.F0TotalMin, math.Ceil))
}

// earnedText says a band of F0, also where its low end is next to nothing.
func earnedText(core thermal.CookCore, out *CookCore) string {
	const hardly = 0.01 // min: what digitsBy writes no digits of
	switch {
	case core.High.F0HeatOffMin < hardly:
		return "next to nothing: less than 0.01 min of F0"
	case core.Low.F0HeatOffMin < hardly:
		return fmt.Sprintf("up to %s min of F0 and perhaps next to nothing, likeliest %s", out.High, out.Best)
	}
	return fmt.Sprintf("at least %s and up to %s min of F0, likeliest %s", out.Low, out.High, out.Best)
}

// coldStart is a load from the fridge, °C.
const coldStart = 5.0

func startCaution(means string) figure.Caution {
	return figure.Caution{
		Code: "start_assumed", Title: "How warm was the load?", Weight: figure.Care,
		Text: fmt.Sprintf("20 °C are taken. From the fridge, at %g °C, it means %s: log how warm the load is as the heat goes on.", coldStart, means),
	}
}

// pot is the pot that the core of a stretch is reckoned in: a pressure on the
// gauge at an altitude.
type pot struct {
	psi, altitude float64
	lower         bool   // than the target
	reading       string // that it comes from, "" if it is the target
}

// lowestPot is the pot of the target, or of the lowest reading in the stretch.
func (c cookFacts) lowestPot(s Stretch) (pot, error) {
	p := pot{psi: c.psi, altitude: *c.altitude}
	coldest, _ := c.steamAt(c.psi)
	for _, x := range c.steps {
		if x.At.Time.Before(s.From) || x.At.Time.After(s.To) {
			continue
		}
		switch t, ok := c.steamAt(x.Value); {
		case x.Event == lab.GaugeAt && ok && x.Value < p.psi-0.01 && t < coldest:
			p.psi, p.altitude, p.lower, p.reading, coldest = x.Value, *c.altitude, true, fmt.Sprintf("%.4g psi", x.Value), t
		case x.Event == lab.ReadsAt && x.Value < coldest-0.05:
			q, err := potAt(x.Value, *c.altitude)
			if err != nil {
				return p, err
			}
			q.psi += c.readsHigh() // a thermometer is not the gauge
			p, coldest = q, x.Value
		}
	}
	return p, nil
}

// potAt is the pot in which steam has a temperature: by pressure at the
// altitude, or, below boiling there, without pressure higher up.
func potAt(celsius, altitude float64) (pot, error) {
	p := pot{altitude: altitude, lower: true, reading: fmt.Sprintf("%.4g °C", celsius)}
	ambient, err := steam.AmbientAt(&altitude, nil)
	if err != nil {
		return p, err
	}
	gauge, err := steam.GaugeFor(units.Celsius(celsius), ambient)
	if err != nil {
		return p, err
	}
	if p.psi = float64(gauge) / steam.PascalPerPsi; p.psi >= 0 {
		return p, nil
	}
	p.psi, p.altitude = 0, float64(steam.PressureAltitude(ambient+gauge))
	if p.altitude > 5500 {
		return p, lab.Invalidf("typed", "take the reading back if it was a slip", "a pot at %.4g °C warms and does not cook", celsius)
	}
	return p, nil
}

// coreDoubts says what the band rests on.
func (c cookFacts) coreDoubts(out *CookCore, standing CookStanding, held pot, comeUpLogged bool) []figure.Caution {
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
	if held.lower && !out.Followed {
		list = append(list, figure.Caution{
			Code: "gauge_below_target", Title: "It stood lower than the target", Weight: figure.Care,
			Text: fmt.Sprintf("A reading of %s within the stretch counts for all of it, for the target was %s. If the target was lost, log lost and back.", held.reading, orWord(c.aim(), "higher")),
		})
	}
	if !comeUpLogged && !out.Followed {
		list = append(list, figure.Caution{
			Code: "come_up_assumed", Title: "The come-up is assumed", Weight: figure.Note,
			Text: "20 min from cold are taken, for heat on was not logged. A slower start earns a little more.",
		})
	}
	return list
}

// addGauge turns readings into temperatures of steam free of air.
func (c cookFacts) addGauge(out *CookCore) {
	for _, s := range c.steps {
		switch s.Event {
		case lab.ReadsAt:
			out.Gauge = append(out.Gauge, GaugeReading{At: s.At.Time, Celsius: s.Value})
		case lab.GaugeAt:
			if t, ok := c.steamAt(s.Value); ok {
				psi := s.Value
				out.Gauge = append(out.Gauge, GaugeReading{s.At.Time, &psi, t})
			}
		}
	}
}

// steamAt is the temperature of steam free of air at a reading of the gauge.
func (c cookFacts) steamAt(psi float64) (celsius float64, ok bool) {
	if c.altitude == nil {
		return 0, false
	}
	t, err := c.steamIn(*c.altitude, psi)
	return t, err == nil
}

// steamIn is the temperature of steam free of air at an altitude and a reading
// of the gauge.
func (c cookFacts) steamIn(altitude, psi float64) (celsius float64, err error) {
	ambient, err := steam.AmbientAt(&altitude, nil)
	if err != nil {
		return 0, err
	}
	gauge := steam.LowerGauge(units.Pascal(psi*steam.PascalPerPsi), units.Pascal(c.readsHigh()*steam.PascalPerPsi))
	t, err := steam.GaugeTemp(ambient, max(gauge, 0))
	return float64(t), err
}

// recordGaps says how much of the stretch that counts a record does not show.
func (out *CookCore) recordGaps(s Stretch) {
	for _, r := range out.Records {
		from, to := r.Readings[0].At, r.Readings[len(r.Readings)-1].At
		dark := max(min(from.Sub(s.From), s.To.Sub(s.From)), 0) + max(min(s.To.Sub(to), s.To.Sub(s.From)), 0)
		if dark.Minutes() < 2 {
			continue
		}
		out.Cautions = append(out.Cautions, figure.Caution{
			Code: "record_short", Title: "The record does not show all of the hold", Weight: figure.Care,
			Text: fmt.Sprintf("%s shows nothing of %.0f of the %.0f min that count: its F0 stands for what it shows. Export the whole cook, or say by how much the clock of the logger is off.", r.File, min(dark, s.To.Sub(s.From)).Minutes(), s.Minutes),
		})
	}
}

// checkChamber compares a logger in the chamber with steam free of air, in °C,
// at what the gauge says.
func (out *CookCore) checkChamber(free float64, s Stretch) {
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
		if n > 0 && sum/float64(n) < free-1.5 {
			out.Cautions = append(out.Cautions, figure.Caution{
				Code: "air_in_chamber", Title: "Colder than the gauge says", Weight: figure.Stop,
				Text: fmt.Sprintf("The logger in the chamber stood at %.1f °C on average, steam free of air would be %.1f °C. Air was left in, or the gauge reads high: vent for 10 min and have the gauge tested.", sum/float64(n), free),
			})
		}
	}
}

// twoDigits writes a lethality, which is not known better: to the nearest.
func twoDigits(v float64) string { return digitsBy(v, math.Round) }

// digitsBy writes a lethality with two digits; round is Floor for "at least",
// Ceil for "up to".
func digitsBy(v float64, round func(float64) float64) string {
	if !(v >= 0.01) {
		return "less than 0.01"
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	n := round(math.Round(v/step*1e9) / 1e9) // 8.9 is not to fall to 8.8 for its last bit
	if n == 100 {
		n, step = 10, 10*step // 9.96 is 10, and not 10.0
	}
	return strconv.FormatFloat(n*step, 'f', max(int(-math.Floor(math.Log10(step)+1e-9)), 0), 64)
}
