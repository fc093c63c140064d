package trialstat

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
)

// The power of a share is that of the verdict: simulated tables of jars, each judged as
// Compare judges it, agree within three sampling errors of 4000 trials.
func TestPlanOfSharesAgainstSimulation(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 2))
	for _, c := range []struct {
		jars          int
		loss, matters float64
	}{{12, 10, 50}, {20, 10, 30}, {30, 30, 20}, {8, 60, 60}} {
		p := planOver(t, PlanInput{Arms: 2, JarsPerArm: c.jars, LossPct: &c.loss, MattersPct: &c.matters, Primary: ByClean})
		usual := 1 - c.loss/100
		other := usual - c.matters/100
		if other < 0 {
			other = usual + c.matters/100
		}
		const trials = 4000
		noticed := 0
		for range trials {
			x, y := 0, 0
			for range c.jars {
				x += yes(r.Float64() < usual)
				y += yes(r.Float64() < other)
			}
			_, low, high, err := stats.Newcombe(y, c.jars, x, c.jars, confidence)
			if err != nil {
				t.Fatal(err)
			}
			noticed += yes(low > 0 || high < 0)
		}
		got := float64(noticed) / trials
		if math.Abs(got-*p.Power) > 3*math.Sqrt(got*(1-got)/trials) {
			t.Errorf("%+v: power %.3f, simulated %.3f", c, *p.Power, got)
		}
	}
}

// Laws: what is said to be enough is, one jar fewer is not; a score needs Noether's jars:
// by hand z² = (1.959964 + 0.841621)² = 7.848879, over 6·0.1² are 130.8.
func TestPlanOfOrderLaws(t *testing.T) {
	none, ten := 0.0, 10.0
	share := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, LossPct: &ten, Primary: ByClean})
	n := *share.JarsForMatters
	enough := planOver(t, PlanInput{Arms: 2, JarsPerArm: n, LossPct: &ten, Primary: ByClean})
	short := planOver(t, PlanInput{Arms: 2, JarsPerArm: n - 1, LossPct: &ten, Primary: ByClean})
	if !(*enough.Power >= aim && *short.Power < aim) || !(*share.Power < aim) {
		t.Errorf("%d jars notice %g, one fewer %g", n, *enough.Power, *short.Power)
	}
	if !strings.Contains(share.Sentence, "points of a hundred jars") || !strings.Contains(share.Sentence, "90 of 100 that stayed clean") {
		t.Error(share.Sentence)
	}
	score := planOver(t, PlanInput{Arms: 2, JarsPerArm: 12, LossPct: &none, Primary: ByScore})
	if *score.JarsForMatters != 131 || !strings.Contains(score.Sentence, "points of a hundred pairs") {
		t.Errorf("%d jars: %s", *score.JarsForMatters, score.Sentence)
	}
	if three := planOver(t, PlanInput{Arms: 3, JarsPerArm: 12, LossPct: &none, Primary: ByScore}); !(*three.Power < *score.Power) {
		t.Errorf("three arms notice %g, two %g", *three.Power, *score.Power)
	}
	if many := planOver(t, PlanInput{Arms: 2, JarsPerArm: 20000, LossPct: &ten, Primary: ByFruited}); *many.Power < 0.999 {
		t.Errorf("20 000 jars notice %g", *many.Power)
	}
	if _, err := Plan(PlanInput{Arms: 2, JarsPerArm: 12, MattersPct: new(150.0), Primary: ByClean}); err == nil {
		t.Error("150 points of a hundred are taken")
	}
}

// The exact count of tables and the normal one beyond it meet.
func TestPlanOfSharesIsSmooth(t *testing.T) {
	p := orderPlan{arms: 2, usual: 0.9, alpha: 0.05}
	a, b := p.chance(mostTables, 0.1), p.chance(mostTables+1, 0.1)
	if math.Abs(a-b) > 0.03 {
		t.Errorf("%d jars notice %.3f, one more %.3f", mostTables, a, b)
	}
}

// Shares within the same places: in one cook 2 of 6 and 5 of 6 fruited, in the other 3 of 3
// and 9 of 9. By hand, weights 3 and 9·3/12 = 2.25: (3·0.5 + 0)/5.25 = 28.57 points, where
// all places together give 14 of 15 less 5 of 9, 37.78.
func TestShareWithinPlaces(t *testing.T) {
	var rows []CompareRow
	add := func(arm, cook Label, did, of int) {
		for i := range of {
			v := 50.0 + float64(i)
			r := CompareRow{Arm: arm, Cook: cook, Fate: "barren"}
			if i < did {
				r.Fate, r.Value = "picked", &v
			}
			rows = append(rows, r)
		}
	}
	add("A", "1", 2, 6)
	add("B", "1", 5, 6)
	add("A", "2", 3, 3)
	add("B", "2", 9, 9)
	a, err := Compare(CompareInput{Rows: rows, Control: "A", Primary: ByFruited})
	if err != nil {
		t.Fatal(err)
	}
	x := a.Result.Comparisons[0]
	near(t, "all together", x.Difference.Value, 100*(14.0/15-5.0/9), 1e-9)
	near(t, "within", x.WithinPlaces.Value, 100*1.5/5.25, 1e-9)
	half := 1.959963984540054 * math.Sqrt((5.0*1*216+2*4*216)/(36*144)) / 5.25 * 100
	near(t, "low", x.WithinPlaces.Low, 100*1.5/5.25-half, 1e-9)
	if !hasCaution(a.Cautions, "places_move_share") || !hasCaution(a.Cautions, "over_all_places") {
		t.Errorf("%+v", a.Cautions)
	}
	// by lot within cooks: of the 924 ways to deal 6 and 6 with 7 that fruited, 5 or more
	// for B, or 2 or fewer: hypergeometric, 2·(C(7,5)·C(5,1) + C(7,6))/924
	near(t, "p by lot", x.Difference.PRandomisation, 2*(21*5+7)/924.0, 1e-9)
}

// Scores by lot within places: in each of two cooks all of B above all of A, 2·(1/20)².
func TestScoresByLotWithinPlaces(t *testing.T) {
	var rows []CompareRow
	for cook, base := range []float64{0, 10} {
		for i := range 6 {
			s := base + float64(i)
			rows = append(rows, CompareRow{Arm: Label([]string{"A", "B"}[i/3]), Cook: Label(whole(cook)), Fate: "picked", Score: &s})
		}
	}
	x := compare(t, CompareInput{Rows: rows, Control: "A", Primary: ByScore}).Comparisons[0]
	near(t, "p by lot", x.Difference.PRandomisation, 2.0/400, 1e-9)
	if x.WithinPlaces != nil {
		t.Errorf("a score has no share: %+v", x.WithinPlaces)
	}
}
