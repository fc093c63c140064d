package trialstat

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/figure"
)

// assignVersion changes whenever the same seed would give another assignment.
const assignVersion = 1

// Assignment procedures.
const (
	// Rejection draws deals of all units, each as likely as the other, until one
	// keeps the bound: every layout within the bound has exactly the same chance.
	Rejection Procedure = "rejection"
	// Exchange is a long chain of swaps of two units that prefers layouts nearer to
	// the bound, stopped after its run at the first layout within it. Layouts within
	// the bound then have very nearly the same chance, not exactly.
	Exchange Procedure = "exchange"
)

// Nuisance is something that varies over the units of a trial and is not what it
// asks about: cook, layer, shelf, culture lot, making, day, person.
type Nuisance struct {
	Name   string `json:"name"`   // as in a sentence, such as "layer"
	Levels []int  `json:"levels"` // by unit: which level it has, -1 for none
}

// AssignInput is units whose places are given, and arms to be drawn over them.
// A unit is a jar; where a factor is given to whole cooks, shelves or makings,
// those are the units: draw it over them first (OnJars), and the factors of jars
// afterwards with it as a nuisance of its own.
type AssignInput struct {
	Arms      []int      `json:"arms"`      // units of each arm, 2 to 12 arms; the sum is the number of units
	Nuisances []Nuisance `json:"nuisances"` // any number at once
	// Slack widens the bound: in every level of every nuisance each arm has its fair
	// share, rounded down or up, give or take so many units. 0 is tightest.
	Slack int `json:"slack,omitempty"`
}

// Assignment is one draw.
type Assignment struct {
	Arm       []int     `json:"arm"`   // by unit
	Slack     int       `json:"slack"` // of the bound that was kept; above that asked for where no layout was found within it
	Seed      uint64    `json:"seed"`
	Procedure Procedure `json:"procedure"`
	Version   int       `json:"version"`
	Bound     string    `json:"bound"`
}

// Work of one draw: deals before rejection is given up, swaps of a chain for each
// unit, and swaps after it that wait for a layout within the bound.
const (
	maxDeals      = 2000
	swapsPerUnit  = 200
	waitPerUnit   = 2000
	maxSlack      = 3
	swapReluct    = 1.5 // a layout one unit farther from the bound is e^-1.5 as likely
	maxAssignable = 2000
)

// Assign draws arms over units so that in every level of every nuisance at once
// each arm has its fair share, rounded down or up, give or take in.Slack. Where no
// layout is found within that the bound is widened by one unit, and Slack and Bound
// say so. The same input and seed give the same layout on every machine.
//
// Rejection is tried first and is exact; where a deal keeps the bound in fewer than
// one of 2000 cases, Exchange follows.
//
// The error is a *figure.Fault.
//
// Source: restricted randomisation, Bailey (2008) chapter 4; the chain, Metropolis
// and others, J. Chem. Phys. 21 (1953) 1087.
func Assign(in AssignInput, seed uint64) (Assignment, error) {
	a, err := newAssigning(in)
	if err != nil {
		return Assignment{}, err
	}
	for slack := in.Slack; slack <= in.Slack+maxSlack; slack++ {
		a.bounds(slack)
		out := Assignment{Slack: slack, Seed: seed, Version: assignVersion, Procedure: Rejection, Bound: a.bound(slack, slack > in.Slack)}
		if a.reject(newChance(seed, uint64(slack))) {
			out.Arm = a.arm
			return out, nil
		}
		out.Procedure = Exchange
		if a.exchange(newChance(seed, uint64(slack)+1<<32)) {
			out.Arm = a.arm
			return out, nil
		}
	}
	return Assignment{}, figure.Faultf("nuisances", "take one of them out of the draw, or change the sizes of the arms",
		"no layout was found that spreads the arms over %s within %d units of their fair shares", listed(a.names()), in.Slack+maxSlack)
}

// assigning is one draw on its way.
type assigning struct {
	in     AssignInput
	arm    []int
	counts [][][]int // by nuisance, level, arm
	low    [][][]int
	high   [][][]int
}

func newAssigning(in AssignInput) (*assigning, error) {
	if n := len(in.Arms); n < minArms || n > maxArms {
		return nil, figure.Faultf("arms", "allot 2 to 12 arms; more make several trials", "%d arms are asked for", n)
	}
	a := &assigning{in: in}
	for i, n := range in.Arms {
		if n < 1 || n > maxAssignable-len(a.arm) {
			return nil, figure.Faultf("arms", "give every arm 1 unit or more, 2000 in all", "arm %d has %d units", i+1, n)
		}
		for range n {
			a.arm = append(a.arm, i)
		}
	}
	if in.Slack < 0 || in.Slack > maxAssignable {
		return nil, figure.Faultf("slack", "write 0 for the tightest bound", "the slack is %d units", in.Slack)
	}
	for k, n := range in.Nuisances {
		field := fmt.Sprintf("nuisances[%d].levels", k)
		if len(n.Levels) != len(a.arm) {
			return nil, figure.Faultf(field, "give one level for each unit", "%s has %d levels for %d units", brief(n.Name), len(n.Levels), len(a.arm))
		}
		levels := 0
		for _, l := range n.Levels {
			if l < -1 || l >= maxAssignable {
				return nil, figure.Faultf(field, "number the levels from 0; -1 for none", "%s has a level %d", brief(n.Name), l)
			}
			levels = max(levels, l+1)
		}
		a.counts, a.low, a.high = append(a.counts, tally(levels, len(in.Arms))), append(a.low, tally(levels, len(in.Arms))), append(a.high, tally(levels, len(in.Arms)))
	}
	return a, nil
}

func tally(levels, arms int) [][]int {
	out := make([][]int, levels)
	for l := range out {
		out[l] = make([]int, arms)
	}
	return out
}

func (a *assigning) names() []string {
	var out []string
	for _, n := range a.in.Nuisances {
		out = append(out, brief(n.Name))
	}
	return out
}

func (a *assigning) bound(slack int, widened bool) string {
	if len(a.in.Nuisances) == 0 {
		return "Every deal of the arms over the units was equally likely."
	}
	text := fmt.Sprintf("In every level of %s each arm has its fair share of the units there, rounded down or up", listed(a.names()))
	if slack > 0 {
		text += fmt.Sprintf(", give or take %d", slack)
	}
	if widened {
		text += "; no layout was found within a tighter bound"
	}
	return text + "."
}

// bounds sets the least and most units of each arm in each level.
func (a *assigning) bounds(slack int) {
	units := len(a.arm)
	for k, n := range a.in.Nuisances {
		for l := range a.low[k] {
			in := 0
			for _, x := range n.Levels {
				if x == l {
					in++
				}
			}
			for g, size := range a.in.Arms {
				a.low[k][l][g] = size*in/units - slack
				a.high[k][l][g] = (size*in+units-1)/units + slack
			}
		}
	}
}

// recount counts the arms by level, and returns how many units are beyond the
// bound.
func (a *assigning) recount() int {
	for _, byLevel := range a.counts {
		for _, byArm := range byLevel {
			clear(byArm)
		}
	}
	for k, n := range a.in.Nuisances {
		for u, l := range n.Levels {
			if l >= 0 {
				a.counts[k][l][a.arm[u]]++
			}
		}
	}
	beyond := 0
	for k := range a.counts {
		for l := range a.counts[k] {
			for g := range a.counts[k][l] {
				beyond += a.beyond(k, l, g)
			}
		}
	}
	return beyond
}

func (a *assigning) beyond(k, l, g int) int {
	c := a.counts[k][l][g]
	return max(0, a.low[k][l][g]-c, c-a.high[k][l][g])
}

func (a *assigning) reject(l chance) bool {
	for range maxDeals {
		shuffle(l, a.arm)
		if a.recount() == 0 {
			return true
		}
	}
	return false
}

// exchange runs the chain from the deal that is there.
func (a *assigning) exchange(l chance) bool {
	units := len(a.arm)
	beyond := a.recount()
	for step := range units * (swapsPerUnit + waitPerUnit) {
		if step >= units*swapsPerUnit && beyond == 0 {
			return true
		}
		u, v := l.below(units), l.below(units)
		if a.arm[u] == a.arm[v] {
			continue
		}
		by := a.swap(u, v)
		if by > 0 && !(l.share() < math.Exp(-swapReluct*float64(by))) {
			a.swap(u, v)
			continue
		}
		beyond += by
	}
	return beyond == 0
}

// swap swaps the arms of two units, and returns by how much more is beyond the
// bound.
func (a *assigning) swap(u, v int) int {
	by := 0
	for k, n := range a.in.Nuisances {
		lu, lv := n.Levels[u], n.Levels[v]
		if lu == lv {
			continue
		}
		for _, x := range []struct{ level, out, in int }{{lu, a.arm[u], a.arm[v]}, {lv, a.arm[v], a.arm[u]}} {
			if x.level < 0 {
				continue
			}
			by -= a.beyond(k, x.level, x.out) + a.beyond(k, x.level, x.in)
			a.counts[k][x.level][x.out]--
			a.counts[k][x.level][x.in]++
			by += a.beyond(k, x.level, x.out) + a.beyond(k, x.level, x.in)
		}
	}
	a.arm[u], a.arm[v] = a.arm[v], a.arm[u]
	return by
}

// OnJars returns the assignment of whole units as one of jars: unit has, by jar,
// the index of the unit that it is in.
func (a Assignment) OnJars(unit []int) ([]int, error) {
	out := make([]int, len(unit))
	for j, u := range unit {
		if u < 0 || u >= len(a.Arm) {
			return nil, figure.Faultf("unit", "number the units from 0", "jar %d is in unit %d of %d", j+1, u, len(a.Arm))
		}
		out[j] = a.Arm[u]
	}
	return out, nil
}

// Crossing names the arms of a factorial trial of up to three factors, each with
// its levels, in order with the last factor changing fastest. levels has, by arm
// and factor, the index of the level.
func Crossing(factors [][]string) (names []string, levels [][]int, err error) {
	if n := len(factors); n < 1 || n > 3 {
		return nil, nil, figure.Faultf("factors", "cross at most 3 things in one trial", "%d factors are asked for", n)
	}
	names, levels = []string{""}, [][]int{nil}
	for k, f := range factors {
		if len(f) < 2 {
			return nil, nil, figure.Faultf(fmt.Sprintf("factors[%d]", k), "give each factor 2 levels or more", "factor %d has %d", k+1, len(f))
		}
		if len(f)*len(names) > maxArms {
			return nil, nil, figure.Faultf("factors", "take levels off; 12 arms are the most", "the factors make more than %d arms", maxArms)
		}
		var wider []string
		var codes [][]int
		for i, name := range names {
			for l, level := range f {
				wider = append(wider, joined(name, level))
				codes = append(codes, append(slices.Clone(levels[i]), l))
			}
		}
		names, levels = wider, codes
	}
	return names, levels, nil
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}
