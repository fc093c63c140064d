package stats

import "math"

// rankShare is the share of a column's length that must be left after the
// others are taken out for it to count.
const rankShare = 1e-9

// Rank returns the rank of the matrix with the given columns, all of one
// length. Columns are scaled to unit length first, so units do not matter; a
// column counts if more than 1e-9 of it is left when those chosen before are
// taken out. The rank of no columns, of empty ones and of zeros is 0.
//
// Source: QR with column pivoting by modified Gram-Schmidt, done twice; Golub
// and Van Loan, Matrix Computations (4th ed. 2013), 5.2.8 and 5.4.2.
func Rank(columns [][]float64) int {
	left := make([][]float64, 0, len(columns))
	for _, c := range columns {
		if norm := length(c); norm > 0 {
			left = append(left, scaled(c, 1/norm))
		}
	}
	rank := 0
	for rank < len(left) {
		best := rank
		for j := rank; j < len(left); j++ {
			if length(left[j]) > length(left[best]) {
				best = j
			}
		}
		left[rank], left[best] = left[best], left[rank]
		norm := length(left[rank])
		if !(norm > rankShare) {
			return rank
		}
		q := scaled(left[rank], 1/norm)
		for _, c := range left[rank+1:] {
			takeOut(c, q)
			takeOut(c, q)
		}
		rank++
	}
	return rank
}

func length(x []float64) float64 {
	var big float64
	for _, v := range x {
		big = math.Max(big, math.Abs(v))
	}
	if big == 0 {
		return 0
	}
	var s float64
	for _, v := range x {
		s += (v / big) * (v / big)
	}
	return big * math.Sqrt(s)
}

func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * by
	}
	return out
}

// takeOut removes from c its part along the unit vector q.
func takeOut(c, q []float64) {
	var dot float64
	for i, v := range q {
		dot += v * c[i]
	}
	for i, v := range q {
		c[i] -= dot * v
	}
}
