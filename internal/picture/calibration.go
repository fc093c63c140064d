package picture

import (
	"math"
	"strconv"
)

// Calibration shows how forecasts that were kept came out: how many outcomes
// fell into each fifth of what was forecast, and how many into each window.
type Calibration struct {
	Title     string
	Finding   string
	Fifths    []int // outcomes in each fifth of their forecast, the earliest first
	Low, High int   // what an honest forecast shows in a fifth, 19 times in 20
	Windows   []CalibrationWindow
}

// CalibrationWindow is a window with how many outcomes fell inside.
type CalibrationWindow struct {
	Share     float64 // that it should hold, 0..1
	Hits, Of  int
	Low, High int // hits that an honest forecast shows, 19 times in 20
}

// Draw returns the picture, wide px wide: 340 and more.
func (c Calibration) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: c.Title, Desc: c.Finding, Table: c.table()}
	c.drawFifths(p)
	for _, w := range c.Windows {
		w.draw(p)
	}
	p.Height += 6
	return p
}

// FifthNames says where in its forecast an outcome lay.
var FifthNames = []string{"much earlier", "earlier", "as forecast", "later", "much later"}

func (c Calibration) drawFifths(p *Picture) {
	const top, tall, left = 22.0, 130.0, 34.0
	most := c.High
	for _, n := range c.Fifths {
		most = max(most, n)
	}
	_, to, step := nice(0, math.Max(float64(most), 1), 4)
	step = math.Max(1, math.Round(step))
	y := scale{0, to, top + tall, top}
	p.write(8, 13, "outcomes", label{size: 12, ink: Soft})
	if c.High > c.Low {
		p.rect(left, y.at(float64(c.High)), p.Width-left-8, y.at(float64(c.Low))-y.at(float64(c.High)), style{fill: Sunken})
		for _, n := range []int{c.Low, c.High} { // the shade is hardly seen in a dim room
			p.line(left, y.at(float64(n)), p.Width-8, y.at(float64(n)), Edge, 1, Dotted)
		}
	}
	for v := 0.0; v <= to+1e-9; v += step {
		p.line(left, y.at(v), p.Width-8, y.at(v), Line, 1, Solid)
		p.write(left-6, y.at(v)+4.5, short(v), label{size: 12, at: end, ink: Soft})
	}
	w := (p.Width - left - 8) / float64(max(1, len(c.Fifths)))
	for i, n := range c.Fifths {
		x := left + w*float64(i)
		p.rect(x+0.18*w, y.at(float64(n)), 0.64*w, y.at(0)-y.at(float64(n)), style{fill: Go})
		if i < len(FifthNames) {
			p.write(x+w/2, y.from+17, FifthNames[i], label{size: min(12, w/6), at: middle, ink: Soft})
		}
	}
	p.line(left, y.from, p.Width-8, y.from, Edge, 1, Solid)
	p.Height = y.from + 32
}

// draw adds a window as a row: what it held over what it should hold.
func (w CalibrationWindow) draw(p *Picture) {
	y := p.Height
	p.Height += 62
	x := scale{0, 1, 16, p.Width - 16}
	p.write(8, y+16.5, "window of "+percentOf(w.Share), label{size: 13, ink: Text})
	p.write(p.Width-8, y+16.5, strconv.Itoa(w.Hits)+" of "+strconv.Itoa(w.Of)+" inside", label{size: 12, at: end, ink: Soft})
	p.line(x.from, y+33, x.to, y+33, Line, 1, Solid)
	p.write(8, y+54, "none", label{size: 12, ink: Soft})
	p.write(p.Width-8, y+54, "all", label{size: 12, at: end, ink: Soft})
	if w.Of == 0 {
		return
	}
	of := func(n int) float64 { return x.at(float64(n) / float64(w.Of)) }
	p.rect(of(w.Low), y+26, of(w.High)-of(w.Low), 14, style{fill: Sunken, stroke: Edge, width: 1})
	p.polygon([]point{{of(w.Hits), y + 27}, {of(w.Hits) + 6, y + 33}, {of(w.Hits), y + 39}, {of(w.Hits) - 6, y + 33}}, style{fill: Go})
	p.line(x.at(w.Share), y+21, x.at(w.Share), y+45, Text, 1.5, Dotted)
	p.write(x.at(w.Share), y+58, "should hold", label{size: 12, at: middle, ink: Soft})
}

func (c Calibration) table() Table {
	t := Table{Head: []string{"What", "outcomes", "usual from", "to"}}
	for i, n := range c.Fifths {
		name := strconv.Itoa(i + 1)
		if i < len(FifthNames) {
			name = FifthNames[i]
		}
		t.Rows = append(t.Rows, []string{name, strconv.Itoa(n), strconv.Itoa(c.Low), strconv.Itoa(c.High)})
	}
	for _, w := range c.Windows {
		t.Rows = append(t.Rows, []string{"window of " + percentOf(w.Share), strconv.Itoa(w.Hits) + " of " + strconv.Itoa(w.Of), strconv.Itoa(w.Low), strconv.Itoa(w.High)})
	}
	return t
}
