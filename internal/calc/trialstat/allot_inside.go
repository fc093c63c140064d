package trialstat

import "math/bits"

// inside counts and draws the layouts within one group, given how many jars of
// each arm the group holds.
//
// Beyond its rounded-down shares each cell has some jars left to give (fill),
// at most one to an arm, and each arm needs some of them. The jars of a cell
// come in any order, so a choice weighs 1/Π counts!, that is 1/(least+1) for
// each extra jar. Arms are taken one after the other, with the fills as state.
type inside struct {
	arms   int
	steps  []int       // place value of each cell in a state
	size   int         // number of states
	filled []uint32    // by state: the cells that have jars left
	ways   [][]pattern // by class: the sets of cells that can take an extra jar
	order  []int       // class of each arm, classes in turn
	memo   map[string]*insideTables
}

// pattern is a set of cells that give one jar each.
type pattern struct {
	cells  uint32
	size   int // how many
	step   int // what it takes off a state
	weight float64
}

// insideTables are the ways to go on, by arm and state, for one set of needs.
type insideTables struct {
	needs []int
	rest  [][]float64
}

func (t *insideTables) all() float64 { return t.rest[0][len(t.rest[0])-1] }

// maxInside bounds the additions for one set of needs.
const maxInside = 1 << 21

// newInside returns false if the group is too large to count. fills is by cell,
// least and open are by class and cell, members is the number of arms by class.
func newInside(fills []int, least [][]int, open [][]bool, members []int) (*inside, bool) {
	in := &inside{size: 1, memo: map[string]*insideTables{}}
	for q, n := range members {
		in.arms += n
		for range n {
			in.order = append(in.order, q)
		}
	}
	if len(fills) > 12 {
		return nil, false
	}
	for _, f := range fills {
		in.steps = append(in.steps, in.size)
		in.size *= f + 1
		if in.work(len(fills)) > maxInside {
			return nil, false
		}
	}
	in.filled = make([]uint32, in.size)
	for s := range in.filled {
		for c, f := range fills {
			if s/in.steps[c]%(f+1) > 0 {
				in.filled[s] |= 1 << c
			}
		}
	}
	for q := range members {
		in.ways = append(in.ways, in.patterns(least[q], open[q]))
	}
	return in, true
}

// work bounds the additions for one set of needs over so many cells.
func (in *inside) work(cells int) int { return in.arms * in.size << (cells - 1) }

func (in *inside) patterns(least []int, open []bool) []pattern {
	var out []pattern
	for cells := range uint32(1) << len(open) {
		p := pattern{cells: cells, size: bits.OnesCount32(cells), weight: 1}
		able := true
		for c := range open {
			if cells>>c&1 == 0 {
				continue
			}
			able = able && open[c]
			p.step += in.steps[c]
			p.weight /= float64(least[c] + 1)
		}
		if able {
			out = append(out, p)
		}
	}
	return out
}

// tables returns the ways to meet the needs, arms in in.order.
func (in *inside) tables(needs []int) *insideTables {
	key := make([]byte, len(needs))
	for i, n := range needs {
		key[i] = byte(n)
	}
	if t, ok := in.memo[string(key)]; ok {
		return t
	}
	t := &insideTables{needs: append([]int(nil), needs...), rest: make([][]float64, in.arms+1)}
	t.rest[in.arms] = make([]float64, in.size)
	t.rest[in.arms][0] = 1
	for a := in.arms - 1; a >= 0; a-- {
		t.rest[a] = make([]float64, in.size)
		for _, p := range in.ways[in.order[a]] {
			if p.size == needs[a] {
				in.extend(t.rest[a], t.rest[a+1], p)
			}
		}
	}
	in.memo[string(key)] = t
	return t
}

// extend adds to each state the ways to go on after giving an arm pattern p.
func (in *inside) extend(to, from []float64, p pattern) {
	for s := p.step; s < in.size; s++ {
		if in.filled[s]&p.cells == p.cells {
			to[s] += float64(p.weight * from[s-p.step]) // rounded here, so that no machine fuses the two
		}
	}
}

// draw calls give for each arm, in in.order, with the cells that give it a jar.
func (in *inside) draw(t *insideTables, l chance, give func(at int, cells uint32)) {
	state := in.size - 1
	var weights []float64
	for a := range in.arms {
		ways := in.ways[in.order[a]]
		weights = weights[:0]
		for _, p := range ways {
			w := 0.0
			if p.size == t.needs[a] && in.filled[state]&p.cells == p.cells {
				w = float64(p.weight * t.rest[a+1][state-p.step])
			}
			weights = append(weights, w)
		}
		p := ways[l.pick(weights)]
		state -= p.step
		give(a, p.cells)
	}
}
