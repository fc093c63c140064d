package survive

import "math"

func square(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}

// solve returns x of a·x = b for a symmetric positive definite a, of which the
// lower triangle is read, by Cholesky's decomposition; ok is false if it is none.
// Neither argument is changed.
func solve(a [][]float64, b []float64) (x []float64, ok bool) {
	n := len(b)
	l := square(n)
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := a[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > 1e-14*math.Abs(a[i][i])) {
				return nil, false
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	x = make([]float64, n)
	for i := range n {
		sum := b[i]
		for k := range i {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x, true
}

// inverse returns the inverse of a symmetric positive definite matrix.
func inverse(a [][]float64) ([][]float64, bool) {
	out := square(len(a))
	for j := range a {
		e := make([]float64, len(a))
		e[j] = 1
		x, ok := solve(a, e)
		if !ok {
			return nil, false
		}
		for i := range x {
			out[i][j] = x[i]
		}
	}
	return out, true
}
