package picture

import "fmt"

// Spark is a small line of figures beside their words, the last one marked.
type Spark struct {
	Name   string
	Unit   string
	Values []float64
	Labels []string // one for each value, for the table
}

// Draw returns the sparkline, wide px wide and 28 px high.
func (s Spark) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Height: 28, Title: s.Name, Table: Table{Head: []string{"", s.Unit}}}
	for i, v := range s.Values {
		name := ""
		if i < len(s.Labels) {
			name = s.Labels[i]
		}
		p.Table.Rows = append(p.Table.Rows, []string{name, short(v)})
	}
	if len(s.Values) == 0 {
		p.Desc = "no figures yet"
		return p
	}
	low, high := s.Values[0], s.Values[0]
	for _, v := range s.Values {
		low, high = min(low, v), max(high, v)
	}
	p.Desc = fmt.Sprintf("from %s to %s %s, last %s", short(low), short(high), s.Unit, short(s.Values[len(s.Values)-1]))
	y := scale{min(0, low), high, 24, 5}
	if !(y.high > y.low) {
		y.high = y.low + 1
	}
	x := scale{0, float64(max(1, len(s.Values)-1)), 5, wide - 6}
	points := make([]point, len(s.Values))
	for i, v := range s.Values {
		points[i] = point{x.at(float64(i)), y.at(v)}
	}
	p.line(2, 24, wide-2, 24, Line, 1, Solid)
	p.polygon(points, style{stroke: Soft, width: 1.5})
	last := points[len(points)-1]
	p.circle(last.x, last.y, 3.2, style{fill: Crop})
	return p
}
