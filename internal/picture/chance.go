package picture

import (
	"math"
	"strconv"
	"strings"
)

// Chance shows how the chance to notice a difference grows with the jars of
// an arm: the curve while planning.
type Chance struct {
	Finding string
	Matters float64 // the difference to notice, per cent
	Points  []ChancePoint
	Planned int    // of what is counted, 0 for none
	Many    string // as the axis says it; "" is "jars an arm"
}

// ChancePoint is one number of jars. Chance is 0..1.
type ChancePoint struct {
	Jars   int
	Chance float64
}

// Draw returns the curve, wide px wide: 340 and more.
func (c Chance) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: "Chance to notice a difference of " + short(c.Matters) + " %", Desc: c.Finding, Table: c.table(), Height: 236}
	if len(c.Points) == 0 {
		return p
	}
	y := scale{0, 1, 176, 14}
	for _, v := range []float64{0, 0.2, 0.4, 0.6, 0.8, 1} {
		ink, dash := Line, Solid
		if v == 0.8 {
			ink, dash = Edge, Dashed
		}
		p.line(46, y.at(v), wide-8, y.at(v), ink, 1, dash)
		p.write(40, y.at(v)+4.5, strconv.Itoa(int(100*v))+" %", label{size: 12, at: end, ink: Soft})
	}
	last := c.Points[len(c.Points)-1].Jars
	x := scale{0, float64(last), 46, wide - 14}
	_, _, step := nice(0, float64(last), 6)
	step = math.Max(1, math.Round(step))
	for v := 0.0; v <= float64(last); v += step {
		p.line(x.at(v), y.from, x.at(v), y.from+4, Edge, 1, Solid)
		p.write(x.at(v), y.from+18, short(v), label{size: 12, at: middle, ink: Soft})
	}
	p.write(wide-8, y.from+36, c.axis(), label{size: 12, at: end, ink: Soft})
	points := make([]point, len(c.Points))
	for i, q := range c.Points {
		points[i] = point{x.at(float64(q.Jars)), y.at(q.Chance)}
	}
	p.polygon(points, style{stroke: Text, width: 2.25})
	c.drawPlanned(p, x, y)
	return p
}

// drawPlanned marks the number of jars that is planned.
func (c Chance) drawPlanned(p *Picture, x, y scale) {
	for _, q := range c.Points {
		if q.Jars != c.Planned {
			continue
		}
		at, high := x.at(float64(q.Jars)), y.at(q.Chance)
		p.line(at, y.from, at, high, Go, 2, Dotted)
		p.circle(at, high, 6, style{fill: Go})
		text := strconv.Itoa(q.Jars) + " " + c.counted() + ": " + percentOf(q.Chance)
		w := widthOf(text, 13, true)
		tx, up := at-w/2-6, high-10 // before the curve, which rises to the right
		if tx-w/2 < 50 {
			tx, up = at+w/2+12, high+14
		}
		if up < 24 {
			up = high + 26
		}
		tx = math.Min(math.Max(tx, 50+w/2), p.Width-8-w/2)
		p.write(tx, up, text, label{size: 13, at: middle, ink: Text, bold: true, halo: true})
	}
}

// axis names what is counted along the curve.
func (c Chance) axis() string {
	if c.Many == "" {
		return "jars an arm"
	}
	return c.Many
}

// counted is the plural of what is counted.
func (c Chance) counted() string {
	word, _, _ := strings.Cut(c.axis(), " ")
	return word
}

func percentOf(share float64) string {
	return strconv.Itoa(int(math.Round(100*share))) + " %"
}

func (c Chance) table() Table {
	t := Table{Head: []string{strings.ToUpper(c.axis()[:1]) + c.axis()[1:], "chance"}}
	for _, q := range c.Points {
		t.Rows = append(t.Rows, []string{strconv.Itoa(q.Jars), percentOf(q.Chance)})
	}
	return t
}
