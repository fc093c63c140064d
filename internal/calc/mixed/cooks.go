package mixed

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
)

// Jar is one jar of a comparison over several cooks.
type Jar struct {
	Y      float64 // the outcome, on a scale on which it is about normal
	Arm    int     // from 0
	Cook   int     // any number that names it
	Mixing int     // what was mixed together; that of the cook if each cook had one
	Place  int     // where it stood in its cook; the same for all if that is not known
}

// CooksFit is how arms differ over cooks, for cooks to come.
type CooksFit struct {
	// The variances between cooks, of the arms' differences between cooks,
	// between mixings of one cook and arm, between places of one cook, and
	// between jars.
	Cook, CookByArm, Mixing, Place, Jar float64
	Mixings                             bool // mixings could be told from cooks and arms
	Places                              bool // places could be told from cooks and arms

	fit    *Fit
	column map[int]int // of the arms among the fixed columns
}

// FitCooks fits a level for each arm, with cooks, cooks by arms and, where they
// are something of their own, mixings and places within cooks as random, by
// restricted maximum likelihood. It answers for cooks to come, so that the jars
// of one cook are not taken for as many cooks. The term of cooks by arms stays
// in when it comes out at 0.
//
// ErrFew with fewer than two cooks that hold two arms; ErrRange if an arm is
// below 0; the errors of Fit.
func FitCooks(jars []Jar) (*CooksFit, error) {
	arms, err := armsOf(jars)
	if err != nil {
		return nil, err
	}
	f := &CooksFit{column: make(map[int]int, len(arms))}
	for i, a := range arms {
		f.column[a] = i
	}
	m := f.modelOf(jars)
	if f.fit, err = m.Fit(); err != nil {
		return nil, err
	}
	v := f.fit.Variance
	f.Cook, f.CookByArm, f.Jar = v[0], v[1], f.fit.Residual
	if f.Mixings {
		f.Mixing = v[2]
	}
	if f.Places {
		f.Place = v[len(v)-1]
	}
	return f, nil
}

// Contrast returns Σ weights·level over the arms, weights by the number of the
// arm, with Kenward and Roger's standard error and degrees of freedom. The
// weights sum to 0.
//
// ErrRange if they do not, or if one belongs to an arm without jars.
func (f *CooksFit) Contrast(weights []float64) (Effect, error) {
	of := make([]float64, len(f.column))
	sum, size := 0.0, 0.0
	for arm, w := range weights {
		at, known := f.column[arm]
		if !known && w != 0 {
			return Effect{}, fmt.Errorf("mixed: no jar of arm %d: %w", arm, ErrRange)
		}
		if known {
			of[at] = w
		}
		sum, size = sum+w, size+math.Abs(w)
	}
	if !(math.Abs(sum) <= 1e-12*size) {
		return Effect{}, fmt.Errorf("mixed: weights sum to %g: %w", sum, ErrRange)
	}
	of[0] = 0 // its level is in that of all
	return f.fit.KenwardRoger(of)
}

// Difference is the contrast of arm b less arm a.
func (f *CooksFit) Difference(b, a int) (Effect, error) {
	if a < 0 || b < 0 || a == b {
		return Effect{}, fmt.Errorf("mixed: arm %d against arm %d: %w", b, a, ErrRange)
	}
	weights := make([]float64, max(a, b)+1)
	weights[b], weights[a] = 1, -1
	return f.Contrast(weights)
}

// armsOf returns the arms that have jars, if two cooks at least hold two of them.
func armsOf(jars []Jar) ([]int, error) {
	var arms []int
	known := make(map[int]bool)
	held := make(map[int]map[int]bool)
	for _, j := range jars {
		if j.Arm < 0 {
			return nil, fmt.Errorf("mixed: arm %d: %w", j.Arm, ErrRange)
		}
		if !known[j.Arm] {
			known[j.Arm] = true
			arms = append(arms, j.Arm)
		}
		if held[j.Cook] == nil {
			held[j.Cook] = make(map[int]bool)
		}
		held[j.Cook][j.Arm] = true
	}
	cooks := 0
	for _, of := range held {
		if len(of) > 1 {
			cooks++
		}
	}
	if cooks < 2 {
		return nil, fmt.Errorf("mixed: %d cooks hold more than one arm: %w", cooks, ErrFew)
	}
	return arms, nil
}

// modelOf lays out the columns: mixings and places are terms where they are
// something of their own beside cooks and arms.
func (f *CooksFit) modelOf(jars []Jar) Model {
	var m Model
	cook, both, mixing, place := numbering[int]{}, numbering[[2]int]{}, numbering[int]{}, numbering[[2]int]{}
	byCook, byArm := numbering[[2]int]{}, numbering[[2]int]{}
	mixed, stood := numbering[[3]int]{}, numbering[[3]int]{}
	terms := make([][]int, 4)
	for _, j := range jars {
		x := make([]float64, len(f.column))
		x[0] = 1
		if c := f.column[j.Arm]; c > 0 {
			x[c] = 1
		}
		m.Y, m.Fixed = append(m.Y, j.Y), append(m.Fixed, x)
		for k, level := range []int{cook.of(j.Cook), both.of([2]int{j.Cook, j.Arm}), mixing.of(j.Mixing), place.of([2]int{j.Cook, j.Place})} {
			terms[k] = append(terms[k], level)
		}
		byCook.of([2]int{j.Cook, j.Mixing})
		byArm.of([2]int{j.Arm, j.Mixing})
		mixed.of([3]int{j.Cook, j.Arm, j.Mixing})
		stood.of([3]int{j.Cook, j.Arm, j.Place})
	}
	m.Terms = terms[:2]
	// one mixing for each cook, arm, or both tells nothing beside them
	same := func(as, crossed int) bool { return len(mixing) == as && crossed == as }
	own := !same(len(cook), len(byCook)) && !same(len(f.column), len(byArm)) && !same(len(both), len(mixed))
	if f.Mixings = own && len(mixing) > 1 && len(mixing) < len(jars); f.Mixings {
		m.Terms = append(m.Terms, terms[2])
	}
	if f.Places = len(place) > len(cook) && len(stood) > len(place) && len(stood) > len(both); f.Places {
		m.Terms = append(m.Terms, terms[3])
	}
	return m
}

// numbering gives numbers from 0 to what it meets.
type numbering[T comparable] map[T]int

func (n numbering[T]) of(x T) int {
	if _, known := n[x]; !known {
		n[x] = len(n)
	}
	return n[x]
}

// OnePerCook judges a contrast by its value in each of several cooks: the plain
// way to answer for cooks to come, which needs no model of their variances. It
// is their mean with the t interval over cooks. ErrFew with fewer than two
// values, or if all are equal but for rounding; ErrRange if one is no number.
//
// Source: Student (1908); as the analysis of a blocked trial over its blocks.
func OnePerCook(values []float64) (Effect, error) {
	size := 0.0
	for _, x := range values {
		if !(math.Abs(x) < 1e100) {
			return Effect{}, fmt.Errorf("mixed: a cook's difference of %g: %w", x, ErrRange)
		}
		size = math.Max(size, math.Abs(x))
	}
	n := float64(len(values))
	if n < 2 {
		return Effect{}, fmt.Errorf("mixed: %d cooks: %w", len(values), ErrFew)
	}
	e := Effect{Value: stats.Mean(values), SE: math.Sqrt(stats.Variance(values) / n), DF: n - 1}
	if !(e.SE > 1e-13*size) {
		return Effect{}, fmt.Errorf("mixed: %d cooks with the same difference: %w", len(values), ErrFew)
	}
	e.P = 2 * stats.TUpper(math.Abs(e.Value)/e.SE, e.DF)
	return e, nil
}
