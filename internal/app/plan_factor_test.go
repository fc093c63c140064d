package app_test

import (
	"reflect"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

// stocked is a farm on a file of its own: plans are worked out before any database
// is asked to keep them.
func stocked(t *testing.T) *bench {
	s, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, s)
	b.supplies()
	return b
}

// cross is oats and millet, each cooked 60 and 90 min, in cooks of two layers.
func cross(cooks int) app.PlanInput {
	in := plan("grain by hold")
	in.Arms, in.Differ, in.Control, in.Shelves = nil, nil, "", nil
	in.Factors = []app.PlanFactor{
		{Name: "grain", Is: "recipe", Levels: []string{"oats", "millet"}},
		{Name: "hold", On: "cook", Levels: []string{"60 min", "90"}},
	}
	in.Cooks = nil
	for range cooks {
		in.Cooks = append(in.Cooks, app.PlanCook{Places: []int{13, 13}})
	}
	return in
}

func said(p app.Plan) string { return p.Power + " " + strings.Join(p.Sentences, " ") }

func contains(t *testing.T, what, all string, wants ...string) {
	t.Helper()
	for _, w := range wants {
		if !strings.Contains(all, w) {
			t.Errorf("%s does not say %q:\n%s", what, w, all)
		}
	}
}

// A factor on the cook makes cooks the unit: they are dealt to its levels, counted,
// and jars are compared within them only in what sits on the jar.
func TestPlanSplit(t *testing.T) {
	b := stocked(t)
	p, err := b.DraftPlan(b.ctx, cross(4))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, a := range p.Trial.Arms {
		names = append(names, a.Name)
	}
	if !reflect.DeepEqual(names, []string{"oats, 60 min", "oats, 90 min", "millet, 60 min", "millet, 90 min"}) {
		t.Fatalf("arms %q", names)
	}
	if a := p.Trial.Arms[3]; !reflect.DeepEqual(a.Levels, []string{"millet", "90 min"}) || a.Recipe == "" || a.Treatment != "hold 90 min" {
		t.Errorf("arm %+v", a)
	}
	hold := map[int]string{}
	for _, s := range p.Slots {
		if s.Blank {
			continue
		}
		_, level, _ := strings.Cut(s.Arm, ", ")
		if was, ok := hold[s.Cook]; ok && was != level {
			t.Fatalf("cook %d has both holds", s.Cook)
		}
		hold[s.Cook] = level
	}
	if len(p.Units) != 1 || p.Units[0].On != lab.OnCook || !reflect.DeepEqual(p.Units[0].Units, []int{2, 2}) {
		t.Errorf("units %+v", p.Units)
	}
	contains(t, "the plan", said(p), "Hold is set on the cook, so the cook is the unit: 2 cooks at 60 min and 2 at 90 min are counted, not the jars in them.",
		"Hold, over all else: with 2 cooks to a level", "Grain, over all else: with 12 jars to a level", "With 6 jars an arm")
	if len(p.Aliased) > 0 || *p.Efficiency < 0.75 {
		t.Errorf("aliased %v, efficiency %v", p.Aliased, *p.Efficiency)
	}
	kept := must(b.KeepPlan(b.ctx, app.Act{}, cross(4)))(b)
	if got := kept.Trial.Split(); len(got) != 1 || got[0].Name != "hold" {
		t.Errorf("kept factors %+v", kept.Trial.Details.Factors)
	}
	v := must(b.TrialView(b.ctx, "grain by hold"))(b)
	if v.Allotment == nil || v.Allotment.Procedure != "by unit" || !reflect.DeepEqual(v.Trial.Details.Factors, kept.Trial.Details.Factors) {
		t.Errorf("allotment %+v, factors %+v", v.Allotment, v.Trial.Details.Factors)
	}
}

// One cook to a level can not tell; what shares a cook still can.
func TestPlanSplitOneUnit(t *testing.T) {
	b := stocked(t)
	in := cross(2)
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	contains(t, "the plan", said(p), "Hold is set on the cook, and a level has one: a difference between two cooks would look exactly like one of hold",
		"Still to be compared: oats, 60 min with millet, 60 min and oats, 90 min with millet, 90 min.")
	if strings.Contains(said(p), "are the same thing") {
		t.Errorf("it is said twice: %s", said(p))
	}
	if !reflect.DeepEqual(p.Aliased, []string{"cook"}) || *p.Efficiency != 0 {
		t.Errorf("aliased %v, efficiency %v", p.Aliased, *p.Efficiency)
	}
	_, err = b.DraftPlan(b.ctx, cross(1))
	contains(t, "one cook", problem(err), "2 levels are set on whole cooks, and there are 1", "plan 2 cooks or more")

	// Nothing but the hold: the power counts cooks.
	in = cross(4)
	in.Factors = in.Factors[1:]
	in.Recipe = "oats"
	p, err = b.DraftPlan(b.ctx, in)
	if err != nil || p.Unit != lab.OnCook || p.Each != 2 || len(p.Curve) == 0 {
		t.Fatalf("unit %s, %d each, %v", p.Unit, p.Each, err)
	}
	contains(t, "hold alone", p.Power, "With 2 cooks to a level")
}

func problem(err error) string {
	p, ok := lab.AsProblem(err)
	if !ok {
		return "no problem"
	}
	return p.Field + ": " + p.What + " " + p.Mend
}

// Arms that the grower puts into cooks of their own sit on the cook, said or not.
func TestPlanFindsUnit(t *testing.T) {
	b := stocked(t)
	in := plan("by hand")
	in.Shelves, in.BlanksPerCook = nil, 0
	in.Arms[0].Cook, in.Arms[1].Cook = 1, 2
	in.Cooks = []app.PlanCook{{Places: []int{6}}, {Places: []int{6}}}
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Units) != 0 || !reflect.DeepEqual(p.Aliased, []string{"cook"}) {
		t.Errorf("one cook each: units %+v, aliased %v", p.Units, p.Aliased)
	}
	contains(t, "one cook each", said(p), "Smallest mend: swap 3 millet jars of cook 2 with 3 oats jars of cook 1.", "no difference could be judged: something else moves with the arms")
}

// Two factors of one record: each arm must name its own.
func TestPlanTwoFactorsOfRecipe(t *testing.T) {
	b := stocked(t)
	in := cross(4)
	in.Factors[1] = app.PlanFactor{Name: "depth", Is: "recipe", Levels: []string{"16 mm", "25 mm"}}
	_, err := b.DraftPlan(b.ctx, in)
	contains(t, "two of the recipe", problem(err), "arm1_recipe: 2 of the factors are of the recipe")
	in.Arms = []app.PlanArm{{Recipe: "oats"}, {Recipe: "millet"}, {Recipe: "millet"}, {Recipe: "oats"}}
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil || p.Trial.Arms[1].Name != "oats, 25 mm" || !reflect.DeepEqual(p.Trial.Details.Factors[1].Doses, []float64{16, 25}) {
		t.Errorf("%+v, %v", p.Trial, err)
	}
}

// Person, lot of culture and day are drawn with cook, layer and shelf, and are in
// the judgement of the layout.
func TestPlanOver(t *testing.T) {
	b := stocked(t)
	in := plan("over")
	in.Over = []app.PlanOver{{Is: "person", Levels: []string{"AB", "CD"}}, {Is: "culture lot", Levels: []string{"LC-1 jar 1", "LC-1 jar 2", "LC-1 jar 3"}}}
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	n := map[[2]string]int{}
	for _, s := range p.Slots {
		if s.Blank {
			continue
		}
		if len(s.Over) != 2 || s.Shelf == "" {
			t.Fatalf("slot %+v", s)
		}
		n[[2]string{s.Arm, s.Over[0]}]++
		n[[2]string{s.Arm, s.Over[1]}]++
	}
	for at, k := range n {
		if fair := map[bool]int{true: 3, false: 2}[len(at[1]) == 2]; k < fair-1 || k > fair+1 {
			t.Errorf("%v has %d jars", at, k)
		}
	}
	contains(t, "the bound", p.Bound, "person and culture lot")
	for _, bad := range []app.PlanOver{{Is: "mood", Levels: []string{"a", "b"}}, {Is: "day", Levels: []string{"Monday"}}, {Is: "day", Levels: []string{"a", "A"}}} {
		in.Over = []app.PlanOver{bad}
		if _, err := b.DraftPlan(b.ctx, in); !strings.HasPrefix(problem(err), "over: ") {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// A ladder keeps its doses and their unit; a repeat carries all of it over.
func TestPlanLadderAndRepeat(t *testing.T) {
	b := stocked(t)
	in := plan("light ladder")
	in.Arms, in.Differ, in.Control, in.Recipe, in.Jars = nil, nil, "", "oats", 4
	in.Factors = []app.PlanFactor{{Name: "light", Levels: []string{"300 lux", "100", "200 lux"}}}
	k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
	f, ok := k.Trial.Ladder()
	if !ok || f.Unit != "lux" || !reflect.DeepEqual(f.Doses, []float64{100, 200, 300}) || k.Trial.Arms[0].Name != "100 lux" {
		t.Fatalf("ladder %+v, arms %+v", f, k.Trial.Arms)
	}
	again := must(b.PlanAgain(b.ctx, "light ladder"))(b)
	p, err := b.DraftPlan(b.ctx, again.Plan)
	if err != nil || !reflect.DeepEqual(p.Trial.Details.Factors, k.Trial.Details.Factors) || p.Trial.Details.Repeats != k.Trial.ID {
		t.Errorf("the repeat has %+v, %v", p.Trial, err)
	}
}

// Layers that hold fewer jars than arms: the draw still spreads the arms, and the
// plan says what is left.
func TestPlanIncompleteLayers(t *testing.T) {
	b := stocked(t)
	in := plan("small layers")
	in.Arms = nil
	in.Recipe, in.Jars, in.Shelves, in.BlanksPerCook, in.Control = "oats", 4, nil, 0, ""
	in.Factors = []app.PlanFactor{{Name: "light", Levels: []string{"a", "b", "c", "d", "e", "f"}}}
	in.Cooks = []app.PlanCook{{Places: []int{4, 4, 4, 4, 4, 4}}}
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	if e := *p.Efficiency; !(e > 0.6 && e < 0.995) {
		t.Errorf("efficiency %v", e)
	}
	contains(t, "small layers", said(p), "% of what the jars could tell")
}

// Bad factors end in a sentence at their field, with the mend.
func TestPlanFactorFaults(t *testing.T) {
	b := stocked(t)
	long := strings.Repeat("한", 300)
	for want, change := range map[string]func(in *app.PlanInput){
		"factor1: grain has 1 level":                  func(in *app.PlanInput) { in.Factors[0].Levels = []string{"oats"} },
		"factor2: hold has the level 90 Min twice":    func(in *app.PlanInput) { in.Factors[1].Levels = []string{"90 min", "90 Min"} },
		"factor1: the name of the level has 300":      func(in *app.PlanInput) { in.Factors[0].Levels = []string{"oats", long} },
		"factors: the factors make more than 12 arms": func(in *app.PlanInput) { in.Factors[0].Levels = strings.Split("a b c d e f g", " ") },
		"factors: two factors are called hold":        func(in *app.PlanInput) { in.Factors[0].Name = "Hold" },
		"arms: the levels make 4 arms and 1 are":      func(in *app.PlanInput) { in.Arms = []app.PlanArm{{Name: "x"}} },
		"arm1_recipe: no recipe is called rye":        func(in *app.PlanInput) { in.Factors[0].Levels[0] = "rye" },
		"jars: 0 jars can not be filled":              func(in *app.PlanInput) { in.Jars = 0 },
		"factors: 4 factors are asked for": func(in *app.PlanInput) {
			in.Factors = append(in.Factors, app.PlanFactor{Name: "c", Levels: []string{"a", "b"}}, app.PlanFactor{Name: "d", Levels: []string{"a", "b"}})
		},
	} {
		in := cross(4)
		change(&in)
		_, err := b.DraftPlan(b.ctx, in)
		contains(t, "the fault", problem(err), want)
	}
	in := plan("thirteen")
	in.Arms = make([]app.PlanArm, 13)
	_, err := b.DraftPlan(b.ctx, in)
	contains(t, "13 arms", problem(err), "arms: a trial compares at most 12 arms, this has 13")
	in = plan("one jar")
	in.Jars = 1
	p, err := b.DraftPlan(b.ctx, in)
	if err != nil {
		t.Fatal(err)
	}
	contains(t, "one jar", p.Power, "With 1 jar an arm no spread can be estimated, so no difference could be judged.")
	in.Arms[0].Name = "귀리"
	if _, err := b.DraftPlan(b.ctx, in); err == nil || !strings.Contains(problem(err), "control") {
		t.Errorf("Hangul without its control: %v", err)
	}
	in.Control = "귀리"
	if _, err := b.DraftPlan(b.ctx, in); err != nil {
		t.Errorf("Hangul: %v", err)
	}
}
