package thermal

import (
	"math"

	"pinset/internal/units"
)

// probe watches the centre line of a body while it is stepped: the coldest
// place of a load that is heated alike all round, and at top and base as they
// come.
type probe struct {
	body    *body
	minute  []float64
	chamber []float64
	line    [][]float64 // temperature of each height on the centre line
	f       []float64   // lethality of each height so far
}

// newProbe begins to watch s at minute 0.
func newProbe(s *conduction, chamber float64) *probe {
	p := &probe{body: s.body, f: make([]float64, s.body.upright().n())}
	p.minute, p.chamber, p.line = []float64{0}, []float64{chamber}, [][]float64{p.centre(s)}
	return p
}

// centre reads the centre line: the cells beside it, carried on to it as an
// even parabola along each level axis.
func (p *probe) centre(s *conduction) []float64 {
	last := len(p.body.axes) - 1
	out := make([]float64, p.body.axes[last].n())
	for i := range out {
		c := i * p.body.stride[last]
		t := s.temp(c)
		for d, a := range p.body.axes[:last] {
			x0, x1 := a.centre[0]*a.centre[0], a.centre[1]*a.centre[1]
			t += (s.temp(c) - s.temp(c+p.body.stride[d])) * x0 / (x1 - x0)
		}
		out[i] = t
	}
	return out
}

// see takes a reading at minute.
func (p *probe) see(minute, chamber float64, s *conduction) {
	now, before := p.centre(s), p.line[len(p.line)-1]
	dt := minute - p.minute[len(p.minute)-1]
	for i := range p.f {
		p.f[i] += lethalInterval(dt, units.Celsius(before[i]), units.Celsius(now[i]), ReferenceC, ReferenceZ)
	}
	p.minute, p.chamber, p.line = append(p.minute, minute), append(p.chamber, chamber), append(p.line, now)
}

// spot is a place on the centre line, between three heights.
type spot struct {
	z      float64 // m above the base
	first  int
	weight [3]float64
}

// read interpolates a row of the centre line.
func (q spot) read(row []float64) float64 {
	return q.weight[0]*row[q.first] + q.weight[1]*row[q.first+1] + q.weight[2]*row[q.first+2]
}

// coldest finds where the lethality so far is least: the lowest height, and
// the bottom of the parabola of its logarithm through the neighbours.
func (p *probe) coldest() spot {
	z := p.body.upright().centre
	low := 0
	for i, f := range p.f {
		if f < p.f[low] {
			low = i
		}
	}
	first := min(max(low-1, 0), len(z)-3)
	at := z[low]
	if low > 0 && low < len(z)-1 && p.f[low] > 0 {
		at = bottom(z[first:first+3], [3]float64{math.Log(p.f[first]), math.Log(p.f[first+1]), math.Log(p.f[first+2])})
	}
	return spot{z: at, first: first, weight: lagrange(z[first:first+3], at)}
}

// lagrange returns the weights of the parabola through x at the place at.
func lagrange(x []float64, at float64) [3]float64 {
	return [3]float64{
		(at - x[1]) * (at - x[2]) / ((x[0] - x[1]) * (x[0] - x[2])),
		(at - x[0]) * (at - x[2]) / ((x[1] - x[0]) * (x[1] - x[2])),
		(at - x[0]) * (at - x[1]) / ((x[2] - x[0]) * (x[2] - x[1])),
	}
}

// bottom returns where the parabola through three points is least, and the
// middle point where it is flat.
func bottom(x []float64, y [3]float64) float64 {
	up, down := (y[2]-y[1])/(x[2]-x[1]), (y[1]-y[0])/(x[1]-x[0])
	if !(up > down) {
		return x[1]
	}
	curve := (up - down) / (x[2] - x[0])
	return min(max((x[0]+x[1])/2-down/(2*curve), x[0]), x[2])
}

// course returns the temperature at a spot over time.
func (p *probe) course(q spot) []float64 {
	out := make([]float64, len(p.line))
	for i, row := range p.line {
		out[i] = q.read(row)
	}
	return out
}

// lethality returns the running F of a course at the probe's minutes.
func (p *probe) lethality(temps []float64) []float64 {
	out := make([]float64, len(temps))
	for i := 1; i < len(temps); i++ {
		out[i] = out[i-1] + lethalInterval(p.minute[i]-p.minute[i-1], units.Celsius(temps[i-1]), units.Celsius(temps[i]), ReferenceC, ReferenceZ)
	}
	return out
}
