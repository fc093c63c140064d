package stats

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// dense is the same comparison with n×n matrices, written from the formulas.
func dense(y []float64, arm, block []int, arms, a, b int) (value, se, df float64) {
	return denseOf(y, arm, arms, a, b, block)
}

// denseOf is dense over several factors of place.
func denseOf(y []float64, arm []int, arms, a, b int, places ...[]int) (value, se, df float64) {
	n := len(y)
	xs := dummies(append(places, arm)...)
	x := mat.NewDense(n, len(xs), nil)
	for j, c := range xs {
		x.SetCol(j, c)
	}
	ginv := pseudo(x)
	var h, m mat.Dense
	h.Mul(x, ginv)
	m.Sub(mat.NewDiagDense(n, ones(n)), &h)
	// The row of the estimate: difference of arms of the fitted values in an
	// invented block, that is l'(X'X)⁻X' with l = e_b - e_a.
	l := make([]float64, len(xs))
	seen := -1
	place := map[int]int{}
	for j, c := range dummies(arm) {
		for i, v := range c {
			if v == 1 {
				seen = arm[i]
			}
		}
		place[seen] = len(xs) - len(dummies(arm)) + j
	}
	l[place[b]], l[place[a]] = 1, -1
	var c mat.VecDense
	c.MulVec(ginv.T(), mat.NewVecDense(len(l), l))
	var e mat.VecDense
	e.MulVec(&m, mat.NewVecDense(n, y))
	s, jars := make([]float64, arms), make([]float64, arms)
	w := make([]float64, n)
	var v float64
	for i := range n {
		value += c.AtVec(i) * y[i]
		slack := m.At(i, i)
		if slack < 1e-9 {
			continue
		}
		w[i] = c.AtVec(i) * c.AtVec(i) / slack
		v += w[i] * e.AtVec(i) * e.AtVec(i)
		s[arm[i]] += e.AtVec(i) * e.AtVec(i) / slack
		jars[arm[i]]++
	}
	sd := make([]float64, n)
	for i := range n {
		if jars[arm[i]] > 0 {
			sd[i] = s[arm[i]] / jars[arm[i]]
		}
	}
	var as, mw mat.Dense
	mw.Mul(&m, mat.NewDiagDense(n, w))
	as.Product(&mw, &m, mat.NewDiagDense(n, sd))
	var asas mat.Dense
	asas.Mul(&as, &as)
	return value, math.Sqrt(v), mat.Trace(&as) * mat.Trace(&as) / mat.Trace(&asas)
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// pseudo is the Moore-Penrose inverse by singular values.
func pseudo(x *mat.Dense) *mat.Dense {
	var svd mat.SVD
	svd.Factorize(x, mat.SVDThin)
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	d := svd.Values(nil)
	for i := range d {
		if d[i] > 1e-9*d[0] {
			d[i] = 1 / d[i]
		} else {
			d[i] = 0
		}
	}
	var out mat.Dense
	out.Product(&v, mat.NewDiagDense(len(d), d), u.T())
	return &out
}
