package picture

import (
	"fmt"
	"math"
	"time"
)

// Heat is what the heat picture shows: the gauge and the core through a cook,
// the stretches on top, and the lethality below.
type Heat struct {
	Name      string
	Finding   string
	Begin     time.Time // minute 0, in the zone to print
	Trace     []HeatMoment
	Stretches []HeatStretch
	Gauge     []HeatPoint  // readings, as temperatures of steam
	Logged    []HeatSeries // records of loggers
	Fitted    []HeatSeries // the model as it was fitted to one of them
	TargetF0  float64      // 0 if none
	Followed  bool         // the chamber of Trace is one of Logged, and drawn as that
}

// HeatMoment is one moment of the model. Temperatures in °C, F0 in minutes.
type HeatMoment struct {
	Min, Chamber     float64
	Low, Best, High  float64
	LowF, BestF, HiF float64
}

// HeatStretch is an unbroken time at pressure, in minutes from Begin.
type HeatStretch struct {
	From, To float64
	Counts   bool
}

// HeatPoint is a temperature at a minute.
type HeatPoint struct {
	Min, Celsius float64
	Seam         bool // nothing is known of the time since the point before
}

// HeatSeries is one logger.
type HeatSeries struct {
	Name   string
	Points []HeatPoint
}

// The parts of a heat picture, from the top.
const (
	heatBar   = 40.0  // the stretches
	heatTemps = 210.0 // the temperatures
	heatDoses = 96.0  // the lethality
	heatGap   = 30.0
)

// Draw returns the heat picture, wide px wide: 340 and more.
func (h Heat) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: "Heat, " + h.Name, Desc: h.Finding, Table: h.table()}
	from, to := h.span()
	x := scale{from, to, 44, wide - 12}
	h.drawStretches(p, x)
	temps := scale{h.leastC(), 140, heatBar + heatTemps, heatBar}
	h.axis(p, x, temps, 20, "°C")
	h.drawTemps(p, x, temps)
	top := heatBar + heatTemps + heatGap
	doses := scale{0, h.mostF(), top + heatDoses, top}
	h.axis(p, x, doses, h.stepF(), "F0 min")
	h.drawDoses(p, x, doses)
	h.clock(p, x, top+heatDoses)
	p.Height = h.legend(p, top+heatDoses+40, wide)
	return p
}

// span is the time that is drawn: the model until the chamber has cooled for
// half an hour, and all that was logged near it.
func (h Heat) span() (from, to float64) {
	to = 10
	for _, s := range h.Stretches {
		from, to = math.Min(from, s.From), math.Max(to, s.To)
	}
	to += 45
	for _, g := range h.Gauge {
		from, to = math.Min(from, g.Min), math.Max(to, g.Min)
	}
	return math.Max(from, -24*60), math.Min(to, 48*60)
}

// leastC is where the temperatures begin: 20 °C, lower for a cold load.
func (h Heat) leastC() float64 {
	for _, m := range h.Trace {
		if m.Low < 20 {
			return 0
		}
	}
	return 20
}

// mostF is where the lethality ends: above all of the band.
func (h Heat) mostF() float64 {
	most := math.Max(h.TargetF0*1.1, 1)
	for _, m := range h.Trace {
		most = math.Max(most, m.HiF)
	}
	_, high, _ := nice(0, most*1.1, 3)
	return high
}

func (h Heat) stepF() float64 {
	_, _, step := nice(0, h.mostF(), 3)
	return step
}

// drawStretches draws the stretches as bars; those that do not count say so.
func (h Heat) drawStretches(p *Picture, x scale) {
	for _, s := range h.Stretches {
		from, to := x.at(s.From), x.at(s.To)
		text, fill := fmt.Sprintf("%.0f min, not counted", s.To-s.From), Sunken
		ink := style{fill: fill, stroke: Edge, width: 1, dash: Dashed}
		if s.Counts {
			text, ink = fmt.Sprintf("%.0f min, counts", s.To-s.From), style{fill: DueSoft, stroke: Text, width: 1.5}
		}
		p.rect(from, 18, math.Max(to-from, 2), 12, ink)
		w := widthOf(text, 12, false)
		at := math.Min(math.Max((from+to)/2, 4+w/2), p.Width-4-w/2)
		if s.Counts || to-from > w {
			p.write(at, 13, text, label{size: 12, at: middle, ink: Text, bold: s.Counts, halo: true})
		}
	}
}

// axis draws the lines of one scale.
func (h Heat) axis(p *Picture, x, y scale, step float64, unit string) {
	for v := y.low; v <= y.high+step/2; v += step {
		ink := Line
		if v == y.low {
			ink = Edge
		}
		p.line(x.from, y.at(v), x.to, y.at(v), ink, 1, Solid)
		p.write(x.from-5, y.at(v)+4.5, short(v), label{size: 12, at: end, ink: Soft})
	}
	p.write(2, y.to-8, unit, label{size: 12, at: start, ink: Soft, halo: true})
}

// heatPixels is how far apart the drawn moments are, for a page to stay light.
const heatPixels = 4.0

// within keeps the moments that are drawn.
func (h Heat) within(x scale) []HeatMoment {
	var out []HeatMoment
	for _, m := range h.Trace {
		if m.Min < x.low || m.Min > x.high {
			continue
		}
		if n := len(out); n == 0 || x.at(m.Min)-x.at(out[n-1].Min) >= heatPixels {
			out = append(out, m)
		}
	}
	return out
}

func (h Heat) drawTemps(p *Picture, x, y scale) {
	trace := h.within(x)
	at := func(min, c float64) point { return point{x.at(min), y.at(math.Min(math.Max(c, y.low), y.high))} }
	var band []point
	var chamber, best []point
	for _, m := range trace {
		band = append(band, at(m.Min, m.Low))
		chamber, best = append(chamber, at(m.Min, m.Chamber)), append(best, at(m.Min, m.Best))
	}
	for i := len(trace) - 1; i >= 0; i-- {
		band = append(band, at(trace[i].Min, trace[i].High))
	}
	if len(trace) > 1 {
		p.polygon(band, style{fill: Mat, opacity: 0.55})
		if !h.Followed {
			p.polygon(chamber, style{stroke: Text, width: 1.5, dash: Dashed})
		}
		p.polygon(best, style{stroke: Crop, width: 2.5})
	}
	for i, s := range h.Logged {
		h.drawSeries(p, x, at, s, style{stroke: loggerInk(i), width: 2, dash: Dotted})
	}
	for _, s := range h.Fitted {
		h.drawSeries(p, x, at, s, style{stroke: Text, width: 1.5})
	}
	for _, g := range h.Gauge {
		q := at(g.Min, g.Celsius)
		p.circle(q.x, q.y, 4, style{fill: Surface, stroke: Text, width: 1.5})
	}
}

// drawSeries draws one logger or fit, thinned to a point per pixel. A seam
// leaves a gap.
func (h Heat) drawSeries(p *Picture, x scale, at func(min, c float64) point, s HeatSeries, ink style) {
	var line []point
	for _, q := range s.Points {
		if q.Seam {
			strokeLine(p, line, ink)
			line = nil
		}
		if q.Min < x.low || q.Min > x.high {
			continue
		}
		next := at(q.Min, q.Celsius)
		if n := len(line); n == 0 || next.x-line[n-1].x >= 1 {
			line = append(line, next)
		}
	}
	strokeLine(p, line, ink)
}

func strokeLine(p *Picture, line []point, ink style) {
	if len(line) > 1 {
		p.polygon(line, ink)
	}
}

func loggerInk(i int) Ink {
	if i%2 == 0 {
		return Go
	}
	return Soft
}

func (h Heat) drawDoses(p *Picture, x, y scale) {
	trace := h.within(x)
	at := func(min, f float64) point { return point{x.at(min), y.at(f)} }
	var band, best []point
	for _, m := range trace {
		band, best = append(band, at(m.Min, m.LowF)), append(best, at(m.Min, m.BestF))
	}
	for i := len(trace) - 1; i >= 0; i-- {
		band = append(band, at(trace[i].Min, trace[i].HiF))
	}
	if len(trace) > 1 {
		p.polygon(band, style{fill: Mat, opacity: 0.55})
		p.polygon(best, style{stroke: Crop, width: 2.5})
	}
	if h.TargetF0 > 0 {
		p.line(x.from, y.at(h.TargetF0), x.to, y.at(h.TargetF0), Text, 1.25, Dotted)
		p.write(x.to, y.at(h.TargetF0)-5, "target "+short(h.TargetF0), label{size: 12, at: end, ink: Soft, halo: true})
	}
}

// clock writes the time of day below.
func (h Heat) clock(p *Picture, x scale, y float64) {
	step := 30.0
	for _, s := range []float64{60, 120, 240, 480, 960} {
		if (x.high-x.low)/step*46 > x.to-x.from {
			step = s
		}
	}
	begun := float64(h.Begin.Hour()*60+h.Begin.Minute()) + float64(h.Begin.Second())/60
	first := math.Ceil((begun+x.low)/step)*step - begun // on the round hour
	for m := first; m <= x.high; m += step {
		p.line(x.at(m), y, x.at(m), y+4, Edge, 1, Solid)
		text := h.Begin.Add(time.Duration(m * float64(time.Minute))).Format("15:04")
		p.write(math.Min(x.at(m), p.Width-18), y+18, text, label{size: 12, at: middle, ink: Soft})
	}
}

// legend names the lines and returns where the picture ends.
func (h Heat) legend(p *Picture, y, wide float64) float64 {
	left := 12.0
	put := func(text string, draw func(x, y float64)) {
		w := 34 + widthOf(text, 13, false)
		if left+w > wide-4 && left > 12 {
			left, y = 12, y+20
		}
		draw(left, y-4)
		p.write(left+24, y, text, label{size: 13, at: start, ink: Text})
		left += w + 10
	}
	if len(h.Trace) > 1 {
		put("core, likeliest", func(x, y float64) { p.line(x, y, x+18, y, Crop, 2.5, Solid) })
		put("core, low to high", func(x, y float64) { p.rect(x, y-5, 18, 10, style{fill: Mat, opacity: 0.55}) })
		if !h.Followed {
			put("gauge, as steam free of air", func(x, y float64) { p.line(x, y, x+18, y, Text, 1.5, Dashed) })
		}
	}
	if len(h.Gauge) > 0 {
		put("gauge as read", func(x, y float64) { p.circle(x+9, y, 4, style{fill: Surface, stroke: Text, width: 1.5}) })
	}
	for i, s := range h.Logged {
		put(fit("logged, "+s.Name, 13, wide-60), func(x, y float64) { p.line(x, y, x+18, y, loggerInk(i), 2, Dotted) })
	}
	for _, s := range h.Fitted {
		put(fit("fitted, "+s.Name, 13, wide-60), func(x, y float64) { p.line(x, y, x+18, y, Text, 1.5, Solid) })
	}
	return y + 14
}

// table holds the figures, every tenth minute of the model and each reading.
func (h Heat) table() Table {
	t := Table{Head: []string{"Time", "Chamber °C", "Core °C, low to high", "F0 min, low to high", ""}}
	clock := func(m float64) string { return h.Begin.Add(time.Duration(m * float64(time.Minute))).Format("15:04") }
	from, to := h.span()
	next := from
	for _, m := range h.Trace {
		if m.Min < next || m.Min > to {
			continue
		}
		next = m.Min + 10
		t.Rows = append(t.Rows, []string{
			clock(m.Min), fmt.Sprintf("%.1f", m.Chamber), fmt.Sprintf("%.1f, %.1f, %.1f", m.Low, m.Best, m.High),
			fmt.Sprintf("%.2g, %.2g, %.2g", m.LowF, m.BestF, m.HiF), "",
		})
	}
	for _, s := range h.Stretches {
		says := "not counted"
		if s.Counts {
			says = "counts"
		}
		t.Rows = append(t.Rows, []string{clock(s.From), "", "", "", fmt.Sprintf("stretch of %.0f min, %s", s.To-s.From, says)})
	}
	for _, g := range h.Gauge {
		t.Rows = append(t.Rows, []string{clock(g.Min), fmt.Sprintf("%.1f", g.Celsius), "", "", "gauge as read"})
	}
	return t
}
