package thermal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pinset/internal/figure"
)

func mustLoad(t *testing.T, in LoadInput) figure.Answer[LoadResult] {
	t.Helper()
	ans, err := Load(in)
	if err != nil {
		t.Fatalf("Load: %v", err)
	}
	checkTimetable(t, in, ans.Result)
	return ans
}

// checkTimetable holds what every timetable must: no jar lost or invented,
// no cook above its places, no cooker twice in a round, no cook past its day.
func checkTimetable(t *testing.T, in LoadInput, r LoadResult) {
	t.Helper()
	cooked, busy := map[string]int{}, map[string]bool{}
	for _, c := range r.Cooks {
		key := fmt.Sprint(c.Cooker, " in round ", c.Round)
		if busy[key] || c.Jars < 1 || c.Jars > c.Places {
			t.Errorf("%s: %+v", key, c)
		}
		busy[key] = true
		if c.StartMin+in.CycleMin > in.DayMin+1e-9 || c.Day > r.Days || c.Round > r.Rounds {
			t.Errorf("a cook past its day: %+v of %+v", c, r)
		}
		for _, l := range c.Load {
			cooked[l.Container] += l.Jars
		}
	}
	for _, f := range r.Refused {
		cooked[f.Container] += f.Jars
	}
	for name, n := range in.Jars {
		if cooked[name] != n {
			t.Errorf("%d of %d %s have a place", cooked[name], n, name)
		}
	}
}

func cooker(name string, capacity, layers map[string]int) LoadCooker {
	return LoadCooker{Name: name, Capacity: capacity, Layers: layers}
}

// 111 jars at 20 a cook are 6 cooks.
func TestLoadOneCooker(t *testing.T) {
	r := mustLoad(t, LoadInput{
		Cookers: []LoadCooker{cooker("A", map[string]int{"pint": 10}, map[string]int{"pint": 2})},
		Jars:    map[string]int{"pint": 111}, CycleMin: 240, DayMin: 600,
	}).Result
	if len(r.Cooks) != 6 || r.Rounds != 6 || r.Minutes != 1440 || r.Days != 3 {
		t.Errorf("%+v", r)
	}
	if last := r.Cooks[5]; last.Jars != 11 || last.Load[0].Layers != 2 || last.Day != 3 || last.StartMin != 240 {
		t.Errorf("last cook %+v", last)
	}
}

// Two cookers and two sizes where taking the best of each round in turn
// wastes one: A takes 8 quarts or 20 pints, B 6 quarts or 10 pints.
func TestLoadFewestRounds(t *testing.T) {
	in := LoadInput{
		Cookers: []LoadCooker{
			cooker("A", map[string]int{"pint": 10, "quart": 8}, map[string]int{"pint": 2, "quart": 1}),
			cooker("B", map[string]int{"pint": 10, "quart": 6}, map[string]int{"pint": 1, "quart": 1}),
		},
		Jars: map[string]int{"pint": 40, "quart": 12}, CycleMin: 180, DayMin: 720,
	}
	ans := mustLoad(t, in)
	if r := ans.Result; r.Rounds != 2 || r.Days != 1 || r.Minutes != 360 || hasCaution(ans.Cautions, "not_proved") {
		t.Errorf("%+v %+v", r, ans.Cautions)
	}
}

// The search is never beaten by trying every way.
func TestLoadFewestRoundsAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 0))
	for trial := range 300 {
		names := []string{"pint", "quart", "bag"}
		in := LoadInput{Jars: map[string]int{}, CycleMin: 60, DayMin: 600}
		for _, n := range names {
			in.Jars[n] = rng.IntN(25)
		}
		for i := range 2 {
			c := cooker(string(rune('A'+i)), map[string]int{}, map[string]int{})
			for _, n := range names {
				c.Capacity[n], c.Layers[n] = 1+rng.IntN(7), 1+rng.IntN(2)
				if trial >= 150 && rng.IntN(3) == 0 { // not made for it, or one at a time
					c.Capacity[n], c.Layers[n] = i, 1
				}
			}
			in.Cookers = append(in.Cookers, c)
		}
		got, want := mustLoad(t, in).Result.Rounds, bruteRounds(in, names)
		if got != want {
			t.Errorf("trial %d, seed 7: %d rounds, %d suffice for %+v", trial, got, want, in)
		}
	}
}

// bruteRounds tries every number of cooks of the first cooker; the second
// takes the rest.
func bruteRounds(in LoadInput, names []string) int {
	place := func(i int, n string) int { return in.Cookers[i].Capacity[n] * in.Cookers[i].Layers[n] }
	for rounds := 0; ; rounds++ {
		for a := 0; a <= rounds; a++ {
			for b := 0; a+b <= rounds; b++ {
				for c := 0; a+b+c <= rounds; c++ {
					second := 0
					for k, n := range []int{a, b, c} {
						left := max(in.Jars[names[k]]-n*place(0, names[k]), 0)
						if room := place(1, names[k]); room > 0 {
							second += ceilDiv(left, room)
						} else if left > 0 && place(0, names[k]) > 0 {
							second = rounds + 1
						}
					}
					if second <= rounds {
						return rounds
					}
				}
			}
		}
	}
}

// Heights: 2 x 130 + 10 mm of divider go under 270 mm, not under 269, and a
// 300 mm bag not at all.
func TestLoadHeights(t *testing.T) {
	in := LoadInput{
		Cookers:   []LoadCooker{{Name: "A", Capacity: map[string]int{"pint": 7, "bag": 2}, Layers: map[string]int{"pint": 2}, HeightMM: ptr(270)}},
		HeightsMM: map[string]float64{"pint": 130, "bag": 300}, DividerMM: 10,
		Jars: map[string]int{"pint": 14, "bag": 2}, CycleMin: 180, DayMin: 720,
	}
	ans := mustLoad(t, in)
	if r := ans.Result; r.Rounds != 1 || len(r.Refused) != 1 || r.Refused[0].Container != "bag" || !hasCaution(ans.Cautions, "refused") {
		t.Errorf("%+v", ans)
	}
	in.Cookers[0].HeightMM = ptr(269)
	ans = mustLoad(t, in)
	if r := ans.Result; r.Rounds != 2 || !hasCaution(ans.Cautions, "fewer_layers") {
		t.Errorf("%+v", ans)
	}
}

// Mixed: a layer of quarts and a layer of half-pints share a cook.
func TestLoadMixed(t *testing.T) {
	in := LoadInput{
		Cookers:        []LoadCooker{{Name: "A", Capacity: map[string]int{"quart": 7, "half": 10}, HeightMM: ptr(300)}},
		HeightsMM:      map[string]float64{"quart": 180, "half": 95},
		OneSizePerCook: new(bool), Jars: map[string]int{"quart": 14, "half": 20}, CycleMin: 180, DayMin: 720,
	}
	ans := mustLoad(t, in)
	if r := ans.Result; r.Rounds != 2 || !hasCaution(ans.Cautions, "mixed_sizes") {
		t.Errorf("%+v", ans)
	}
	in.OneSizePerCook = nil
	if r := mustLoad(t, in).Result; r.Rounds != 3 {
		t.Errorf("one size: %+v", r)
	}
	in.OneSizePerCook, in.HeightsMM = new(bool), nil
	in.Cookers[0].HeightMM, in.Cookers[0].Layers = nil, map[string]int{"quart": 2, "half": 4}
	if r := mustLoad(t, in).Result; r.Rounds != 2 {
		t.Errorf("mixed by share: %+v", r)
	}
}

// A load that the search can not finish is packed all the same, and says so.
func TestLoadSearchGivesUp(t *testing.T) {
	in := LoadInput{Jars: map[string]int{}, CycleMin: 60, DayMin: 600}
	rng := rand.New(rand.NewPCG(3, 0))
	for range 6 {
		in.Cookers = append(in.Cookers, cooker("A"+fmt.Sprint(len(in.Cookers)), map[string]int{}, map[string]int{}))
	}
	for k := range 6 {
		name := fmt.Sprint("size ", k)
		in.Jars[name] = 1900 + rng.IntN(200)
		for _, c := range in.Cookers {
			c.Capacity[name], c.Layers[name] = 3+rng.IntN(9), 1
		}
	}
	ans := mustLoad(t, in)
	if !hasCaution(ans.Cautions, "not_proved") {
		t.Errorf("%d rounds of six sizes in six cookers are said to be proved", ans.Result.Rounds)
	}
}

func TestLoadNothingToCook(t *testing.T) {
	r := mustLoad(t, LoadInput{
		Cookers: []LoadCooker{cooker("A", map[string]int{"pint": 10}, map[string]int{"pint": 2})},
		Jars:    map[string]int{"pint": 0, "tub": 4}, CycleMin: 240, DayMin: 600,
	}).Result
	if r.Rounds != 0 || r.Cooks == nil || r.Days != 0 || len(r.Refused) != 1 {
		t.Errorf("%+v", r)
	}
}

func TestLoadFaults(t *testing.T) {
	ok := func() LoadInput {
		return LoadInput{
			Cookers: []LoadCooker{cooker("A", map[string]int{"pint": 10}, map[string]int{"pint": 2})},
			Jars:    map[string]int{"pint": 1}, CycleMin: 240, DayMin: 600,
		}
	}
	for _, c := range []struct {
		name, field string
		spoil       func(*LoadInput)
	}{
		{"no cooker", "cookers", func(in *LoadInput) { in.Cookers = nil }},
		{"no name", "cookers[0].name", func(in *LoadInput) { in.Cookers[0].Name = " " }},
		{"no jars", "jars", func(in *LoadInput) { in.Jars = nil }},
		{"minus jars", "jars.pint", func(in *LoadInput) { in.Jars["pint"] = -1 }},
		{"no cycle", "cycle_min", func(in *LoadInput) { in.CycleMin = 0 }},
		{"nan cycle", "cycle_min", func(in *LoadInput) { in.CycleMin = math.NaN() }},
		{"short day", "day_min", func(in *LoadInput) { in.DayMin = 200 }},
		{"no layers", "cookers[0].layers.pint", func(in *LoadInput) { in.Cookers[0].Layers = nil }},
		{"minus places", "cookers[0].capacity.pint", func(in *LoadInput) { in.Cookers[0].Capacity["pint"] = -2 }},
		{"minus layers", "cookers[0].layers.pint", func(in *LoadInput) { in.Cookers[0].Layers["pint"] = -2 }},
		{"height in m", "cookers[0].height_mm", func(in *LoadInput) { in.Cookers[0].HeightMM = ptr(0.3) }},
		{"jar in m", "heights_mm.pint", func(in *LoadInput) { in.HeightsMM = map[string]float64{"pint": 0.13} }},
		{"divider", "divider_mm", func(in *LoadInput) { in.DividerMM = -1 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := ok()
			c.spoil(&in)
			_, err := Load(in)
			faultAt(t, err, c.field)
		})
	}
}
