package trialstat

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
)

func planOver(t *testing.T, in PlanInput) PlanResult {
	t.Helper()
	a, err := Plan(in)
	if err != nil {
		t.Fatal(err)
	}
	return a.Result
}

// Simulated: 24 jars an arm over 3, 4, 6 and 8 cooks, a true 20 %, a spread of 25 %, a
// difference that varies by 0.10 from cook to cook, judged by one difference of
// logarithms for each cook: 22, 31, 44 and 51 of 100 (20 000 trials each, a point of
// sampling error).
func TestPlanOverCooksAgainstSimulation(t *testing.T) {
	cv, effect := 25.0, 20.0
	for cooks, want := range map[int]float64{3: 0.22, 4: 0.31, 6: 0.44, 8: 0.51} {
		r := planOver(t, PlanInput{Arms: 2, JarsPerArm: 24, CVPct: &cv, MattersPct: &effect, Cooks: cooks})
		if math.Abs(*r.Power-want) > 0.011 {
			t.Errorf("%d cooks: %.3f, simulated %.2f", cooks, *r.Power, want)
		}
		if !strings.HasPrefix(r.Sentence, "Over ") || r.CooksForMatters == nil {
			t.Errorf("%d cooks: %s", cooks, r.Sentence)
		}
	}
}

// Simulated in the same way: cooks for 80 of 100, of 3, 4 and 6 jars an arm in each.
func TestPlanCooksForMatters(t *testing.T) {
	for _, c := range []struct {
		cv, effect float64
		want       [3]int
	}{{15, 20, [3]int{8, 8, 7}}, {25, 20, [3]int{14, 12, 10}}, {15, 30, [3]int{6, 5, 5}}, {25, 30, [3]int{8, 7, 6}}} {
		for k, jars := range []int{3, 4, 6} {
			r := planOver(t, PlanInput{Arms: 2, JarsPerArm: 4 * jars, CVPct: &c.cv, MattersPct: &c.effect, Cooks: 4})
			if r.CooksForMatters == nil || *r.CooksForMatters != c.want[k] {
				t.Errorf("CV %g, %g %%, %d jars: %v cooks, want %d", c.cv, c.effect, jars, r.CooksForMatters, c.want[k])
			}
		}
	}
}

// Laws: two cooks are planned jar by jar; what is detectable is noticed in 80 of 100;
// more cooks of as many jars show more, and so does the model of more arms.
func TestPlanOverCooksLaws(t *testing.T) {
	cv := 20.0
	two := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, CVPct: &cv, Cooks: 2})
	if one := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, CVPct: &cv}); *two.Power != *one.Power || two.CooksForMatters != nil {
		t.Errorf("two cooks: %+v", two)
	}
	r := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, CVPct: &cv, Cooks: 4})
	if again := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, CVPct: &cv, Cooks: 4, MattersPct: r.DetectablePct}); math.Abs(*again.Power-aim) > 1e-9 {
		t.Errorf("of what is detectable %g is noticed", *again.Power)
	}
	if more := planOver(t, PlanInput{Arms: 2, JarsPerArm: 15, CVPct: &cv, Cooks: 5}); !(*more.Power > *r.Power) {
		t.Errorf("5 cooks %g, 4 cooks %g", *more.Power, *r.Power)
	}
	three := planOver(t, PlanInput{Arms: 3, JarsPerArm: 12, CVPct: &cv, Cooks: 4})
	sd := math.Sqrt(0.01 + 2*math.Pow(stats.LogSpread(0.2), 2)/3)
	want, err := stats.PowerT(math.Log(1.2)*math.Sqrt2/sd, 4, 4, 0, 0.025)
	if err != nil || math.Abs(*three.Power-want) > 1e-12 {
		t.Errorf("three arms: %g, want %g, %v", *three.Power, want, err)
	}
	if wide := planOver(t, PlanInput{Arms: 2, JarsPerArm: 6, CVPct: new(30.0), Cooks: 3}); wide.JarsForMatters != nil || !strings.Contains(wide.Sentence, "more jars in these cooks would not do") {
		t.Errorf("three cooks: %+v", wide)
	}
}
