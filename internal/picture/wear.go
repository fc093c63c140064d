package picture

import (
	"fmt"
	"math"
	"strconv"
)

// Wear is what a line of cultures gave from one transfer to the next: a disc
// for each batch with how sure it is, and the trend through them.
type Wear struct {
	Name     string
	Finding  string
	Readings []WearReading
	Fall     *WearFall // nil if too few say
}

// WearReading is the jars of one culture in one batch.
type WearReading struct {
	Transfer      int
	Grams, SE     float64 // of a jar
	Jars          int
	Culture, Says string // "LC-3", "B12"
	This          bool   // of the culture that the page is about
}

// WearFall is the change for each transfer in per cent of the mean, with its
// 95 % interval.
type WearFall struct{ Mean, Low, High float64 }

// Draw returns the picture, wide px wide: 340 and more.
func (w Wear) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: w.Name, Desc: w.Finding, Table: w.table()}
	const top, tall, left = 26.0, 190.0, 44.0
	last, most := 1, 1.0
	for _, r := range w.Readings {
		last, most = max(last, r.Transfer), math.Max(most, r.Grams+2*r.SE)
	}
	_, to, step := nice(0, most, 5)
	x, y := scale{-0.5, float64(last) + 0.5, left, wide - 10}, scale{0, to, top + tall, top}
	p.write(8, 14, "g a jar", label{size: 12, ink: Soft})
	for v := 0.0; v <= to+1e-9; v += step {
		ink := Line
		if v == 0 {
			ink = Edge
		}
		p.line(left, y.at(v), wide-8, y.at(v), ink, 1, Solid)
		p.write(left-6, y.at(v)+4.5, short(v), label{size: 12, at: end, ink: Soft})
	}
	for t := range last + 1 {
		p.write(x.at(float64(t)), y.from+18, strconv.Itoa(t), label{size: 12, at: middle, ink: Soft})
	}
	p.write(wide-8, y.from+35, "transfers since the master", label{size: 12, at: end, ink: Soft})
	p.Height = y.from + 44
	w.drawFall(p, x, y, last, to)
	w.drawReadings(p, x, y)
	return p
}

// drawFall draws the trend through the mean of the readings, with its band.
func (w Wear) drawFall(p *Picture, x, y scale, last int, most float64) {
	if w.Fall == nil || len(w.Readings) == 0 {
		return
	}
	mean, centre, jars := 0.0, 0.0, 0.0
	for _, r := range w.Readings {
		n := float64(r.Jars)
		mean, centre, jars = mean+n*r.Grams, centre+n*float64(r.Transfer), jars+n
	}
	mean, centre = mean/jars, centre/jars
	at := func(t, perCent float64) float64 {
		return y.at(math.Min(most, math.Max(0, mean*(1+perCent/100*(t-centre)))))
	}
	from, to := 0.0, float64(last)
	p.polygon([]point{
		{x.at(from), at(from, w.Fall.Low)},
		{x.at(centre), at(centre, 0)},
		{x.at(to), at(to, w.Fall.Low)},
		{x.at(to), at(to, w.Fall.High)},
		{x.at(centre), at(centre, 0)},
		{x.at(from), at(from, w.Fall.High)},
	}, style{fill: Sunken})
	p.line(x.at(from), at(from, w.Fall.Mean), x.at(to), at(to, w.Fall.Mean), Edge, 2, Dashed)
}

// drawReadings draws the discs; those of one transfer stand side by side.
func (w Wear) drawReadings(p *Picture, x, y scale) {
	of, nth := make(map[int]int), make(map[int]int)
	for _, r := range w.Readings {
		of[r.Transfer]++
	}
	column := x.at(1) - x.at(0)
	for _, r := range w.Readings {
		nth[r.Transfer]++
		off := (float64(nth[r.Transfer]) - float64(of[r.Transfer]+1)/2) * math.Min(16, 0.8*column/float64(of[r.Transfer]))
		at := x.at(float64(r.Transfer)) + off
		ink := Soft
		if r.This {
			ink = Go
		}
		p.line(at, y.at(math.Max(0, r.Grams-2*r.SE)), at, y.at(r.Grams+2*r.SE), ink, 1.5, Solid)
		p.circle(at, y.at(r.Grams), 5, style{fill: ink, stroke: Ground, width: 1})
	}
}

func (w Wear) table() Table {
	t := Table{Head: []string{"Culture", "Transfers", "Batch", "Jars", "g a jar", "give or take"}}
	for _, r := range w.Readings {
		t.Rows = append(t.Rows, []string{r.Culture, strconv.Itoa(r.Transfer), r.Says, strconv.Itoa(r.Jars), fmt.Sprintf("%.1f", r.Grams), fmt.Sprintf("%.1f", 2*r.SE)})
	}
	return t
}
