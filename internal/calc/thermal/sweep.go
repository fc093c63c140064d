package thermal

// The inner loops of the conduction: flows along an axis, and the solution of
// its tridiagonal equations. Cells next to each other along the first axis
// are neighbours in memory; along the others they are stride apart, and then
// the loops go over rows of stride cells, which do not wait for one another.

// flow adds the J/m3s that the drives let into each cell along the axis, the
// outer faces left out.
func (a *axis) flow(stride int, drive, rate []float64) {
	if stride == 1 {
		a.flowInLine(drive, rate)
		return
	}
	n := a.n()
	for block := 0; block < len(drive); block += n * stride {
		for i := range n {
			c := block + i*stride
			down, up := max(c-stride, block), min(c+stride, block+(n-1)*stride)
			flowRow(drive[c:c+stride], drive[down:down+stride], drive[up:up+stride], rate[c:c+stride], a.below[i], a.above[i])
		}
	}
}

// flowRow is the flow into a row from the rows before and after it.
func flowRow(drive, before, after, rate []float64, below, above float64) {
	before, after, rate = before[:len(drive)], after[:len(drive)], rate[:len(drive)]
	for c, u := range drive {
		rate[c] += above*(after[c]-u) + below*(before[c]-u)
	}
}

// flowInLine is the flow along lines of neighbours.
func (a *axis) flowInLine(drive, rate []float64) {
	n := a.n()
	above, below := a.above[:n], a.below[:n]
	for first := 0; first < len(drive); first += n {
		u, r := drive[first:first+n:first+n], rate[first:first+n:first+n]
		last := 0.0
		for i := 1; i < len(u) && i < len(r) && i < len(above) && i < len(below); i++ {
			rise := u[i] - u[i-1]
			r[i-1] += above[i-1]*rise - last
			last = below[i] * rise
		}
		r[n-1] -= last
	}
}

// factors solves (1 - tau A) x = y along an axis, where A is the flow with an
// even diffusivity and two outer faces: Thomas' algorithm, the divisions done
// beforehand.
type factors struct{ own, under, over []float64 }

// set prepares the factors for pass = tau times the diffusivity and the outer
// faces, lower and upper, as tau times their share of the rate.
func (f *factors) set(a *axis, pass, lower, upper float64) {
	n := a.n()
	over := 0.0
	for i := range n {
		diagonal, under := 1+pass*a.above[i], pass*a.below[i]
		if i == 0 {
			diagonal += lower
		}
		if i == n-1 {
			diagonal += upper
		}
		own := 1 / (diagonal + under*(1-over))
		over = pass * a.above[i] * own
		f.own[i], f.under[i], f.over[i] = own, under*own, over
	}
}

// solve replaces y by the solution along the axis, for all lines.
func (f *factors) solve(stride int, y []float64) {
	n := len(f.own)
	if stride == 1 {
		f.solveInLine(y)
		return
	}
	for block := 0; block < len(y); block += n * stride {
		scaleRow(y[block:block+stride], f.own[0])
		for c, i := block+stride, 1; i < n; c, i = c+stride, i+1 {
			forwardRow(y[c:c+stride], y[c-stride:c], f.own[i], f.under[i])
		}
		for c, i := block+(n-2)*stride, n-2; i >= 0; c, i = c-stride, i-1 {
			backRow(y[c:c+stride], y[c+stride:c+2*stride], f.over[i])
		}
	}
}

func scaleRow(y []float64, own float64) {
	for c := range y {
		y[c] *= own
	}
}

func forwardRow(y, before []float64, own, under float64) {
	before = before[:len(y)]
	for c, v := range y {
		y[c] = own*v + under*before[c]
	}
}

func backRow(y, after []float64, over float64) {
	after = after[:len(y)]
	for c, v := range y {
		y[c] = v + over*after[c]
	}
}

// solveInLine takes four lines at a time, so that they need not wait for
// their own last cell.
func (f *factors) solveInLine(y []float64) {
	n := len(f.own)
	for len(y) >= 4*n {
		f.four(y[:n:n], y[n:2*n:2*n], y[2*n:3*n:3*n], y[3*n:4*n:4*n])
		y = y[4*n:]
	}
	for len(y) >= n {
		f.one(y[:n:n])
		y = y[n:]
	}
}

// four solves four lines.
func (f *factors) four(a, b, c, d []float64) {
	own := f.own
	under, over := f.under[:len(own)], f.over[:len(own)]
	a, b, c, d = a[:len(own)], b[:len(own)], c[:len(own)], d[:len(own)]
	var p, q, r, s float64
	for i, o := range own {
		u := under[i]
		p, q, r, s = o*a[i]+u*p, o*b[i]+u*q, o*c[i]+u*r, o*d[i]+u*s
		a[i], b[i], c[i], d[i] = p, q, r, s
	}
	for i := len(own) - 2; i >= 0; i-- {
		o := over[i]
		p, q, r, s = a[i]+o*p, b[i]+o*q, c[i]+o*r, d[i]+o*s
		a[i], b[i], c[i], d[i] = p, q, r, s
	}
}

// one solves one line.
func (f *factors) one(y []float64) {
	last := 0.0
	for i, o := range f.own {
		last = o*y[i] + f.under[i]*last
		y[i] = last
	}
	for i := len(y) - 2; i >= 0; i-- {
		last = y[i] + f.over[i]*last
		y[i] = last
	}
}
