package trialstat

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// Hold (on the cook) by broth (on the jar): 4 arms, 4 cooks of two layers.
var splitCooks = Design{
	Arms: []int{6, 6, 6, 6}, OnCook: []int{0, 0, 1, 1}, Blanks: []int{1, 1, 1, 1},
	Cells: []Place{{0, 1, 4}, {0, 2, 4}, {1, 1, 4}, {1, 2, 4}, {2, 1, 4}, {2, 2, 4}, {3, 1, 4}, {3, 2, 4}},
}

// Whole cooks have one level each, every level its share of the cooks, and within
// a cook both arms of its level have their share.
func TestAllotUnits(t *testing.T) {
	for seed := range uint64(50) {
		l, err := Allot(splitCooks, seed)
		if err != nil {
			t.Fatal(err)
		}
		level, arms := map[int]int{}, map[[2]int]int{}
		count := make([]int, 4)
		blanks := 0
		for _, s := range l.Slots {
			if s.Arm == None {
				blanks++
				continue
			}
			of := splitCooks.OnCook[s.Arm]
			if was, ok := level[s.Cook]; ok && was != of {
				t.Fatalf("seed %d: cook %d has both levels", seed, s.Cook)
			}
			level[s.Cook] = of
			arms[[2]int{s.Cook, s.Arm}]++
			count[s.Arm]++
		}
		cooks := 0
		for _, of := range level {
			cooks += of
		}
		if cooks != 2 || blanks != 4 || !reflect.DeepEqual(count, []int{6, 6, 6, 6}) || l.Procedure != ByUnit {
			t.Fatalf("seed %d: levels %v, arms %v, %d blanks, %s", seed, level, count, blanks, l.Procedure)
		}
		for at, n := range arms {
			if n != 3 {
				t.Errorf("seed %d: cook and arm %v have %d jars, want 3", seed, at, n)
			}
		}
		again, err := Allot(splitCooks, seed)
		if err != nil || !reflect.DeepEqual(again, l) {
			t.Errorf("seed %d gives another layout the second time", seed)
		}
	}
}

// Each of the 6 ways to deal 4 cooks to 2 levels comes as often as the others:
// χ² on 5 degrees of freedom, 20.5 is passed once in 1000.
func TestAllotUnitsUniform(t *testing.T) {
	d := Design{Arms: []int{2, 2}, OnCook: []int{0, 1}, Cells: []Place{{0, 1, 1}, {1, 1, 1}, {2, 1, 1}, {3, 1, 1}}}
	seen := map[string]int{}
	const draws = 3000
	for seed := range uint64(draws) {
		l, err := Allot(d, seed)
		if err != nil {
			t.Fatal(err)
		}
		key := ""
		for _, s := range l.Slots {
			key += whole(s.Arm)
		}
		seen[key]++
	}
	chi := 0.0
	for _, n := range seen {
		chi += math.Pow(float64(n)-draws/6, 2) / (draws / 6)
	}
	if len(seen) != 6 || chi > 20.5 {
		t.Errorf("%d layouts, χ² %.1f: %v", len(seen), chi, seen)
	}
}

// Person and lot of culture are spread over the arms at once with cook and layer.
func TestAllotOver(t *testing.T) {
	d := Design{
		Arms: []int{8, 8, 8}, Cells: []Place{{0, 1, 6}, {0, 2, 6}, {1, 1, 6}, {1, 2, 6}},
		Over: []Further{{"person", 2}, {"culture lot", 3}}, Shelf: []int{12, 12},
	}
	for seed := range uint64(20) {
		l, err := Allot(d, seed)
		if err != nil {
			t.Fatal(err)
		}
		var arm, person, lot, cell []int
		for _, s := range l.Slots {
			if len(s.Over) != 2 || s.Shelf == None {
				t.Fatalf("seed %d: slot %+v", seed, s)
			}
			arm, person, lot, cell = append(arm, s.Arm), append(person, s.Over[0]), append(lot, s.Over[1]), append(cell, s.Cook*2+s.Layer)
		}
		for name, of := range map[string][]int{"person": person, "lot": lot, "cell": cell} {
			n := map[[2]int]int{}
			for i := range arm {
				n[[2]int{arm[i], of[i]}]++
			}
			for at, k := range n {
				fair := map[string]float64{"person": 4, "lot": 8.0 / 3, "cell": 2}[name]
				if math.Abs(float64(k)-fair) > 2 { // rounding, and a slack of one
					t.Errorf("seed %d: arm %d has %d jars of %s %d", seed, at[0], k, name, at[1])
				}
			}
		}
		if !strings.Contains(l.Bound, "person and culture lot") {
			t.Fatalf("bound is %q", l.Bound)
		}
	}
}

// Whole shelves have one level each.
func TestAllotOnShelf(t *testing.T) {
	d := Design{Arms: []int{5, 5}, OnShelf: []int{0, 1}, Cells: []Place{{0, 1, 10}}, Shelf: []int{3, 3, 3, 3}}
	for seed := range uint64(20) {
		l, err := Allot(d, seed)
		if err != nil {
			t.Fatal(err)
		}
		level := map[int]int{}
		for _, s := range l.Slots {
			if was, ok := level[s.Shelf]; ok && was != s.Arm {
				t.Fatalf("seed %d: shelf %d has both arms", seed, s.Shelf)
			}
			level[s.Shelf] = s.Arm
		}
		if len(level) != 4 {
			t.Errorf("seed %d: %d shelves are used", seed, len(level))
		}
	}
}

// A redraw deals the cooks anew; blanks and loads stay.
func TestRedrawUnits(t *testing.T) {
	again, err := Redraw(splitCooks, 7)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for rep := range 40 {
		arms := again(rep)
		key := ""
		for _, i := range []int{0, 6, 12, 18} { // the first jar of each cook
			key += whole(splitCooks.OnCook[arms[i]])
		}
		seen[key] = true
		if len(arms) != 24 || !reflect.DeepEqual(again(rep), arms) {
			t.Fatalf("draw %d is not of its number alone", rep)
		}
	}
	if len(seen) != 6 {
		t.Errorf("40 redraws deal the cooks in %d of 6 ways", len(seen))
	}
}

func TestAllotUnitsFaults(t *testing.T) {
	for want, d := range map[string]Design{
		"2 levels are set on whole cooks, and there are 1": {Arms: []int{2, 2}, OnCook: []int{0, 1}, Cells: []Place{{0, 1, 4}}},
		"2 levels are set on whole shelves":                {Arms: []int{2, 2}, OnShelf: []int{0, 1}, Cells: []Place{{0, 1, 4}}, Shelf: []int{4}},
		"do not hold its 4 jars":                           {Arms: []int{4, 4}, OnCook: []int{0, 1}, Cells: []Place{{0, 1, 3}, {1, 1, 6}}},
		"1 levels are given for 2 arms":                    {Arms: []int{2, 2}, OnCook: []int{0}, Cells: []Place{{0, 1, 4}}},
		"no arm has level 0 of 2":                          {Arms: []int{2, 2}, OnCook: []int{1, 1}, Cells: []Place{{0, 1, 4}}},
		"can not be spread over 1 of person":               {Arms: []int{2, 2}, Over: []Further{{"person", 1}}, Cells: []Place{{0, 1, 4}}},
		"the shelves of one level do not hold":             {Arms: []int{3, 3}, OnShelf: []int{0, 1}, Cells: []Place{{0, 1, 6}}, Shelf: []int{2, 6}},
		"an arm has level -1":                              {Arms: []int{2, 2, 2}, OnCook: []int{0, 1, -1}, Cells: []Place{{0, 1, 6}, {1, 1, 6}}},
	} {
		_, err := Allot(d, 1)
		var f *figure.Fault
		if !errors.As(err, &f) || !strings.Contains(f.What, want) || f.Mend == "" {
			t.Errorf("%s: %v", want, err)
		}
	}
}
