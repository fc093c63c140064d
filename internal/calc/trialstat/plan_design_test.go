package trialstat

import (
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

// Power of 24 and 36 jars an arm over several cooks at +20 %, CV 25 %, SD between
// cooks 0.10, by simulation in R (one difference for each cook; 2 standard errors
// of its 10 000 throws are 1 point, and it prints whole per cent).
func TestRunsAgainstSimulation(t *testing.T) {
	for total, want := range map[int]map[int]float64{
		24: {2: 0.12, 3: 0.22, 4: 0.31, 6: 0.44, 8: 0.51},
		36: {3: 0.25, 6: 0.54, 9: 0.67, 12: 0.73},
	} {
		a, err := Runs(RunsInput{JarsPerArm: total, CVPct: 25})
		if err != nil {
			t.Fatal(err)
		}
		met := 0
		for _, r := range a.Result.Runs {
			if p, ok := want[r.Cooks]; ok {
				met++
				if math.Abs(r.Power-p) > 0.02 {
					t.Errorf("%d jars over %d cooks: power %.3f, want %.2f", total, r.Cooks, r.Power, p)
				}
			}
		}
		if met != len(want) {
			t.Errorf("%d jars: %d of %d ways", total, met, len(want))
		}
	}
}

// Without own jars the defaults stand; many own jars outweigh them; one jar an arm
// tells no spread.
func TestSpread(t *testing.T) {
	none, err := Spread(SpreadInput{})
	if err != nil || none.Result.CVPct != 25 || none.Result.LossPct != 10 || none.Result.OwnCVPct != nil || none.Result.OwnLossPct != nil {
		t.Fatalf("%+v, %v", none.Result, err)
	}
	// Two jars of 90 and 110: CV² = 200/100² = 0.02 on 1 df; (0.02 + 10·0.0625)/11.
	one, err := Spread(SpreadInput{Arms: []PastArm{{Inoculated: 10, Lost: 5, Grams: []float64{90, 110}}}})
	if want := 100 * math.Sqrt((0.02+0.625)/11); err != nil || math.Abs(one.Result.CVPct-want) > 1e-9 {
		t.Errorf("CV %v, want %v (%v)", one.Result.CVPct, want, err)
	}
	if one.Result.LossPct != 30 || one.Result.LossOwnWeight != 0.5 {
		t.Errorf("loss %v by %v", one.Result.LossPct, one.Result.LossOwnWeight)
	}
	var many []PastArm
	for range 500 {
		many = append(many, PastArm{Inoculated: 3, Grams: []float64{90, 100, 110}})
	}
	full, err := Spread(SpreadInput{Arms: many})
	if err != nil || math.Abs(full.Result.CVPct-10) > 0.3 || !(full.Result.LossPct < 0.1) {
		t.Errorf("%+v, %v", full.Result, err)
	}
	for _, bad := range []SpreadInput{
		{Arms: []PastArm{{Inoculated: 1, Lost: 2}}},
		{Arms: []PastArm{{Inoculated: 1, Grams: []float64{math.NaN()}}}},
		{Arms: []PastArm{{Inoculated: 1, Grams: []float64{0}}}},
		{DefaultCV: new(float64)},
	} {
		var fault *figure.Fault
		if _, err := Spread(bad); !errors.As(err, &fault) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// Two arms over two rows and two columns of one unit each: the layouts within the
// bound are the two Latin squares, and each comes half the time.
func TestAssignIsUniform(t *testing.T) {
	in := AssignInput{Arms: []int{2, 2}, Nuisances: []Nuisance{{"layer", []int{0, 0, 1, 1}}, {"person", []int{0, 1, 0, 1}}}}
	first := 0
	for seed := range uint64(1000) {
		a, err := Assign(in, seed)
		if err != nil {
			t.Fatal(err)
		}
		if a.Procedure != Rejection || a.Slack != 0 {
			t.Fatalf("%+v", a)
		}
		if a.Arm[0] != a.Arm[3] || a.Arm[1] != a.Arm[2] || a.Arm[0] == a.Arm[1] {
			t.Fatalf("%v is outside the bound", a.Arm)
		}
		first += a.Arm[0]
	}
	if first < 437 || first > 563 { // 500 ± 4 standard deviations of 15.8
		t.Errorf("one of two layouts came %d times of 1000", first)
	}
}

// Seven nuisances over 96 jars of eight arms: the chain finds a layout, each share
// rounded, and the same seed gives the same.
func TestAssignManyNuisances(t *testing.T) {
	in := AssignInput{Arms: []int{12, 12, 12, 12, 12, 12, 12, 12}}
	for k, name := range []string{"cook", "layer", "shelf", "culture lot", "making", "day", "person"} {
		n := Nuisance{Name: name}
		for u := range 96 {
			n.Levels = append(n.Levels, (u*(k+2)+u/(k+5))%(k+2))
		}
		in.Nuisances = append(in.Nuisances, n)
	}
	a, err := Assign(in, 7)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := Assign(in, 7)
	for u := range a.Arm {
		if a.Arm[u] != b.Arm[u] {
			t.Fatal("the same seed gave another layout")
		}
	}
	for _, n := range in.Nuisances {
		counts := map[[2]int]int{}
		levels := map[int]int{}
		for u, l := range n.Levels {
			counts[[2]int{l, a.Arm[u]}]++
			levels[l]++
		}
		for l, in := range levels {
			for arm := range 8 {
				fair := float64(in) / 8
				if c := float64(counts[[2]int{l, arm}]); c < math.Floor(fair)-float64(a.Slack) || c > math.Ceil(fair)+float64(a.Slack) {
					t.Errorf("%s %d holds %g of arm %d, fair %g, slack %d", n.Name, l, c, arm, fair, a.Slack)
				}
			}
		}
	}
	if a.Procedure != Exchange {
		t.Errorf("drawn by %s", a.Procedure)
	}
	t.Logf("slack %d", a.Slack)
}

func TestAssignFaults(t *testing.T) {
	for name, in := range map[string]AssignInput{
		"one arm":       {Arms: []int{3}},
		"empty arm":     {Arms: []int{3, 0}},
		"too many":      {Arms: []int{3, 3000}},
		"short levels":  {Arms: []int{1, 1}, Nuisances: []Nuisance{{"cook", []int{0}}}},
		"negative":      {Arms: []int{1, 1}, Nuisances: []Nuisance{{"cook", []int{0, -2}}}},
		"negative wish": {Arms: []int{1, 1}, Slack: -1},
	} {
		var fault *figure.Fault
		if _, err := Assign(in, 1); !errors.As(err, &fault) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, err := (Assignment{Arm: []int{1, 0}}).OnJars([]int{0, 0, 1}); err != nil || got[0] != 1 || got[2] != 0 {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := (Assignment{Arm: []int{1}}).OnJars([]int{1}); err == nil {
		t.Error("a jar of no unit was taken")
	}
}

func TestCrossing(t *testing.T) {
	names, levels, err := Crossing([][]string{{"oak", "beech"}, {"0 %", "10 %", "20 %"}})
	if err != nil || len(names) != 6 || names[4] != "beech, 10 %" || levels[4][0] != 1 || levels[4][1] != 1 {
		t.Errorf("%v %v %v", names, levels, err)
	}
	for _, bad := range [][][]string{nil, {{"a"}}, {{"a", "b", "c", "d"}, {"a", "b", "c", "d"}}, {{"a", "b"}, {"a", "b"}, {"a", "b"}, {"a", "b"}}} {
		if _, _, err := Crossing(bad); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}
