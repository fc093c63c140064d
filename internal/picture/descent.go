package picture

import (
	"fmt"
	"strings"
	"time"
)

// Descent is a line of cultures along the calendar: each lives on a line of
// its own from the day that it was made, and hangs by a stem from the one
// that it was taken from.
type Descent struct {
	Name     string
	Today    time.Time
	Cultures []DescentCulture // parents before children
}

// DescentCulture is one culture of a line.
type DescentCulture struct {
	Name   string
	Note   string // "LC, transfer 2"
	Parent int    // index of the one it was taken from; -1 if from outside
	Made   time.Time
	Ended  time.Time // zero while it stands
	Doubt  bool      // something speaks against it
	This   bool      // the one that the page is about
	Marks  []DescentMark
	Link   string
}

// DescentMark is a day on which a culture showed something.
type DescentMark struct {
	Day  time.Time
	Sign MarkSign // Covered is a clean test, Foul a dirty one, PickedOff a crop
	Says string
}

// Draw returns the descent, wide px wide.
func (d Descent) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: d.Name, Desc: d.desc(), Table: d.table()}
	const row, head = 46.0, 26.0
	p.Height = head + row*float64(len(d.Cultures)) + 8
	from := d.begin()
	days := max(1, d.Today.Sub(from).Hours()/24)
	x := scale{0, days, 14, wide - 14}
	at := func(t time.Time) float64 { return x.at(min(max(t.Sub(from).Hours()/24, 0), days)) }
	Season{From: from, To: d.Today, Today: d.Today}.drawMonths(p, at, head)
	base := func(i int) float64 { return head + row*float64(i) + 34 }
	for i, c := range d.Cultures {
		if c.Parent >= 0 {
			p.line(at(c.Made), base(c.Parent), at(c.Made), base(i), Edge, 1.5, Dotted)
		}
	}
	for i, c := range d.Cultures {
		d.drawLife(p, c, at, base(i), wide)
	}
	return p
}

// drawLife draws the line of one culture with its name and marks.
func (d Descent) drawLife(p *Picture, c DescentCulture, at func(time.Time) float64, y, wide float64) {
	until, ink := d.Today, Go
	if c.Doubt {
		ink = Due
	}
	if !c.Ended.IsZero() {
		until, ink = c.Ended, Edge
	}
	left := at(c.Made)
	thick := 2.0
	if c.This {
		thick = 4
	}
	p.line(left, y, max(at(until), left+6), y, ink, thick, Solid)
	if !c.Ended.IsZero() {
		p.line(at(until), y-6, at(until), y+6, Text, 2, Solid)
	}
	name := fit(c.Name, 13, wide*0.5)
	nameWide := 1.08*widthOf(name, 13, false) + 8
	note := c.Note
	if c.Doubt {
		note += " (!)"
	}
	if over := left + nameWide + widthOf(note, 12, false) - (wide - 4); over > 0 {
		left = max(4, left-over)
	}
	first := len(p.marks)
	p.write(left, y-14, name, label{size: 13, ink: Text, bold: true, halo: true})
	if c.Link != "" {
		p.group(first, c.Link, c.Name)
	}
	p.write(left+nameWide, y-14, note, label{size: 12, ink: Soft, halo: true})
	p.circle(at(c.Made), y, 4, style{fill: Ground, stroke: Text, width: 1.5})
	for _, m := range c.Marks {
		if m.Day.After(until) { // jars go on when what they were made from has ended
			p.line(at(until), y, at(m.Day), y, Edge, 1.5, Dotted)
		}
		p.drawMarkSign(m.Sign, at(m.Day), y)
	}
}

// begin is the first day drawn.
func (d Descent) begin() time.Time {
	from := d.Today.AddDate(0, 0, -30)
	for _, c := range d.Cultures {
		if !c.Made.IsZero() && c.Made.Before(from) {
			from = c.Made
		}
	}
	return from
}

func (d Descent) desc() string {
	doubted := 0
	for _, c := range d.Cultures {
		if c.Doubt {
			doubted++
		}
	}
	return fmt.Sprintf("%d cultures of one line; something speaks against %d of them. A stem leads from each to the one that it was taken from.", len(d.Cultures), doubted)
}

func (d Descent) table() Table {
	t := Table{Head: []string{"Culture", "What", "Taken from", "Made", "Ended", "Seen"}}
	for _, c := range d.Cultures {
		parent, ended := "outside", ""
		if c.Parent >= 0 {
			parent = d.Cultures[c.Parent].Name
		}
		if !c.Ended.IsZero() {
			ended = c.Ended.Format("2 Jan 2006")
		}
		var seen []string
		for _, m := range c.Marks {
			seen = append(seen, m.Says+" "+m.Day.Format("2 Jan 2006"))
		}
		t.Rows = append(t.Rows, []string{c.Name, c.Note, parent, c.Made.Format("2 Jan 2006"), ended, strings.Join(seen, ", ")})
	}
	return t
}
