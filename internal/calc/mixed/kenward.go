package mixed

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
)

// Effect is a contrast of the fixed columns.
type Effect struct {
	Value float64
	SE    float64 // adjusted for the variances being estimated
	DF    float64
	P     float64 // two-sided
}

// Interval returns the two-sided interval at a level, such as 0.95.
func (e Effect) Interval(level float64) (low, high float64) {
	reach := stats.TQuantile((1+level)/2, e.DF) * e.SE
	return e.Value - reach, e.Value + reach
}

// KenwardRoger returns a contrast, a weight for each fixed column, with the
// standard error and degrees of freedom of Kenward and Roger. A variance that
// is estimated at 0 still counts among the unknown: it is why a contrast
// between arms then has about as many degrees of freedom as there are cooks,
// not jars.
//
// ErrRange if the weights do not fit the columns or are all 0.
//
// Source: Kenward and Roger, Biometrics 53 (1997) 983, section 3, with the
// expected information; for one contrast their factor is 1 and their degrees
// of freedom are 2 over the relative variance of its variance (from memory).
func (f *Fit) KenwardRoger(weights []float64) (Effect, error) {
	if len(weights) != f.sums.p {
		return Effect{}, fmt.Errorf("mixed: %d weights for %d fixed columns: %w", len(weights), f.sums.p, ErrRange)
	}
	e := Effect{}
	for j, w := range weights {
		e.Value += w * f.Beta[j]
	}
	plain := quadratic(f.Cov, weights)
	if !(plain > 0) || math.IsInf(plain, 0) {
		return Effect{}, fmt.Errorf("mixed: weights %v: %w", weights, ErrRange)
	}
	k, err := f.kenward()
	if err != nil {
		return Effect{}, err
	}
	half := times(f.Cov, weights) // Φl
	slope := make([]float64, len(k.p))
	for i, p := range k.p {
		slope[i] = quadratic(p, half) / plain
	}
	relative, more := 0.0, 0.0
	for i := range k.p {
		for j := range k.p {
			relative += k.w[i][j] * slope[i] * slope[j]
			more += k.w[i][j] * (quadratic(k.q[i][j], half) - bilinear(f.Cov, times(k.p[i], half), times(k.p[j], half)))
		}
	}
	e.SE = math.Sqrt(math.Max(plain, plain+2*more))
	e.DF = math.Min(2/relative, float64(f.sums.n-f.sums.p))
	e.P = 2 * stats.TUpper(math.Abs(e.Value)/e.SE, e.DF)
	return e, nil
}

// kenward holds the matrices of the paper, the residual variance last: p and q
// as there, w the covariance of the variances.
type kenward struct {
	p [][][]float64
	q [][][][]float64
	w [][]float64
}

// kenward computes them, once, from Zᵀ V⁻¹ Z and Zᵀ V⁻¹ X; what belongs to the
// residuals follows from Σ σ²G = V.
func (f *Fit) kenward() (*kenward, error) {
	if f.known != nil {
		return f.known, nil
	}
	s := f.sums
	n := len(s.order)
	zz, zx, err := f.weighted()
	if err != nil {
		return nil, err
	}
	k := &kenward{p: make([][][]float64, n+1), q: make([][][][]float64, n+1)}
	traces := square(n + 1)
	for i := range k.q {
		k.q[i] = make([][][]float64, n+1)
	}
	from := make([]int, n+1)
	for t := range n {
		from[t+1] = from[t] + s.levels[t]
	}
	own := make([]float64, n) // tr(V⁻¹G)
	for i := range n {
		xi := zx[from[i]:from[i+1]]
		k.p[i] = scaled(-1, product(xi, xi))
		for j := range n {
			block := zz.block(from[i], from[i+1], from[j], from[j+1])
			xj := zx[from[j]:from[j+1]]
			k.q[i][j] = product(xi, block.rows(xj))
			traces[i][j] = block.squares()
			if i == j {
				own[i] = block.trace()
			}
		}
	}
	f.residual(k, traces, own)
	info := square(n + 1)
	for i := range info {
		for j := range info {
			info[i][j] = traces[i][j] - 2*inner(f.Cov, k.q[i][j]) + inner(apply(f.Cov, k.p[i]), transpose(apply(f.Cov, k.p[j])))
		}
	}
	if !cholesky(info, 1e-13) {
		return nil, fmt.Errorf("mixed: the variances can not be told apart: %w", ErrAliased)
	}
	k.w = inverse(info)
	for i := range k.w {
		for j := range k.w {
			k.w[i][j] *= 2
		}
	}
	f.known = k
	return k, nil
}

// residual fills in what belongs to the residual variance.
func (f *Fit) residual(k *kenward, traces [][]float64, own []float64) {
	n := len(own)
	variance := make([]float64, n)
	for t, ratio := range f.ratios {
		variance[t] = ratio * f.Residual
	}
	less := func(start [][]float64, each func(t int) [][]float64) [][]float64 {
		out := scaled(1/f.Residual, start)
		for t := range n {
			for i, row := range each(t) {
				for j, x := range row {
					out[i][j] -= variance[t] * x / f.Residual
				}
			}
		}
		return out
	}
	k.p[n] = less(scaled(-1, f.precision()), func(t int) [][]float64 { return k.p[t] })
	for i := range n {
		k.q[i][n] = less(scaled(-1, k.p[i]), func(t int) [][]float64 { return k.q[i][t] })
		k.q[n][i] = transpose(k.q[i][n])
		traces[i][n] = own[i] / f.Residual
		for t := range n {
			traces[i][n] -= variance[t] * traces[i][t] / f.Residual
		}
		traces[n][i] = traces[i][n]
	}
	k.q[n][n] = less(scaled(-1, k.p[n]), func(t int) [][]float64 { return k.q[n][t] })
	all := float64(f.sums.n) // Σ σ² tr(V⁻¹G), the rows
	for t := range n {
		all -= variance[t] * own[t]
	}
	traces[n][n] = all / f.Residual
	for t := range n {
		traces[n][n] -= variance[t] * traces[t][n]
	}
	traces[n][n] /= f.Residual
}

// precision is the inverse of Cov.
func (f *Fit) precision() [][]float64 {
	l := square(f.sums.p)
	for i := range l {
		copy(l[i], f.Cov[i])
	}
	cholesky(l, 0) // it is the inverse of a matrix that was factored
	return inverse(l)
}
