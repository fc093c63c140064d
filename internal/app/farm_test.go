package app_test

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

func TestMainLineFromPlanToVerdict(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Oats or millet"), 60)
		report := must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
		if report.What != "12 of 12, 2 mL from LC-1" || len(report.HeldBack) != 0 {
			t.Errorf("inoculated %q, held back %v", report.What, report.HeldBack)
		}
		b.clock.days(14)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jarsBut(b, k), Stage: "cover", At: "yesterday"}))(b)
		b.clock.days(46)
		if v := must(b.Verdict(b.ctx, "oats OR millet"))(b); v.Result.Ending != "running" {
			t.Errorf("with growing jars the verdict ends %q: %s", v.Result.Ending, v.Result.Sentence)
		}
		b.weigh(k, map[string]float64{"oats": 8, "millet": 14})
		v := must(b.Verdict(b.ctx, "Oats or millet"))(b)
		if v.Result.Ending != "supported" {
			t.Errorf("6 g between arms with a spread of half a gram ends %q: %s", v.Result.Ending, v.Result.Sentence)
		}
		if v.Result.Efficiency < 0.99 {
			t.Errorf("efficiency of a balanced draw is %.3f", v.Result.Efficiency)
		}
		view := must(b.TrialView(b.ctx, "Oats or millet"))(b)
		for _, c := range view.Cells {
			if c.Jars[0]-c.Jars[1] > 1 || c.Jars[1]-c.Jars[0] > 1 {
				t.Errorf("layer %d holds %v jars of the arms", c.Layer, c.Jars)
			}
		}
	})
}

// jarsBut names all jars of a batch but its blanks.
func jarsBut(b *bench, k app.Kept) string {
	var numbers []int
	for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
		if !j.Blank {
			numbers = append(numbers, j.Number)
		}
	}
	return k.Batch.String() + "·" + lab.ShowNumbers(numbers)
}

func TestClosingDayMakesTheVerdict(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Left alone"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(100)
		v := must(b.Verdict(b.ctx, "Left alone"))(b)
		if v.Result.Ending == "running" {
			t.Error("after the closing day the trial still runs")
		}
		for _, a := range v.Result.Arms {
			if a.Barren != 6 {
				t.Errorf("arm %s has %d barren jars, want all 6", a.Name, a.Barren)
			}
		}
	})
}

func TestJarsOfABrokenHoldAreHeldBack(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Short"), 45)
		batch := k.Batch.String()
		_, err := b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch})
		if !lab.IsKind(err, lab.Refused) {
			t.Fatalf("jars of a 45 min hold with a 60 min rule: %v, want them refused", err)
		}
		report := must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch, Override: "liquid only, and no time left"}))(b)
		if len(report.Numbers) != 12 {
			t.Fatalf("with a reason %d jars are inoculated, want 12", len(report.Numbers))
		}
		view := must(b.JarView(b.ctx, fmt.Sprintf("%s·%d", batch, report.Numbers[0])))(b)
		if !strings.Contains(view.History[0].What, "no time left") {
			t.Errorf("the reason is not in the history: %q", view.History[0].What)
		}
	})
}

// 47 min, a dip and 76 min make 123 min at pressure, but no 90 min.
func TestNothingRescuesABrokenHold(t *testing.T) {
	onBoth(t, func(b *bench) {
		c := must(b.AddCook(b.ctx, app.NewCook{Hold: "90 min", Gauge: "15 psi", Layers: 2}))(b)
		name := fmt.Sprint(c.Number)
		mark := func(e lab.Event, at string) app.CookView {
			return must(b.MarkCook(b.ctx, app.Act{}, name, e, at))(b)
		}
		mark(lab.Reached, "2026-03-02 04:00")
		mark(lab.Broken, "2026-03-02 04:47")
		mark(lab.Back, "2026-03-02 05:00")
		v := mark(lab.HeatOff, "2026-03-02 06:16")
		if v.State != lab.NotHeld || v.Longest != 76 || len(v.Stretches) != 2 {
			t.Errorf("state %s, longest %g min of %d stretches; want not held, 76, 2", v.State, v.Longest, len(v.Stretches))
		}
		if _, err := b.MarkCook(b.ctx, app.Act{}, name, lab.Back, "2026-03-02 06:30"); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("back after heat off: %v, want a Conflict", err)
		}
	})
}

func TestBlanksAreNeverInoculated(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Blanks")
		in.BlanksPerCook = 2
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		blanks := 0
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if j.Blank {
				blanks++
				if !j.Inoculated.IsZero() {
					t.Errorf("blank %d is inoculated", j.Number)
				}
			}
		}
		if blanks != 2 {
			t.Errorf("the batch has %d blanks, want 2", blanks)
		}
	})
}

func TestTheSameActTwiceStoresOnce(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		act := app.Act{ID: app.NewActID()}
		first := must(b.KeepPlan(b.ctx, act, plan("Twice")))(b)
		second := must(b.KeepPlan(b.ctx, act, plan("Twice")))(b)
		if second.Batch.ID != first.Batch.ID || !second.Repeat {
			t.Error("a plan sent twice made two batches")
		}
		k := b.cooked(plan("Once"), 60)
		act = app.Act{ID: app.NewActID()}
		for range 2 {
			must(b.Inoculate(b.ctx, act, app.InoculateInput{Batch: k.Batch.String()}))(b)
		}
		act = app.Act{ID: app.NewActID()}
		for range 2 {
			must(b.PickJars(b.ctx, act, app.PickInput{Picks: []app.TypedPick{{Jar: jarsBut(b, k)[:len(k.Batch.String())] + "·1", Grams: "1.2 oz"}}}))(b)
		}
		view := must(b.JarView(b.ctx, k.Batch.String()+"·1"))(b)
		if view.Row.Picks != 1 || len(view.History) != 2 {
			t.Errorf("%d picks and %d entries, want 1 and 2", view.Row.Picks, len(view.History))
		}
	})
}

func TestUndoIsACorrection(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Undo"), 60)
		batch := k.Batch.String()
		inoculated := must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch}))(b)
		first := fmt.Sprintf("%s·%d", batch, inoculated.Numbers[0])
		lost := must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: first, Fate: "lost", Reason: "fouled"}))(b)
		must(b.Undo(b.ctx, app.Act{}, lost.Deed))(b)
		view := must(b.JarView(b.ctx, first))(b)
		if view.Row.Fate != lab.Growing || !view.History[0].Undone {
			t.Errorf("after undo the jar is %q, its history %+v", view.Row.Fate, view.History)
		}
		if again := must(b.Undo(b.ctx, app.Act{}, lost.Deed))(b); !again.Repeat {
			t.Error("undone twice")
		}
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: first, Stage: "cover"}))(b)
		if _, err := b.Undo(b.ctx, app.Act{}, inoculated.Deed); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("undoing an inoculation that was seen to grow: %v, want a Conflict", err)
		}
		if view := must(b.JarView(b.ctx, first))(b); view.Carries != "LC-1" {
			t.Error("the refused undo was half stored")
		}
	})
}

func TestBadInputStoresNothing(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Bad"), 60)
		batch := k.Batch.String()
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch}))(b)
		for name, act := range map[string]func() error{
			"a jar that is not there": func() error {
				_, err := b.See(b.ctx, app.Act{}, app.SeeInput{Jars: batch + "·99", Stage: "cover"})
				return err
			},
			"a weight of −3 g": func() error {
				_, err := b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: batch + "·1", Grams: "12"}, {Jar: batch + "·2", Grams: "-3"}}})
				return err
			},
			"a weight in feet": func() error {
				_, err := b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: batch + "·1", Grams: "3 ft"}}})
				return err
			},
			"the same jar twice": func() error {
				_, err := b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: batch + "·1", Grams: "3"}, {Jar: batch + "·1", Grams: "3"}}})
				return err
			},
			"cover before the inoculation": func() error {
				_, err := b.See(b.ctx, app.Act{}, app.SeeInput{Jars: batch, Stage: "cover", At: "2026-01-01"})
				return err
			},
			"a plan that does not fit": func() error {
				in := plan("Too many")
				in.Jars = 8
				_, err := b.KeepPlan(b.ctx, app.Act{}, in)
				return err
			},
			"arms that are the same": func() error {
				in := plan("Same")
				in.Arms[1].Recipe = "oats"
				_, err := b.KeepPlan(b.ctx, app.Act{}, in)
				return err
			},
			"a recipe that is not there": func() error {
				in := plan("None")
				in.Arms[1].Recipe = "gravel"
				_, err := b.KeepPlan(b.ctx, app.Act{}, in)
				return err
			},
			"an amount that can not be read": func() error {
				_, err := b.AddRecipe(b.ctx, app.NewRecipe{Name: "x", Mixes: []lab.Mix{{Name: "dry", Lines: []lab.RecipeLine{{Ingredient: "oats", Amount: "a pinch"}}}}, Fills: []lab.Fill{{Mix: "dry", Amount: "40 g"}}})
				return err
			},
		} {
			p, ok := lab.AsProblem(act())
			if !ok || p.What == "" || p.Mend == "" {
				t.Errorf("%s: %v: want a Problem with what is wrong and what to do", name, p)
			}
		}
		view := must(b.BatchView(b.ctx, batch, 0))(b)
		if view.Tally.Picked != 0 || len(view.Tally.ByStage) != 0 && view.Tally.ByStage[lab.Cover] != 0 {
			t.Errorf("refused entries left traces: %+v", view.Tally)
		}
		if all := must(b.Batches(b.ctx))(b); len(all) != 1 {
			t.Errorf("refused plans left %d batches", len(all)-1)
		}
	})
}

func TestPlanNamesWhatGoesWithTheArms(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-2", Form: "LC"}))(b)
		byLayer := plan("By layer")
		byLayer.Arms[0].Layer, byLayer.Arms[1].Layer = 1, 2
		p := must(b.DraftPlan(b.ctx, byLayer))(b)
		if fmt.Sprint(p.Aliased) != "[layer]" || *p.Efficiency != 0 || p.Repair == nil {
			t.Fatalf("one arm in each layer: aliased %v, efficiency %v, repair %v", p.Aliased, *p.Efficiency, p.Repair != nil)
		}
		repaired := must(b.DraftPlan(b.ctx, *p.Repair))(b)
		if len(repaired.Aliased) != 0 || *repaired.Efficiency < 0.99 {
			t.Errorf("the repaired plan: aliased %v, efficiency %v", repaired.Aliased, *repaired.Efficiency)
		}
		twoThings := plan("Two things")
		twoThings.Arms[1].Culture = "LC-2"
		p = must(b.DraftPlan(b.ctx, twoThings))(b)
		if said := strings.Join(p.Sentences, " "); !strings.Contains(said, "culture") || !strings.Contains(said, "packages") {
			t.Errorf("recipe and culture differ, but it says: %s", said)
		}
		if said := strings.Join(p.Sentences, " "); !strings.Contains(said, "One mixing each") {
			t.Errorf("each mix is made once, but it says: %s", said)
		}
		twoCooks := plan("Two cooks")
		twoCooks.Cooks = append(twoCooks.Cooks, twoCooks.Cooks[0])
		twoCooks.MakePerCook = true
		p = must(b.DraftPlan(b.ctx, twoCooks))(b)
		if said := strings.Join(p.Sentences, " "); strings.Contains(said, "One mixing each") {
			t.Errorf("mixes are made for each cook, but it says: %s", said)
		}
	})
}

func TestADraftIsKeptAsDrafted(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		draft := must(b.DraftPlan(b.ctx, plan("Drafted")))(b)
		k := must(b.KeepPlan(b.ctx, app.Act{}, plan("Drafted")))(b)
		view := must(b.BatchView(b.ctx, k.Batch.String(), 0))(b)
		if len(view.Jars) != len(draft.Slots) {
			t.Fatalf("%d jars kept, %d drafted", len(view.Jars), len(draft.Slots))
		}
		for i, s := range draft.Slots {
			if j := view.Jars[i]; j.Number != s.Number || j.Arm != s.Arm || j.Layer != s.Layer || j.Blank != s.Blank {
				t.Errorf("jar %d: kept %s in layer %d, drafted %s in layer %d", s.Number, j.Arm, j.Layer, s.Arm, s.Layer)
			}
		}
	})
}

func TestBenchSheetWeighsWhatTheJarsTake(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := must(b.KeepPlan(b.ctx, app.Act{}, plan("Sheet")))(b)
		s := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		if len(s.Jars) != 13 || len(s.Cooks) != 1 || len(s.Cooks[0].Layers) != 2 || s.Cooks[0].Layers[0].Layer != 2 {
			t.Fatalf("%d jars, cooks %+v", len(s.Jars), s.Cooks)
		}
		jars, broths := 0, 0
		for _, m := range s.Makings {
			if m.Mix != "broth" {
				continue
			}
			broths++
			jars += m.Jars
			if want := 48 * float64(m.Jars); float64(m.Volume) < want || float64(m.Volume) > want*1.1 {
				t.Errorf("broth for %d jars is made up to %.0f mL, %.0f mL are filled", m.Jars, float64(m.Volume), want)
			}
		}
		if broths != 2 || jars != 13 {
			t.Errorf("%d broths for %d jars, want 2 for 13", broths, jars)
		}
		label := s.Makings[0].Label
		must(b.LogMaking(b.ctx, app.Act{}, app.MakingInput{Batch: k.Batch.String(), Label: label, Mix: "grain", Weighed: []app.TypedWeight{{Ingredient: "oats", Typed: "10 oz"}}}))(b)
		s = must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		if done := s.Makings[0].Done; len(done) != 1 || done[0].Weighed[0].Typed != "10 oz" || done[0].Weighed[0].Grams < 283 || done[0].Weighed[0].Grams > 284 {
			t.Errorf("what was weighed is not kept as typed: %+v", done)
		}
	})
}

func TestFindLeadsToEveryNoun(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := must(b.KeepPlan(b.ctx, app.Act{}, plan("Lost and found")))(b)
		code := must(b.JarView(b.ctx, k.Batch.String()+"·3"))(b).Row.Code
		for text, want := range map[string]app.Found{
			strings.ToLower(string(code)): {Kind: "jar", Name: string(code)},
			k.Batch.String() + "·3":       {Kind: "jar", Name: string(code)},
			"b1":                          {Kind: "batch", Name: "B1"},
			"cook 1":                      {Kind: "cook", Name: "1"},
			"lc-1":                        {Kind: "culture", Name: "LC-1"},
		} {
			if got := must(b.Find(b.ctx, text))(b); got != want {
				t.Errorf("Find(%q) = %+v, want %+v", text, got, want)
			}
		}
		if _, err := b.Find(b.ctx, "nothing like it"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("Find of nothing: %v", err)
		}
	})
}
