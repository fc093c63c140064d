package trialstat

import "pinset/internal/figure"

// Limits of what one draw allots.
const (
	minArms  = 2
	maxArms  = 12
	maxCells = 500
	maxJars  = 100_000
)

// procedureVersion changes whenever the same seed would give another layout.
const procedureVersion = 1

// Streams keep the parts of one draw apart, so that a change of shelves leaves
// the load of the cooker as it was.
const (
	streamBlanks uint64 = iota + 1
	streamArms
	streamShelves
)

// Place is a cell of the cooker: one layer of one cook, and how many vessels it
// takes.
type Place struct {
	Cook   int `json:"cook"`   // from 0
	Layer  int `json:"layer"`  // as the caller numbers layers
	Places int `json:"places"` // vessels that fit, blanks among them
}

// Design is what is to be allotted.
type Design struct {
	Arms   []int   `json:"arms"`              // jars per arm, 2 to 12 arms of at least one jar
	Blanks []int   `json:"blanks,omitempty"`  // blanks per cook, by cook number; none if left out
	Cells  []Place `json:"cells"`             // in load order
	Shelf  []int   `json:"shelves,omitempty"` // places per shelf; left out = shelves are not allotted

	// MakingPerCook says that each arm's mix is made anew for every cook. If
	// not, it is made once, and a slip of the scale looks like the arm.
	MakingPerCook bool `json:"making_per_cook,omitempty"`

	// OnCook and OnShelf have, by arm, which level it has, from 0, of what is set on
	// whole cooks or on whole shelves; left out, nothing is. Cooks and shelves are
	// then dealt to levels, and an arm's jars stand in those of its level only.
	OnCook  []int `json:"on_cook,omitempty"`
	OnShelf []int `json:"on_shelf,omitempty"`
	// Over lists what else every arm is spread over.
	Over []Further `json:"over,omitempty"`
}

// Further is something besides place that varies over jars, such as who
// inoculates.
type Further struct {
	Name   string `json:"name"`   // as in a sentence
	Levels int    `json:"levels"` // 2 or more
}

// None marks a slot that has no arm (a blank), no shelf or no making.
const None = -1

// Slot is what one jar number is given.
type Slot struct {
	Arm    int `json:"arm"` // index into Design.Arms; None for a blank
	Cook   int `json:"cook"`
	Layer  int `json:"layer"`
	Shelf  int `json:"shelf"`  // index into Design.Shelf; None for a blank, or if not allotted
	Making int `json:"making"` // which making of the arm's mix, from 0; None for a blank

	Over []int `json:"over,omitempty"` // level of each of Design.Over; none for a blank
}

// Procedure names how a layout was drawn.
type Procedure string

// The procedures. Both draw from the same set of layouts.
const (
	// Counted draws every layout within the bound with exactly the same chance,
	// by counting how many ways each step leaves open.
	Counted Procedure = "counted"
	// Shuffled is for designs too large to count: a long chain of seeded random
	// swaps, each of which keeps the bound, whose chances settle to the same.
	Shuffled Procedure = "shuffled"
)

// Layout is one draw: what each jar number is given, and how it came about.
type Layout struct {
	Slots     []Slot    `json:"slots"`     // jar 1 is Slots[0]; in load order, a cell's blanks last
	Imbalance int       `json:"imbalance"` // 1 if some count is a fair share rounded, 0 if all shares are whole
	Seed      uint64    `json:"seed"`
	Procedure Procedure `json:"procedure"`
	Version   int       `json:"version"`
	Bound     string    `json:"bound"` // what every layout that could be drawn holds to
}

const bound = "In every cook, and in every layer of every cook, each arm has its fair share of the jars there, " +
	"rounded down or up to a whole jar; every layout that holds to this was equally likely. Only the layer is allotted, not the spot in it."

const shelfBound = " Every shelf, too, holds its fair share of each arm, rounded down or up."

// Allot draws who gets what: one layout out of all that give every arm, in
// every cook and in every layer of every cook, its fair share of the jars there
// rounded down or up. Every labelled layout (which jar number gets which arm)
// within that bound is equally likely; see Procedure. The same design and seed
// give the same layout on every machine.
//
// Jars are loaded evenly in proportion to places; blanks are spread over the
// layers of their cook and then take no part. A layout within the bound always
// exists, for the fair shares themselves are a flow through the network arm →
// cook → layer, and a flow with whole bounds can be made whole; so nothing ever
// has to be relaxed, even where a layer holds fewer jars than there are arms.
//
// Jars are numbered in load order, so a number says nothing of the arm. The
// error is a *figure.Fault if the design can not be loaded.
//
// Source: restricted randomisation, Bailey, Design of Comparative Experiments
// (2008) chapter 4; the rounding, Causey, Cox and Ernst, J. Am. Stat. Assoc. 80
// (1985) 903-909.
//
// Where something is set on whole cooks or shelves, or arms are spread over more
// than places, see Design.OnCook and Design.Over: units are dealt first, then jars
// within them.
func Allot(d Design, seed uint64) (Layout, error) {
	if d.nested() {
		return allotUnits(d, seed)
	}
	s, err := newDraw(d, seed)
	if err != nil {
		return Layout{}, err
	}
	out := Layout{
		Seed: seed, Version: procedureVersion, Procedure: s.counts.procedure(),
		Imbalance: s.plan.imbalance(), Bound: bound,
	}
	out.Slots = s.slots(s.arms(newChance(seed, streamArms)))
	if len(d.Shelf) > 0 {
		out.Bound += shelfBound
		putOnShelves(out.Slots, d, newChance(seed, streamShelves))
	}
	return out, nil
}

// Redraw returns a function that runs the draw of Allot(d, seed) again, with
// the blanks where that draw put them: the arms of the jars in order of their
// numbers, blanks left out. Draw rep depends on seed and rep alone. The slice is
// the caller's until the next call; the function is for one goroutine.
//
// This is what a randomisation test needs: it asks how the comparison would
// have looked under the other layouts that could have been drawn. Where the
// layout was Shuffled, each redraw is a shorter chain that starts from one
// common layout, reached from the observed one by a chain of its own; the p that
// comes of it is exact however short the chains.
//
// Source: Besag and Clifford, Biometrika 76 (1989) 633-642, section 2.
func Redraw(d Design, seed uint64) (func(rep int) []int, error) {
	if d.nested() {
		return redrawUnits(d, seed)
	}
	s, err := newDraw(d, seed)
	if err != nil {
		return nil, err
	}
	s.arms(newChance(seed, streamArms)) // the observed one: where chains start from
	s.counts.again(newChance(seed, streamArms+1<<32))
	out := make([]int, 0, s.plan.total)
	return func(rep int) []int {
		out = out[:0]
		for _, cell := range s.arms(newChance(seed^0x9e3779b97f4a7c15, uint64(rep))) {
			out = append(out, cell...)
		}
		return out
	}, nil
}

// draw holds what is worked out once for a design and seed.
type draw struct {
	design Design
	load   load
	plan   plan
	counts counter
	cells  [][]int // arms by cell, reused
}

// counter draws how many jars of each arm go into each cell.
type counter interface {
	procedure() Procedure
	draw(l chance) [][]int // by cell, by arm; reused by the next call
	again(l chance)        // prepare for redraws, once
}

func newDraw(d Design, seed uint64) (*draw, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	s := &draw{design: d, load: spreadLoad(d, newChance(seed, streamBlanks))}
	s.plan = newPlan(d.Arms, s.load.jars)
	s.counts = newCounter(s.plan)
	return s, nil
}

// newCounter counts where that is small enough, and shuffles where not.
func newCounter(p plan) counter {
	if c, ok := newCounted(p); ok {
		return c
	}
	return newShuffled(p)
}

// arms draws the arms of the jars of every cell, in random order within it.
func (s *draw) arms(l chance) [][]int {
	counts := s.counts.draw(l)
	s.cells = s.cells[:0]
	for _, of := range counts {
		var in []int
		for a, n := range of {
			for range n {
				in = append(in, a)
			}
		}
		shuffle(l, in)
		s.cells = append(s.cells, in)
	}
	return s.cells
}

// slots numbers the jars in load order.
func (s *draw) slots(arms [][]int) []Slot {
	var out []Slot
	for c, place := range s.load.cells {
		making := 0
		if s.design.MakingPerCook {
			making = s.load.cookOf[c]
		}
		for _, a := range arms[c] {
			out = append(out, Slot{Arm: a, Cook: place.Cook, Layer: place.Layer, Shelf: None, Making: making})
		}
		for range s.load.blanks[c] {
			out = append(out, Slot{Arm: None, Cook: place.Cook, Layer: place.Layer, Shelf: None, Making: None})
		}
	}
	return out
}

// check says what of the design can not be allotted.
func (d Design) check() error {
	if n := len(d.Arms); n < minArms || n > maxArms {
		return figure.Faultf("arms", "allot 2 to 12 arms; more make several trials", "%d arms are asked for", n)
	}
	jars := 0
	for i, n := range d.Arms {
		if n < 1 {
			return figure.Faultf("arms", "give every arm at least one jar, or leave the arm out", "arm %d has %d jars", i+1, n)
		}
		if n > maxJars-jars {
			return figure.Faultf("arms", "allot them as several trials", "the arms have more than %d jars together", maxJars)
		}
		jars += n
	}
	places, err := d.checkCells()
	if err != nil {
		return err
	}
	blanks, err := d.checkBlanks()
	if err != nil {
		return err
	}
	if jars+blanks > places {
		return figure.Faultf("cells", "add a cook, or take jars off", "%d jars and %d blanks need %d places, and the cooks hold %d: %d too few",
			jars, blanks, jars+blanks, places, jars+blanks-places)
	}
	return d.checkShelves(jars)
}

func (d Design) checkCells() (int, error) {
	if n := len(d.Cells); n < 1 || n > maxCells {
		return 0, figure.Faultf("cells", "name 1 to 500 layers over all cooks", "%d layers are named", n)
	}
	places := 0
	seen := map[[2]int]bool{}
	for _, c := range d.Cells {
		switch {
		case c.Cook < 0 || c.Cook >= maxCells:
			return 0, figure.Faultf("cells", "number the cooks from 0", "a layer is of cook %d", c.Cook)
		case c.Places < 0 || c.Places > 2*maxJars:
			return 0, figure.Faultf("cells", "write how many vessels fit", "layer %d of cook %d has %d places", c.Layer, c.Cook, c.Places)
		case seen[[2]int{c.Cook, c.Layer}]:
			return 0, figure.Faultf("cells", "name every layer of a cook once", "layer %d of cook %d is named twice", c.Layer, c.Cook)
		}
		seen[[2]int{c.Cook, c.Layer}] = true
		places += c.Places
	}
	return places, nil
}

func (d Design) checkBlanks() (int, error) {
	room := make([]int, maxCells)
	for _, c := range d.Cells {
		room[c.Cook] += c.Places
	}
	all := 0
	for cook, n := range d.Blanks {
		switch {
		case n < 0:
			return 0, figure.Faultf("blanks", "write 0 for none", "cook %d has %d blanks", cook, n)
		case n > 0 && (cook >= maxCells || n > room[cook]):
			return 0, figure.Faultf("blanks", "take blanks off, or give the cook more places", "cook %d has %d blanks and fewer places", cook, n)
		}
		all += n
	}
	return all, nil
}

func (d Design) checkShelves(jars int) error {
	if len(d.Shelf) == 0 {
		return nil
	}
	if len(d.Shelf) > maxCells {
		return figure.Faultf("shelves", "allot at most 500 shelves at once", "%d shelves are named", len(d.Shelf))
	}
	places := 0
	for i, n := range d.Shelf {
		if n < 0 || n > 2*maxJars {
			return figure.Faultf("shelves", "write how many jars fit", "shelf %d has %d places", i+1, n)
		}
		places += n
	}
	if places < jars {
		return figure.Faultf("shelves", "add a shelf, or leave shelves out of the draw", "%d jars need %d places, and the shelves hold %d", jars, jars, places)
	}
	return nil
}
