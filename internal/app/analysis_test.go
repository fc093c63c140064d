package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// picked plans, cooks and inoculates a trial, and weighs its jars.
func (b *bench) picked(in app.PlanInput, grams map[string]float64) app.Kept {
	b.t.Helper()
	k := b.inoculated(in)
	b.clock.days(30)
	b.weigh(k, grams)
	return k
}

func (b *bench) inoculated(in app.PlanInput) app.Kept {
	b.t.Helper()
	k := b.cooked(in, 60)
	must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Culture: "LC-1", Amount: "3 mL", At: "today"}))(b)
	return k
}

// A reading is kept once and never changed; the next succeeds it and says
// whether data and answer are the same.
func TestJudgeKeepsReadings(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.picked(plan("grains"), map[string]float64{"oats": 30, "millet": 45})
		act := app.Act{ID: app.NewActID(), By: "ab"}
		first, v, err := b.Judge(b.ctx, act, "grains")
		b.ok(err)
		if !first.First || first.Says() != "first reading" || first.Sentence != v.Result.Sentence || len(first.DataHash) != 64 || first.Seed != 40218 || first.By != "ab" {
			t.Errorf("first reading: %+v", first)
		}
		if again, _, err := b.Judge(b.ctx, act, "grains"); err != nil || again.ID != first.ID {
			t.Errorf("the same act again: %v, error %v, want %v", again.ID, err, first.ID)
		}
		b.clock.days(1)
		second, _, err := b.Judge(b.ctx, app.Act{}, "grains")
		b.ok(err)
		if second.Says() != "read again: same data, same answer" || second.Succeeds != first.ID {
			t.Errorf("second reading: %q after %v", second.Says(), second.Succeeds)
		}
		must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: k.Batch.String() + "·1", Grams: "9"}}, At: "today"}))(b)
		third, _, err := b.Judge(b.ctx, app.Act{}, "grains")
		b.ok(err)
		if third.SameData || third.SameAnswer || !strings.Contains(third.Says(), "other data") {
			t.Errorf("third reading: %q", third.Says())
		}
		view := must(b.TrialView(b.ctx, "grains"))(b)
		if len(view.Analyses) != 3 || view.Analyses[0].DataHash != first.DataHash || view.DataHash != third.DataHash {
			t.Errorf("%d readings in the trial, hash now %s", len(view.Analyses), view.DataHash)
		}
	})
}

// blind plans a blind trial whose arms have names that no recipe bears.
func blind() app.PlanInput {
	in := plan("hidden")
	in.Blind = true
	in.Arms = []app.PlanArm{{Name: "plain ration", Recipe: "oats"}, {Name: "golden ration", Recipe: "millet"}}
	in.Control = "plain ration"
	return in
}

func TestBlindTrialGoesByLetters(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.inoculated(blind())
		view := must(b.BatchView(b.ctx, k.Batch.String(), 0))(b)
		if strings.Join(view.Arms, " ") != "A B" {
			t.Errorf("arms of the batch page are %q", view.Arms)
		}
		for _, j := range view.Jars {
			if j.Arm != "A" && j.Arm != "B" && !j.Blank || j.Recipe != "" || j.MixMade != "" || j.DryGrams != 0 {
				t.Fatalf("jar %d tells its arm: %+v", j.Number, j.Jar)
			}
		}
		if _, _, err := b.Judge(b.ctx, app.Act{}, "hidden"); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("judged blind: %v", err)
		}
		trial := must(b.TrialView(b.ctx, "hidden"))(b)
		if !trial.Blind || trial.Arms[0].Name != "A" || trial.Control != "" || len(trial.Verdict.Result.Comparisons) > 0 || !strings.Contains(trial.Verdict.Result.Sentence, "12 of 12 jars still grow") {
			t.Errorf("the blind trial shows %+v, %q", trial.Arms, trial.Verdict.Result.Sentence)
		}
		sheet := must(b.BenchSheet(b.ctx, k.Batch.String()))(b)
		if !sheet.Blind || len(sheet.Cautions) == 0 || sheet.Cautions[len(sheet.Cautions)-1].Code != "key_sheet" {
			t.Errorf("the bench sheet does not say that it is the key: %+v", sheet.Cautions)
		}
		for _, j := range sheet.Jars { // letters at the bench are those of the shelf
			if want := view.Jars[j.Number-1].Arm; !j.Blank && want != string(rune('A'+j.ArmIndex)) {
				t.Fatalf("jar %d is %s at the shelf, arm %d at the bench", j.Number, want, j.ArmIndex)
			}
		}
	})
}

func TestOpenKey(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.inoculated(blind())
		b.clock.days(30)
		must(b.OpenKey(b.ctx, app.Act{}, "hidden"))(b)
		if _, err := b.OpenKey(b.ctx, app.Act{}, "hidden"); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("opened twice: %v", err)
		}
		b.clock.days(1)
		b.weigh(k, map[string]float64{"plain ration": 30, "golden ration": 45})
		_, v, err := b.Judge(b.ctx, app.Act{}, "hidden")
		b.ok(err)
		if !strings.Contains(v.Result.Sentence, "golden ration") {
			t.Errorf("verdict %q", v.Result.Sentence)
		}
		early := false
		for _, c := range v.Cautions {
			early = early || c.Code == "key_opened_early" && strings.Contains(c.Text, "before 12 jars")
		}
		if !early {
			t.Error("nothing says that the key was opened before the jars were done")
		}
		if view := must(b.TrialView(b.ctx, "hidden"))(b); view.Blind || view.Opened == nil || view.Control != "plain ration" {
			t.Errorf("open trial: %+v", view.Opened)
		}
		must(b.KeepPlan(b.ctx, app.Act{}, plan("seen")))(b)
		if _, err := b.OpenKey(b.ctx, app.Act{}, "seen"); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("key of a trial that is not blind: %v", err)
		}
	})
}

// The move to light is a second draw; the first stays as it was.
func TestAllotLight(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.inoculated(plan("grains"))
		before := must(b.TrialView(b.ctx, "grains"))(b)
		shelves := []app.PlanShelf{{Name: "window", Places: 6}, {Name: "lamp", Places: 6}}
		got := must(b.AllotLight(b.ctx, app.Act{}, "grains", shelves, "11"))(b)
		if got.Jars != 12 || got.Seed != 11 {
			t.Errorf("moved %d jars by seed %d", got.Jars, got.Seed)
		}
		after := must(b.TrialView(b.ctx, "grains"))(b)
		if len(after.Draws) != 2 || after.Draws[1].Stage != lab.AtLight || after.Draws[1].Succeeds != "" || string(after.Draws[0].Design) != string(before.Draws[0].Design) || after.Allotment.ID != before.Allotment.ID {
			t.Errorf("allotments: %+v", after.Draws)
		}
		at := make(map[string]int)
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if !j.Blank {
				at[j.Shelf+" "+j.Arm]++
			}
		}
		for place, n := range at {
			if n != 3 {
				t.Errorf("%d jars at %q, want 3", n, place)
			}
		}
		if len(at) != 4 {
			t.Errorf("jars stand at %v", at)
		}
		if _, err := b.AllotLight(b.ctx, app.Act{}, "grains", shelves[:1], ""); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("one shelf: %v", err)
		}
	})
}

func TestRedrawSucceeds(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("grains")
		in.Cooks = []app.PlanCook{{Places: []int{4, 4}}, {Places: []int{4, 4}}}
		in.MakePerCook = true
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		must(b.Redraw(b.ctx, app.Act{}, "grains", "5"))(b)
		v := must(b.TrialView(b.ctx, "grains"))(b)
		if len(v.Draws) != 2 || v.Draws[1].Succeeds != v.Draws[0].ID || v.Draws[1].Seed != 5 || v.Draws[0].Seed != 40218 {
			t.Fatalf("allotments: %+v", v.Draws)
		}
		jars, err := readJars(b, k.Batch.ID)
		b.ok(err)
		perCook := make(map[lab.CookID]int)
		for _, j := range jars {
			perCook[j.Cook]++
			wantCook := "cook 1 of 2"
			if j.Cook == k.Cooks[1].ID {
				wantCook = "cook 2 of 2"
			}
			if !strings.Contains(j.MixMade, wantCook) {
				t.Errorf("jar %d stands in %s and is filled from %q", j.Number, wantCook, j.MixMade)
			}
		}
		if perCook[k.Cooks[0].ID] != 7 || perCook[k.Cooks[1].ID] != 7 {
			t.Errorf("jars per cook: %v", perCook)
		}
		must(b.MarkCook(b.ctx, app.Act{}, "1", lab.Reached, "now"))(b)
		if _, err := b.Redraw(b.ctx, app.Act{}, "grains", "6"); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("drawn anew after a cook ran: %v", err)
		}
	})
}

func readJars(b *bench, id lab.BatchID) (jars []store.JarRow, err error) {
	err = b.store.Read(b.ctx, func(r store.Reader) error {
		jars, err = r.Jars(b.ctx, store.JarFilter{Batch: id})
		return err
	})
	return jars, err
}

// Who inoculated is recorded, so arms that two hands did are not told apart
// from the hands.
func TestHandsThatMovedWithTheArms(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("grains"), 60)
		byArm := map[string][]string{}
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			byArm[j.Arm] = append(byArm[j.Arm], lab.ShowNumbers([]int{j.Number}))
		}
		for arm, by := range map[string]string{"oats": "ab", "millet": "cd"} {
			except := "oats"
			if arm == "oats" {
				except = "millet"
			}
			must(b.Inoculate(b.ctx, app.Act{By: by}, app.InoculateInput{Batch: k.Batch.String(), Culture: "LC-1", Amount: "3 mL", At: "today", Except: strings.Join(byArm[except], ", ")}))(b)
		}
		b.clock.days(30)
		b.weigh(k, map[string]float64{"oats": 30, "millet": 45})
		v := must(b.Verdict(b.ctx, "grains"))(b)
		if v.Result.Ending != "no_comparison" || !strings.Contains(strings.Join(v.Result.Aliased, " "), "person") {
			t.Errorf("%s, aliased %v: %q", v.Result.Ending, v.Result.Aliased, v.Result.Sentence)
		}
	})
}
