package trialstat

import (
	"cmp"
	"slices"
)

// load says what goes into each cell before any arm is known.
type load struct {
	cells  []Place // regrouped so that the cells of a cook follow each other
	cookOf []int   // running number of the cell's cook, from 0
	blanks []int   // by cell
	jars   [][]int // by cook, by cell: vessels that are not blanks
}

// spreadLoad puts the blanks evenly over the layers of their cooks, and the jars
// evenly over the places left. Which layers take a blank more than the others is
// drawn.
func spreadLoad(d Design, l chance) load {
	out := load{}
	cooks := map[int]int{}
	for _, c := range d.Cells {
		if _, ok := cooks[c.Cook]; !ok {
			cooks[c.Cook] = len(cooks)
		}
	}
	out.cells = slices.Clone(d.Cells)
	slices.SortStableFunc(out.cells, func(a, b Place) int { return cmp.Compare(cooks[a.Cook], cooks[b.Cook]) })
	out.blanks = make([]int, len(out.cells))
	room := make([]int, len(out.cells))
	for i, c := range out.cells {
		out.cookOf = append(out.cookOf, cooks[c.Cook])
		room[i] = c.Places
	}
	for first := 0; first < len(out.cells); {
		last := first
		for last < len(out.cells) && out.cookOf[last] == out.cookOf[first] {
			last++
		}
		if cook := out.cells[first].Cook; cook < len(d.Blanks) {
			spreadBlanks(d.Blanks[cook], room[first:last], out.blanks[first:last], l)
		}
		first = last
	}
	jars := 0
	for _, n := range d.Arms {
		jars += n
	}
	out.jars = make([][]int, len(cooks))
	for i, n := range inProportion(jars, room) {
		out.jars[out.cookOf[i]] = append(out.jars[out.cookOf[i]], n)
	}
	return out
}

// spreadBlanks takes n places out of room and counts them in blanks, evenly as
// far as the places go; the last few go to layers drawn by lot.
func spreadBlanks(n int, room, blanks []int, l chance) {
	for n > 0 {
		var open []int
		for i, r := range room {
			if r > 0 {
				open = append(open, i)
			}
		}
		if n < len(open) {
			open = some(l, open, n)
		}
		for _, i := range open {
			room[i]--
			blanks[i]++
			n--
		}
	}
}

// inProportion splits n whole things over rooms in proportion to their size, by
// largest remainder, the earlier room first among equals. No room is overfull
// if n is not more than all of them hold.
func inProportion(n int, room []int) []int {
	all := 0
	for _, r := range room {
		all += r
	}
	out := make([]int, len(room))
	order := make([]int, len(room))
	left := n
	for i, r := range room {
		out[i] = n * r / all
		order[i] = i
		left -= out[i]
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(n*room[j]%all, n*room[i]%all) })
	for _, i := range order[:left] {
		out[i]++
	}
	return out
}

// putOnShelves draws the shelf of every jar: each shelf gets its fair share of
// every arm, rounded down or up, and of the layouts that do, each is equally
// likely. Blanks stay off the shelves.
func putOnShelves(slots []Slot, d Design, l chance) {
	jars := 0
	for _, n := range d.Arms {
		jars += n
	}
	loads := inProportion(jars, d.Shelf)
	groups := make([][]int, len(loads))
	for i, n := range loads {
		groups[i] = []int{n}
	}
	counts := newCounter(newPlan(d.Arms, groups)).draw(l)
	byArm := make([][]int, len(d.Arms))
	for shelf, of := range counts {
		for a, n := range of {
			for range n {
				byArm[a] = append(byArm[a], shelf)
			}
		}
	}
	for a := range byArm {
		shuffle(l, byArm[a])
	}
	for i := range slots {
		if a := slots[i].Arm; a != None {
			slots[i].Shelf = byArm[a][0]
			byArm[a] = byArm[a][1:]
		}
	}
}
