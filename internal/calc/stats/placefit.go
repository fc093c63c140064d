package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// PlaceFit is a least-squares fit of y on several factors of place and the arm,
// their effects added up, with the variance of each arm left free. With one
// factor it is a BlockFit.
type PlaceFit struct {
	arm    []int
	counts []float64   // jars per arm
	basis  [][]float64 // orthonormal columns over the jars: the places, then the arms within them
	within [][]float64 // by arm: its indicator less what the places explain
	inner  *mat.Dense  // generalised inverse of the arm information
	known  *mat.Dense  // projects weights of arms on those that can be estimated
	tau    []float64   // arm effects
	mean   float64     // of y over the jars that something checks
	left   []float64   // by jar: residual
	slack  []float64   // by jar: 1 - leverage, exactly 0 if a jar fits itself
	spread []float64   // per arm: mean of e²/(1-h)
	least  float64     // a standard error below this is rounding
}

// mostPlaceCells bounds jars times columns of a PlaceFit, some 160 MB.
const mostPlaceCells = 20_000_000

// FitPlaces fits y on the sum of place effects and arm effects. places has one
// slice of codes per factor, each with one entry per jar; a code may be any
// integer. arm codes run from 0 to arms-1. Levels and factors that the others
// imply add nothing and do no harm.
//
// ErrFew for no jars; ErrRange for slices of unequal length, an arm code outside
// 0..arms-1, a value that is not finite, or more than 2e7 jars times levels.
//
// Source: HC2 by MacKinnon and White, J. Econometrics 29 (1985) 305-325; the
// arms within the places by the theorem of Frisch and Waugh, Econometrica 1 (1933)
// 387-401.
func FitPlaces(y []float64, arm []int, places [][]int, arms int) (*PlaceFit, error) {
	for _, p := range places {
		if err := checkRows(y, arm, p, arms); err != nil {
			return nil, err
		}
	}
	if err := checkRows(y, arm, nil, arms); err != nil {
		return nil, err
	}
	columns := placeColumns(places, len(y))
	if (len(columns)+arms)*len(y) > mostPlaceCells {
		return nil, fmt.Errorf("stats: %d jars over %d levels: %w", len(y), len(columns), ErrRange)
	}
	f := &PlaceFit{arm: arm, counts: make([]float64, arms), basis: orthonormal(nil, columns), least: rounding(y)}
	f.takeOutPlaces(arms)
	f.invert()
	f.solve(y)
	return f, nil
}

// placeColumns are the constant and an indicator of each level of each factor.
func placeColumns(places [][]int, n int) [][]float64 {
	constant := make([]float64, n)
	for i := range constant {
		constant[i] = 1
	}
	columns := [][]float64{constant}
	for _, p := range places {
		at := map[int]int{}
		for i, code := range p {
			k, ok := at[code]
			if !ok {
				k = len(columns)
				at[code] = k
				columns = append(columns, make([]float64, n))
			}
			columns[k][i] = 1
		}
	}
	return columns
}

// orthonormal returns basis with the parts of columns that it does not span, each
// of unit length. Source: modified Gram-Schmidt, done twice, as in Rank.
func orthonormal(basis, columns [][]float64) [][]float64 {
	for _, c := range columns {
		norm := length(c)
		if norm == 0 {
			continue
		}
		c = scaled(c, 1/norm)
		twice(c, basis)
		if norm = length(c); norm > rankShare {
			basis = append(basis, scaled(c, 1/norm))
		}
	}
	return basis
}

// takeOutPlaces forms the arm indicators less what the places explain, and adds
// them to the basis.
func (f *PlaceFit) takeOutPlaces(arms int) {
	f.within = make([][]float64, arms)
	for g := range f.within {
		f.within[g] = make([]float64, len(f.arm))
	}
	for i, g := range f.arm {
		f.counts[g]++
		f.within[g][i] = 1
	}
	for _, z := range f.within {
		twice(z, f.basis)
		if length(z) <= rankShare*math.Sqrt(float64(len(z))) {
			clear(z)
		}
	}
	f.basis = orthonormal(f.basis, f.within)
}

// invert forms the generalised inverse of the arm information and the projection
// on what can be estimated.
func (f *PlaceFit) invert() {
	arms := len(f.within)
	info := mat.NewSymDense(arms, nil)
	for g, z := range f.within {
		for h := g; h < arms; h++ {
			info.SetSym(g, h, dot(z, f.within[h]))
		}
	}
	f.inner, f.known = mat.NewDense(arms, arms, nil), mat.NewDense(arms, arms, nil)
	var e mat.EigenSym
	if !e.Factorize(info, true) {
		return // nothing can be estimated
	}
	values := e.Values(nil)
	var vectors mat.Dense
	e.VectorsTo(&vectors)
	for k, v := range values {
		if !(v > rankShare*values[arms-1]) {
			continue
		}
		for g := range arms {
			for h := range arms {
				part := vectors.At(g, k) * vectors.At(h, k)
				f.inner.Set(g, h, f.inner.At(g, h)+part/v)
				f.known.Set(g, h, f.known.At(g, h)+part)
			}
		}
	}
}

// solve finds residuals, arm effects, leverages and the variance of each arm.
func (f *PlaceFit) solve(y []float64) {
	f.left = make([]float64, len(y))
	for i, v := range y {
		f.left[i] = v - y[0]
	}
	right := make([]float64, len(f.within))
	for g, z := range f.within {
		right[g] = dot(z, f.left)
	}
	f.tau = times(f.inner, right)
	f.slack = make([]float64, len(y))
	for i := range f.slack {
		f.slack[i] = 1
	}
	twice(f.left, f.basis)
	for _, q := range f.basis {
		for i, v := range q {
			f.slack[i] -= v * v
		}
	}
	f.spread = make([]float64, len(f.within))
	jars := make([]float64, len(f.within))
	checked := 0.0
	for i, g := range f.arm {
		if !(f.slack[i] > minSlack) {
			f.slack[i] = 0
			continue
		}
		f.spread[g] += f.left[i] * f.left[i] / f.slack[i]
		jars[g]++
		checked++
		f.mean += (y[i] - f.mean) / checked
	}
	for g := range f.spread {
		if jars[g] > 0 {
			f.spread[g] /= jars[g]
		}
	}
}

func times(m *mat.Dense, x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range out {
		out[i] = dot(m.RawRowView(i), x)
	}
	return out
}

// weights returns what each jar counts in the contrast of arm effects.
func (f *PlaceFit) weights(contrast []float64) []float64 {
	c := make([]float64, len(f.arm))
	for g, u := range times(f.inner, contrast) {
		axpy(c, u, f.within[g])
	}
	return c
}

// estimable reports what keeps weights from being a contrast that the jars carry.
func (f *PlaceFit) estimable(weights []float64) error {
	if len(weights) != len(f.within) {
		return fmt.Errorf("stats: %d weights for %d arms: %w", len(weights), len(f.within), ErrRange)
	}
	sum, size := 0.0, 0.0
	for _, w := range weights {
		sum, size = sum+w, size+math.Abs(w)
	}
	if !(size > 0 && !math.IsInf(size, 1) && math.Abs(sum) <= 1e-12*size) {
		return fmt.Errorf("stats: weights sum to %g: %w", sum, ErrRange)
	}
	for g, v := range times(f.known, weights) {
		if !(math.Abs(v-weights[g]) <= 1e-6*size) {
			return fmt.Errorf("stats: arm %d: %w", g, ErrAliased)
		}
	}
	return nil
}

// against returns the weights of arm b less arm a.
func (f *PlaceFit) against(a, b int) ([]float64, error) {
	for _, g := range []int{a, b} {
		if g < 0 || g >= len(f.within) {
			return nil, fmt.Errorf("stats: arm code %d is not in 0..%d: %w", g, len(f.within)-1, ErrRange)
		}
	}
	weights := make([]float64, len(f.within))
	weights[a]--
	weights[b]++
	return weights, f.estimable(weights)
}

// Efficiency is BlockFit.Efficiency over several factors of place.
func (f *PlaceFit) Efficiency(a, b int) float64 {
	weights, err := f.against(a, b)
	if err != nil {
		return 0
	}
	return (1/f.counts[a] + 1/f.counts[b]) / dot(weights, times(f.inner, weights))
}

// Difference is BlockFit.Difference over several factors of place.
func (f *PlaceFit) Difference(a, b int, level float64) (Estimate, error) {
	weights, err := f.against(a, b)
	if err != nil {
		return Estimate{}, err
	}
	e, err := f.Contrast(weights, level)
	if err != nil {
		return Estimate{}, fmt.Errorf("stats: arms %d and %d: %w", a, b, err)
	}
	return e, nil
}

// Contrast is BlockFit.Contrast over several factors of place.
func (f *PlaceFit) Contrast(weights []float64, level float64) (Estimate, error) {
	if err := f.estimable(weights); err != nil {
		return Estimate{}, err
	}
	if err := inside(level); err != nil {
		return Estimate{}, err
	}
	return contrast(f, dot(weights, f.tau), f.weights(weights), f.least, level)
}

// Value is BlockFit.Value over several factors of place.
func (f *PlaceFit) Value(weights []float64) (float64, error) {
	if err := f.estimable(weights); err != nil {
		return 0, err
	}
	return dot(weights, f.tau), nil
}

// Loads is BlockFit.Loads over several factors of place.
func (f *PlaceFit) Loads(control int, arms []int) ([]float64, error) {
	weights := make([][]float64, len(arms))
	for i, g := range arms {
		w, err := f.against(control, g)
		if err != nil {
			return nil, err
		}
		weights[i] = f.weights(w)
	}
	return loadsOf(weights, f.hc2, f.least)
}

// PairMeans is BlockFit.PairMeans over several factors of place: each mean is over
// the places as filled.
func (f *PlaceFit) PairMeans(a, b int) (mb, ma, vb, va, cov float64, err error) {
	if _, err := f.against(a, b); err != nil {
		return 0, 0, 0, 0, 0, err
	}
	ca, ma := f.meanOf(a)
	cb, mb := f.meanOf(b)
	if va, err = f.hc2(ca, ca); err == nil {
		vb, err = f.hc2(cb, cb)
	}
	if err == nil {
		cov, err = f.hc2(ca, cb)
	}
	return mb, ma, vb, va, cov, err
}

// meanOf returns the weights of jars in the mean of an arm, and that mean: over
// all jars that something checks, as if each were of the arm.
func (f *PlaceFit) meanOf(g int) ([]float64, float64) {
	mix := make([]float64, len(f.within)) // arm g less the mix of arms there
	n := 0.0
	for i := range f.arm {
		if f.slack[i] > 0 {
			n++
		}
	}
	mix[g] = 1
	for i, h := range f.arm {
		if f.slack[i] > 0 {
			mix[h] -= 1 / n
		}
	}
	c := f.weights(mix)
	for i := range c {
		if f.slack[i] > 0 {
			c[i] += 1 / n
		}
	}
	return c, f.mean + dot(mix, f.tau)
}

// hc2 returns the covariance of two linear estimates with weights c and d.
func (f *PlaceFit) hc2(c, d []float64) (float64, error) {
	var v total
	for i, e := range f.left {
		w := c[i] * d[i]
		if f.slack[i] == 0 {
			if math.Abs(w) > minSlack*minSlack {
				return 0, ErrFew
			}
			continue
		}
		v.add(w * e * e / f.slack[i])
	}
	return v.value(), nil
}

// freedom returns tr(AS)²/tr(ASAS) as BlockFit.freedom does. With Q the basis,
// MSM = S - QU' - UQ' for U = SQ - Q(Q'SQ)/2, so both traces are sums over jars and
// small matrices.
func (f *PlaceFit) freedom(c []float64) float64 {
	r := len(f.basis)
	w, s := make([]float64, len(c)), make([]float64, len(c))
	for i, g := range f.arm {
		s[i] = f.spread[g]
		if f.slack[i] > 0 {
			w[i] = c[i] * c[i] / f.slack[i]
		}
	}
	core := mat.NewDense(r, r, nil) // Q'SQ
	q, u := make([]float64, r), make([]float64, r)
	for i := range c {
		f.row(i, q)
		rankOne(core, s[i], q, q)
	}
	uq, uu, qq := mat.NewDense(r, r, nil), mat.NewDense(r, r, nil), mat.NewDense(r, r, nil)
	trace, square := 0.0, 0.0
	for i := range c {
		if w[i] == 0 {
			continue
		}
		f.row(i, q)
		for k := range u {
			u[k] = s[i]*q[k] - dot(core.RawRowView(k), q)/2
		}
		own := dot(q, u)
		trace += w[i] * (s[i] - 2*own)
		square += w[i] * w[i] * s[i] * (s[i] - 4*own)
		rankOne(uq, w[i], u, q)
		rankOne(uu, w[i], u, u)
		rankOne(qq, w[i], q, q)
	}
	square += 2*traceOf(uq, uq) + 2*traceOf(uu, qq)
	return trace * trace / square
}

// row copies the basis at one jar.
func (f *PlaceFit) row(i int, to []float64) {
	for k, q := range f.basis {
		to[k] = q[i]
	}
}
