package trialstat

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func planOf(t *testing.T, in PlanInput) PlanResult {
	t.Helper()
	a, err := Plan(in)
	if err != nil {
		t.Fatal(err)
	}
	return a.Result
}

// A unit of one jar, with nothing between units, is a jar: the power is that of
// jars on the log scale.
func TestPlanUnitsOfOneJar(t *testing.T) {
	zero := 0.0
	for _, n := range []int{2, 6, 12} {
		jars := planOf(t, PlanInput{Arms: 2, JarsPerArm: n})
		units := planOf(t, PlanInput{Arms: 2, JarsPerArm: n, Units: &PlanUnits{Word: "cook", Many: "cooks", Each: n, Jars: 1, Apart: &zero}})
		if math.Abs(*jars.Power-*units.Power) > 1e-12 || math.Abs(*jars.DetectablePct-*units.DetectablePct) > 1e-9 {
			t.Errorf("%d: power %v and %v, detectable %v and %v", n, *jars.Power, *units.Power, *jars.DetectablePct, *units.DetectablePct)
		}
	}
	// Published, for jars: 6 against 6 at CV 25 % notice +20 % in 21 of 100 (R 4.2.2,
	// power.t.test on the log scale).
	if p := *planOf(t, PlanInput{Arms: 2, JarsPerArm: 6}).Power; math.Abs(p-0.21) > 0.005 {
		t.Errorf("power of 6 against 6 is %v", p)
	}
}

// More jars in a cook help less and less; more cooks go on helping. One cook to a
// level tells nothing.
func TestPlanUnits(t *testing.T) {
	power := func(each int, jars float64) *float64 {
		return planOf(t, PlanInput{Arms: 2, JarsPerArm: 12, Units: &PlanUnits{Word: "cook", Many: "cooks", Each: each, Jars: jars}}).Power
	}
	if !(*power(2, 12) < *power(3, 8) && *power(3, 8) < *power(4, 6) && *power(4, 6) < *power(6, 4)) {
		t.Error("the same jars in more cooks do not say more")
	}
	// Jars without end leave what cooks differ by: τ, 0.10.
	if got, want := *power(3, 1e5), noticed(math.Log(1.2)/0.10, 3, 1, 0.05); math.Abs(got-want) > 1e-4 {
		t.Errorf("100000 jars in each of 3 cooks notice %v, want %v", got, want)
	}
	one, err := Plan(PlanInput{Arms: 2, JarsPerArm: 12, Units: &PlanUnits{Word: "cook", Many: "cooks", Each: 1, Jars: 12}})
	if err != nil || one.Result.Power != nil || !strings.Contains(one.Result.Sentence, "With one cook to a level no difference could be judged") || one.Result.UnitsForMatters == nil {
		t.Errorf("one cook: %+v, %v", one.Result, err)
	}
	if n := *one.Result.UnitsForMatters; !(*power(n, 12) >= 0.8 && *power(n-1, 12) < 0.8) {
		t.Errorf("%d cooks are said to be enough", n)
	}
	few, _ := Plan(PlanInput{Arms: 2, JarsPerArm: 12, Units: &PlanUnits{Word: "shelf", Many: "shelves", Each: 3, Jars: 4}})
	found := false
	for _, c := range few.Cautions {
		found = found || c.Code == "few_units" && strings.Contains(c.Text, "1 of 10 deals") // 2 of 20
	}
	if !found {
		t.Errorf("three shelves: %+v", few.Cautions)
	}
	for _, bad := range []PlanUnits{{Each: 0, Jars: 1}, {Each: 2, Jars: 0}, {Each: 2, Jars: math.NaN()}} {
		var f *figure.Fault
		if _, err := Plan(PlanInput{Arms: 2, JarsPerArm: 6, Units: &bad}); !errors.As(err, &f) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// An efficiency E counts like E times the jars, but for the degrees of freedom.
func TestPlanEfficiency(t *testing.T) {
	e := 0.5555555555555556
	half := planOf(t, PlanInput{Arms: 2, JarsPerArm: 90, Efficiency: &e})
	full := planOf(t, PlanInput{Arms: 2, JarsPerArm: 50})
	if math.Abs(*half.Power-*full.Power) > 0.002 { // degrees of freedom 178 and 98
		t.Errorf("90 jars at 5/9 notice %v, 50 jars %v", *half.Power, *full.Power)
	}
	if !(*half.JarsForMatters > *full.JarsForMatters*9/5-3) {
		t.Errorf("jars needed %d at 5/9, %d at 1", *half.JarsForMatters, *full.JarsForMatters)
	}
	none := 0.0
	r := planOf(t, PlanInput{Arms: 2, JarsPerArm: 50, Efficiency: &none})
	if r.Power != nil || r.JarsForMatters != nil || !strings.Contains(r.Sentence, "moves with the arms") {
		t.Errorf("efficiency 0: %+v", r)
	}
	for _, bad := range []float64{-0.1, 2.1, math.NaN()} {
		if _, err := Plan(PlanInput{Arms: 2, JarsPerArm: 5, Efficiency: &bad}); err == nil {
			t.Errorf("an efficiency of %v was taken", bad)
		}
	}
}

// Published: for 6 usable jars in both arms with a chance of 90 % start 8, 10 and 12
// at a loss of 10, 20 and 30 %; for 12 start 16, 18 and 22 (R 4.2.2, pbinom).
func TestPlanJarsLeft(t *testing.T) {
	for _, c := range []struct {
		started int
		loss    float64
		left    int
	}{{8, 10, 6}, {10, 20, 6}, {12, 30, 6}, {16, 10, 12}, {18, 20, 12}, {22, 30, 12}, {7, 10, 5}} {
		r := planOf(t, PlanInput{Arms: 2, JarsPerArm: c.started, LossPct: &c.loss})
		if r.LeftJars == nil || *r.LeftJars != c.left {
			t.Errorf("of %d at %g %% are left %v, want %d", c.started, c.loss, r.LeftJars, c.left)
		}
	}
	all := 99.0
	if r := planOf(t, PlanInput{Arms: 2, JarsPerArm: 2, LossPct: &all}); r.LeftJars != nil {
		t.Errorf("of 2 at 99 %% are left %d", *r.LeftJars)
	}
}

// Published: cooks for 80 % at τ 0.10 with 3, 4 and 6 jars of an arm in each; the
// simulation and the noncentral t of R 4.2.2 agree.
func TestRunsEnough(t *testing.T) {
	for _, c := range []struct {
		cv, effect float64
		cooks      [3]int
	}{{15, 20, [3]int{8, 8, 7}}, {25, 20, [3]int{14, 12, 10}}, {15, 30, [3]int{6, 5, 5}}, {25, 30, [3]int{8, 7, 6}}} {
		for i, jars := range []int{3, 4, 6} {
			a, err := Runs(RunsInput{JarsPerArm: 2 * jars, Cooks: 2, CVPct: c.cv, EffectPct: &c.effect})
			if err != nil || a.Result.Enough == nil || a.Result.Enough.Jars != jars || a.Result.Enough.Cooks != c.cooks[i] {
				t.Errorf("CV %g, +%g %%, %d jars: %+v, want %d cooks (%v)", c.cv, c.effect, jars, a.Result.Enough, c.cooks[i], err)
			}
		}
	}
	four, _ := Runs(RunsInput{JarsPerArm: 4, CVPct: 25})
	prime, _ := Runs(RunsInput{JarsPerArm: 3, CVPct: 25})
	if strings.Count(four.Result.Sentence, "2 cooks of 2") != 1 || strings.Contains(prime.Result.Sentence, "More cooks") {
		t.Errorf("%s / %s", four.Result.Sentence, prime.Result.Sentence)
	}
}

// Per jar picked, losses leave fewer jars and no zeros.
func TestPlanPicked(t *testing.T) {
	loss := 25.0
	got := planOf(t, PlanInput{Arms: 2, JarsPerArm: 16, LossPct: &loss, Primary: PerPicked})
	want := planOf(t, PlanInput{Arms: 2, JarsPerArm: 12})
	if *got.Power != *want.Power || *got.JarsForMatters <= *want.JarsForMatters {
		t.Errorf("16 with a quarter lost notice %v, 12 notice %v; %d and %d to start", *got.Power, *want.Power, *got.JarsForMatters, *want.JarsForMatters)
	}
	if _, err := Plan(PlanInput{Arms: 2, JarsPerArm: 16, Primary: "sold"}); err == nil {
		t.Error("jars are counted per sold")
	}
}
