package app

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// allot gives every jar its arm, cook, layer and shelf: by lot, or as the
// grower placed the arms.
func (p *Plan) allot() error {
	if p.Trial == nil || p.placedByHand() {
		return p.placeByHand()
	}
	p.design = p.designOf()
	var err error
	if p.layout, err = trialstat.Allot(p.design, p.Seed); err != nil {
		return err
	}
	p.Bound = p.layout.Bound
	inCook := armsByCook(p.layout)
	for i, s := range p.layout.Slots {
		slot := PlanSlot{Number: i + 1, Cook: s.Cook + 1, Layer: s.Layer, arm: s.Arm}
		for k, level := range s.Over {
			slot.Over = append(slot.Over, p.Trial.Details.Over[k].Levels[level])
		}
		if s.Shelf >= 0 {
			slot.Shelf = p.input.Shelves[s.Shelf].Name
		}
		p.addSlot(slot, s.Arm == trialstat.None, inCook[s.Cook])
	}
	return nil
}

// armsByCook lists the arms that stand in each cook, in order.
func armsByCook(l trialstat.Layout) map[int][]int {
	out := make(map[int][]int)
	for _, s := range l.Slots {
		if s.Arm != trialstat.None && !slices.Contains(out[s.Cook], s.Arm) {
			out[s.Cook] = append(out[s.Cook], s.Arm)
		}
	}
	for _, arms := range out {
		slices.Sort(arms)
	}
	return out
}

// addSlot appends s. A blank is filled like one arm of its cook after the other, so
// that blanks show the cook for every mix.
func (p *Plan) addSlot(s PlanSlot, blank bool, arms []int) {
	if blank {
		s.Blank, s.arm = true, arms[p.blanks%len(arms)]
		p.blanks++
	} else {
		s.Arm = p.arms[s.arm].Name
	}
	s.MixMade = p.making(s.arm, s.Cook)
	p.Slots = append(p.Slots, s)
}

// making labels the making that fills a jar: one for each recipe and each level of
// what is set on makings, or one for each of these and cook.
func (p *Plan) making(arm, cook int) string {
	recipe := p.arms[arm].recipe
	if recipe.ID == "" {
		return ""
	}
	label := firstOf(p.sharedMaking(), recipe.String())
	if own := p.setOnMaking(arm); own != "" {
		label = recipe.String() + ", " + own
	}
	if p.input.MakePerCook && len(p.input.Cooks) > 1 {
		return fmt.Sprintf("%s%s%d of %d", label, cookOfMaking, cook, len(p.input.Cooks))
	}
	return label
}

// cookOfMaking parts the label of a making from the cook that it is made for.
const cookOfMaking = ", cook "

// setOnMaking says what an arm has of all that is set on makings, besides its
// recipe: "soak 12 h".
func (p *Plan) setOnMaking(arm int) string {
	var out []string
	if p.Trial != nil {
		for _, k := range p.factorsOn(lab.OnMaking) {
			if f := p.Trial.Details.Factors[k]; f.Is != lab.ByRecipe {
				out = append(out, f.Name+" "+p.Trial.Arms[arm].Levels[k])
			}
		}
	}
	return strings.Join(out, ", ")
}

func (p *Plan) designOf() trialstat.Design {
	d := trialstat.Design{Cells: p.cells(), MakingPerCook: p.input.MakePerCook, OnCook: p.levelOn(lab.OnCook), OnShelf: p.levelOn(lab.OnShelf)}
	for _, o := range p.Trial.Details.Over {
		d.Over = append(d.Over, trialstat.Further{Name: o.Is, Levels: len(o.Levels)})
	}
	for range p.arms {
		d.Arms = append(d.Arms, p.input.Jars)
	}
	for range p.input.Cooks {
		d.Blanks = append(d.Blanks, p.input.BlanksPerCook)
	}
	for _, s := range p.input.Shelves {
		d.Shelf = append(d.Shelf, s.Places)
	}
	return d
}

// cells lists the layers of all cooks in load order, the bottom first.
func (p *Plan) cells() []trialstat.Place {
	var cells []trialstat.Place
	for c, cook := range p.input.Cooks {
		for l, n := range cook.Places {
			cells = append(cells, trialstat.Place{Cook: c, Layer: l + 1, Places: n})
		}
	}
	return cells
}

func (p *Plan) placedByHand() bool {
	for _, a := range p.arms {
		if a.cook > 0 || a.layer > 0 {
			return true
		}
	}
	return false
}

// placeByHand loads the cooker as the grower said: arms with a place of their
// own stand there, the others go where there is room, in turn. Blanks take
// the last free places of each cook.
func (p *Plan) placeByHand() error {
	cells := p.cells()
	room := make([]int, len(cells))
	for i, c := range cells {
		room[i] = c.Places
	}
	load := make([][]int, len(cells)) // arms by cell
	for arm, a := range p.arms {
		for range p.input.Jars {
			i := p.cellFor(a, cells, room, load)
			if i < 0 {
				return p.noRoom(a)
			}
			room[i]--
			load[i] = append(load[i], arm)
		}
	}
	for c := range p.input.Cooks {
		for range p.input.BlanksPerCook {
			i := lastRoom(cells, room, c)
			if i < 0 {
				return lab.Invalidf("blanks", "take fewer jars or blanks, or add a layer", "cook %d has no place left for %d blanks", c+1, p.input.BlanksPerCook)
			}
			room[i]--
			load[i] = append(load[i], trialstat.None)
		}
	}
	p.number(cells, load)
	return nil
}

// cellFor returns the emptiest cell that arm a may stand in, -1 if all are full.
func (p *Plan) cellFor(a resolvedArm, cells []trialstat.Place, room []int, load [][]int) int {
	best := -1
	keep := p.input.BlanksPerCook
	for i, c := range cells {
		if room[i] == 0 || a.cook > 0 && c.Cook+1 != a.cook || a.layer > 0 && c.Layer != a.layer {
			continue
		}
		if roomIn(cells, room, c.Cook) <= keep {
			continue
		}
		if best < 0 || len(load[i])*cells[best].Places < len(load[best])*c.Places {
			best = i
		}
	}
	return best
}

func roomIn(cells []trialstat.Place, room []int, cook int) int {
	n := 0
	for i, c := range cells {
		if c.Cook == cook {
			n += room[i]
		}
	}
	return n
}

func lastRoom(cells []trialstat.Place, room []int, cook int) int {
	for i := len(cells) - 1; i >= 0; i-- {
		if cells[i].Cook == cook && room[i] > 0 {
			return i
		}
	}
	return -1
}

func (p *Plan) noRoom(a resolvedArm) error {
	places := 0
	for _, c := range p.cells() {
		if (a.cook == 0 || c.Cook+1 == a.cook) && (a.layer == 0 || c.Layer == a.layer) {
			places += c.Places
		}
	}
	where := "the cooks"
	if a.cook > 0 || a.layer > 0 {
		where = "the place that " + a.Name + " was given"
	}
	return lab.Invalidf("places", "take fewer jars or blanks, or add a layer or a cook",
		"%d jars and %d blanks for each cook do not fit: %s, with %d places", p.input.Jars*len(p.arms), p.input.BlanksPerCook, where, places)
}

// number numbers the jars in load order and puts them on the shelves in turn.
func (p *Plan) number(cells []trialstat.Place, load [][]int) {
	shelf, used := 0, 0
	all := make([]int, len(p.arms))
	for i := range all {
		all[i] = i
	}
	for i, arms := range load {
		for _, arm := range arms {
			s := PlanSlot{Number: len(p.Slots) + 1, Cook: cells[i].Cook + 1, Layer: cells[i].Layer, arm: arm}
			for shelf < len(p.input.Shelves) && used >= p.input.Shelves[shelf].Places {
				shelf, used = shelf+1, 0
			}
			if shelf < len(p.input.Shelves) {
				s.Shelf = p.input.Shelves[shelf].Name
				used++
			}
			p.addSlot(s, arm == trialstat.None, all)
		}
	}
}
