package stats

import (
	"fmt"
	"math"
)

// SequentialF tests what each term adds to those before it, over what all terms
// together leave (type I sums of squares). A term is a code per value, any integer;
// an interaction is a code for each combination of levels. A term that the earlier
// ones imply has DF1 0 and no F.
//
// ErrFew if the terms leave no residual freedom; ErrFlat if they leave no spread;
// ErrRange for codes of another length, or values that are not finite.
//
// Source: Fisher (1925); sums of squares by orthogonal steps, Golub and Van Loan,
// Matrix Computations (4th ed. 2013), 5.3.
func SequentialF(y []float64, terms [][]int) ([]FTest, error) {
	arm := make([]int, len(y))
	for _, t := range terms {
		if err := checkRows(y, arm, t, 1); err != nil {
			return nil, err
		}
	}
	if err := checkRows(y, arm, nil, 1); err != nil {
		return nil, err
	}
	left := make([]float64, len(y))
	for i, v := range y {
		left[i] = v - y[0]
	}
	columns := placeColumns(nil, len(y))
	basis := orthonormal(nil, columns)
	twice(left, basis)
	tests := make([]FTest, len(terms))
	squares := make([]float64, len(terms))
	for k, t := range terms {
		before := len(basis)
		basis = orthonormal(basis, placeColumns([][]int{t}, len(y))[1:])
		for _, q := range basis[before:] {
			d := dot(q, left)
			squares[k] += d * d
		}
		tests[k].DF1 = float64(len(basis) - before)
		twice(left, basis[before:])
	}
	rest := float64(len(y) - len(basis))
	if rest < 1 {
		return nil, fmt.Errorf("stats: %d values for %d columns: %w", len(y), len(basis), ErrFew)
	}
	residual := dot(left, left)
	if !(math.Sqrt(residual/rest) > rounding(y)) {
		return nil, fmt.Errorf("stats: nothing is left over: %w", ErrFlat)
	}
	for k := range tests {
		tests[k].DF2 = rest
		if tests[k].DF1 > 0 {
			tests[k].F = squares[k] / tests[k].DF1 / (residual / rest)
			tests[k].P = FUpper(tests[k].F, tests[k].DF1, rest)
		}
	}
	return tests, nil
}

// twice takes the columns out of x, and what rounding left of them.
func twice(x []float64, columns [][]float64) {
	for range 2 {
		for _, q := range columns {
			takeOut(x, q)
		}
	}
}
