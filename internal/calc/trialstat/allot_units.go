package trialstat

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/figure"
)

// unitsVersion changes whenever the same seed would give another layout by units.
const unitsVersion = 1

// ByUnit is the procedure of a layout in which whole cooks or shelves are dealt to
// levels first, each deal that fits equally likely, and jars within them.
const ByUnit Procedure = "by unit"

// Streams of a draw by units; those of Allot come before.
const (
	streamCookLevels uint64 = iota + 16
	streamWithin
	streamShelfLevels
	streamOver
	streamWithinShelf
)

// maxUnitDeals is how many deals of units are tried for one that fits.
const maxUnitDeals = 500

// nested reports whether more than arms over cooks, layers and shelves is drawn.
func (d Design) nested() bool { return len(d.OnCook)+len(d.OnShelf)+len(d.Over) > 0 }

// allotUnits is Allot where whole cooks or shelves are dealt, or arms are spread
// over more than places.
func allotUnits(d Design, seed uint64) (Layout, error) {
	u, err := newUnits(d, seed)
	if err != nil {
		return Layout{}, err
	}
	return u.draw(seed, 0)
}

// redrawUnits is Redraw for such a design. Blanks, and how many jars stand in each
// layer, are as in the draw of the seed.
func redrawUnits(d Design, seed uint64) (func(rep int) []int, error) {
	u, err := newUnits(d, seed)
	if err != nil {
		return nil, err
	}
	first, err := u.draw(seed, 0)
	if err != nil {
		return nil, err
	}
	return func(rep int) []int {
		for try := range uint64(20) {
			again, err := u.draw(seed, 1+uint64(rep)*20+try)
			if err == nil && sameLoad(first.Slots, again.Slots) {
				return armsOf(again.Slots)
			}
		}
		return armsOf(first.Slots)
	}, nil
}

func armsOf(slots []Slot) []int {
	var out []int
	for _, s := range slots {
		if s.Arm != None {
			out = append(out, s.Arm)
		}
	}
	return out
}

func sameLoad(a, b []Slot) bool {
	return slices.EqualFunc(a, b, func(x, y Slot) bool {
		return x.Cook == y.Cook && x.Layer == y.Layer && (x.Arm == None) == (y.Arm == None)
	})
}

// units is what is worked out once for a design.
type units struct {
	Design
	load   load // its cells and blanks
	cooks  []int
	levels int // of what is set on cooks
	lamps  int // of what is set on shelves
}

func newUnits(d Design, seed uint64) (*units, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	u := &units{Design: d, load: spreadLoad(d, newChance(seed, streamBlanks))}
	for _, c := range u.load.cells {
		if !slices.Contains(u.cooks, c.Cook) {
			u.cooks = append(u.cooks, c.Cook)
		}
	}
	var err error
	if u.levels, err = levelsOn("on_cook", "cook", d.OnCook, len(d.Arms), len(u.cooks)); err != nil {
		return nil, err
	}
	if u.lamps, err = levelsOn("on_shelf", "shelf", d.OnShelf, len(d.Arms), len(d.Shelf)); err != nil {
		return nil, err
	}
	for _, f := range d.Over {
		if f.Levels < 2 || f.Levels > maxCells {
			return nil, figure.Faultf("over", "name two or more, or leave it out of the draw", "jars can not be spread over %d of %s", f.Levels, brief(f.Name))
		}
	}
	if len(d.Over) > 0 && len(u.load.cells) > 0 && sum(d.Arms) > maxAssignable {
		return nil, figure.Faultf("over", "leave it out of the draw, or plan fewer jars", "%d jars are more than the %d that can be spread over several things at once", sum(d.Arms), maxAssignable)
	}
	return u, nil
}

// levelsOn counts the levels of what is set on whole units, 1 if nothing is.
func levelsOn(field, unit string, level []int, arms, units int) (int, error) {
	if len(level) == 0 {
		return 1, nil
	}
	if len(level) != arms {
		return 0, figure.Faultf(field, "give one level for each arm", "%d levels are given for %d arms", len(level), arms)
	}
	n := slices.Max(level) + 1
	for l := range n {
		if !slices.Contains(level, l) {
			return 0, figure.Faultf(field, "number the levels from 0", "no arm has level %d of %d", l, n)
		}
	}
	if slices.Min(level) < 0 {
		return 0, figure.Faultf(field, "number the levels from 0", "an arm has level %d", slices.Min(level))
	}
	if units < n {
		many := unit + "s"
		if unit == "shelf" {
			many = "shelves"
		}
		return 0, figure.Faultf(field, fmt.Sprintf("plan %d %s or more, better %d, so that each level has two", n, many, 2*n), "%d levels are set on whole %s, and there are %d", n, many, units)
	}
	return n, nil
}

func sum(x []int) int {
	all := 0
	for _, n := range x {
		all += n
	}
	return all
}

// draw makes one layout; draw 0 of a seed is the one that is kept.
func (u *units) draw(seed, draw uint64) (Layout, error) {
	chanceOf := func(stream uint64) chance { return newChance(seed^draw*0x9e3779b97f4a7c15, stream|draw<<8) }
	out := Layout{Seed: seed, Version: unitsVersion, Procedure: ByUnit, Imbalance: 1}
	group, err := u.dealCooks(chanceOf(streamCookLevels))
	if err != nil {
		return out, err
	}
	cells := make([][]int, len(u.load.cells)) // arms by cell
	for level := range u.levels {
		if err := u.within(level, group, cells, chanceOf(streamWithin|uint64(level)<<32)); err != nil {
			return out, err
		}
	}
	out.Slots = u.slots(cells)
	var bounds []string
	if u.levels > 1 {
		bounds = append(bounds, "Whole cooks were dealt to what is set on them, each level its fair share of the cooks; every deal that fits was equally likely.")
	}
	if len(u.Over) > 0 {
		fixed := newChance(seed, streamOver) // the same in every draw: they are of the places
		for _, f := range u.Over {
			dealOver(out.Slots, f.Levels, fixed)
		}
		said, err := u.spreadOver(out.Slots, group, chanceOf(streamArms))
		if err != nil {
			return out, err
		}
		out.Procedure = said.Procedure
		bounds = append(bounds, said.Bound)
	} else {
		bounds = append(bounds, "In every cook and every layer each arm that can stand there has its fair share, rounded down or up.")
	}
	if len(u.Shelf) > 0 {
		if err := u.ontoShelves(out.Slots, chanceOf(streamShelfLevels)); err != nil {
			return out, err
		}
		if u.lamps > 1 {
			bounds = append(bounds, "Whole shelves were dealt to what is set on them.")
		} else {
			bounds = append(bounds, strings.TrimSpace(shelfBound))
		}
	}
	out.Bound = strings.Join(bounds, " ")
	return out, nil
}

// dealCooks returns the level of each cook: every deal in which each level has its
// fair share of the cooks, and room for its jars, is as likely as the other.
func (u *units) dealCooks(l chance) (map[int]int, error) {
	if u.levels == 1 {
		out := make(map[int]int)
		for _, c := range u.cooks {
			out[c] = 0
		}
		return out, nil
	}
	need, room := make([]int, u.levels), make(map[int]int)
	for a, n := range u.Arms {
		need[u.OnCook[a]] += n
	}
	for i, c := range u.load.cells {
		room[c.Cook] += c.Places - u.load.blanks[i]
	}
	deal := dealFairly(len(u.cooks), u.levels)
	for range maxUnitDeals {
		order := slices.Clone(deal(l))
		left := slices.Clone(need)
		out := make(map[int]int)
		for i, c := range u.cooks {
			out[c] = order[i]
			left[order[i]] -= room[c]
		}
		if slices.Max(left) <= 0 {
			return out, nil
		}
	}
	return nil, figure.Faultf("cells", "add a cook or a layer, or take jars off", "the cooks of one level do not hold its %d jars", slices.Max(need))
}

// dealFairly returns a function that deals levels over n units, each its fair
// share; which levels have one more than others is drawn too.
func dealFairly(n, levels int) func(l chance) []int {
	return func(l chance) []int {
		first := make([]int, levels)
		for i := range first {
			first[i] = i
		}
		shuffle(l, first)
		out := make([]int, n)
		for i := range out {
			out[i] = first[i%levels]
		}
		shuffle(l, out)
		return out
	}
}

// within gives the arms of one level their places in its cooks.
func (u *units) within(level int, group map[int]int, cells [][]int, l chance) error {
	var arms, jars []int
	for a, n := range u.Arms {
		if u.levels == 1 || u.OnCook[a] == level {
			arms, jars = append(arms, a), append(jars, n)
		}
	}
	var at, room []int
	for i, c := range u.load.cells {
		if group[c.Cook] == level {
			at, room = append(at, i), append(room, c.Places-u.load.blanks[i])
		}
	}
	loads := inProportion(sum(jars), room)
	if len(arms) == 1 {
		for k, n := range loads {
			cells[at[k]] = slices.Repeat([]int{arms[0]}, n)
		}
		return nil
	}
	var groups [][]int
	for k, i := range at {
		if k == 0 || u.load.cookOf[i] != u.load.cookOf[at[k-1]] {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], loads[k])
	}
	for k, of := range newCounter(newPlan(jars, groups)).draw(l) {
		var in []int
		for a, n := range of {
			in = append(in, slices.Repeat([]int{arms[a]}, n)...)
		}
		shuffle(l, in)
		cells[at[k]] = in
	}
	return nil
}

// slots numbers the jars in load order.
func (u *units) slots(cells [][]int) []Slot {
	var out []Slot
	for c, place := range u.load.cells {
		making := 0
		if u.MakingPerCook {
			making = u.load.cookOf[c]
		}
		for _, a := range cells[c] {
			out = append(out, Slot{Arm: a, Cook: place.Cook, Layer: place.Layer, Shelf: None, Making: making})
		}
		for range u.load.blanks[c] {
			out = append(out, Slot{Arm: None, Cook: place.Cook, Layer: place.Layer, Shelf: None, Making: None})
		}
	}
	return out
}

// spreadOver draws the arms anew, so that they keep their shares of cooks, layers
// and every level of Over at once.
func (u *units) spreadOver(slots []Slot, group map[int]int, l chance) (Assignment, error) {
	var said Assignment
	for level := range u.levels {
		var at []int
		for i, s := range slots {
			if s.Arm != None && group[s.Cook] == level {
				at = append(at, i)
			}
		}
		in, arms := u.assignIn(slots, at)
		if len(arms) < 2 {
			continue
		}
		got, err := Assign(in, l.words.Uint64())
		if err != nil {
			return said, err
		}
		for j, i := range at {
			slots[i].Arm = arms[got.Arm[j]]
		}
		if said.Bound == "" || got.Procedure == Exchange || got.Slack > said.Slack {
			said = got
		}
	}
	if said.Bound == "" { // one arm to each cook: nothing was left to draw within them
		said.Procedure, said.Bound = ByUnit, "Every level is spread evenly along the load."
	}
	return said, nil
}

// dealOver gives places level after level in random order, all levels once before
// one comes again.
func dealOver(slots []Slot, levels int, l chance) {
	var turn []int
	for i := range slots {
		if slots[i].Arm == None {
			continue
		}
		if len(turn) == 0 {
			turn = make([]int, levels)
			for x := range turn {
				turn[x] = x
			}
			shuffle(l, turn)
		}
		slots[i].Over = append(slots[i].Over, turn[0])
		turn = turn[1:]
	}
}

// assignIn is the draw of arms over some places whose levels are given.
func (u *units) assignIn(slots []Slot, at []int) (AssignInput, []int) {
	var in AssignInput
	var arms []int
	code := func(name string, of func(Slot) int) {
		n := Nuisance{Name: name}
		seen := make(map[int]int)
		for _, i := range at {
			x := of(slots[i])
			if _, ok := seen[x]; !ok {
				seen[x] = len(seen)
			}
			n.Levels = append(n.Levels, seen[x])
		}
		if len(seen) > 1 {
			in.Nuisances = append(in.Nuisances, n)
		}
	}
	for a := range u.Arms {
		n := 0
		for _, i := range at {
			if slots[i].Arm == a {
				n++
			}
		}
		if n > 0 {
			arms, in.Arms = append(arms, a), append(in.Arms, n)
		}
	}
	code("cook", func(s Slot) int { return s.Cook })
	code("layer of a cook", func(s Slot) int { return s.Cook*maxCells + s.Layer })
	for k, f := range u.Over {
		code(f.Name, func(s Slot) int { return s.Over[k] })
	}
	return in, arms
}

// ontoShelves deals shelves to levels, and the jars of each level to its shelves.
func (u *units) ontoShelves(slots []Slot, l chance) error {
	level := func(arm int) int { return 0 }
	if u.lamps > 1 {
		level = func(arm int) int { return u.OnShelf[arm] }
	}
	need := make([]int, u.lamps)
	for a, n := range u.Arms {
		need[level(a)] += n
	}
	deal := dealFairly(len(u.Shelf), u.lamps)
	for range maxUnitDeals {
		of := slices.Clone(deal(l))
		left := slices.Clone(need)
		for i, n := range u.Shelf {
			left[of[i]] -= n
		}
		if slices.Max(left) > 0 {
			continue
		}
		for x := range u.lamps {
			u.putOn(slots, of, x, level, l)
		}
		return nil
	}
	return figure.Faultf("shelves", "add a shelf, or name more places", "the shelves of one level do not hold its %d jars", slices.Max(need))
}

// putOn deals the jars of one level over its shelves.
func (u *units) putOn(slots []Slot, of []int, level int, levelOf func(int) int, l chance) {
	var arms, jars, shelves, room []int
	for a, n := range u.Arms {
		if levelOf(a) == level {
			arms, jars = append(arms, a), append(jars, n)
		}
	}
	for i, x := range of {
		if x == level {
			shelves, room = append(shelves, i), append(room, u.Shelf[i])
		}
	}
	var mine []Slot
	for _, s := range slots {
		if s.Arm != None && levelOf(s.Arm) == level {
			s.Arm = slices.Index(arms, s.Arm)
			mine = append(mine, s)
		}
	}
	putOnShelves(mine, Design{Arms: jars, Shelf: room}, l)
	for i := range slots {
		if s := &slots[i]; s.Arm != None && levelOf(s.Arm) == level {
			s.Shelf = shelves[mine[0].Shelf]
			mine = mine[1:]
		}
	}
}
