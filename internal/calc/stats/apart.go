package stats

import (
	"fmt"
	"slices"
)

// Apart says how far arms can be told apart when several factors that vary over
// the same jars are taken out at once, as effects that add up.
type Apart struct {
	counts []float64   // jars by arm
	info   [][]float64 // on the arms, factors swept out
	lost   int
}

// MaxApart bounds the levels of all factors of TellApart together.
const MaxApart = 400

// TellApart takes factors out of arms. arm has one code from 0 to arms-1 for each
// jar, and so has every factor, from 0 up; a code below 0 is a level of its own,
// for jars of which the level is not known. jars counts the jars that each entry
// stands for, nil for one each.
//
// ErrFew for no jars; ErrRange for slices of unequal length, an arm code outside
// 0..arms-1, fewer than 0 jars, or more than MaxApart levels over all factors.
//
// Source: the information on the arms adjusted for other effects, John and
// Williams, Cyclic and Computer Generated Designs (2nd ed. 1995), 1.4, with any
// number of other effects in place of the blocks; the sweep, Goodnight, The
// American Statistician 33 (1979) 149-158.
func TellApart(arm []int, factors [][]int, jars []int, arms int) (*Apart, error) {
	if len(arm) == 0 {
		return nil, fmt.Errorf("stats: no jars: %w", ErrFew)
	}
	if jars != nil && (len(jars) != len(arm) || slices.Min(jars) < 0) {
		return nil, fmt.Errorf("stats: %d counts for %d entries, or one below 0: %w", len(jars), len(arm), ErrRange)
	}
	first := []int{arms} // first column of each factor
	for k, f := range factors {
		if len(f) != len(arm) {
			return nil, fmt.Errorf("stats: %d codes of factor %d for %d jars: %w", len(f), k, len(arm), ErrRange)
		}
		first = append(first, first[k]+max(0, slices.Max(f)+1)+1) // the last is for what is not known
		if first[k+1]-arms > MaxApart+len(factors) {
			return nil, fmt.Errorf("stats: more than %d levels: %w", MaxApart, ErrRange)
		}
	}
	m := square(first[len(factors)])
	at := make([]int, len(factors)+1)
	for i, a := range arm {
		if a < 0 || a >= arms {
			return nil, fmt.Errorf("stats: arm code %d of jar %d is not in 0..%d: %w", a, i, arms-1, ErrRange)
		}
		at[0] = a
		for k, f := range factors {
			at[k+1] = first[k] + f[i]
			if f[i] < 0 {
				at[k+1] = first[k+1] - 1
			}
		}
		n := 1.0
		if jars != nil {
			n = float64(jars[i])
		}
		for _, r := range at {
			for _, c := range at {
				m[r][c] += n
			}
		}
	}
	out := &Apart{counts: make([]float64, arms)}
	for a := range arms {
		out.counts[a] = m[a][a]
	}
	out.lost = max(0, sweepOut(m, arms, len(m))-1)
	for a := range arms {
		out.info = append(out.info, slices.Clone(m[a][:arms]))
	}
	return out, nil
}

func square(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

// sweepOut takes columns from..to of a symmetric matrix out of the others, the
// largest pivot first, and returns how many could be: their rank. A pivot counts
// if more than 1e-9 of the largest diagonal is left of it.
func sweepOut(m [][]float64, from, to int) int {
	done := make([]bool, to)
	large := 0.0
	for i := from; i < to; i++ {
		large = max(large, m[i][i])
	}
	rank := 0
	for {
		at := -1
		for i := from; i < to; i++ {
			if !done[i] && m[i][i] > rankShare*large && (at < 0 || m[i][i] > m[at][at]) {
				at = i
			}
		}
		if at < 0 {
			return rank
		}
		done[at] = true
		rank++
		pivot := m[at][at]
		for i := range m {
			if i == at || i >= from && i < to && done[i] || m[i][at] == 0 {
				continue
			}
			by := m[i][at] / pivot
			for j := range m {
				m[i][j] -= by * m[at][j]
			}
			m[i][at] = 0
		}
		for j := range m {
			m[at][j] = 0
		}
	}
}

// Lost returns the degrees of freedom that the factors take: the rank of their
// columns less one.
func (a *Apart) Lost() int { return a.lost }

// Efficiency returns what taking the factors out left of the information on arm y
// against arm x: (1/nx+1/ny)σ² over the variance of their difference. It is 1 if
// both arms lie over the factors alike, 0 if they can not be told from the factors,
// and may pass 1 where other arms add knowledge of the factors. It is 0 for an arm
// without jars and for a code outside the arms.
//
// Source: John and Williams (1995), section 2.2.
func (a *Apart) Efficiency(x, y int) float64 {
	if x == y || min(x, y) < 0 || max(x, y) >= len(a.counts) || a.counts[x] == 0 || a.counts[y] == 0 {
		return 0
	}
	arms := len(a.counts)
	m := square(arms + 1) // the arms, then the contrast
	large := 0.0
	for i := range arms {
		copy(m[i], a.info[i])
		large = max(large, a.counts[i])
	}
	m[x][arms], m[arms][x], m[y][arms], m[arms][y] = -1, -1, 1, 1
	v := 0.0
	for {
		at := -1
		for i := range arms {
			if m[i][i] > rankShare*large && (at < 0 || m[i][i] > m[at][at]) {
				at = i
			}
		}
		if at < 0 {
			break
		}
		pivot := m[at][at]
		v += m[at][arms] * m[at][arms] / pivot
		row := slices.Clone(m[at])
		for i := range m {
			by := row[i] / pivot
			for j := range m {
				m[i][j] -= by * row[j]
			}
		}
		for j := range m {
			m[at][j], m[j][at] = 0, 0
		}
	}
	for i := range arms {
		if l := m[i][arms]; l > 1e-6 || l < -1e-6 { // entries are whole or 0 where nothing is lost
			return 0
		}
	}
	return (1/a.counts[x] + 1/a.counts[y]) / v
}
