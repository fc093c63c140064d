package thermal

import (
	"errors"
	"fmt"
	"math"
	"slices"
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
// stable for any step as gamma > 1/4. Two things of ours keep a step cheap
// and its error small. The implicit matrix has one diffusivity for all cells,
// so that one short set of factors per axis serves all lines. And the time
// stands in it as one more unknown: each axis takes the change of what is
// outside its own faces into its own factor, without which the error at the
// faces is ten times as large while a pot comes up.
type conduction struct {
	body   *body
	medium *medium
	faces  Faces

	heat           []float64 // J/m3 per cell
	drive          []float64 // W/m per cell, belongs to heat
	factors        []factors // of each axis
	ends           [][2]end  // of each axis: its lower and upper face
	diffusivity    float64   // m2/s, of the implicit matrix
	capacity       float64   // J/m3K, of the implicit matrix
	next           float64   // seconds that the next step may take
	absorbed       float64   // J that came in through the faces, less the common angle
	steps, refused int
	spare          spare
}

// spare is room for one step, so that none is made while stepping.
type spare struct {
	heat, drive  []float64
	rate1, rate2 []float64 // J/m3s
}

// end is an outer face: the cells along it, and its share of the implicit
// matrix.
type end struct {
	first, block int     // the first cell along it, and the way to the next run of cells
	half         float64 // from centre to face, m
	u            float64 // W/m2K
	share        float64 // of the face in a cell, 1/m
	rate         float64 // of the implicit matrix, J/m3s per K outside
}

// gamma of ROS2: 1 - 1/sqrt(2), the L-stable choice with the smaller error.
var gamma = 1 - 1/math.Sqrt2

// newConduction returns a body of m at the even temperature start (°C).
func newConduction(b *body, m *medium, start float64) *conduction {
	s := &conduction{body: b, medium: m}
	vec := func() []float64 { return make([]float64, b.n) }
	s.heat, s.drive = vec(), vec()
	s.spare = spare{heat: vec(), drive: vec(), rate1: vec(), rate2: vec()}
	for d, a := range b.axes {
		n := a.n()
		s.factors = append(s.factors, factors{make([]float64, n), make([]float64, n), make([]float64, n)})
		block := n * b.stride[d]
		s.ends = append(s.ends, [2]end{
			{first: 0, block: block, half: a.centre[0] - a.edge[0], share: a.face[0] / a.measure[0]},
			{first: block - b.stride[d], block: block, half: a.edge[n] - a.centre[n-1], share: a.face[n] / a.measure[n-1]},
		})
	}
	e := m.content(start)
	for i := range s.heat {
		s.heat[i] = e
	}
	s.readHeat()
	return s
}

// readHeat makes the drive follow the heat content.
func (s *conduction) readHeat() {
	for c, e := range s.heat {
		s.drive[c] = s.medium.drives.at(e)
	}
}

// clone returns a copy that can go another way.
func (s *conduction) clone() *conduction {
	d := newConduction(s.body, s.medium, 20)
	d.restore(s.heat)
	return d
}

// restore puts back a heat content kept by the caller.
func (s *conduction) restore(heat []float64) {
	copy(s.heat, heat)
	s.readHeat()
}

// temp is the temperature of cell c, °C.
func (s *conduction) temp(c int) float64 {
	t, _ := s.medium.read(s.heat[c])
	return t
}

// warmest is the highest temperature of a cell, °C.
func (s *conduction) warmest() float64 {
	t, _ := s.medium.read(slices.Max(s.heat))
	return t
}

// enclose puts the body between faces, for temperatures up to top.
func (s *conduction) enclose(f Faces, top float64) {
	s.faces = f
	conduct, capacity := s.medium.typical(top)
	s.diffusivity, s.capacity = conduct/capacity, capacity
	for d := range s.ends {
		lower, upper := s.outer(d)
		s.ends[d][0].u, s.ends[d][1].u = lower, upper
		for i := range s.ends[d] {
			e := &s.ends[d][i]
			e.rate = e.share * series(e.half/conduct, e.u)
		}
	}
}

// outer returns the coefficients of the lower and upper end of axis d.
func (s *conduction) outer(d int) (lower, upper float64) {
	if d == len(s.body.axes)-1 {
		return s.faces.Base, s.faces.Top
	}
	return 0, s.faces.Side
}

// series is the conductance of half a cell (m2K/W) and the coefficient u in a
// row; nothing passes where u is 0.
func series(half, u float64) float64 {
	if u == 0 {
		return 0
	}
	return 1 / (half + 1/u)
}

// flows adds the J/m3s that flow into each cell and returns the W that come
// in from outside.
func (s *conduction) flows(heat, drive []float64, outside float64, rate []float64) float64 {
	sum := 0.0
	for d := range s.body.axes {
		stride := s.body.stride[d]
		s.body.axes[d].flow(stride, drive, rate)
		for _, e := range s.ends[d] {
			if e.u == 0 {
				continue
			}
			for first := e.first; first < s.body.n; first += e.block {
				for c := first; c < first+stride; c++ {
					t, k := s.medium.read(heat[c])
					in := e.share * (outside - t) / (e.half/k + 1/e.u)
					rate[c] += in
					sum += in * s.body.volume[c]
				}
			}
		}
	}
	return sum
}

// factor prepares (1 - tau A) of each axis, tau in seconds.
func (s *conduction) factor(tau float64) {
	for d := range s.factors {
		s.factors[d].set(&s.body.axes[d], tau*s.diffusivity,
			tau*s.ends[d][0].rate/s.capacity, tau*s.ends[d][1].rate/s.capacity)
	}
}

// solve divides rate by (1 - tau A), factorised by axis, the outside changing
// by slope (K/s). It returns the W that the implicit part draws in through
// the outer faces.
func (s *conduction) solve(tau, slope float64, rate []float64) float64 {
	drawn := 0.0
	for d := len(s.factors) - 1; d >= 0; d-- {
		s.forced(d, tau*slope, rate)
		s.factors[d].solve(s.body.stride[d], rate)
		drawn += tau * s.drawn(d, slope, rate)
	}
	return drawn
}

// forced adds to rate what a rise outside of kelvin brings through the faces
// of axis d.
func (s *conduction) forced(d int, kelvin float64, rate []float64) {
	for _, e := range s.ends[d] {
		if e.u == 0 || kelvin == 0 {
			continue
		}
		for first := e.first; first < s.body.n; first += e.block {
			for c := first; c < first+s.body.stride[d]; c++ {
				rate[c] += kelvin * e.rate
			}
		}
	}
}

// drawn is the change of the W that come in through the faces of axis d, per
// second, by the implicit matrix, if the heat changes at rate and the outside
// at slope.
func (s *conduction) drawn(d int, slope float64, rate []float64) float64 {
	sum := 0.0
	for _, e := range s.ends[d] {
		if e.u == 0 {
			continue
		}
		for first := e.first; first < s.body.n; first += e.block {
			for c := first; c < first+s.body.stride[d]; c++ {
				sum += e.rate * (slope - rate[c]/s.capacity) * s.body.volume[c]
			}
		}
	}
	return sum
}

// try computes a step of h seconds with the outside going from t0 to t1. It
// leaves the new heat in s.spare and returns the greatest error of
// temperature, and the heat that the step draws in.
func (s *conduction) try(h, t0, t1 float64) (errK, drawn float64) {
	p, slope := &s.spare, (t1-t0)/h
	s.factor(gamma * h)
	clear(p.rate1)
	in1 := s.flows(s.heat, s.drive, t0, p.rate1)
	in1 += s.solve(gamma*h, slope, p.rate1)

	s.halfway(h)
	in2 := s.flows(p.heat, p.drive, t1, p.rate2) - 2*in1
	in2 += s.solve(gamma*h, -slope, p.rate2)

	return h / 2 * s.finish(h) / s.capacity, h * (1.5*in1 + 0.5*in2)
}

// halfway takes a whole step by the first rate alone, for the second to set
// out from.
func (s *conduction) halfway(h float64) {
	rate, next, heat := s.spare.rate1, s.spare.rate2[:len(s.spare.rate1)], s.spare.heat[:len(s.spare.rate1)]
	before, drive := s.heat[:len(rate)], s.spare.drive[:len(rate)]
	drives := s.medium.drives
	for c, r := range rate {
		e := before[c] + h*r
		heat[c], drive[c], next[c] = e, drives.at(e), -2*r
	}
}

// finish takes the step by both rates and returns the greatest sum of them.
func (s *conduction) finish(h float64) float64 {
	rate1, rate2 := s.spare.rate1, s.spare.rate2[:len(s.spare.rate1)]
	heat, drive, before := s.spare.heat[:len(rate1)], s.spare.drive[:len(rate1)], s.heat[:len(rate1)]
	drives, least, most := s.medium.drives, 0.0, 0.0
	for c, r := range rate1 {
		q := rate2[c]
		e := before[c] + h*(1.5*r+0.5*q)
		heat[c], drive[c] = e, drives.at(e)
		switch sum := r + q; {
		case sum > most:
			most = sum
		case sum < least:
			least = sum
		}
	}
	if math.IsNaN(heat[0]) { // it spreads along the lines to all cells
		return math.NaN()
	}
	return max(most, -least)
}

// accept takes the step that try computed.
func (s *conduction) accept(drawn float64) {
	s.heat, s.spare.heat = s.spare.heat, s.heat
	s.drive, s.spare.drive = s.spare.drive, s.drive
	s.absorbed += drawn
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
	s.enclose(around.faces, max(around.from, around.to, s.warmest()))
	total, sec, h := around.minutes*60, 0.0, s.next
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
		s.accept(drawn)
		sec += h
		h *= min(3, 0.9*math.Sqrt(p.tol/max(errK, 1e-12)))
		s.next = max(h, wanted) // a step cut short by the end does not slow the next stretch
		if !seen(sec) {
			return sec, nil
		}
	}
	return sec, nil
}
