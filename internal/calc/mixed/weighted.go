package mixed

import (
	"fmt"
	"math"
)

// levels is a matrix between the levels of random terms: full, or diagonal
// where there is but one term.
type levels struct {
	diagonal []float64
	full     [][]float64
}

// mostCrossed bounds the levels of all terms where there is more than one.
const mostCrossed = 3000

// weighted returns Zᵀ V⁻¹ Z and Zᵀ V⁻¹ X, the leaf first. The leaf is taken out
// by itself, as in the likelihood, so that only the other terms cost a matrix.
func (f *Fit) weighted() (zz levels, zx [][]float64, err error) {
	s := f.sums
	if s.fixed > 0 && s.fixed+len(s.leaf) > mostCrossed {
		return levels{}, nil, fmt.Errorf("mixed: %d random levels: %w", s.fixed+len(s.leaf), ErrRange)
	}
	b, bx, sparse := f.withoutLeaf()
	zx = make([][]float64, len(s.leaf), len(s.leaf)+s.fixed)
	own := make([]float64, len(s.leaf))
	for l, of := range s.leaf {
		d := (1 + f.ratios[0]*of.rows) * f.Residual
		own[l] = of.rows / d
		zx[l] = make([]float64, s.p)
		for i, j := range of.at {
			if j >= s.fixed && j < s.fixed+s.p {
				zx[l][j-s.fixed] = of.value[i] / d
			}
		}
	}
	if s.fixed == 0 {
		return levels{diagonal: own}, zx, nil
	}
	keep, shrink, err := f.others(b)
	if err != nil {
		return levels{}, nil, err
	}
	// keep is 1 − B·G, shrink is G: K = B − B·G·B block by block
	full := square(len(s.leaf) + s.fixed)
	first := len(s.leaf)
	rest := apply(keep, b)
	for i := range s.fixed {
		copy(full[first+i][first:], rest[i])
	}
	zx = append(zx, apply(keep, bx)...)
	pulled := apply(shrink, bx)
	for l, row := range sparse {
		full[l][l] = own[l]
		across := make([]float64, s.fixed) // row·G
		for k, i := range row.at {
			x := row.value[k]
			for j := range s.fixed {
				across[j] += x * shrink[i][j]
				full[l][first+j] += x * keep[j][i]
			}
			for c := range s.p {
				zx[l][c] -= x * pulled[i][c]
			}
		}
		for m, other := range sparse {
			for k, j := range other.at {
				full[l][m] -= across[j] * other.value[k]
			}
		}
		for j := range s.fixed {
			full[first+j][l] = full[l][first+j]
		}
	}
	return levels{full: full}, zx, nil
}

// withoutLeaf returns Z1ᵀ V0⁻¹ Z1 and Z1ᵀ V0⁻¹ X of the terms but the leaf, V0
// being the leaf's and the residuals' share of V, and the rows of Z0ᵀ V0⁻¹ Z1.
func (f *Fit) withoutLeaf() (b, bx [][]float64, sparse []leaf) {
	s := f.sums
	b, bx = square(s.fixed), make([][]float64, s.fixed)
	for i := range b {
		bx[i] = make([]float64, s.p)
		for j := range b {
			b[i][j] = s.cross[i][j] / f.Residual
		}
		for j := range s.p {
			bx[i][j] = s.cross[i][s.fixed+j] / f.Residual
		}
	}
	sparse = make([]leaf, len(s.leaf))
	for l, of := range s.leaf {
		d := 1 + f.ratios[0]*of.rows
		for i, j := range of.at {
			if j >= s.fixed {
				break
			}
			sparse[l].at, sparse[l].value = append(sparse[l].at, j), append(sparse[l].value, of.value[i]/d/f.Residual)
			for k, jj := range of.at {
				less := f.ratios[0] * of.value[i] * of.value[k] / d / f.Residual
				switch {
				case jj < s.fixed:
					b[j][jj] -= less
				case jj < s.fixed+s.p:
					bx[j][jj-s.fixed] -= less
				}
			}
		}
	}
	return b, bx, sparse
}

// others returns 1 − B·G and G = Λ(1 + ΛBΛ)⁻¹Λ, Λ² being the variances of the
// terms but the leaf.
func (f *Fit) others(b [][]float64) (keep, shrink [][]float64, err error) {
	s := f.sums
	sd := make([]float64, s.fixed)
	m := square(s.fixed)
	for i := range sd {
		sd[i] = math.Sqrt(f.ratios[s.termOf(i)] * f.Residual)
	}
	for i := range m {
		for j := range m {
			m[i][j] = sd[i] * b[i][j] * sd[j]
		}
		m[i][i]++
	}
	if !cholesky(m, 0) {
		return nil, nil, fmt.Errorf("mixed: %w", ErrAliased)
	}
	shrink = inverse(m)
	for i := range shrink {
		for j := range shrink {
			shrink[i][j] *= sd[i] * sd[j]
		}
	}
	keep = apply(b, shrink)
	for i := range keep {
		for j := range keep {
			keep[i][j] = -keep[i][j]
		}
		keep[i][i]++
	}
	return keep, shrink, nil
}

// block returns a part of z; that of a diagonal one is all of it.
func (z levels) block(fromRow, toRow, fromColumn, toColumn int) levels {
	if z.full == nil {
		return z
	}
	out := make([][]float64, 0, toRow-fromRow)
	for _, row := range z.full[fromRow:toRow] {
		out = append(out, row[fromColumn:toColumn])
	}
	return levels{full: out}
}

// rows returns z·x.
func (z levels) rows(x [][]float64) [][]float64 {
	if z.full != nil {
		return apply(z.full, x)
	}
	out := make([][]float64, len(x))
	for i, row := range x {
		out[i] = make([]float64, len(row))
		for j, v := range row {
			out[i][j] = z.diagonal[i] * v
		}
	}
	return out
}

// squares is the sum of all figures squared.
func (z levels) squares() float64 {
	sum := 0.0
	for _, x := range z.diagonal {
		sum += x * x
	}
	for _, row := range z.full {
		for _, x := range row {
			sum += x * x
		}
	}
	return sum
}

func (z levels) trace() float64 {
	sum := 0.0
	for _, x := range z.diagonal {
		sum += x
	}
	for i, row := range z.full {
		sum += row[i]
	}
	return sum
}
