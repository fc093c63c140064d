package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Counts is the ratio of two mean counts, on the log scale, and how many times as
// far counts spread as Poisson's would.
type Counts struct {
	Estimate         // of ln(b/a)
	Spread   float64 // dispersion: Pearson's χ² over its degrees of freedom
}

// countSteps bounds the steps of the fit; with counts that differ it takes fewer
// than 20.
const countSteps = 100

// QuasiPoisson compares the counts of arm b with those of arm a by a log-linear
// model of place and arm whose variance is a multiple of the mean. places is as in
// FitPlaces; arm codes run from 0 to arms-1.
//
// ErrAliased if the arms can not be told from the places; ErrFew if nothing is left
// to find the spread from; ErrFlat if an arm has only zeros, so that there is no
// ratio; ErrRange for counts below 0 or not finite, and as FitPlaces.
//
// Source: McCullagh and Nelder, Generalized Linear Models (2nd ed. 1989), 6.2 and
// 9.2, by iterated weighted least squares.
func QuasiPoisson(y []float64, arm []int, places [][]int, arms, a, b int, level float64) (Counts, error) {
	if err := inside(level); err != nil {
		return Counts{}, err
	}
	for _, p := range append([][]int{nil}, places...) {
		if err := checkRows(y, arm, p, arms); err != nil {
			return Counts{}, err
		}
	}
	sums := make([]float64, arms)
	for i, v := range y {
		if v < 0 {
			return Counts{}, fmt.Errorf("stats: a count of %g: %w", v, ErrRange)
		}
		sums[arm[i]] += v
	}
	if a < 0 || b < 0 || a >= arms || b >= arms || a == b {
		return Counts{}, fmt.Errorf("stats: arms %d and %d of %d: %w", a, b, arms, ErrRange)
	}
	if sums[a] == 0 || sums[b] == 0 {
		return Counts{}, fmt.Errorf("stats: an arm has only zeros: %w", ErrFlat)
	}
	x, err := countColumns(sums, arm, places, a, b)
	if err != nil {
		return Counts{}, err
	}
	return countFit(y, x, level)
}

// countColumns are the columns of the model that say something new: the constant,
// places, arms but a; that of b is the last. An arm of zeros only, which no finite
// effect fits, is left with the others.
func countColumns(sums []float64, arm []int, places [][]int, a, b int) ([][]float64, error) {
	candidates := placeColumns(places, len(arm))
	for g := range sums {
		if g != a && g != b && sums[g] > 0 {
			candidates = append(candidates, levelColumn(arm, g))
		}
	}
	candidates = append(candidates, levelColumn(arm, b))
	var basis, keep [][]float64
	for k, c := range candidates {
		before := len(basis)
		if basis = orthonormal(basis, [][]float64{c}); len(basis) > before {
			keep = append(keep, c)
		} else if k == len(candidates)-1 {
			return nil, fmt.Errorf("stats: arms %d and %d: %w", a, b, ErrAliased)
		}
	}
	if len(keep) >= len(arm) {
		return nil, fmt.Errorf("stats: %d counts for %d columns: %w", len(arm), len(keep), ErrFew)
	}
	return keep, nil
}

func levelColumn(codes []int, of int) []float64 {
	out := make([]float64, len(codes))
	for i, c := range codes {
		if c == of {
			out[i] = 1
		}
	}
	return out
}

// counting is a log-linear model on its way.
type counting struct {
	y       []float64
	x       [][]float64
	mu, eta []float64
	beta    mat.VecDense
	root    mat.Cholesky // of the information
}

// countFit fits the model and returns its last coefficient.
func countFit(y []float64, x [][]float64, level float64) (Counts, error) {
	m := counting{y: y, x: x, mu: make([]float64, len(y)), eta: make([]float64, len(y))}
	for i, v := range y {
		m.mu[i] = v + 0.1
		m.eta[i] = math.Log(m.mu[i])
	}
	for range countSteps {
		moved, err := m.step()
		if err != nil {
			return Counts{}, err
		}
		if moved < 1e-12 {
			break
		}
	}
	chi := 0.0
	for i, v := range y {
		chi += (v - m.mu[i]) * (v - m.mu[i]) / m.mu[i]
	}
	last, df := len(x)-1, float64(len(y)-len(x))
	var cov mat.SymDense
	if err := m.root.InverseTo(&cov); err != nil {
		return Counts{}, fmt.Errorf("stats: a level of the model has only zeros: %w", ErrFlat)
	}
	value, se := m.beta.AtVec(last), math.Sqrt(chi/df*cov.At(last, last))
	if !(se > 1e-12) || math.IsInf(se, 1) || math.IsNaN(value) {
		return Counts{}, fmt.Errorf("stats: counts that do not spread: %w", ErrFlat)
	}
	return Counts{Estimate: estimate(value, se, df, level), Spread: chi / df}, nil
}

// step solves one weighted least-squares problem, and returns how far the
// coefficients moved.
func (m *counting) step() (float64, error) {
	p := len(m.x)
	info, right := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil)
	for j, x := range m.x {
		for k := j; k < p; k++ {
			sum := 0.0
			for i, w := range m.mu {
				sum += w * x[i] * m.x[k][i]
			}
			info.SetSym(j, k, sum)
		}
		sum := 0.0
		for i, w := range m.mu {
			sum += x[i] * (w*m.eta[i] + m.y[i] - w)
		}
		right.SetVec(j, sum)
	}
	var beta mat.VecDense
	if !m.root.Factorize(info) || m.root.SolveVecTo(&beta, right) != nil {
		return 0, fmt.Errorf("stats: a level of the model has only zeros: %w", ErrFlat)
	}
	moved := math.Inf(1)
	if m.beta.Len() > 0 {
		moved = 0
		for j := range p {
			moved = math.Max(moved, math.Abs(beta.AtVec(j)-m.beta.AtVec(j)))
		}
	}
	m.beta.CloneFromVec(&beta)
	clear(m.eta)
	for j, x := range m.x {
		axpy(m.eta, beta.AtVec(j), x)
	}
	for i, e := range m.eta {
		m.mu[i] = math.Exp(e)
	}
	return moved, nil
}
