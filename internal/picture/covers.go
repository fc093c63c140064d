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
	c.drawReadings(p, at)
	keys := make([]keyed, len(c.Arms))
	for i, a := range c.Arms {
		a.draw(p, at)
		keys[i] = keyed{a.Name, a.Note, a.Sign}
	}
	if lettered(len(c.Arms)) {
		c.letters(p, at)
	}
	p.key(keys)
	return p
}

// The radius of a mark that stands for one jar, the largest, and how far marks
// of arms that were read alike stand apart, each from the next and in all, px.
const oneReading, mostReadings, besideReading, besideAll = 2.5, 5.5, 9.0, 30.0

// drawReadings draws a mark for each arm and reading, its area by the jars that
// were read so: many are, and would hide each other. Arms that were read alike
// stand side by side.
func (c Covers) drawReadings(p *Picture, at plane) {
	var met []CoverPoint
	jars := make(map[CoverPoint][]int) // of each arm
	for _, j := range c.Jars {
		for _, q := range j.Readings {
			if jars[q] == nil {
				met = append(met, q)
				jars[q] = make([]int, len(c.Arms))
			}
			jars[q][j.Arm]++
		}
	}
	for _, q := range met {
		var arms []int
		for i, n := range jars[q] {
			if n > 0 {
				arms = append(arms, i)
			}
		}
		apart := math.Min(besideReading, besideAll/math.Max(1, float64(len(arms)-1)))
		for k, i := range arms {
			x := at.x.at(q.Day) + apart*(float64(k)-float64(len(arms)-1)/2)
			p.marker(c.Arms[i].Sign, x, at.y.at(q.Percent), math.Min(mostReadings, oneReading*math.Sqrt(float64(jars[q][i]))))
		}
	}
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

// letters writes the letter of each arm on its mean, one further along than the
// last: near their ends the means run together.
func (c Covers) letters(p *Picture, at plane) {
	for i, a := range c.Arms {
		if len(a.Course) > 0 {
			b := a.Course[(i+1)*(len(a.Course)-1)/(len(c.Arms)+1)]
			p.write(at.x.at(b.Day), at.y.at(b.Value)+4.5, ArmLetter(a.Sign), label{size: 12, at: middle, ink: Text, bold: true, halo: true})
		}
	}
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
