package picture

import "math"

// Spans shows estimates with their intervals, one row each: how many jars
// failed by arm, or a difference by cook.
type Spans struct {
	Title   string
	Finding string
	Unit    string // of the axis, such as "% of the jars"
	Column  string // head of the column of names in the table
	Rows    []Span
	Signed  bool    // differences: values carry a sign and 0 is marked
	Matters float64 // half width of what is too small to matter, 0 for none
	From    float64 // the axis reaches at least from here
	To      float64 // to here
}

// Span is one row. Value nil is one of which nothing can be said.
type Span struct {
	Name             string
	Sign             int    // arm sign, −1 for none
	Note             string // such as "3 of 12"
	Value, Low, High *float64
}

// Draw returns the picture, wide px wide: 340 and more.
func (s Spans) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: s.Title, Desc: s.Finding, Table: s.table()}
	low, high := s.From, s.To
	for _, r := range s.Rows {
		for _, v := range []*float64{r.Value, r.Low, r.High} {
			if v != nil {
				low, high = math.Min(low, *v), math.Max(high, *v)
			}
		}
	}
	low, high = math.Min(low, -s.Matters), math.Max(high, s.Matters)
	from, to, step := nice(low, high, 5)
	x := scale{from, to, 16, wide - 16}
	const row, top = 46.0, 10.0
	bottom := top + row*float64(len(s.Rows)) + 4
	if s.Matters > 0 {
		p.rect(x.at(-s.Matters), top, x.at(s.Matters)-x.at(-s.Matters), bottom-top, style{fill: Sunken})
	}
	if s.Signed {
		p.line(x.at(0), top, x.at(0), bottom, Text, 1.25, Dotted)
	}
	for v := from; v <= to+step/2; v += step {
		p.line(x.at(v), bottom, x.at(v), bottom+4, Edge, 1, Solid)
		p.write(x.at(v), bottom+18, s.say(v), label{size: 12, at: middle, ink: Soft})
	}
	p.line(x.from, bottom, x.to, bottom, Edge, 1, Solid)
	p.write(x.to, bottom+35, s.Unit, label{size: 12, at: end, ink: Soft})
	for i, r := range s.Rows {
		s.drawRow(p, x, top+row*float64(i), r)
	}
	p.Height = bottom + 42
	return p
}

func (s Spans) say(v float64) string {
	if s.Signed {
		return signed(v)
	}
	return short(v)
}

// drawRow writes a name over its interval.
func (s Spans) drawRow(p *Picture, x scale, y float64, r Span) {
	ink, at := Text, 8.0
	if r.Sign >= 0 {
		ink = ArmInk(r.Sign)
		p.marker(r.Sign, 12, y+12, 4.5)
		at = 22
	}
	note := widthOf(r.Note, 12, false)
	p.write(at, y+16.5, fit(r.Name, 13, p.Width-at-note-20), label{size: 13, ink: Text, halo: true})
	p.write(p.Width-8, y+16.5, r.Note, label{size: 12, at: end, ink: Soft, halo: true})
	if r.Low != nil && r.High != nil {
		p.line(x.at(*r.Low), y+33, x.at(*r.High), y+33, ink, 2.5, Solid)
		for _, v := range []float64{*r.Low, *r.High} {
			p.line(x.at(v), y+28, x.at(v), y+38, ink, 2, Solid)
		}
	}
	if r.Value == nil {
		return
	}
	if r.Sign >= 0 {
		p.marker(r.Sign, x.at(*r.Value), y+33, 6)
	} else {
		p.circle(x.at(*r.Value), y+33, 5.5, style{fill: Text})
	}
}

func (s Spans) table() Table {
	t := Table{Head: []string{s.Column, "jars", s.Unit, "from", "to"}}
	for _, r := range s.Rows {
		line := []string{r.Name, r.Note, "not known", "not known", "not known"}
		for i, v := range []*float64{r.Value, r.Low, r.High} {
			if v != nil {
				line[2+i] = s.say(math.Round(*v*10) / 10)
			}
		}
		t.Rows = append(t.Rows, line)
	}
	return t
}
