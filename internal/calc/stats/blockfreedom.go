package stats

import "gonum.org/v1/gonum/mat"

// freedom returns tr(AS)²/tr(ASAS) for the estimate with weights c per cell,
// where A = MWM as in Difference.
//
// M = N - ZCZ' with N = I less block means, Z the arm indicators less block
// means and C the generalised inverse. So A = NWN - UV' - VU' with V = ZC and
// U = NWZ - Z(CZ'WZ)/2, whose traces are sums over blocks and small matrices.
func (f *BlockFit) freedom(c []float64) float64 {
	q := f.quadratic(c)
	trace, square := f.blockTraces(q)
	first := mat.NewDense(f.arms, f.arms, nil) // V'SDSU
	cross := mat.NewDense(f.arms, f.arms, nil) // V'SU
	vv, uu := mat.NewDense(f.arms, f.arms, nil), mat.NewDense(f.arms, f.arms, nil)
	mid := make([]float64, f.arms)
	for _, b := range f.blocks {
		sums := f.blockSums(q, b)
		for k := b.first; k < b.last; k++ {
			s, n := f.spread[f.cells[k].arm], f.cells[k].n
			u, v := q.u[k], q.v[k]
			trace -= 2 * n * s * dot(u, v)
			for g := range mid {
				mid[g] = q.w[k]*s*u[g] - q.w[k]/b.n*sums.su[g] - sums.wsu[g]/b.n + sums.w/(b.n*b.n)*sums.su[g]
			}
			rankOne(first, n*s, v, mid)
			rankOne(cross, n*s, v, u)
			rankOne(vv, n*s, v, v)
			rankOne(uu, n*s, u, u)
		}
	}
	square += -4*mat.Trace(first) + 2*traceOf(cross, cross) + 2*traceOf(vv, uu)
	return trace * trace / square
}

// quadratic holds, per cell, the weight w and the rows of U and V.
type quadratic struct {
	w    []float64
	u, v [][]float64
}

func (f *BlockFit) quadratic(c []float64) quadratic {
	q := quadratic{w: make([]float64, len(f.cells)), u: make([][]float64, len(f.cells)), v: make([][]float64, len(f.cells))}
	z := make([]float64, f.arms)
	mid := mat.NewDense(f.arms, f.arms, nil) // V'WZ = CZ'WZ
	for k, x := range f.cells {
		q.u[k], q.v[k] = make([]float64, f.arms), make([]float64, f.arms)
		if x.slack > 0 {
			q.w[k] = c[k] * c[k] / x.slack
		}
		f.offsets(k, z)
		f.times(q.v[k], z)
		rankOne(mid, x.n*q.w[k], q.v[k], z)
	}
	for _, b := range f.blocks {
		mean := make([]float64, f.arms) // of WZ over the block
		for k := b.first; k < b.last; k++ {
			f.offsets(k, z)
			axpy(mean, f.cells[k].n*q.w[k]/b.n, z)
		}
		for k := b.first; k < b.last; k++ {
			f.offsets(k, z)
			for g := range z {
				var half float64
				for h := range z {
					half += z[h] * mid.At(h, g)
				}
				q.u[k][g] = q.w[k]*z[g] - mean[g] - half/2
			}
		}
	}
	return q
}

// blockSums are Σnw, Σnsu and Σnwsu over a block.
type blockSums struct {
	w       float64
	su, wsu []float64
}

func (f *BlockFit) blockSums(q quadratic, b blockSpan) blockSums {
	s := blockSums{su: make([]float64, f.arms), wsu: make([]float64, f.arms)}
	for k := b.first; k < b.last; k++ {
		n, v := f.cells[k].n, f.spread[f.cells[k].arm]
		s.w += n * q.w[k]
		axpy(s.su, n*v, q.u[k])
		axpy(s.wsu, n*v*q.w[k], q.u[k])
	}
	return s
}

// blockTraces returns tr(DS) and tr(DSDS) for D = NWN, block by block.
func (f *BlockFit) blockTraces(q quadratic) (trace, square float64) {
	for _, b := range f.blocks {
		var all float64
		for k := b.first; k < b.last; k++ {
			all += f.cells[k].n * q.w[k]
		}
		for k := b.first; k < b.last; k++ {
			x := f.cells[k]
			s := f.spread[x.arm]
			own := -2*q.w[k]/b.n + all/(b.n*b.n)
			trace += x.n * s * (q.w[k] + own)
			square += x.n * s * s * q.w[k] * (q.w[k] + 2*own)
			for l := b.first; l < b.last; l++ {
				y := f.cells[l]
				t := -(q.w[k]+q.w[l])/b.n + all/(b.n*b.n)
				square += x.n * y.n * s * f.spread[y.arm] * t * t
			}
		}
	}
	return trace, square
}

// rankOne adds by·v·u' to m.
func rankOne(m *mat.Dense, by float64, v, u []float64) {
	for i, a := range v {
		axpy(m.RawRowView(i), by*a, u)
	}
}

func axpy(to []float64, by float64, x []float64) {
	for i, v := range x {
		to[i] += by * v
	}
}

// traceOf returns tr(ab).
func traceOf(a, b *mat.Dense) float64 {
	n, _ := a.Dims()
	var t float64
	for i := range n {
		for j := range n {
			t += a.At(i, j) * b.At(j, i)
		}
	}
	return t
}
