package thermal

import (
	"strings"
	"testing"
)

// plainLoad is a load with all that can be given.
func plainLoad() LoadInput {
	return LoadInput{
		Cookers: []LoadCooker{{
			Name: "A", Capacity: map[string]int{"pint": 10}, Layers: map[string]int{"pint": 2}, BoreMM: ptr(300), HeightMM: ptr(300),
		}},
		HeightsMM: map[string]float64{"pint": 130}, WidthsMM: map[string]float64{"pint": 80}, ClearanceMM: ptr(5),
		Jars: map[string]int{"pint": 1}, CycleMin: 240, DayMin: 600,
	}
}

func TestLoadLimits(t *testing.T) {
	at := func(set func(in *LoadInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := plainLoad()
			set(&in, v)
			return checkLoad(in)
		}
	}
	for _, l := range []limits{
		{"cycle_min", 1e-3, 2880, at(func(in *LoadInput, v float64) { in.CycleMin, in.DayMin = v, 2880 })},
		{"day_min", 240, 2880, at(func(in *LoadInput, v float64) { in.DayMin = v })},
		{"divider_mm", 0, 100, at(func(in *LoadInput, v float64) { in.DividerMM = v })},
		{"clearance_mm", 0, 100, at(func(in *LoadInput, v float64) { in.ClearanceMM = &v })},
		{"heights_mm.pint", 10, 1000, at(func(in *LoadInput, v float64) { in.HeightsMM["pint"] = v })},
		{"widths_mm.pint", 10, 1000, at(func(in *LoadInput, v float64) { in.WidthsMM["pint"] = v })},
		{"cookers[0].bore_mm", 80, 2000, at(func(in *LoadInput, v float64) { in.Cookers[0].BoreMM = &v })},
		{"cookers[0].height_mm", 50, 3000, at(func(in *LoadInput, v float64) { in.Cookers[0].HeightMM = &v })},
	} {
		if l.field == "cycle_min" { // above 0 is enough
			faultAt(t, l.check(0), l.field)
			faultAt(t, l.check(2880.001), "cycle_min")
			for _, v := range []float64{l.least, l.most} {
				if err := l.check(v); err != nil {
					t.Error(err)
				}
			}
			continue
		}
		l.run(t)
	}
	for _, c := range []struct {
		field string
		most  int
		set   func(in *LoadInput, n int)
	}{
		{"jars.pint", 100000, func(in *LoadInput, n int) { in.Jars["pint"] = n }},
		{"cookers[0].capacity.pint", 10000, func(in *LoadInput, n int) { in.Cookers[0].Capacity["pint"] = n }},
		{"cookers[0].layers.pint", 10000, func(in *LoadInput, n int) { in.Cookers[0].Layers["pint"] = n }},
	} {
		for n, ok := range map[int]bool{-1: false, 0: true, c.most: true, c.most + 1: false} {
			in := plainLoad()
			c.set(&in, n)
			err := checkLoad(in)
			if ok && err != nil {
				t.Errorf("%s of %d is refused: %v", c.field, n, err)
			} else if !ok {
				faultAt(t, err, c.field)
			}
		}
	}
}

// A cooker is named by its number, from 1; a layer that does not go in says
// why, with its size.
func TestLoadSaysWhich(t *testing.T) {
	in := plainLoad()
	in.Cookers = append(in.Cookers, LoadCooker{})
	if _, err := Load(in); err == nil || !strings.Contains(err.Error(), "cooker 2 has no name") {
		t.Errorf("a second cooker without a name: %v", err)
	}
	in = plainLoad()
	in.HeightsMM["pint"] = 300.5
	r := mustLoad(t, in).Result
	if len(r.Refused) != 1 || !strings.Contains(r.Refused[0].Why, "300.5 mm high") {
		t.Errorf("half a millimetre too high: %+v", r)
	}
	in.HeightsMM["pint"] = 300
	if r := mustLoad(t, in).Result; len(r.Refused) != 0 || r.Cooks[0].Places != 10 {
		t.Errorf("just as high as the pot: %+v", r)
	}
}

// Layers by hand: n of h and n - 1 dividers between them under the lid.
func TestLoadLayersByHand(t *testing.T) {
	for _, c := range []struct {
		room, high, divider float64
		want                int
	}{{300, 100, 0, 3}, {299.9, 100, 0, 2}, {310, 100, 5, 3}, {309.9, 100, 5, 2}, {305, 100, 5, 2}, {100, 100, 50, 1}} {
		in := plainLoad()
		in.Cookers[0].Layers, in.Cookers[0].HeightMM = nil, &c.room
		in.HeightsMM["pint"], in.DividerMM, in.Jars["pint"] = c.high, c.divider, 1000
		if got := mustLoad(t, in).Result.Cooks[0].Places; got != 10*c.want {
			t.Errorf("%g mm with plates of %g mm in %g mm: %d places, want %d layers of 10", c.high, c.divider, c.room, got, c.want)
		}
	}
}

// The timetable by hand: cooks of 4 h in a day of 10 h are two a day, at 0 and
// at 240 min; five make three days, and a day just as long as two holds two.
func TestLoadTimetableByHand(t *testing.T) {
	in := plainLoad()
	in.Jars["pint"] = 95 // five cooks of 20
	for _, day := range []float64{480, 600, 719} {
		in.DayMin = day
		r := mustLoad(t, in).Result
		if r.Rounds != 5 || r.Days != 3 || r.Minutes != 1200 {
			t.Errorf("a day of %g min: %+v", day, r)
		}
		for i, c := range r.Cooks {
			if c.Round != i+1 || c.Day != i/2+1 || c.StartMin != float64(i%2)*240 {
				t.Errorf("cook %d: %+v", i, c)
			}
		}
	}
	in.DayMin = 720
	for i, c := range mustLoad(t, in).Result.Cooks {
		if c.Day != i/3+1 || c.StartMin != float64(i%3)*240 {
			t.Errorf("three a day, cook %d: %+v", i, c)
		}
	}
	in.DayMin = 479
	if r := mustLoad(t, in).Result; r.Days != 5 {
		t.Errorf("a minute short of two cooks: %+v", r)
	}
}

// Five circles of a pot of 300 mm stand in it with 5 mm between them, as long
// as nobody says otherwise; the gap is common practice, no source.
func TestLoadUsualGap(t *testing.T) {
	for width, want := range map[float64]int{104.2: 5, 104.3: 4} { // (300 - 5)/(width + 5) against 2.701302
		in := plainLoad()
		in.Cookers[0].Capacity, in.ClearanceMM, in.WidthsMM["pint"] = nil, nil, width
		if got := mustLoad(t, in).Result.Cooks[0].Places; got != 2*want {
			t.Errorf("jars of %g mm: %d places, want %d a layer", width, got, want)
		}
	}
}

// Layers just as high as the pot, in tenths of a millimetre, all count: what
// binary fractions leave over is let go.
func TestLoadLayersInTenths(t *testing.T) {
	for tenths := 1001; tenths < 1100; tenths++ {
		for n := 1; n <= 7; n++ {
			in := plainLoad()
			in.Cookers[0].Layers, in.Cookers[0].HeightMM = nil, ptr(float64(n*tenths)/10)
			in.HeightsMM["pint"], in.Jars["pint"] = float64(tenths)/10, 1000
			for _, one := range []bool{true, false} {
				in.OneSizePerCook = &one
				if got := mustLoad(t, in).Result.Cooks[0].Places; got != 10*n {
					t.Fatalf("%d layers of %g mm in %g mm: %d places", n, float64(tenths)/10, float64(n*tenths)/10, got)
				}
			}
		}
	}
}

// A greedy packing of the first size that fits gives both cookers the wrong
// one; one round is enough.
func TestLoadOneRoundIsEnough(t *testing.T) {
	in := LoadInput{
		Cookers: []LoadCooker{
			cooker("A", map[string]int{"pint": 10, "quart": 10}, map[string]int{"pint": 1, "quart": 1}),
			cooker("B", map[string]int{"pint": 10, "quart": 6}, map[string]int{"pint": 1, "quart": 1}),
		},
		Jars: map[string]int{"pint": 10, "quart": 10}, CycleMin: 180, DayMin: 720,
	}
	if r := mustLoad(t, in).Result; r.Rounds != 1 {
		t.Errorf("%+v", r)
	}
}

// Mixed: a layer that is a hair too high does not go on top, the last jar
// goes in by itself, one size is proved and two are not; and where no height
// is known a layer has its share of the pot.
func TestLoadMixedByHand(t *testing.T) {
	in := LoadInput{
		Cookers:        []LoadCooker{{Name: "A", Capacity: map[string]int{"quart": 7, "half": 10}, HeightMM: ptr(300)}},
		HeightsMM:      map[string]float64{"quart": 180, "half": 120},
		OneSizePerCook: new(bool), Jars: map[string]int{"quart": 8, "half": 20}, CycleMin: 180, DayMin: 720,
	}
	ans := mustLoad(t, in)
	if ans.Result.Rounds != 2 || !hasCaution(ans.Cautions, "not_proved") {
		t.Errorf("just as high as the pot: %+v", ans.Result)
	}
	in.HeightsMM["half"] = 120.5
	if r := mustLoad(t, in).Result; r.Rounds != 3 {
		t.Errorf("half a millimetre too high: %+v", r)
	}
	in.DividerMM, in.HeightsMM["half"] = 1, 119 // and none on the topmost
	if r := mustLoad(t, in).Result; r.Rounds != 2 {
		t.Errorf("with a plate between: %+v", r)
	}
	in.Jars = map[string]int{"quart": 8}
	ans = mustLoad(t, in)
	if ans.Result.Rounds != 2 || hasCaution(ans.Cautions, "not_proved") || hasCaution(ans.Cautions, "mixed_sizes") {
		t.Errorf("one size: %+v", ans)
	}
	in = LoadInput{
		Cookers:        []LoadCooker{cooker("A", map[string]int{"bottle": 1, "tube": 1}, map[string]int{"bottle": 2, "tube": 50})},
		OneSizePerCook: new(bool), Jars: map[string]int{"bottle": 1, "tube": 30}, CycleMin: 180, DayMin: 720,
	}
	r := mustLoad(t, in).Result
	if r.Rounds != 2 || r.Cooks[0].Jars != 26 || r.Cooks[1].Jars != 5 {
		t.Errorf("half for the bottle, half for 25 tubes: %+v", r)
	}
	in.Cookers[0].Layers["bottle"] = 1 // all of it
	ans = mustLoad(t, in)
	if r := ans.Result; r.Rounds != 2 || r.Cooks[0].Jars != 1 {
		t.Errorf("a bottle that takes all: %+v", r)
	}
	if first := ans.Working[0]; first.Formula != "1 per layer x 1 layers" || first.Value != 1 {
		t.Errorf("%+v", first)
	}
}

// A count of none goes before an estimate, and what no size tells says so;
// without the height of pot or jar the layers are as they were said; a load
// that fits and fills its cook has no word of fewer layers or of a part load.
func TestLoadByWhatIsKnown(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*LoadInput)
		says  string // why it is refused
	}{
		{"counted as none", func(in *LoadInput) { in.Cookers[0].Capacity["pint"] = 0 }, "no cooker has a capacity"},
		{"no bore", func(in *LoadInput) { in.Cookers[0].Capacity, in.Cookers[0].BoreMM = nil, nil }, "no cooker has a capacity"},
		{"no width", func(in *LoadInput) { in.Cookers[0].Capacity, in.WidthsMM = nil, nil }, "no cooker has a capacity"},
		{"too wide", func(in *LoadInput) { in.Cookers[0].Capacity, in.WidthsMM["pint"] = nil, 291 }, "291 mm wide, it does not go into A with 300 mm and a gap of 5 mm"},
	} {
		in := plainLoad()
		c.spoil(&in)
		if r := mustLoad(t, in).Result; len(r.Refused) != 1 || !strings.Contains(r.Refused[0].Why, c.says) {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
	for _, spoil := range []func(*LoadInput){
		func(in *LoadInput) { in.Cookers[0].HeightMM = nil },
		func(in *LoadInput) { in.HeightsMM = nil },
	} {
		in := plainLoad()
		spoil(&in)
		in.Cookers[0].Layers["pint"], in.Jars["pint"] = 3, 30
		for _, one := range []bool{true, false} {
			in.OneSizePerCook = &one
			ans := mustLoad(t, in)
			if len(ans.Result.Cooks) != 1 || ans.Result.Cooks[0].Places != 30 || hasCaution(ans.Cautions, "part_load") {
				t.Errorf("three layers as said: %+v", ans)
			}
		}
	}
	in := plainLoad()
	for said, shortened := range map[int]bool{1: false, 2: false, 3: true} {
		in.Cookers[0].Layers["pint"], in.Jars["pint"] = said, 9
		ans := mustLoad(t, in)
		if hasCaution(ans.Cautions, "fewer_layers") != shortened || !hasCaution(ans.Cautions, "part_load") {
			t.Errorf("%d layers said of 2: %+v", said, ans.Cautions)
		}
	}
}
