package thermal

import "math"

// axis is one direction of a body cut into cells. The volume of a cell is
// the product of its measures along the axes; so is the area of a face, with
// the face in place of the measure along its own axis.
type axis struct {
	edge    []float64 // n+1 edges, m
	centre  []float64 // n, m
	measure []float64 // n: width, or for a radius (r2^2 - r1^2)/2
	face    []float64 // n+1: 1, or for a radius r
	below   []float64 // n: lower face over distance to the cell before and over measure, 1/m2; 0 at the first
	above   []float64 // n: the same of the upper face; 0 at the last
}

// n is the number of cells.
func (a axis) n() int { return len(a.measure) }

// straightAxis cuts the length from edges by the map of 0..1 onto itself.
func straightAxis(length float64, n int, place func(float64) float64) axis {
	a := axis{edge: make([]float64, n+1), centre: make([]float64, n), measure: make([]float64, n), face: make([]float64, n+1)}
	for i := range a.edge {
		a.edge[i] = length * place(float64(i)/float64(n))
		a.face[i] = 1
	}
	for i := range a.measure {
		a.measure[i] = a.edge[i+1] - a.edge[i]
		a.centre[i] = (a.edge[i+1] + a.edge[i]) / 2
	}
	a.join()
	return a
}

// join fills below and above.
func (a *axis) join() {
	n := a.n()
	a.below, a.above = make([]float64, n), make([]float64, n)
	for i := range n - 1 {
		pass := a.face[i+1] / (a.centre[i+1] - a.centre[i])
		a.above[i], a.below[i+1] = pass/a.measure[i], pass/a.measure[i+1]
	}
}

// radialAxis cuts a radius. The angle is left out: it is common to all cells.
func radialAxis(radius float64, n int, place func(float64) float64) axis {
	a := straightAxis(radius, n, place)
	copy(a.face, a.edge)
	for i := range a.measure {
		a.measure[i] = (a.edge[i+1] + a.edge[i]) / 2 * (a.edge[i+1] - a.edge[i])
	}
	a.join()
	return a
}

// grading is how much finer cells are at an outer face: with 0.3 a cell there
// has 0.7 of the mean width, and one inside 1.3 times. Smooth maps keep the
// second order of the scheme.
const grading = 0.3

// towardsEnd makes cells finer towards 1.
func towardsEnd(s float64) float64 { return s * (1 + grading*(1-s)) }

// towardsBoth makes cells finer towards 0 and 1.
func towardsBoth(s float64) float64 { return s - grading*math.Sin(2*math.Pi*s)/(2*math.Pi) }

// body is the axes of a vessel's contents: radius and height of a cylinder,
// or half the width, half the depth and the height of a block. The middle
// planes and the centre line let no heat through.
type body struct {
	axes   []axis
	n      int
	stride []int     // of each axis, in cells
	volume []float64 // of each cell, less the common angle
}

// newBody multiplies the axes out.
func newBody(axes ...axis) *body {
	b := &body{axes: axes, n: 1}
	for _, a := range axes {
		b.stride = append(b.stride, b.n)
		b.n *= a.n()
	}
	b.volume = make([]float64, b.n)
	for c := range b.volume {
		v := 1.0
		for d, a := range axes {
			v *= a.measure[c/b.stride[d]%a.n()]
		}
		b.volume[c] = v
	}
	return b
}

// newCylinder cuts a cylinder of radius and height (m) into nr x nz cells.
func newCylinder(radius, height float64, nr, nz int) *body {
	return newBody(radialAxis(radius, nr, towardsEnd), straightAxis(height, nz, towardsBoth))
}

// newBlock cuts a quarter of a block (m) into nx x ny x nz cells.
func newBlock(width, depth, height float64, nx, ny, nz int) *body {
	return newBody(straightAxis(width/2, nx, towardsEnd), straightAxis(depth/2, ny, towardsEnd), straightAxis(height, nz, towardsBoth))
}

// upright is the axis of the height, the last one.
func (b *body) upright() axis { return b.axes[len(b.axes)-1] }

// totalVolume is the sum of the cells.
func (b *body) totalVolume() float64 {
	sum := 0.0
	for _, v := range b.volume {
		sum += v
	}
	return sum
}
