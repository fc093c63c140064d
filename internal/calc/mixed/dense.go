package mixed

import "math"

func square(n int) [][]float64 {
	all := make([]float64, n*n)
	out := make([][]float64, n)
	for i := range out {
		out[i] = all[i*n : (i+1)*n : (i+1)*n]
	}
	return out
}

// cholesky overwrites the lower triangle of a with its factor and reports
// whether every pivot is above tiny times the diagonal that it began from.
func cholesky(a [][]float64, tiny float64) bool {
	for i := range a {
		for j := range i {
			sum := a[i][j]
			for k, x := range a[j][:j] {
				sum -= a[i][k] * x
			}
			a[i][j] = sum / a[j][j]
		}
		sum, whole := a[i][i], a[i][i]
		for k := range i {
			sum -= a[i][k] * a[i][k]
		}
		if !(sum > tiny*whole) {
			return false
		}
		a[i][i] = math.Sqrt(sum)
	}
	return true
}

// inverse returns the inverse of the matrix whose factor is l.
func inverse(l [][]float64) [][]float64 {
	n := len(l)
	upper := square(n) // row j is column j of the inverse of l
	for j := range n {
		u := upper[j]
		u[j] = 1 / l[j][j]
		for i := j + 1; i < n; i++ {
			sum := 0.0
			for k, x := range l[i][j:i] {
				sum += x * u[j+k]
			}
			u[i] = -sum / l[i][i]
		}
	}
	out := square(n)
	for i := range n {
		for j := range i + 1 {
			sum := 0.0
			for k, x := range upper[i][i:] {
				sum += x * upper[j][i+k]
			}
			out[i][j], out[j][i] = sum, sum
		}
	}
	return out
}

// solve overwrites right by the solution of (l·lᵀ)x = right.
func solve(l [][]float64, right []float64) {
	n := len(l)
	for i := range n {
		for k := range i {
			right[i] -= l[i][k] * right[k]
		}
		right[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			right[i] -= l[k][i] * right[k]
		}
		right[i] /= l[i][i]
	}
}

// product returns aᵀ·b.
func product(a, b [][]float64) [][]float64 {
	if len(a) == 0 {
		return nil
	}
	out := make([][]float64, len(a[0]))
	for i := range out {
		out[i] = make([]float64, len(b[0]))
	}
	for r, row := range a {
		for i, x := range row {
			if x == 0 {
				continue
			}
			for j, y := range b[r] {
				out[i][j] += x * y
			}
		}
	}
	return out
}

// apply returns a·b.
func apply(a, b [][]float64) [][]float64 {
	out := make([][]float64, len(a))
	for i, row := range a {
		out[i] = make([]float64, len(b[0]))
		for k, x := range row {
			for j, y := range b[k] {
				out[i][j] += x * y
			}
		}
	}
	return out
}

func transpose(a [][]float64) [][]float64 {
	out := make([][]float64, len(a[0]))
	for i := range out {
		out[i] = make([]float64, len(a))
		for j := range a {
			out[i][j] = a[j][i]
		}
	}
	return out
}

func scaled(by float64, a [][]float64) [][]float64 {
	out := make([][]float64, len(a))
	for i, row := range a {
		out[i] = make([]float64, len(row))
		for j, x := range row {
			out[i][j] = by * x
		}
	}
	return out
}

// inner is the sum of products of figures at the same place.
func inner(a, b [][]float64) float64 {
	sum := 0.0
	for i, row := range a {
		for j, x := range row {
			sum += x * b[i][j]
		}
	}
	return sum
}

// times returns a·v.
func times(a [][]float64, v []float64) []float64 {
	out := make([]float64, len(a))
	for i, row := range a {
		for j, x := range row {
			out[i] += x * v[j]
		}
	}
	return out
}

// bilinear returns u·a·v, quadratic v·a·v.
func bilinear(a [][]float64, u, v []float64) float64 {
	sum := 0.0
	for i, x := range times(a, v) {
		sum += u[i] * x
	}
	return sum
}

func quadratic(a [][]float64, v []float64) float64 { return bilinear(a, v, v) }
