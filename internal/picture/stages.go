package picture

import "math"

// Stages shows the share of jars that came to a stage by each day, one curve
// for each arm. A curve steps at the visit that saw the stage; its shade
// reaches back to the visit before, for it came somewhere between.
type Stages struct {
	Title   string // such as "Pins, by day"
	Finding string
	Arms    []StageCurve
}

// StageCurve is one arm.
type StageCurve struct {
	Name   string
	Sign   int    // arm sign
	Note   string // such as "11 of 12 seen, 1 lost"
	Points []StagePoint
}

// StagePoint is what is known of the share that came by a day, 0..1: at least
// Low, at most High.
type StagePoint struct{ Day, Low, High float64 }

// Draw returns the curves, wide px wide: 340 and more.
func (s Stages) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: s.Title, Desc: s.Finding, Table: s.table()}
	last := 0.0
	for _, a := range s.Arms {
		for _, q := range a.Points {
			last = math.Max(last, q.Day)
		}
	}
	at := newPlane(p, last, 210)
	for _, a := range s.Arms {
		a.shade(p, at)
	}
	keys := make([]keyed, len(s.Arms))
	for i, a := range s.Arms {
		a.draw(p, at)
		keys[i] = keyed{a.Name, a.Note, a.Sign}
	}
	if lettered(len(s.Arms)) {
		for i, a := range s.Arms {
			a.letter(p, at, i*len(a.Points)/len(s.Arms))
		}
	}
	p.key(keys)
	return p
}

// shade fills what the visits leave open: between two visits the share is at
// least what the first saw and at most what the second may have seen.
func (c StageCurve) shade(p *Picture, at plane) {
	day, low := 0.0, 0.0
	for _, q := range c.Points {
		if q.High > low && q.Day > day {
			p.rect(at.x.at(day), at.y.at(100*q.High), at.x.at(q.Day)-at.x.at(day), at.y.at(100*low)-at.y.at(100*q.High), style{fill: ArmInk(c.Sign), opacity: 0.16})
		}
		day, low = q.Day, q.Low
	}
}

// draw draws the steps, with the sign of the arm where they rise.
func (c StageCurve) draw(p *Picture, at plane) {
	steps, low := []point{{at.x.at(0), at.y.at(0)}}, 0.0
	for _, q := range c.Points {
		steps = append(steps, point{at.x.at(q.Day), at.y.at(100 * low)}, point{at.x.at(q.Day), at.y.at(100 * q.Low)})
		low = q.Low
	}
	p.polygon(steps, style{stroke: ArmInk(c.Sign), width: 2.25, dash: armDash(c.Sign)})
	low = 0
	for _, q := range c.Points {
		if q.Low > low+0.004 {
			p.sign(c.Sign, at.x.at(q.Day), at.y.at(100*q.Low), 4)
		}
		low = q.Low
	}
}

// letter writes the letter of the arm beside one of its steps, each arm beside
// another: near their ends curves run together.
func (c StageCurve) letter(p *Picture, at plane, step int) {
	if step < len(c.Points) {
		q := c.Points[step]
		p.write(at.x.at(q.Day)+6, at.y.at(100*q.Low)+4.5, ArmLetter(c.Sign), label{size: 12, ink: Text, bold: true, halo: true})
	}
}

func (s Stages) table() Table {
	t := Table{Head: []string{"Arm", "day", "came, at least", "at most"}}
	for _, a := range s.Arms {
		for _, q := range a.Points {
			t.Rows = append(t.Rows, []string{a.Name, short(q.Day), percentOf(q.Low), percentOf(q.High)})
		}
	}
	return t
}
