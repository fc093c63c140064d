package app_test

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// A ladder that was planned is judged by its line, in the unit of its doses.
func TestVerdictOfALadder(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("depth")
		in.Differ, in.Arms, in.Control, in.Recipe = nil, nil, "", "oats"
		in.Factors = []app.PlanFactor{{Name: "depth", Is: "treatment", Unit: "mm", Levels: []string{"10", "20", "30"}}}
		in.Jars, in.Cooks, in.Shelves = 4, []app.PlanCook{{Places: []int{7, 7}, Hold: "60 min", Gauge: "15 psi"}}, nil
		k := b.inoculated(in)
		b.clock.days(30)
		grams := map[string]float64{}
		for i, a := range must(b.TrialView(b.ctx, "depth"))(b).Arms {
			grams[a.Name] = 20 + 10*float64(i)
		}
		b.weigh(k, grams)
		v := must(b.TrialView(b.ctx, "depth"))(b)
		r := v.Verdict.Result
		if len(r.Trends) != 1 || r.Ending != trialstat.Supported || !strings.Contains(r.Sentence, "rose with the dose in a line") || !strings.Contains(r.Sentence, "from 10 to 30 mm") || !strings.Contains(r.Sentence, "for each mm") {
			t.Errorf("%s: %s", r.Ending, r.Sentence)
		}
	})
}

// What decides is fixed with the plan: shares by Newcombe, pins by their means, colour
// by its order. The jars of the picture have the same figures.
func TestVerdictByOutcome(t *testing.T) {
	for primary, c := range map[string]struct {
		unit, says string
	}{
		lab.ByFruited: {"% of jars that fruited", "More of oats fruited than of millet"},
		lab.ByClean:   {"% of jars kept clean", "stayed clean"},
		lab.ByPins:    {"counted per jar inoculated", "counted per jar inoculated"},
		lab.ByColour:  {"score", "scored"},
	} {
		t.Run(primary, func(t *testing.T) {
			onBoth(t, func(b *bench) {
				b.supplies()
				in := plan("by " + primary)
				in.Primary, in.Control = primary, "millet"
				k := b.inoculated(in)
				b.clock.days(20)
				b.counted(k)
				b.clock.days(20)
				v := must(b.TrialView(b.ctx, in.Name))(b)
				r := v.Verdict.Result
				if r.Unit != c.unit || len(r.Comparisons) != 1 || !strings.Contains(r.Sentence, c.says) || r.Ending == trialstat.NoComparison {
					t.Errorf("%s: %s: %s", r.Unit, r.Ending, r.Sentence)
				}
				for _, a := range r.Arms {
					sum, n := 0.0, 0
					for _, j := range v.Evidence.Jars {
						if v.Evidence.Arms[j.Arm].Name == a.Name {
							sum, n = sum+j.Grams, n+1
						}
					}
					if a.Mean == nil || n != a.Figures || fmt.Sprintf("%.6f", sum/float64(n)) != fmt.Sprintf("%.6f", *a.Mean) {
						t.Errorf("the picture shows %d jars of %s with a mean of %g, the verdict rests on %d: %v", n, a.Name, sum/float64(n), a.Figures, a.Mean)
					}
				}
			})
		})
	}
}

// counted has the jars of oats picked, with twice the pins and colour of those of
// millet, of which half never fruit and one is lost.
func (b *bench) counted(k app.Kept) {
	b.t.Helper()
	n := map[string]int{}
	for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
		if j.Blank {
			continue
		}
		n[j.Arm]++
		name, of := fmt.Sprintf("%s·%d", k.Batch, j.Number), 1
		if j.Arm == "oats" {
			of = 2
		}
		fate := ""
		switch {
		case j.Arm == "millet" && n[j.Arm] == 1:
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: name, Fate: "lost", Reason: "fouled"}))(b)
			continue
		case j.Arm == "millet" && n[j.Arm] < 5:
			fate = "barren"
		}
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: name, Stage: "colour", Count: fmt.Sprint(of + n[j.Arm]%2)}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: name, Stage: "pins", Count: fmt.Sprint(10*of + n[j.Arm])}))(b)
		if fate != "" {
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: name, Fate: fate}))(b)
			continue
		}
		must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: name, Grams: fmt.Sprint(20 + n[j.Arm])}}, At: "today"}))(b)
	}
}

// A hold is set on whole cooks: two of each say so, and are described.
func TestVerdictOfWholeCooks(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("hold")
		in.Differ, in.Arms, in.Control, in.Recipe, in.Shelves = nil, nil, "", "oats", nil
		in.Factors = []app.PlanFactor{{Name: "hold", Is: "treatment", On: "cook", Unit: "min", Levels: []string{"60", "90"}}}
		in.Jars = 8
		in.Cooks = nil
		for range 4 {
			in.Cooks = append(in.Cooks, app.PlanCook{Places: []int{5}, Hold: "60 min", Gauge: "15 psi"})
		}
		k := b.inoculated(in)
		b.clock.days(30)
		grams := map[string]float64{}
		for i, a := range must(b.TrialView(b.ctx, "hold"))(b).Arms {
			grams[a.Name] = 20 + 10*float64(i)
		}
		b.weigh(k, grams)
		r := must(b.TrialView(b.ctx, "hold"))(b).Verdict.Result
		if r.Counted == nil || r.Counted.Units != 4 || r.Counted.Jars != 16 || !strings.Contains(r.Sentence, "has 2 cooks, and a verdict needs 4 in each arm; the cook is the unit: 4 cooks, not 16 jars") {
			t.Errorf("counted %+v: %s", r.Counted, r.Sentence)
		}
	})
}

// A crossing that was planned is judged factor by factor, and says whether one
// depends on the other.
func TestVerdictOfACrossing(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("grain by light")
		in.Differ, in.Arms, in.Control, in.Recipe, in.Shelves = nil, nil, "", "", nil
		in.Factors = []app.PlanFactor{
			{Name: "grain", Is: "recipe", Levels: []string{"oats", "millet"}},
			{Name: "light", Is: "treatment", Unit: "lux", Levels: []string{"100", "200"}},
		}
		in.Jars, in.Cooks = 6, []app.PlanCook{{Places: []int{12, 13}, Hold: "60 min", Gauge: "15 psi"}}
		k := b.inoculated(in)
		b.clock.days(30)
		grams := map[string]float64{}
		for _, a := range must(b.TrialView(b.ctx, in.Name))(b).Arms {
			grams[a.Name] = 20
			if strings.Contains(a.Name, "millet") {
				grams[a.Name] = 30
			}
		}
		b.weigh(k, grams)
		r := must(b.TrialView(b.ctx, in.Name))(b).Verdict.Result
		if len(r.Interactions) != 1 || r.Ending != trialstat.Supported || !strings.Contains(r.Sentence, "millet") {
			t.Errorf("%s: %s; %d interactions", r.Ending, r.Sentence, len(r.Interactions))
		}
		byFactor := map[string]int{}
		for _, c := range r.Comparisons {
			byFactor[c.Factor]++
		}
		if byFactor["grain"] != 1 || byFactor["light"] != 1 {
			t.Errorf("compared: %v", byFactor)
		}
	})
}

// Over four cooks the plan and the verdict count cooks, and the page has each of them with
// a cook to come in the last row.
func TestVerdictOverCooks(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("over cooks")
		in.Jars, in.Shelves, in.Cooks = 12, nil, nil
		for range 4 {
			in.Cooks = append(in.Cooks, app.PlanCook{Places: []int{4, 4}, Hold: "60 min", Gauge: "15 psi"})
		}
		draft := must(b.DraftPlan(b.ctx, in))(b)
		if !strings.Contains(draft.Power, "Over 4 cooks the verdict counts cooks") || len(draft.Curve) == 0 || len(draft.Ways) == 0 {
			t.Errorf("the plan says: %s", draft.Power)
		}
		k := b.inoculated(in)
		b.clock.days(30)
		b.weigh(k, map[string]float64{"oats": 20, "millet": 30})
		v := must(b.TrialView(b.ctx, in.Name))(b)
		x := v.Verdict.Result.Comparisons[0]
		if x.ByCook == nil || x.ByCook.Cooks != 4 || x.ByCook.Method != trialstat.PerCook || x.Ending != trialstat.Supported || !strings.Contains(x.Sentence, "from cook to cook") {
			t.Errorf("%+v: %s", x.ByCook, x.Sentence)
		}
		if v.ByCook == nil || len(v.ByCook.Cooks) != 4 || v.ByCook.All == nil || v.ByCook.Of != "millet less oats" {
			t.Fatalf("cook by cook: %+v", v.ByCook)
		}
		sum := 0.0
		for _, c := range v.ByCook.Cooks {
			sum += *c.Value / 4
		}
		about(t, "mean of the cooks", x.ByCook.Value, sum, 1e-9)
	})
}

// Cook by cook is there for a crossing too, by its first factor.
func TestCookByCookOfACrossing(t *testing.T) {
	b := stocked(t)
	in := plan("grain by light in two")
	in.Differ, in.Arms, in.Control, in.Recipe, in.Shelves = nil, nil, "", "", nil
	in.Factors = []app.PlanFactor{
		{Name: "grain", Is: "recipe", Levels: []string{"oats", "millet"}},
		{Name: "light", Is: "treatment", Unit: "lux", Levels: []string{"100", "200"}},
	}
	in.Jars, in.Cooks = 6, []app.PlanCook{{Places: []int{13}, Hold: "60 min", Gauge: "15 psi"}, {Places: []int{13}, Hold: "60 min", Gauge: "15 psi"}}
	k := b.inoculated(in)
	b.clock.days(30)
	grams := map[string]float64{}
	for _, a := range must(b.TrialView(b.ctx, in.Name))(b).Arms {
		grams[a.Name] = 20 + 10*float64(strings.Count(a.Name, "millet"))
	}
	b.weigh(k, grams)
	v := must(b.TrialView(b.ctx, in.Name))(b)
	if v.ByCook == nil || len(v.ByCook.Cooks) != 2 || v.ByCook.All != nil || !strings.Contains(v.ByCook.Of, "grain") {
		t.Fatalf("cook by cook: %+v", v.ByCook)
	}
	if c := v.ByCook.Cooks[0]; c.Value == nil || c.Low == nil || c.Jars[0]+c.Jars[1] != 12 {
		t.Errorf("the first cook: %+v", c)
	}
}
