package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Model is a response with its fixed columns and its random terms.
type Model struct {
	Y     []float64
	Fixed [][]float64 // for each row its fixed columns, the level of all among them
	Terms [][]int     // for each random term the level of each row, from 0
}

// Limits of what is fitted.
const (
	mostRows   = 100_000
	mostFixed  = 60
	mostTerms  = 4
	mostLevels = 500 // of all terms but the largest
)

// Errors of this package.
var (
	// ErrRange says that a figure is none, or that the columns do not fit each
	// other.
	ErrRange = errors.New("columns out of range")
	// ErrAliased says that a fixed column can be told from the others: it has
	// no effect of its own.
	ErrAliased = errors.New("fixed columns can not be told apart")
	// ErrFew says that no row is left to tell the spread by.
	ErrFew = errors.New("too few rows")
)

// sums are what of a model the likelihood needs, however many rows it has. The
// term with most levels, the leaf, is kept by its levels: its own cross
// products are diagonal. All other columns come in the order of the other
// terms' levels, the fixed columns, and the response.
type sums struct {
	n, p   int
	order  []int // of the terms, the leaf first
	levels []int // of each term, in that order
	leaf   []leaf
	cross  [][]float64 // of all other columns with each other
	start  []int       // where each term but the leaf begins among these
	fixed  int         // where the fixed columns begin
}

// leaf is one level of the leaf term.
type leaf struct {
	rows  float64
	at    []int // which of the other columns its rows touch
	value []float64
}

// sumsOf checks a model and adds it up.
func sumsOf(m Model) (*sums, error) {
	s := &sums{n: len(m.Y)}
	if len(m.Y) == 0 || len(m.Y) > mostRows || len(m.Fixed) != len(m.Y) || len(m.Terms) > mostTerms {
		return nil, fmt.Errorf("mixed: %d rows with %d of fixed columns and %d terms: %w", len(m.Y), len(m.Fixed), len(m.Terms), ErrRange)
	}
	s.p = len(m.Fixed[0])
	if s.p == 0 || s.p > mostFixed {
		return nil, fmt.Errorf("mixed: %d fixed columns: %w", s.p, ErrRange)
	}
	if s.n <= s.p {
		return nil, fmt.Errorf("mixed: %d rows for %d fixed columns: %w", s.n, s.p, ErrFew)
	}
	if err := s.count(m); err != nil {
		return nil, err
	}
	return s, s.add(m)
}

// count finds the leaf and where the columns of the others begin.
func (s *sums) count(m Model) error {
	levels := make([]int, len(m.Terms))
	for k, term := range m.Terms {
		if len(term) != s.n {
			return fmt.Errorf("mixed: term %d has %d levels for %d rows: %w", k, len(term), s.n, ErrRange)
		}
		for _, l := range term {
			if l < 0 || l >= s.n {
				return fmt.Errorf("mixed: level %d of term %d: %w", l, k, ErrRange)
			}
			levels[k] = max(levels[k], l+1)
		}
		s.order = append(s.order, k)
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return levels[b] - levels[a] })
	for i, k := range s.order {
		s.levels = append(s.levels, levels[k])
		if i > 0 {
			s.start = append(s.start, s.fixed)
			s.fixed += levels[k]
		}
	}
	if s.fixed > mostLevels {
		return fmt.Errorf("mixed: %d levels beside those of the largest term: %w", s.fixed, ErrRange)
	}
	return nil
}

// add adds up the cross products.
func (s *sums) add(m Model) error {
	width := s.fixed + s.p + 1
	s.cross = square(width)
	byLeaf := make([]map[int]float64, 0)
	if len(s.order) > 0 {
		byLeaf = make([]map[int]float64, s.levels[0])
		s.leaf = make([]leaf, s.levels[0])
	}
	at, value := make([]int, 0, width), make([]float64, 0, width)
	for i, y := range m.Y {
		if len(m.Fixed[i]) != s.p {
			return fmt.Errorf("mixed: row %d has %d fixed columns, the first %d: %w", i, len(m.Fixed[i]), s.p, ErrRange)
		}
		at, value = at[:0], value[:0]
		for t, k := range s.order[min(1, len(s.order)):] {
			at, value = append(at, s.start[t]+m.Terms[k][i]), append(value, 1)
		}
		for j, x := range m.Fixed[i] {
			at, value = append(at, s.fixed+j), append(value, x)
		}
		at, value = append(at, s.fixed+s.p), append(value, y)
		for a, j := range at {
			if !(math.Abs(value[a]) < 1e100) {
				return fmt.Errorf("mixed: row %d holds %g: %w", i, value[a], ErrRange)
			}
			for b := range a + 1 {
				s.cross[j][at[b]] += value[a] * value[b]
			}
		}
		if len(s.order) == 0 {
			continue
		}
		l := m.Terms[s.order[0]][i]
		if byLeaf[l] == nil {
			byLeaf[l] = make(map[int]float64, len(at))
		}
		s.leaf[l].rows++
		for a, j := range at {
			byLeaf[l][j] += value[a]
		}
	}
	for j := range s.cross {
		for k := range j {
			s.cross[k][j] = s.cross[j][k]
		}
	}
	for l := range s.leaf {
		s.leaf[l].list(byLeaf[l])
	}
	return nil
}

// list puts what the rows of a leaf touch in the order of columns.
func (l *leaf) list(touched map[int]float64) {
	for j := range touched {
		l.at = append(l.at, j)
	}
	slices.Sort(l.at)
	for _, j := range l.at {
		l.value = append(l.value, touched[j])
	}
}

// termOf returns which term but the leaf owns column j, -1 if none does.
func (s *sums) termOf(j int) int {
	for t := len(s.start) - 1; t >= 0; t-- {
		if j >= s.start[t] && j < s.fixed {
			return t + 1
		}
	}
	return -1
}
