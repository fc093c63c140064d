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
}

// CooksResult is how arms differ over cooks, for cooks to come.
type CooksResult struct {
	Effects []ArmEffect
	// The variances between cooks, of the arms' differences between cooks,
	// between mixings of one cook and arm, and between jars.
	Cook, CookByArm, Mixing, Jar float64
	Mixings                      bool // mixings could be told from cooks and arms
}

// ArmEffect is an arm against the control.
type ArmEffect struct {
	Arm       int
	Low, High float64 // at the level that was asked for
	Effect
}

// Cooks fits a level for each arm, with cooks, cooks by arms and, where they
// are something of their own, mixings as random, by restricted maximum
// likelihood with Kenward and Roger's degrees of freedom. It answers for cooks
// to come, so that the jars of one cook are not taken for as many cooks. The
// term of cooks by arms stays in when it comes out at 0.
//
// ErrFew with fewer than two cooks that hold two arms; ErrRange if an arm is
// below 0 or the control has no jar; the errors of Fit.
func Cooks(jars []Jar, control int, level float64) (CooksResult, error) {
	arms, err := armsOf(jars, control)
	if err != nil {
		return CooksResult{}, err
	}
	m, mixings := modelOf(jars, arms)
	f, err := m.Fit()
	if err != nil {
		return CooksResult{}, err
	}
	r := CooksResult{Cook: f.Variance[0], CookByArm: f.Variance[1], Jar: f.Residual, Mixings: mixings}
	if mixings {
		r.Mixing = f.Variance[2]
	}
	for i, arm := range arms[1:] {
		weights := make([]float64, len(arms))
		weights[i+1] = 1
		e, err := f.KenwardRoger(weights)
		if err != nil {
			return CooksResult{}, err
		}
		low, high := e.Interval(level)
		r.Effects = append(r.Effects, ArmEffect{arm, low, high, e})
	}
	return r, nil
}

// armsOf returns the arms that have jars, the control first, if two cooks at
// least hold two of them.
func armsOf(jars []Jar, control int) ([]int, error) {
	arms := []int{control}
	known := map[int]bool{control: true}
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
	cooks, hasControl := 0, false
	for _, of := range held {
		if len(of) > 1 {
			cooks++
		}
		hasControl = hasControl || of[control]
	}
	switch {
	case cooks < 2:
		return nil, fmt.Errorf("mixed: %d cooks hold more than one arm: %w", cooks, ErrFew)
	case !hasControl:
		return nil, fmt.Errorf("mixed: no jar of the control %d: %w", control, ErrRange)
	}
	return arms, nil
}

// modelOf lays out the columns. Mixings are a term if some were used in more
// than one cook and arm, or some cook and arm had more than one.
func modelOf(jars []Jar, arms []int) (Model, bool) {
	column := make(map[int]int, len(arms))
	for i, a := range arms {
		column[a] = i
	}
	var m Model
	cook, both, mixing, all := numbering[int]{}, numbering[[2]int]{}, numbering[int]{}, numbering[[3]int]{}
	terms := make([][]int, 3)
	for _, j := range jars {
		x := make([]float64, len(arms))
		x[0] = 1
		if c := column[j.Arm]; c > 0 {
			x[c] = 1
		}
		m.Y, m.Fixed = append(m.Y, j.Y), append(m.Fixed, x)
		terms[0] = append(terms[0], cook.of(j.Cook))
		terms[1] = append(terms[1], both.of([2]int{j.Cook, j.Arm}))
		terms[2] = append(terms[2], mixing.of(j.Mixing))
		all.of([3]int{j.Cook, j.Arm, j.Mixing})
	}
	// one mixing for each cook, arm, or both tells nothing beside them
	own := len(mixing) > 1 && len(all) > len(both) || len(mixing) > len(arms) && len(mixing) != len(cook) && len(mixing) != len(both)
	if own && len(mixing) < len(jars) {
		m.Terms = terms
		return m, true
	}
	m.Terms = terms[:2]
	return m, false
}

// numbering gives numbers from 0 to what it meets.
type numbering[T comparable] map[T]int

func (n numbering[T]) of(x T) int {
	if _, known := n[x]; !known {
		n[x] = len(n)
	}
	return n[x]
}

// PerCook judges an arm against the control by one difference of means for
// each cook that holds both: the plain way to answer for cooks to come, which
// needs no model of their variances. ErrFew with fewer than two such cooks,
// or if all their differences are equal.
func PerCook(jars []Jar, arm, control int, level float64) (ArmEffect, error) {
	type means struct{ sum, n [2]float64 }
	var order []int
	cooks := make(map[int]*means)
	for _, j := range jars {
		side := 0
		switch j.Arm {
		case arm:
			side = 1
		case control:
		default:
			continue
		}
		if !(math.Abs(j.Y) < 1e100) {
			return ArmEffect{}, fmt.Errorf("mixed: a jar of %g: %w", j.Y, ErrRange)
		}
		if cooks[j.Cook] == nil {
			cooks[j.Cook] = &means{}
			order = append(order, j.Cook)
		}
		cooks[j.Cook].sum[side] += j.Y
		cooks[j.Cook].n[side]++
	}
	var d []float64
	for _, c := range order {
		if of := cooks[c]; of.n[0] > 0 && of.n[1] > 0 {
			d = append(d, of.sum[1]/of.n[1]-of.sum[0]/of.n[0])
		}
	}
	n, mean, squares := float64(len(d)), 0.0, 0.0
	for _, x := range d {
		mean += x / n
	}
	for _, x := range d {
		squares += (x - mean) * (x - mean)
	}
	if !(squares > 0) {
		return ArmEffect{}, fmt.Errorf("mixed: %d cooks with both arms: %w", len(d), ErrFew)
	}
	e := ArmEffect{Arm: arm, Effect: Effect{Value: mean, SE: math.Sqrt(squares / (n - 1) / n), DF: n - 1}}
	e.P = 2 * stats.TUpper(math.Abs(e.Value)/e.SE, e.DF)
	e.Low, e.High = e.Interval(level)
	return e, nil
}
