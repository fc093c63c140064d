package trialstat

import (
	"math"
	"strings"
	"testing"
)

// grid makes rows from counts: arm by arm, level by level of one factor.
func grid(set func(*CompareRow, Label), levels []string, counts map[string][]int) []CompareRow {
	var rows []CompareRow
	for _, arm := range []string{"A", "B", "C", "D"} {
		for k, n := range counts[arm] {
			for range n {
				r := CompareRow{Arm: Label(arm)}
				set(&r, Label(levels[k]))
				rows = append(rows, r)
			}
		}
	}
	return rows
}

func inLayer(r *CompareRow, l Label) { r.Layer = l }
func inCook(r *CompareRow, l Label)  { r.Cook = l }

// Efficiencies of designs from R 4.2.2 (rank and generalised inverse of block
// and arm columns), under 0.75 only: those above are not aliased.
func TestAliasEfficiency(t *testing.T) {
	cases := map[string]struct {
		rows []CompareRow
		want map[string]float64 // "B-A": efficiency
	}{
		"balanced":    {grid(inLayer, []string{"bottom", "top"}, map[string][]int{"A": {3, 3}, "B": {3, 3}}), nil},
		"confounded":  {grid(inLayer, []string{"bottom", "top"}, map[string][]int{"A": {6, 0}, "B": {0, 6}}), map[string]float64{"B-A": 0}},
		"5 and 1":     {grid(inLayer, []string{"bottom", "top"}, map[string][]int{"A": {5, 1}, "B": {1, 5}}), map[string]float64{"B-A": 0.555555555555556}},
		"4v2 and 3v3": {grid(inLayer, []string{"bottom", "top"}, map[string][]int{"A": {4, 3}, "B": {2, 3}}), nil},
		"AB CD": {
			grid(inCook, []string{"1", "2"}, map[string][]int{"A": {3, 0}, "B": {3, 0}, "C": {0, 3}, "D": {0, 3}}),
			map[string]float64{"C-A": 0, "D-A": 0, "C-B": 0, "D-B": 0},
		},
		"AB BC CD": {
			grid(inCook, []string{"1", "2", "3"}, map[string][]int{"A": {3, 0, 0}, "B": {3, 3, 0}, "C": {0, 3, 3}, "D": {0, 0, 3}}),
			map[string]float64{"C-A": 0.375, "D-A": 0.333333333333334, "C-B": 0.5, "D-B": 0.375},
		},
	}
	for name, c := range cases {
		got, err := Alias(AliasInput{Rows: c.rows})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		found := map[string]float64{}
		for _, a := range got.Full {
			found[strings.Join(a.Arms, "-")] = 0
		}
		for _, a := range got.Partly {
			found[strings.Join(a.Arms, "-")] = a.Efficiency
		}
		if len(found) != len(c.want) {
			t.Errorf("%s: found %v, want %v", name, found, c.want)
		}
		for pair, want := range c.want {
			if e, ok := found[pair]; !ok || math.Abs(e-want) > 1e-12 {
				t.Errorf("%s: efficiency of %s is %g (%t), want %g", name, pair, e, ok, want)
			}
		}
	}
}

// What is looked at: each recorded factor but those the arms differ in, with
// two levels or more, not one for every jar, and only jars that have it.
func TestAliasFactors(t *testing.T) {
	base := grid(inLayer, []string{"bottom", "top"}, map[string][]int{"A": {2, 2}, "B": {2, 2}})
	cases := map[string]struct {
		set    func(i int, r *CompareRow)
		differ []string
		full   string
		partly string
	}{
		"nothing":              {func(int, *CompareRow) {}, nil, "", ""},
		"one level":            {func(_ int, r *CompareRow) { r.Cook = "1" }, nil, "", ""},
		"shelf":                {func(_ int, r *CompareRow) { r.Shelf = r.Arm }, nil, "shelf", ""},
		"culture":              {func(_ int, r *CompareRow) { r.Culture = r.Arm }, []string{"recipe"}, "culture", ""},
		"culture on purpose":   {func(_ int, r *CompareRow) { r.Culture, r.LC = r.Arm, r.Arm }, []string{"culture"}, "", ""},
		"day and person":       {func(_ int, r *CompareRow) { r.Day, r.Person = r.Arm, r.Arm }, nil, "day person", ""},
		"one for every jar":    {func(i int, r *CompareRow) { r.Room = Label(whole(i)) }, nil, "", ""},
		"recorded for A only":  {func(_ int, r *CompareRow) { r.Cook = map[Label]Label{"A": "1"}[r.Arm] }, nil, "", ""},
		"A in two, B unknown":  {func(i int, r *CompareRow) { r.Cook = map[Label]Label{"A": Label(whole(i % 2))}[r.Arm] }, nil, "", ""},
		"one jar not recorded": {func(i int, r *CompareRow) { r.Shelf = map[bool]Label{true: r.Arm}[i > 0] }, nil, "shelf", ""},
		"partly": {func(i int, r *CompareRow) {
			r.Shelf = map[bool]Label{true: "S1", false: "S2"}[(i > 0) == (r.Arm == "B")]
		}, nil, "", "shelf"},
		"cook and layer add up": {func(_ int, r *CompareRow) {
			// A bottom and B top in cook 1, the other way in cook 2: parted by the
			// sum of both effects, though no cell holds both arms.
			r.Cook = map[bool]Label{true: "1", false: "2"}[(r.Layer == "bottom") == (r.Arm == "A")]
		}, nil, "", ""},
		"layers named by their cook": {func(i int, r *CompareRow) {
			// Layers 1-2 in cook 1 and 3-4 in cook 2, A in 1 and 3: no layer holds both.
			r.Cook = Label(whole(i/2%2 + 1))
			r.Layer = r.Cook + "/" + r.Arm
		}, nil, "layer", ""},
	}
	for name, c := range cases {
		rows := append([]CompareRow(nil), base...)
		for i := range rows {
			c.set(i, &rows[i])
		}
		got, err := Alias(AliasInput{Rows: rows, ArmsDifferIn: c.differ})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if f := factorsOf(got.Full); f != c.full {
			t.Errorf("%s: fully aliased %q, want %q", name, f, c.full)
		}
		if f := factorsOf(got.Partly); f != c.partly {
			t.Errorf("%s: partly aliased %q, want %q", name, f, c.partly)
		}
	}
}

func factorsOf(all []Aliasing) string {
	var out []string
	for _, a := range all {
		out = append(out, a.Factor)
	}
	return strings.Join(out, " ")
}

// Cook and layer each overlap with both arms, but the arms follow from the two
// together: every jar of A is where cook effect plus layer effect is even.
func TestAliasCookAndLayerTogether(t *testing.T) {
	var rows []CompareRow
	put := func(arm, cook, layer Label) {
		for range 2 {
			rows = append(rows, CompareRow{Arm: arm, Cook: cook, Layer: layer})
		}
	}
	// A is cook 1 bottom, B is cook 2 top; C ties nothing but itself to either.
	// Cook alone: A and C in cook 1, B and C in cook 2. Layer alone: A and C at
	// the bottom, B and C on top. Together: C is in cook 1 top and in cook 2
	// bottom only, so A − B is cook plus layer, and C tells their difference.
	put("A", "1", "bottom")
	put("B", "2", "top")
	put("C", "1", "top")
	put("C", "2", "bottom")
	got, err := Alias(AliasInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	if f := factorsOf(got.Full); f != "cook+layer cook+layer cook+layer" {
		t.Errorf("fully aliased: %q, want cook+layer for all three pairs", f)
	}
}

func TestAliasRepair(t *testing.T) {
	cases := map[string]struct {
		levels []string
		a, b   []int
		want   string
	}{
		"fully":     {[]string{"bottom", "top"}, []int{6, 0}, []int{0, 6}, "swap 3 B jars of the top layer with 3 A jars of the bottom layer"},
		"numbers":   {[]string{"1", "2"}, []int{4, 0}, []int{0, 4}, "swap 2 B jars of layer 2 with 2 A jars of layer 1"},
		"one jar":   {[]string{"1", "2"}, []int{3, 0}, []int{0, 2}, "swap 1 B jar of layer 2 with 1 A jar of layer 1"},
		"three":     {[]string{"low", "mid", "top"}, []int{4, 0, 0}, []int{0, 4, 4}, "swap 1 B jar of the mid layer with 1 A jar of the low layer and 1 B jar of the top layer with 1 A jar of the low layer"},
		"too mixed": {[]string{"1", "2", "3", "4", "5", "6", "7", "8"}, []int{2, 2, 2, 2, 0, 0, 0, 0}, []int{0, 0, 0, 0, 2, 2, 2, 2}, "spread both arms evenly over the layers, by lot"},
	}
	for name, c := range cases {
		rows := grid(inLayer, c.levels, map[string][]int{"A": c.a, "B": c.b})
		got, err := Alias(AliasInput{Rows: rows})
		if err != nil {
			t.Fatal(err)
		}
		all := append(got.Full, got.Partly...)
		if len(all) != 1 || all[0].Repair != c.want {
			t.Errorf("%s: repair is %+v, want %q", name, all, c.want)
		}
	}
}

// After the swaps that a repair names, both arms have their fair share of every
// level, rounded down or up.
func TestSwapsRepair(t *testing.T) {
	l := newChance(5, 5)
	for range 2000 {
		counts := make([][2]int, 1+l.below(5))
		var all [2]int
		for k := range counts {
			counts[k] = [2]int{l.below(6), l.below(6)}
			all[0], all[1] = all[0]+counts[k][0], all[1]+counts[k][1]
		}
		if all[0] == 0 || all[1] == 0 {
			continue
		}
		before := append([][2]int(nil), counts...)
		for _, w := range swapsOver(counts) {
			counts[w.from][0] -= w.jars
			counts[w.to][0] += w.jars
			counts[w.from][1] += w.jars
			counts[w.to][1] -= w.jars
		}
		for k, n := range counts {
			for side := range n {
				share := all[side] * (n[0] + n[1])
				if total := all[0] + all[1]; n[side] < share/total || n[side] > (share+total-1)/total {
					t.Fatalf("%v becomes %v: level %d is off its share", before, counts, k)
				}
			}
		}
	}
}

// What a repair asks for, the allotment gives: no layer or cook that it drew is
// aliased with the arms.
func TestAliasOfAllotment(t *testing.T) {
	for _, name := range []string{"two by six, two layers", "blanks unbalance the layers", "odd loads", "more blanks than one a layer", "cooks in mixed order", "large"} {
		for seed := range uint64(5) {
			l, err := Allot(designs[name], seed)
			if err != nil {
				t.Fatal(err)
			}
			got, err := Alias(AliasInput{Rows: drawnRows(l, 0, 1)})
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Full) > 0 {
				t.Errorf("%s, seed %d: %+v", name, seed, got.Full)
			}
		}
	}
}
