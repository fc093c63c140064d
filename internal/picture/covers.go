package picture

import "math"

// Covers shows how far jars were covered by day: every reading, the curve of
// each jar, and for each arm the mean of its curves with its interval.
type Covers struct {
	Title   string
	Finding string
	Arms    []CoverArm
	Jars    []CoverJar
}

// CoverArm is one arm over its jars.
type CoverArm struct {
	Name   string
	Sign   int         // arm sign
	Note   string      // such as "6 of 6 jars with a curve"
	Course []CoverBand // mean of the curves of its jars; empty for fewer than two
}

// CoverBand is a mean cover with its interval, per cent.
type CoverBand struct{ Day, Value, Low, High float64 }

// CoverJar is one jar.
type CoverJar struct {
	Name     string
	Arm      int // index into Arms
	Readings []CoverPoint
	Curve    []CoverPoint // empty if its readings hold none
}

// CoverPoint is a cover on a day, per cent.
type CoverPoint struct{ Day, Percent float64 }

// Draw returns the curves, wide px wide: 340 and more.
func (c Covers) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: c.Title, Desc: c.Finding, Table: c.table()}
	last := 0.0
	for _, j := range c.Jars {
		for _, q := range j.Readings {
			last = math.Max(last, q.Day)
		}
	}
	at := newPlane(p, last, 230)
	for _, a := range c.Arms {
		a.shade(p, at)
	}
	for _, j := range c.Jars {
		p.polygon(at.line(j.Curve), style{stroke: ArmInk(c.Arms[j.Arm].Sign), width: 1, opacity: 0.5})
	}
	for _, j := range c.Jars {
		for _, q := range j.Readings {
			p.sign(c.Arms[j.Arm].Sign, at.x.at(q.Day), at.y.at(q.Percent), 2.75)
		}
	}
	keys := make([]keyed, len(c.Arms))
	for i, a := range c.Arms {
		a.draw(p, at)
		keys[i] = keyed{a.Name, a.Note, a.Sign}
	}
	p.key(keys)
	return p
}

// line is the points of a curve as they are drawn.
func (a plane) line(of []CoverPoint) []point {
	out := make([]point, 0, len(of))
	for _, q := range of {
		if q.Day <= a.x.high {
			out = append(out, point{a.x.at(q.Day), a.y.at(q.Percent)})
		}
	}
	return out
}

func (a CoverArm) shade(p *Picture, at plane) {
	var upper, lower []CoverPoint
	for _, b := range a.Course {
		upper = append(upper, CoverPoint{b.Day, b.High})
		lower = append([]CoverPoint{{b.Day, b.Low}}, lower...)
	}
	if len(upper) > 1 {
		p.polygon(append(at.line(upper), at.line(lower)...), style{fill: ArmInk(a.Sign), opacity: 0.18})
	}
}

func (a CoverArm) draw(p *Picture, at plane) {
	var course []CoverPoint
	for _, b := range a.Course {
		course = append(course, CoverPoint{b.Day, b.Value})
	}
	p.polygon(at.line(course), style{stroke: ArmInk(a.Sign), width: 2.5, dash: armDash(a.Sign)})
}

func (c Covers) table() Table {
	t := Table{Head: []string{"Jar", "arm", "day", "cover, %"}}
	for _, j := range c.Jars {
		for _, q := range j.Readings {
			t.Rows = append(t.Rows, []string{j.Name, c.Arms[j.Arm].Name, short(q.Day), short(q.Percent)})
		}
	}
	return t
}
