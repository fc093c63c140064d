package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// BlockFit is a least-squares fit of y on block + arm with the variance of each
// arm left free. Without blocks it is Welch's comparison.
//
// All figures come from sums over cells (a block and an arm), so neither memory
// nor time grows with the square of the number of jars or of blocks.
type BlockFit struct {
	arms   int
	counts []float64   // jars per arm
	home   []int       // component of the arm-by-block graph, -1 for an arm without jars
	blocks []blockSpan // in order of first appearance
	cells  []cell      // by block, then by arm
	tau    []float64   // arm effects, within a component relative to one of its arms
	inner  *mat.SymDense
	spread []float64 // per arm: mean of e²/(1-h), an estimate of its variance
	least  float64   // a standard error below this is rounding
}

// blockSpan is one block: its cells, jars and mean.
type blockSpan struct {
	first, last int // cells[first:last]
	home        int // component
	n           float64
	mean        float64
}

// cell is all jars of one arm in one block; they share leverage and weights.
type cell struct {
	block, arm int
	n          float64
	squares    float64 // sum of squared residuals
	slack      float64 // 1 - leverage, exactly 0 if a jar fits itself
}

// minSlack parts leverage 1 from leverage below 1: with n jars the smallest
// slack that is not 0 is 1/(n+1), by the resistance between block and arm.
const minSlack = 1e-9

// FitBlocks fits y on block + arm by least squares. y, arm and block have one
// entry per jar; arm codes run from 0 to arms-1; block codes are any integers,
// or block is nil if there are none.
//
// ErrFew for no jars; ErrRange for slices of unequal length, an arm code
// outside 0..arms-1, or a value that is not finite. An arm without jars, or one
// that shares no block with the others, is no error here but in the methods.
//
// Not for several readings of one jar: average them first.
//
// Source: HC2 by MacKinnon and White, J. Econometrics 29 (1985) 305-325;
// blocks swept out as in John and Williams, Cyclic and Computer Generated
// Designs (2nd ed. 1995), 1.4.
func FitBlocks(y []float64, arm, block []int, arms int) (*BlockFit, error) {
	if err := checkRows(y, arm, block, arms); err != nil {
		return nil, err
	}
	f := &BlockFit{arms: arms, counts: make([]float64, arms), least: rounding(y)}
	at := f.layOut(arm, block)
	f.join()
	f.invert()
	f.solve(y, at)
	f.lean()
	return f, nil
}

func checkRows(y []float64, arm, block []int, arms int) error {
	if len(y) == 0 {
		return fmt.Errorf("stats: no values: %w", ErrFew)
	}
	if len(arm) != len(y) || block != nil && len(block) != len(y) {
		return fmt.Errorf("stats: %d values, %d arm codes, %d block codes: %w", len(y), len(arm), len(block), ErrRange)
	}
	for i, a := range arm {
		if a < 0 || a >= arms {
			return fmt.Errorf("stats: arm code %d of value %d is not in 0..%d: %w", a, i, arms-1, ErrRange)
		}
	}
	return finite(y)
}

// layOut builds blocks and cells, and returns the cell of each row.
func (f *BlockFit) layOut(arm, block []int) []int {
	at := make([]int, len(arm))
	known := make([]int, f.arms) // cell of each arm in this block, plus 1
	for b, in := range inBlocks(block, len(arm)) {
		span := blockSpan{first: len(f.cells), n: float64(len(in))}
		for _, i := range in {
			g := arm[i]
			f.counts[g]++
			if known[g] == 0 {
				f.cells = append(f.cells, cell{block: b, arm: g})
				known[g] = len(f.cells)
			}
			at[i] = known[g] - 1
			f.cells[at[i]].n++
		}
		span.last = len(f.cells)
		for _, c := range f.cells[span.first:] {
			known[c.arm] = 0
		}
		f.blocks = append(f.blocks, span)
	}
	return at
}

// join finds which arms a chain of shared blocks connects.
func (f *BlockFit) join() {
	parent := make([]int, f.arms)
	for g := range parent {
		parent[g] = g
	}
	root := func(g int) int {
		for parent[g] != g {
			parent[g] = parent[parent[g]]
			g = parent[g]
		}
		return g
	}
	for _, b := range f.blocks {
		first := root(f.cells[b.first].arm)
		for _, c := range f.cells[b.first:b.last] {
			parent[root(c.arm)] = first
		}
	}
	f.home = make([]int, f.arms)
	for g := range f.home {
		f.home[g] = root(g)
		if f.counts[g] == 0 {
			f.home[g] = -1
		}
	}
	for i := range f.blocks {
		f.blocks[i].home = f.home[f.cells[f.blocks[i].first].arm]
	}
}

// invert forms a generalised inverse of the arm information with blocks swept
// out: in each component the arm that names it is held at 0.
func (f *BlockFit) invert() {
	info := mat.NewSymDense(f.arms, nil)
	for _, b := range f.blocks {
		in := f.cells[b.first:b.last]
		for i, c := range in {
			for _, d := range in[:i] {
				w := c.n * d.n / b.n
				info.SetSym(c.arm, d.arm, info.At(c.arm, d.arm)-w)
				info.SetSym(c.arm, c.arm, info.At(c.arm, c.arm)+w)
				info.SetSym(d.arm, d.arm, info.At(d.arm, d.arm)+w)
			}
		}
	}
	f.inner = mat.NewSymDense(f.arms, nil)
	var free []int
	for g, h := range f.home {
		if h >= 0 && h != g {
			free = append(free, g)
		}
	}
	if len(free) == 0 {
		return
	}
	core := mat.NewSymDense(len(free), nil)
	for i, g := range free {
		for j := i; j < len(free); j++ {
			core.SetSym(i, j, info.At(g, free[j]))
		}
	}
	var root mat.Cholesky
	root.Factorize(core) // a connected component has positive definite core
	var inverse mat.SymDense
	_ = root.InverseTo(&inverse) // its only error is a warning of condition
	for i, g := range free {
		for j := i; j < len(free); j++ {
			f.inner.SetSym(g, free[j], inverse.At(i, j))
		}
	}
}

// solve finds block means, arm effects and residual squares; the second sweep
// takes out what rounding left of the first.
func (f *BlockFit) solve(y []float64, at []int) {
	e := make([]float64, len(y))
	for i, v := range y {
		e[i] = v - y[0]
	}
	f.tau = make([]float64, f.arms)
	means := make([]float64, len(f.blocks))
	for range 2 {
		f.sweep(e, at, means)
	}
	for b := range f.blocks {
		f.blocks[b].mean = y[0] + means[b]
	}
	ss := make([]total, len(f.cells))
	for i, v := range e {
		ss[at[i]].add(v * v)
	}
	for k := range f.cells {
		f.cells[k].squares = ss[k].value()
	}
}

// sweep takes block means and then arm effects out of e and adds them to means
// and f.tau.
func (f *BlockFit) sweep(e []float64, at []int, means []float64) {
	sums := make([]total, len(f.blocks))
	for i, v := range e {
		sums[f.cells[at[i]].block].add(v)
	}
	for b := range sums {
		sums[b] = total{sum: sums[b].value() / f.blocks[b].n}
		means[b] += sums[b].sum
	}
	gross := make([]total, f.arms)
	for i := range e {
		c := f.cells[at[i]]
		e[i] -= sums[c.block].sum
		gross[c.arm].add(e[i])
	}
	right := mat.NewVecDense(f.arms, nil)
	for g := range gross {
		right.SetVec(g, gross[g].value())
	}
	step := mat.NewVecDense(f.arms, nil)
	step.MulVec(f.inner, right)
	fit := f.within(step.RawVector().Data)
	for i := range e {
		e[i] -= fit[at[i]]
	}
	for g := range f.tau {
		f.tau[g] += step.AtVec(g)
	}
}

// within returns, per cell, the arm value u less its mean over the block's jars.
func (f *BlockFit) within(u []float64) []float64 {
	out := make([]float64, len(f.cells))
	for _, b := range f.blocks {
		var mean float64
		for _, c := range f.cells[b.first:b.last] {
			mean += c.n * (u[c.arm] - u[f.cells[b.first].arm]) / b.n
		}
		for k := b.first; k < b.last; k++ {
			out[k] = u[f.cells[k].arm] - u[f.cells[b.first].arm] - mean
		}
	}
	return out
}

// lean computes the slack of every cell and the variance of every arm.
func (f *BlockFit) lean() {
	z, v := make([]float64, f.arms), make([]float64, f.arms)
	sums, jars := make([]float64, f.arms), make([]float64, f.arms)
	for k := range f.cells {
		c := &f.cells[k]
		f.offsets(k, z)
		f.times(v, z)
		c.slack = 1 - 1/f.blocks[c.block].n - dot(z, v)
		if !(c.slack > minSlack) {
			c.slack = 0
			continue
		}
		sums[c.arm] += c.squares / c.slack
		jars[c.arm] += c.n
	}
	f.spread = make([]float64, f.arms)
	for g := range f.spread {
		if jars[g] > 0 {
			f.spread[g] = sums[g] / jars[g]
		}
	}
}

// offsets sets z to the arm indicator of cell k less its mean over the block.
func (f *BlockFit) offsets(k int, z []float64) {
	clear(z)
	b := f.blocks[f.cells[k].block]
	for _, c := range f.cells[b.first:b.last] {
		z[c.arm] = -c.n / b.n
	}
	z[f.cells[k].arm]++
}

// times sets v to inner times z.
func (f *BlockFit) times(v, z []float64) {
	raw := f.inner.RawSymmetric()
	for i := range v {
		var s float64
		for j := range z {
			if j >= i {
				s += raw.Data[i*raw.Stride+j] * z[j]
			} else {
				s += raw.Data[j*raw.Stride+i] * z[j]
			}
		}
		v[i] = s
	}
}

func dot(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// joined returns ErrAliased unless a chain of shared blocks joins two arms.
func (f *BlockFit) joined(a, b int) error {
	for _, g := range []int{a, b} {
		if g < 0 || g >= f.arms {
			return fmt.Errorf("stats: arm code %d is not in 0..%d: %w", g, f.arms-1, ErrRange)
		}
	}
	if a == b {
		return fmt.Errorf("stats: arm %d against itself: %w", a, ErrRange)
	}
	if f.home[a] < 0 || f.home[a] != f.home[b] {
		return fmt.Errorf("stats: arms %d and %d: %w", a, b, ErrAliased)
	}
	return nil
}

// Efficiency returns what blocking left of the information on arm b against
// arm a: (1/na+1/nb)σ² over the variance of their difference. It is 1 if both
// arms lie over the blocks alike, 0 if they can not be told from the blocks (or
// an arm code is out of range), and may pass 1 where other arms add knowledge
// of the blocks.
//
// Source: John and Williams (1995), section 2.2.
func (f *BlockFit) Efficiency(a, b int) float64 {
	if f.joined(a, b) != nil {
		return 0
	}
	v := f.inner.At(a, a) + f.inner.At(b, b) - 2*f.inner.At(a, b)
	return (1/f.counts[a] + 1/f.counts[b]) / v
}

// Difference returns the effect of arm b less that of arm a, adjusted for
// blocks, with the HC2 variance and Satterthwaite's degrees of freedom: the
// Contrast with weight 1 on b and -1 on a.
//
// ErrAliased if no chain of blocks joins the arms; ErrFew if the difference
// hangs on a jar that nothing else checks (an arm of one jar); ErrFlat if
// nothing varies; ErrRange for a code outside the arms, a = b, or a level
// outside 0..1.
func (f *BlockFit) Difference(a, b int, level float64) (Estimate, error) {
	if err := f.joined(a, b); err != nil {
		return Estimate{}, err
	}
	e, err := f.Contrast(f.against(a, b), level)
	if err != nil {
		return Estimate{}, fmt.Errorf("stats: arms %d and %d: %w", a, b, err)
	}
	return e, nil
}

// against returns the weights of arm b less arm a.
func (f *BlockFit) against(a, b int) []float64 {
	weights := make([]float64, f.arms)
	weights[a], weights[b] = -1, 1
	return weights
}

// Contrast returns Σ weights·effect over the arms, adjusted for blocks, with the
// HC2 variance and Satterthwaite's degrees of freedom. weights has one entry for
// each arm; they sum to 0.
//
// ErrAliased if blocks do not join arms whose weights sum to 0; ErrRange for
// weights that are too few or many, are all 0, are not finite or do not sum to 0;
// else as Difference.
//
// Source: refer to FitBlocks; with c the weights of the jars in the estimate,
// h their leverages, e their residuals, M = I-H, W = diag(c²/(1-h)) and S the
// diagonal of arm variances (the mean of e²/(1-h) over the arm), the variance is
// Σ c²e²/(1-h) and the degrees of freedom tr(AS)²/tr(ASAS) with A = MWM:
// Satterthwaite (1946) for a quadratic form, as in Bell and McCaffrey, Survey
// Methodology 28 (2002) 169-181, but with S plugged in for equal variances.
func (f *BlockFit) Contrast(weights []float64, level float64) (Estimate, error) {
	if err := f.contrasts(weights); err != nil {
		return Estimate{}, err
	}
	if err := inside(level); err != nil {
		return Estimate{}, err
	}
	u := make([]float64, f.arms)
	f.times(u, weights)
	return contrast(f, dot(weights, f.tau), f.within(u), f.least, level)
}

// contrast is the estimate of a contrast of a fit whose jars carry weights c in
// it. ErrFlat if its standard error is not above least.
func contrast(f interface {
	hc2(a, b []float64) (float64, error)
	freedom(c []float64) float64
}, value float64, c []float64, least, level float64,
) (Estimate, error) {
	v, err := f.hc2(c, c)
	if err != nil {
		return Estimate{}, err
	}
	se := math.Sqrt(v)
	if !(se > least) {
		return Estimate{}, ErrFlat
	}
	return estimate(value, se, f.freedom(c), level), nil
}

// Value is the estimate of Contrast alone, which needs no jar to check another.
// ErrAliased and ErrRange as there.
func (f *BlockFit) Value(weights []float64) (float64, error) {
	if err := f.contrasts(weights); err != nil {
		return 0, err
	}
	return dot(weights, f.tau), nil
}

// contrasts reports what keeps weights from being a contrast of joined arms: those
// of each component must sum to 0.
func (f *BlockFit) contrasts(weights []float64) error {
	if len(weights) != f.arms {
		return fmt.Errorf("stats: %d weights for %d arms: %w", len(weights), f.arms, ErrRange)
	}
	sum, size := 0.0, 0.0
	at := make([]float64, f.arms) // by component
	for g, w := range weights {
		if w != 0 && f.home[g] < 0 {
			return fmt.Errorf("stats: arm %d: %w", g, ErrAliased)
		}
		if w != 0 {
			at[f.home[g]] += w
		}
		sum, size = sum+w, size+math.Abs(w)
	}
	if !(size > 0 && !math.IsInf(size, 1) && math.Abs(sum) <= 1e-12*size) {
		return fmt.Errorf("stats: weights sum to %g: %w", sum, ErrRange)
	}
	for g, w := range at {
		if !(math.Abs(w) <= 1e-12*size) {
			return fmt.Errorf("stats: arm %d: %w", g, ErrAliased)
		}
	}
	return nil
}

// hc2 returns the covariance of two linear estimates with weights c and d.
func (f *BlockFit) hc2(c, d []float64) (float64, error) {
	var v total
	for k, x := range f.cells {
		w := c[k] * d[k]
		if x.slack == 0 {
			if math.Abs(w)*x.n > minSlack*minSlack {
				return 0, ErrFew
			}
			continue
		}
		v.add(w * x.squares / x.slack)
	}
	return v.value(), nil
}
