package mixed

import (
	"fmt"
	"math"
	"slices"
)

// Fit is a model fitted by restricted maximum likelihood. It is not for several
// goroutines at once.
type Fit struct {
	Beta      []float64   // of the fixed columns
	Cov       [][]float64 // of these, the variances taken as known
	Variance  []float64   // of each random term, 0 or above
	Residual  float64     // variance
	Criterion float64     // −2 restricted log likelihood
	Random    [][]float64 // the predicted levels of each term

	sums   *sums
	ratios []float64 // of the variances to the residual one, the leaf first
	known  *kenward  // nil until a contrast asks for it
}

// pivot is what share of a fixed column must be left after the others.
const pivot = 1e-11

// Fit fits the model. With no random term it is least squares.
//
// The variances are those at which the restricted likelihood is largest, found
// by Newton's method on their logarithms with analytic slopes; one that goes
// to 0 is 0. ErrRange, ErrAliased, ErrFew.
//
// Source: Patterson and Thompson, Biometrika 58 (1971) 545; the profile over
// the residual variance as Bates et al., J. Stat. Software 67 (2015) no. 1,
// section 3.4 (both from memory).
func (m Model) Fit() (*Fit, error) {
	s, err := sumsOf(m)
	if err != nil {
		return nil, err
	}
	e, err := s.best()
	if err != nil {
		return nil, err
	}
	return s.fit(e), nil
}

// estimate is the likelihood at some ratios of the variances to the residual
// one, and all that goes with it.
type estimate struct {
	ratios    []float64
	criterion float64   // but for a constant
	slope     []float64 // of the criterion on each ratio
	left      float64   // the weighted sum of squares about the fit
	inverse   [][]float64
	solution  []float64 // levels of the terms but the leaf, by the scale of the model, then beta
	leaf      []float64 // levels of the leaf
}

// at evaluates the likelihood.
func (s *sums) at(ratios []float64) (*estimate, error) {
	e := &estimate{ratios: slices.Clone(ratios)}
	width := s.fixed + s.p + 1
	scale := make([]float64, width)
	for j := range scale {
		scale[j] = 1
		if t := s.termOf(j); t >= 0 {
			scale[j] = math.Sqrt(ratios[t])
		}
	}
	a := square(width)
	for i := range a {
		for j := range i + 1 {
			a[i][j] = scale[i] * scale[j] * s.cross[i][j]
		}
		if i < s.fixed {
			a[i][i]++
		}
	}
	rows := make([][]float64, len(s.leaf))
	for l, of := range s.leaf {
		d := 1 + ratios[0]*of.rows
		e.criterion += math.Log(d)
		rows[l] = make([]float64, len(of.at))
		for i, j := range of.at {
			rows[l][i] = math.Sqrt(ratios[0]) * scale[j] * of.value[i]
			for k := range i + 1 {
				a[j][of.at[k]] -= rows[l][i] * rows[l][k] / d
			}
		}
	}
	if !cholesky(a[:width-1], pivot) {
		return nil, fmt.Errorf("mixed: %w", ErrAliased)
	}
	e.solve(s, a, scale, rows)
	if !(e.left > 1e-14*s.cross[width-1][width-1]) {
		return nil, fmt.Errorf("mixed: nothing is left about the fit: %w", ErrFew)
	}
	e.slopes(s, scale, rows)
	return e, nil
}

// solve finishes the factor a by the row of the response and reads off the
// criterion, the fit and the levels.
func (e *estimate) solve(s *sums, a [][]float64, scale []float64, rows [][]float64) {
	last := len(a) - 1
	right := slices.Clone(a[last][:last])
	z, left := slices.Clone(right), a[last][last]
	for i := range z {
		for k := range i {
			z[i] -= a[i][k] * z[k]
		}
		z[i] /= a[i][i]
		left -= z[i] * z[i]
		e.criterion += 2 * math.Log(a[i][i])
	}
	e.left = math.Max(left, 0)
	df := float64(s.n - s.p)
	e.criterion += df * (1 + math.Log(2*math.Pi*e.left/df))
	solve(a[:last], right)
	e.solution, e.inverse = right, inverse(a[:last])
	e.leaf = make([]float64, len(s.leaf))
	for l, of := range s.leaf {
		sum := 0.0
		for i, j := range of.at {
			if j == last {
				sum += rows[l][i]
			} else {
				sum -= rows[l][i] * e.solution[j]
			}
		}
		e.leaf[l] = math.Sqrt(e.ratios[0]) * sum / (1 + e.ratios[0]*of.rows)
	}
	for j := range e.solution {
		e.solution[j] *= scale[j]
	}
}

// slopes sets those of the criterion on the ratios that are above 0: the trace
// of Zᵀ(H⁻¹ − …)Z less what the residuals of the levels say.
func (e *estimate) slopes(s *sums, scale []float64, rows [][]float64) {
	e.slope = make([]float64, len(e.ratios))
	df := float64(s.n - s.p)
	trace, squares := make([]float64, len(e.ratios)), make([]float64, len(e.ratios))
	rest := make([]float64, s.fixed) // Zᵀ of the residuals, for the terms but the leaf
	for j := range rest {
		rest[j] = s.cross[j][s.fixed+s.p]
		for k, x := range e.solution {
			rest[j] -= s.cross[j][k] * x
		}
		trace[s.termOf(j)] += 1 - e.inverse[j][j]
	}
	for l, of := range s.leaf {
		d := 1 + e.ratios[0]*of.rows
		left, quad := -of.rows*e.leaf[l], 0.0
		for i, j := range of.at {
			if j == s.fixed+s.p {
				left += of.value[i]
				continue
			}
			left -= of.value[i] * e.solution[j]
			if j < s.fixed {
				rest[j] -= of.value[i] * e.leaf[l]
			}
			for k, jj := range of.at {
				if jj < s.fixed+s.p {
					quad += rows[l][i] * rows[l][k] * e.inverse[j][jj]
				}
			}
		}
		squares[0] += left * left
		trace[0] += 1 - 1/d - quad/(d*d)
	}
	for j, x := range rest {
		squares[s.termOf(j)] += x * x
	}
	for t, ratio := range e.ratios {
		if ratio > 0 {
			e.slope[t] = trace[t]/ratio - df*squares[t]/e.left
		}
	}
}

// best finds the ratios at which the criterion is least.
func (s *sums) best() (*estimate, error) {
	ratios := make([]float64, len(s.order))
	for t := range ratios {
		ratios[t] = 1
	}
	for range len(ratios) + 1 {
		e, err := s.descend(ratios)
		if err != nil {
			return nil, err
		}
		woken, err := s.wake(e)
		if err != nil || !woken {
			return e, err
		}
		ratios = e.ratios
	}
	return s.descend(ratios)
}

// wake looks whether a ratio that went to 0 would lower the criterion, and
// sets it above 0 again.
func (s *sums) wake(e *estimate) (bool, error) {
	for t, ratio := range e.ratios {
		if ratio > 0 {
			continue
		}
		try := slices.Clone(e.ratios)
		try[t] = 1e-6
		x, err := s.at(try)
		if err != nil {
			return false, err
		}
		if x.slope[t] < 0 && x.criterion < e.criterion {
			e.ratios[t] = 1e-2
			return true, nil
		}
	}
	return false, nil
}

const (
	tinyRatio = 1e-4 // below it, 0 is tried
	mostSteps = 100
	still     = 1e-11 // of log ratios
)

// descend goes down from the ratios by Newton's method on their logarithms.
// Curvature is taken by differences of the slopes.
func (s *sums) descend(ratios []float64) (*estimate, error) {
	e, err := s.at(ratios)
	if err != nil {
		return nil, err
	}
	for range mostSteps {
		if e, err = s.drop(e); err != nil {
			return nil, err
		}
		step, err := s.step(e)
		if err != nil {
			return nil, err
		}
		next, err := s.along(e, step)
		if err != nil || next == nil {
			return e, err
		}
		e = next
		if largest(step) < still {
			break
		}
	}
	return e, nil
}

// drop sets a small ratio to 0 if that is no worse.
func (s *sums) drop(e *estimate) (*estimate, error) {
	for t, ratio := range e.ratios {
		if ratio == 0 || ratio > tinyRatio || e.slope[t] < 0 {
			continue
		}
		try := slices.Clone(e.ratios)
		try[t] = 0
		x, err := s.at(try)
		if err != nil {
			return nil, err
		}
		if x.criterion <= e.criterion {
			e = x
		}
	}
	return e, nil
}

// step returns Newton's step in log ratios, at most 2 in each; downhill where
// the criterion is not curved upwards. It is 0 for ratios of 0.
func (s *sums) step(e *estimate) ([]float64, error) {
	const h = 1e-4
	var free []int
	for t, ratio := range e.ratios {
		if ratio > 0 {
			free = append(free, t)
		}
	}
	curve := square(len(free))
	slope := make([]float64, len(free))
	for a, t := range free {
		slope[a] = e.ratios[t] * e.slope[t]
		var side [2]*estimate
		for k, sign := range []float64{-1, 1} {
			try := slices.Clone(e.ratios)
			try[t] *= math.Exp(sign * h)
			var err error
			if side[k], err = s.at(try); err != nil {
				return nil, err
			}
		}
		for b, u := range free {
			curve[a][b] = (side[1].ratios[u]*side[1].slope[u] - side[0].ratios[u]*side[0].slope[u]) / (2 * h)
		}
	}
	out := make([]float64, len(e.ratios))
	move := slices.Clone(slope)
	for a := range curve {
		for b := range a {
			curve[a][b] = (curve[a][b] + curve[b][a]) / 2
		}
	}
	if cholesky(curve, 1e-10) {
		solve(curve, move)
	}
	for a, t := range free {
		out[t] = -math.Max(-2, math.Min(2, move[a]))
	}
	return out, nil
}

// along goes a step, or a part of it that lowers the criterion; nil if none
// does.
func (s *sums) along(e *estimate, step []float64) (*estimate, error) {
	for part := 1.0; part > 1e-6; part /= 2 {
		try := slices.Clone(e.ratios)
		for t := range try {
			try[t] *= math.Exp(part * step[t])
		}
		x, err := s.at(try)
		if err != nil {
			return nil, err
		}
		if x.criterion <= e.criterion+1e-10*math.Abs(e.criterion) && largest(step) < 1e-3 || x.criterion < e.criterion {
			return x, nil
		}
	}
	return nil, nil
}

func largest(of []float64) float64 {
	out := 0.0
	for _, x := range of {
		out = math.Max(out, math.Abs(x))
	}
	return out
}

// fit reads off what was estimated, in the order of the model's terms.
func (s *sums) fit(e *estimate) *Fit {
	f := &Fit{
		Beta: slices.Clone(e.solution[s.fixed:]), Residual: e.left / float64(s.n-s.p), Criterion: e.criterion,
		Variance: make([]float64, len(s.order)), Random: make([][]float64, len(s.order)), sums: s, ratios: e.ratios,
	}
	f.Cov = square(s.p)
	for i := range f.Cov {
		for j := range f.Cov {
			f.Cov[i][j] = f.Residual * e.inverse[s.fixed+i][s.fixed+j]
		}
	}
	for t, k := range s.order {
		f.Variance[k] = f.Residual * e.ratios[t]
		if t == 0 {
			f.Random[k] = e.leaf
		} else {
			f.Random[k] = slices.Clone(e.solution[s.start[t-1] : s.start[t-1]+s.levels[t]])
		}
	}
	return f
}
