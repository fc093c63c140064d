package trialstat

import (
	"errors"
	"fmt"
	"reflect"
	"testing"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// cooker returns the cells of cooks alike, by places of each layer.
func cooker(cooks int, layers ...int) []Place {
	var out []Place
	for c := range cooks {
		for l, n := range layers {
			out = append(out, Place{Cook: c, Layer: l, Places: n})
		}
	}
	return out
}

func equalArms(arms, jars int) []int {
	out := make([]int, arms)
	for i := range out {
		out[i] = jars
	}
	return out
}

// designs are edges and ordinary cases; every law below is tried on each.
var designs = map[string]Design{
	"two by six, two layers":       {Arms: []int{6, 6}, Cells: cooker(1, 6, 6)},
	"blanks unbalance the layers":  {Arms: []int{6, 6}, Blanks: []int{1}, Cells: cooker(1, 7, 7)},
	"odd loads":                    {Arms: []int{5, 7, 4}, Blanks: []int{1, 2}, Cells: cooker(2, 4, 5, 3)},
	"layers smaller than arms":     {Arms: equalArms(7, 6), Blanks: []int{1, 0, 1}, Cells: cooker(3, 5, 5, 5)},
	"one jar an arm":               {Arms: equalArms(12, 1), Cells: cooker(1, 6, 6)},
	"one cell":                     {Arms: []int{3, 2}, Cells: cooker(1, 9)},
	"spare places":                 {Arms: []int{4, 4}, Cells: cooker(2, 9, 7)},
	"more blanks than one a layer": {Arms: []int{4, 4}, Blanks: []int{7}, Cells: cooker(1, 6, 2, 9)},
	"a layer full of blanks":       {Arms: []int{2, 2}, Blanks: []int{3}, Cells: []Place{{0, 0, 1}, {0, 1, 6}}},
	"no place in a layer":          {Arms: []int{2, 2}, Cells: cooker(1, 0, 4)},
	"cooks in mixed order":         {Arms: []int{5, 5}, Cells: []Place{{1, 0, 3}, {0, 0, 4}, {1, 1, 3}}},
	"shelves":                      {Arms: []int{5, 5, 5}, Cells: cooker(1, 8, 8), Shelf: []int{6, 4, 8}},
	"all sizes differ":             {Arms: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}, Cells: cooker(5, 6, 6, 5)},
	"large":                        {Arms: equalArms(12, 50), Blanks: []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1}, Cells: cooker(10, 21, 20, 20), Shelf: equalArms(6, 110)},
}

// Every layout has each arm's jars, each cook's blanks, room for all, and in
// every cook, layer and shelf the fair share rounded down or up.
func TestAllotHoldsItsBound(t *testing.T) {
	for name, d := range designs {
		for seed := range uint64(20) {
			l, err := Allot(d, seed)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if fault := breach(d, l); fault != "" {
				t.Errorf("%s, seed %d (%s): %s", name, seed, l.Procedure, fault)
			}
		}
	}
}

// breach names the first rule that a layout breaks.
func breach(d Design, l Layout) string {
	type key struct {
		kind        string
		cook, layer int
	}
	jars := map[key]int{}
	arms := map[key][]int{}
	total := 0
	all := make([]int, len(d.Arms))
	count := func(k key, arm int) {
		jars[k]++
		if arms[k] == nil {
			arms[k] = make([]int, len(d.Arms))
		}
		arms[k][arm]++
	}
	blanks := map[int]int{}
	held := map[[2]int]int{}
	for _, s := range l.Slots {
		held[[2]int{s.Cook, s.Layer}]++
		if s.Arm == None {
			blanks[s.Cook]++
			continue
		}
		total++
		all[s.Arm]++
		count(key{"cook", s.Cook, 0}, s.Arm)
		count(key{"layer", s.Cook, s.Layer}, s.Arm)
		if len(d.Shelf) > 0 {
			count(key{"shelf", s.Shelf, 0}, s.Arm)
		}
	}
	if !reflect.DeepEqual(all, d.Arms) {
		return fmt.Sprintf("arms have %v jars, want %v", all, d.Arms)
	}
	for _, c := range d.Cells {
		if held[[2]int{c.Cook, c.Layer}] > c.Places {
			return fmt.Sprintf("layer %d of cook %d is overfull", c.Layer, c.Cook)
		}
	}
	for c, n := range d.Blanks {
		if blanks[c] != n {
			return fmt.Sprintf("cook %d has %d blanks, want %d", c, blanks[c], n)
		}
	}
	for k, n := range jars {
		if k.kind == "shelf" && n > d.Shelf[k.cook] {
			return fmt.Sprintf("shelf %d is overfull", k.cook)
		}
		for a, x := range arms[k] {
			if fair := d.Arms[a] * n; x < fair/total || x > (fair+total-1)/total {
				return fmt.Sprintf("%v has %d jars of arm %d, fair is %d/%d", k, x, a, fair, total)
			}
		}
	}
	return ""
}

// Chi-square of the layouts drawn against all there are, each equally likely.
// The seeds are fixed, so this passes or fails once and for all; the bar is the
// upper 1 in 10 000.
func TestAllotIsUniform(t *testing.T) {
	cases := map[string]Design{
		"two arms, two layers":    {Arms: []int{3, 3}, Cells: cooker(1, 3, 3)},
		"unequal arms":            {Arms: []int{2, 4}, Cells: cooker(1, 3, 3)},
		"three arms, odd layers":  {Arms: []int{2, 2, 2}, Cells: cooker(1, 4, 2)},
		"three unequal arms":      {Arms: []int{1, 2, 4}, Cells: cooker(1, 4, 3)},
		"two cooks of two layers": {Arms: []int{4, 4}, Cells: []Place{{0, 0, 2}, {0, 1, 3}, {1, 0, 2}, {1, 1, 1}}},
		"four cooks":              {Arms: []int{2, 2, 2, 2}, Cells: cooker(4, 2)},
		"smaller than the arms":   {Arms: []int{2, 2, 1, 1}, Cells: []Place{{0, 0, 2}, {0, 1, 1}, {1, 0, 3}}},
	}
	for name, d := range cases {
		all := layouts(d)
		for _, p := range []Procedure{Counted, Shuffled} {
			t.Run(fmt.Sprintf("%s/%s", name, p), func(t *testing.T) {
				each := min(60, 20_000/len(all))
				seen := drawn(t, d, p, each*len(all))
				checkUniform(t, seen, all, float64(each))
			})
		}
	}
}

func checkUniform(t *testing.T, seen map[string]int, all map[string]bool, each float64) {
	t.Helper()
	var chi float64
	for k := range all {
		chi += (float64(seen[k]) - each) * (float64(seen[k]) - each) / each
	}
	for k := range seen {
		if !all[k] {
			t.Fatalf("layout %s is not within the bound", k)
		}
	}
	if p := stats.ChiSquaredUpper(chi, float64(len(all)-1)); p < 1e-4 {
		t.Errorf("chi-square %.1f over %d layouts, p = %.2g", chi, len(all), p)
	}
}

// drawn counts the layouts of many draws, each from its own seed.
func drawn(t *testing.T, d Design, p Procedure, draws int) map[string]int {
	t.Helper()
	s, err := newDraw(d, 0)
	if err != nil {
		t.Fatal(err)
	}
	if s.counts.procedure() != Counted {
		t.Fatalf("procedure is %s, want every small design counted", s.counts.procedure())
	}
	if p == Shuffled {
		s.counts = shortChain(s.plan)
	}
	seen := map[string]int{}
	for seed := range draws {
		seen[fmt.Sprint(s.arms(newChance(uint64(seed), streamArms)))]++
	}
	return seen
}

// shortChain is the shuffled draw with a twenty-fifth of its steps.
func shortChain(p plan) *shuffled {
	s := newShuffled(p)
	s.steps /= 25
	return s
}

// layouts lists all labelled layouts within the bound of a design without
// blanks or spare places, by going through every order of the arms.
func layouts(d Design) map[string]bool {
	s, err := newDraw(d, 0)
	if err != nil {
		panic(err)
	}
	left := append([]int(nil), d.Arms...)
	out := map[string]bool{}
	var now []int
	var next func()
	next = func() {
		if len(now) == s.plan.total {
			if l, cells := asLayout(s, now); breach(d, l) == "" {
				out[fmt.Sprint(cells)] = true
			}
			return
		}
		for a := range left {
			if left[a] > 0 {
				left[a]--
				now = append(now, a)
				next()
				now = now[:len(now)-1]
				left[a]++
			}
		}
	}
	next()
	return out
}

func asLayout(s *draw, arms []int) (Layout, [][]int) {
	var cells [][]int
	for _, g := range s.plan.groups {
		for _, n := range g.jars {
			cells = append(cells, arms[:n])
			arms = arms[n:]
		}
	}
	return Layout{Slots: s.slots(cells)}, cells
}

// The jars of an arm go to the shelves each in every way alike, too.
func TestAllotShelvesAreUniform(t *testing.T) {
	d := Design{Arms: []int{3, 2}, Cells: cooker(1, 5), Shelf: []int{3, 2}}
	const each = 200
	seen, all := map[string]int{}, map[string]bool{}
	for seed := range uint64(each * 6 * 10) {
		l, err := Allot(d, seed)
		if err != nil {
			t.Fatal(err)
		}
		var where []string
		for i, s := range l.Slots {
			where = append(where, fmt.Sprintf("%d:%d", s.Arm, l.Slots[i].Shelf))
		}
		seen[fmt.Sprint(where)]++
	}
	// 10 orders of the arms; shelf 0 holds 3 jars, of them 1.8 or so of arm 0
	// and 1.2 of arm 1: 1 or 2 and 1 or 2, which leaves (2,1) with 3·2 ways and
	// (1,2) with 3·1.
	for k := range seen {
		all[k] = true
	}
	if len(all) != 10*9 {
		t.Fatalf("%d kinds of layout drawn, want 90", len(all))
	}
	checkUniform(t, seen, all, float64(each*60)/90)
}

func TestAllotSameSeedSameLayout(t *testing.T) {
	for name, d := range designs {
		a, err := Allot(d, 7)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		b, _ := Allot(d, 7)
		c, _ := Allot(d, 8)
		if !reflect.DeepEqual(a, b) {
			t.Errorf("%s: seed 7 gave two layouts", name)
		}
		if reflect.DeepEqual(a.Slots, c.Slots) && name != "one jar an arm" && len(a.Slots) > 8 {
			t.Errorf("%s: seeds 7 and 8 gave one layout", name)
		}
	}
}

// Redraws hold to the same bound, keep the blanks, and depend on rep alone.
func TestRedraw(t *testing.T) {
	for name, d := range designs {
		l, err := Allot(d, 3)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		again, err := Redraw(d, 3)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		first := append([]int(nil), again(5)...)
		for rep := range 10 {
			arms := again(rep)
			put := Layout{Slots: append([]Slot(nil), l.Slots...)}
			for i, at := 0, 0; i < len(put.Slots); i++ {
				if put.Slots[i].Arm != None {
					put.Slots[i].Arm = arms[at]
					at++
				}
			}
			check := d
			check.Shelf = nil
			if fault := breach(check, put); fault != "" {
				t.Errorf("%s, rep %d: %s", name, rep, fault)
			}
		}
		if !reflect.DeepEqual(first, again(5)) {
			t.Errorf("%s: draw 5 changed when asked again", name)
		}
	}
}

func TestRedrawIsUniform(t *testing.T) {
	d := Design{Arms: []int{2, 4}, Cells: cooker(1, 3, 3)}
	again, err := Redraw(d, 1)
	if err != nil {
		t.Fatal(err)
	}
	all, seen := layouts(d), map[string]int{}
	for rep := range 100 * len(all) {
		arms := again(rep)
		seen[fmt.Sprint([][]int{arms[:3], arms[3:]})]++
	}
	checkUniform(t, seen, all, 100)
}

// Where the draw is shuffled, redraws start from one place and still spread over
// all layouts.
func TestRedrawShuffled(t *testing.T) {
	d := Design{Arms: []int{1, 2, 4}, Cells: cooker(1, 4, 3)}
	s, err := newDraw(d, 1)
	if err != nil {
		t.Fatal(err)
	}
	chain := newShuffled(s.plan)
	s.counts = chain
	chain.again(newChance(1, 1))
	seen := map[string]int{}
	all := layouts(d)
	for rep := range 60 * len(all) {
		seen[fmt.Sprint(s.arms(newChance(9, uint64(rep))))]++
	}
	checkUniform(t, seen, all, 60)
}

func TestAllotFaults(t *testing.T) {
	cells := cooker(1, 6, 6)
	cases := map[string]struct {
		d     Design
		field string
		what  string
	}{
		"one arm":        {Design{Arms: []int{6}, Cells: cells}, "arms", "1 arms are asked for"},
		"thirteen arms":  {Design{Arms: equalArms(13, 1), Cells: cooker(1, 20)}, "arms", "13 arms are asked for"},
		"empty arm":      {Design{Arms: []int{6, 0}, Cells: cells}, "arms", "arm 2 has 0 jars"},
		"negative arm":   {Design{Arms: []int{-1, 6}, Cells: cells}, "arms", "arm 1 has -1 jars"},
		"too few places": {Design{Arms: []int{6, 6}, Blanks: []int{1}, Cells: cells}, "cells", "12 jars and 1 blanks need 13 places, and the cooks hold 12: 1 too few"},
		"no cells":       {Design{Arms: []int{6, 6}}, "cells", "0 layers are named"},
		"layer twice":    {Design{Arms: []int{1, 1}, Cells: []Place{{0, 0, 2}, {0, 0, 2}}}, "cells", "layer 0 of cook 0 is named twice"},
		"negative place": {Design{Arms: []int{1, 1}, Cells: []Place{{0, 0, -2}, {0, 1, 9}}}, "cells", "layer 0 of cook 0 has -2 places"},
		"negative cook":  {Design{Arms: []int{1, 1}, Cells: []Place{{-1, 0, 9}}}, "cells", "a layer is of cook -1"},
		"huge":           {Design{Arms: []int{1 << 62, 1 << 62}, Cells: cells}, "arms", "the arms have more than 100000 jars together"},
		"blanks nowhere": {Design{Arms: []int{1, 1}, Blanks: []int{0, 2}, Cells: cells}, "blanks", "cook 1 has 2 blanks and fewer places"},
		"less than none": {Design{Arms: []int{1, 1}, Blanks: []int{-1}, Cells: cells}, "blanks", "cook 0 has -1 blanks"},
		"short shelves":  {Design{Arms: []int{6, 6}, Cells: cells, Shelf: []int{5, 5}}, "shelves", "12 jars need 12 places, and the shelves hold 10"},
	}
	for name, c := range cases {
		_, err := Allot(c.d, 1)
		var f *figure.Fault
		if !errors.As(err, &f) {
			t.Errorf("%s: error is %v, want a fault", name, err)
			continue
		}
		if f.Field != c.field || f.What != c.what || f.Mend == "" {
			t.Errorf("%s: fault is %q %q %q", name, f.Field, f.What, f.Mend)
		}
	}
}

// A making per cook gives every arm one making for each cook that it is in.
func TestAllotMakings(t *testing.T) {
	d := Design{Arms: []int{4, 4}, Blanks: []int{1}, Cells: cooker(2, 3, 3), MakingPerCook: true}
	l, err := Allot(d, 2)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range l.Slots {
		if want := s.Cook; s.Arm != None && s.Making != want || s.Arm == None && s.Making != None {
			t.Errorf("slot %+v: making is %d", s, s.Making)
		}
	}
	d.MakingPerCook = false
	l, _ = Allot(d, 2)
	for _, s := range l.Slots {
		if s.Arm != None && s.Making != 0 {
			t.Errorf("slot %+v: making is %d, want 0", s, s.Making)
		}
	}
}

// Pinned by the first run of procedure version 1. If this changes, layouts that
// growers have stored can no longer be drawn again from their seed: raise
// procedureVersion.
func TestAllotGolden(t *testing.T) {
	counted, err := Allot(Design{Arms: []int{5, 7, 4}, Blanks: []int{1, 2}, Cells: cooker(2, 4, 5, 3), Shelf: []int{10, 8}}, 20260101)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := print(counted), "counted 00:1/1 00:1/0 00:0/0 01:2/0 01:0/0 01:1/1 01:0/0 02:1/0 02:2/0 02:-1/-1 10:2/0 10:0/1 10:1/0 11:2/1 11:1/1 11:1/1 11:-1/-1 12:0/1 12:-1/-1 "; got != want {
		t.Errorf("counted layout\n got %s\nwant %s", got, want)
	}
	s := newShuffled(newPlan([]int{5, 7, 4}, [][]int{{3, 4, 2}, {3, 4}}))
	if got, want := fmt.Sprint(s.draw(newChance(20260101, streamArms))), "[[1 2 0] [2 1 1] [0 1 1] [1 1 1] [1 2 1]]"; got != want {
		t.Errorf("shuffled counts\n got %s\nwant %s", got, want)
	}
}

func print(l Layout) string {
	out := string(l.Procedure) + " "
	for _, s := range l.Slots {
		out += fmt.Sprintf("%d%d:%d/%d ", s.Cook, s.Layer, s.Arm, s.Shelf)
	}
	return out
}

func BenchmarkAllot(b *testing.B) {
	for name, d := range designs {
		b.Run(name, func(b *testing.B) {
			for i := range b.N {
				l, err := Allot(d, uint64(i))
				if err != nil {
					b.Fatal(err)
				}
				if i == 0 {
					b.Log(l.Procedure)
				}
			}
		})
	}
}

// Where layouts are too many to list, shuffling and counting must agree on how
// often a cell rounds an arm up.
func TestShuffledAgreesWithCounted(t *testing.T) {
	const draws = 4000
	for _, arms := range [][]int{equalArms(7, 6), {3, 9, 5, 7, 9, 9}} {
		p := newPlan(arms, [][]int{{5, 4, 5}, {5, 5, 5}, {5, 4, 4}})
		counted, ok := newCounted(p)
		if !ok {
			t.Fatal("the design is too large to count")
		}
		counts := map[Procedure][][]int{Counted: nil, Shuffled: nil}
		for i, c := range []counter{counted, shortChain(p)} {
			sum := make([][]int, p.cells)
			for rep := range draws {
				for cell, of := range c.draw(newChance(uint64(i), uint64(rep))) {
					if sum[cell] == nil {
						sum[cell] = make([]int, len(arms))
					}
					for a, n := range of {
						sum[cell][a] += n
					}
				}
			}
			counts[c.procedure()] = sum
		}
		for cell := range p.cells {
			for a := range arms {
				// The difference of two means of 0/1 values has an SD of at most
				// 1/√(2·4000) = 0.011; five of them over 63 cells is never chance.
				d := float64(counts[Counted][cell][a]-counts[Shuffled][cell][a]) / draws
				if d > 0.056 || d < -0.056 {
					t.Errorf("arms %v: cell %d rounds arm %d up %.3f more often when counted", arms, cell, a, d)
				}
			}
		}
	}
}
