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
	return a
}

// radialAxis cuts a radius. The angle is left out: it is common to all cells.
func radialAxis(radius float64, n int, place func(float64) float64) axis {
	a := straightAxis(radius, n, place)
	copy(a.face, a.edge)
	for i := range a.measure {
		a.measure[i] = (a.edge[i+1] + a.edge[i]) / 2 * (a.edge[i+1] - a.edge[i])
	}
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
	stride []int       // of each axis, in cells
	lines  [][]int     // of each axis: the first cell of every line
	volume []float64   // of each cell, less the common angle
	near   [][]float64 // of each axis: W/K of the upper face per W/mK of the cell
	far    [][]float64 // and per W/mK of the next one
}

// newBody multiplies the axes out.
func newBody(axes ...axis) *body {
	b := &body{axes: axes, n: 1}
	for _, a := range axes {
		b.stride = append(b.stride, b.n)
		b.n *= a.n()
	}
	b.volume = make([]float64, b.n)
	b.lines = make([][]int, len(axes))
	for c := range b.volume {
		v := 1.0
		for d, a := range axes {
			i := c / b.stride[d] % a.n()
			v *= a.measure[i]
			if i == 0 {
				b.lines[d] = append(b.lines[d], c)
			}
		}
		b.volume[c] = v
	}
	for d := range axes {
		b.face(d)
	}
	return b
}

// face fills near and far of axis d: area over distance, times the
// conductivity read at the face by a straight line.
func (b *body) face(d int) {
	a, stride := b.axes[d], b.stride[d]
	near, far := make([]float64, b.n), make([]float64, b.n)
	for c := range near {
		i := c / stride % a.n()
		if i == a.n()-1 {
			continue
		}
		below, above := a.edge[i+1]-a.centre[i], a.centre[i+1]-a.edge[i+1]
		g := a.face[i+1] * b.volume[c] / a.measure[i] / (below + above)
		near[c], far[c] = g*above/(below+above), g*below/(below+above)
	}
	b.near, b.far = append(b.near, near), append(b.far, far)
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
