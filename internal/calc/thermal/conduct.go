package thermal

import (
	"errors"
	"fmt"
	"math"
)

// Faces are the heat transfer coefficients from the chamber to the outermost
// substrate, W/m2K: film, wall and gap together.
type Faces struct {
	Side float64 `json:"side" jsonschema:"through the side wall, W/(m²·K), above 0"`
	Top  float64 `json:"top" jsonschema:"through the top, W/(m²·K), 0 or more"`
	Base float64 `json:"base" jsonschema:"through the bottom, W/(m²·K), 0 or more"`
}

// surround is a stretch of time with one kind of surroundings, whose
// temperature goes straight from From to To.
type surround struct {
	minutes  float64
	from, to float64 // °C
	faces    Faces
}

// at returns the temperature s seconds into the stretch.
func (s surround) at(sec float64) float64 {
	return s.from + (s.to-s.from)*sec/(s.minutes*60)
}

// conduction steps the heat in a body. It is the finite-volume form of
// d(heat)/dt = div(k grad T), one heat content per cell, so that what leaves
// a cell enters its neighbour.
//
// The steps are those of the Rosenbrock scheme ROS2 with approximate
// factorisation by axis (Verwer, Spee, Blom and Hundsdorfer, SIAM J. Sci.
// Comput. 20 (1999) 1456): second order whatever the factorisation neglects,
// stable for any step as gamma > 1/4.
type conduction struct {
	body   *body
	medium *medium
	faces  Faces

	heat           []float64   // J/m3 per cell
	temp           []float64   // °C, belongs to heat
	k, c           []float64   // W/mK and J/m3K, belong to heat
	cv             []float64   // J/K of each cell, belongs to heat
	link           [][]float64 // per axis: W/K of the upper face of each cell
	rim            [][]float64 // per axis: W/K of the lower face of the first cells
	spare          spare
	absorbed       float64 // J that came in through the faces, less the common angle
	next           float64 // seconds that the next step may take
	steps, refused int
}

// spare is room for one step, so that none is made while stepping.
type spare struct {
	heat, temp, k    []float64
	rate1, rate2     []float64 // K/s
	rhs              []float64
	link, rim        [][]float64
	own, below, back [][]float64 // per axis: the factors of a sweep
}

// gamma of ROS2: 1 - 1/sqrt(2), the L-stable choice with the smaller error.
var gamma = 1 - 1/math.Sqrt2

// newConduction returns a body of m at the even temperature start (°C).
func newConduction(b *body, m *medium, start float64) *conduction {
	s := &conduction{body: b, medium: m}
	vec := func() []float64 { return make([]float64, b.n) }
	s.heat, s.temp, s.k, s.c, s.cv = vec(), vec(), vec(), vec(), vec()
	s.spare = spare{heat: vec(), temp: vec(), k: vec(), rate1: vec(), rate2: vec(), rhs: vec()}
	for _, a := range b.axes {
		s.link, s.rim = append(s.link, vec()), append(s.rim, make([]float64, b.n/a.n()))
		p := &s.spare
		p.link, p.rim = append(p.link, vec()), append(p.rim, make([]float64, b.n/a.n()))
		p.own, p.below, p.back = append(p.own, vec()), append(p.below, vec()), append(p.back, vec())
	}
	e := m.content(start)
	for i := range s.heat {
		s.heat[i] = e
	}
	s.readHeat()
	return s
}

// readHeat makes all that belongs to the heat content follow it.
func (s *conduction) readHeat() {
	s.medium.read(s.heat, s.temp, s.k)
	s.medium.capacities(s.heat, s.c)
	for c, v := range s.body.volume {
		s.cv[c] = s.c[c] * v
	}
}

// clone returns a copy that can go another way.
func (s *conduction) clone() *conduction {
	d := newConduction(s.body, s.medium, s.temp[0])
	d.restore(s.heat)
	return d
}

// restore puts back a heat content kept by the caller.
func (s *conduction) restore(heat []float64) {
	copy(s.heat, heat)
	s.readHeat()
}

// outer returns the coefficients of the lower and upper end of axis d.
func (s *conduction) outer(d int) (lower, upper float64) {
	if d == len(s.body.axes)-1 {
		return s.faces.Base, s.faces.Top
	}
	return 0, s.faces.Side
}

// conductances fills the W/K of all faces from the conductivities k. Between
// cells k is read at the face by a straight line, which needs no division.
func (s *conduction) conductances(k []float64, link, rim [][]float64) {
	for d, a := range s.body.axes {
		lower, upper := s.outer(d)
		n, stride := a.n(), s.body.stride[d]
		near, far := s.body.near[d], s.body.far[d]
		for base := 0; base < s.body.n; base += n * stride {
			for c := base; c < base+(n-1)*stride; c++ {
				link[d][c] = near[c]*k[c] + far[c]*k[c+stride]
			}
		}
		for line, first := range s.body.lines[d] {
			last := first + (n-1)*stride
			rim[d][line] = ending(s.body.volume[first]/a.measure[0]*a.face[0], a.centre[0]-a.edge[0], k[first], lower)
			link[d][last] = ending(s.body.volume[last]/a.measure[n-1]*a.face[n], a.edge[n]-a.centre[n-1], k[last], upper)
		}
	}
}

// ending is the conductance of an outer face: half a cell and the coefficient
// u in a row; nothing passes where u is 0.
func ending(area, half, k, u float64) float64 {
	if u == 0 {
		return 0
	}
	return area / (half/k + 1/u)
}

// flows fills out with the W that flow into each cell at the temperatures
// temp and the surroundings outside, and returns what comes in from outside.
func (s *conduction) flows(temp []float64, outside float64, link, rim [][]float64, out []float64) float64 {
	clear(out)
	sum := 0.0
	for d, a := range s.body.axes {
		g, n, stride := link[d], a.n(), s.body.stride[d]
		for base := 0; base < s.body.n; base += n * stride {
			for c := base; c < base+(n-1)*stride; c++ {
				w := g[c] * (temp[c+stride] - temp[c])
				out[c] += w
				out[c+stride] -= w
			}
		}
		for line, first := range s.body.lines[d] {
			last := first + (n-1)*stride
			in, up := rim[d][line]*(outside-temp[first]), g[last]*(outside-temp[last])
			out[first] += in
			out[last] += up
			sum += in + up
		}
	}
	return sum
}

// rimFlow is the W that the rates x (K, where 0 is outside) draw in through
// the ends of axis d.
func (s *conduction) rimFlow(d int, x []float64) float64 {
	sum, end := 0.0, (s.body.axes[d].n()-1)*s.body.stride[d]
	for line, c := range s.body.lines[d] {
		sum -= s.rim[d][line]*x[c] + s.link[d][c+end]*x[c+end]
	}
	return sum
}

// factor prepares the sweeps of (CV - h L) along each axis, h in seconds, by
// Thomas' algorithm; the matrices are diagonally dominant. The first axis
// takes flows (W), the others rates (K/s), which it multiplies by CV.
//
// Here and in sweep the inner loop goes over lines, which do not wait for one
// another, and not along them.
func (s *conduction) factor(h float64) {
	for d, a := range s.body.axes {
		g, rim, stride := s.link[d], s.rim[d], s.body.stride[d]
		own, below, back := s.spare.own[d], s.spare.below[d], s.spare.back[d]
		for line, c := range s.body.lines[d] {
			inverse := 1 / (s.cv[c] + h*(g[c]+rim[line]))
			own[c], back[c] = inverse, h*g[c]*inverse
		}
		for i := 1; i < a.n(); i++ {
			for _, start := range s.body.lines[d] {
				c := start + i*stride
				under := h * g[c-stride]
				inverse := 1 / (s.cv[c] + h*g[c] + under*(1-back[c-stride]))
				own[c], below[c], back[c] = inverse, under*inverse, h*g[c]*inverse
			}
		}
		if d > 0 {
			for c := range own {
				own[c] *= s.cv[c]
			}
		}
	}
}

// solve turns the flows in s.spare.rhs (W) into rates of temperature (K/s):
// it divides by (1 - h J) factorised by axis. It returns the W that the
// implicit part draws in through the outer faces.
func (s *conduction) solve(h float64, rate []float64) float64 {
	drawn := 0.0
	copy(rate, s.spare.rhs)
	for d := range s.body.axes {
		s.sweep(d, rate)
		drawn += h * s.rimFlow(d, rate)
	}
	return drawn
}

// sweep solves along axis d for all lines at once and leaves the result in x.
func (s *conduction) sweep(d int, x []float64) {
	own, below, back := s.spare.own[d], s.spare.below[d], s.spare.back[d]
	n, stride, lines := s.body.axes[d].n(), s.body.stride[d], s.body.lines[d]
	for _, c := range lines {
		x[c] *= own[c]
	}
	for i := 1; i < n; i++ {
		for _, start := range lines {
			c := start + i*stride
			x[c] = own[c]*x[c] + below[c]*x[c-stride]
		}
	}
	for i := n - 2; i >= 0; i-- {
		for _, start := range lines {
			c := start + i*stride
			x[c] += back[c] * x[c+stride]
		}
	}
}

// try computes a step of h seconds with the outside going from t0 to t1. It
// leaves the rates in s.spare and returns the greatest error of temperature,
// and the heat that the step draws in.
func (s *conduction) try(h, t0, t1 float64) (errK, drawn float64) {
	p := &s.spare
	s.factor(gamma * h)
	in1 := s.flows(s.temp, t0, s.link, s.rim, p.rhs)
	in1 += s.solve(gamma*h, p.rate1)

	for c := range p.heat {
		p.heat[c] = s.heat[c] + h*s.c[c]*p.rate1[c]
	}
	link, rim := s.link, s.rim
	s.medium.read(p.heat, p.temp, p.k)
	if !s.medium.uniform() {
		s.conductances(p.k, p.link, p.rim)
		link, rim = p.link, p.rim
	}
	in2 := s.flows(p.temp, t1, link, rim, p.rhs) - 2*in1
	for c := range p.rhs {
		p.rhs[c] -= 2 * s.cv[c] * p.rate1[c]
	}
	in2 += s.solve(gamma*h, p.rate2)
	for c := range p.rate1 {
		errK = max(errK, math.Abs(p.rate1[c]+p.rate2[c])*h/2)
	}
	return errK, h * (1.5*in1 + 0.5*in2)
}

// accept takes the step that try computed.
func (s *conduction) accept(h, drawn float64) {
	p := &s.spare
	for c := range s.heat {
		s.heat[c] += h * s.c[c] * (1.5*p.rate1[c] + 0.5*p.rate2[c])
	}
	s.absorbed += drawn
	s.readHeat()
	if !s.medium.uniform() {
		s.conductances(s.k, s.link, s.rim)
	}
	s.steps++
}

// pace sets how large steps may be.
type pace struct {
	tol     float64 // K, of the first-order part of a step; the step itself is of second order
	longest float64 // seconds
}

// errStuck says that no step was small enough.
var errStuck = errors.New("thermal: the step became too small")

// errCourse says that a temperature left the table of the medium.
var errCourse = errors.New("thermal: the temperature left the range of the properties")

// run steps through one stretch and calls seen after each step with the
// seconds into it; seen may return false to end early. It returns the seconds
// done.
func (s *conduction) run(around surround, p pace, seen func(sec float64) bool) (float64, error) {
	if s.next == 0 || s.faces != around.faces {
		s.next = 1 // a new beginning: the error of the first steps finds the pace
	}
	s.faces = around.faces
	total, sec, h := around.minutes*60, 0.0, s.next
	s.conductances(s.k, s.link, s.rim)
	for total-sec > 1e-9*total {
		wanted := min(h, p.longest)
		h = min(wanted, total-sec)
		errK, drawn := s.try(h, around.at(sec), around.at(sec+h))
		if math.IsNaN(errK) {
			return sec, fmt.Errorf("%w at %g s", errCourse, sec)
		}
		if errK > p.tol {
			s.refused++
			h *= max(0.2, 0.9*math.Sqrt(p.tol/errK))
			if h < 1e-6 {
				return sec, errStuck
			}
			continue
		}
		s.accept(h, drawn)
		sec += h
		h *= min(3, 0.9*math.Sqrt(p.tol/max(errK, 1e-12)))
		s.next = max(h, wanted) // a step cut short by the end does not slow the next stretch
		if !seen(sec) {
			return sec, nil
		}
	}
	return sec, nil
}
