package app_test

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/calc/pool"
	"pinset/internal/lab"
)

// tried plans a trial, cooks it and weighs it to the end. Supplies are there.
func tried(b *bench, in app.PlanInput, grams map[string]float64) {
	b.t.Helper()
	k := b.cooked(in, 60)
	must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
	b.clock.days(20)
	b.weigh(k, grams)
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.8g, want %.8g", what, got, want)
	}
}

// The same pair of recipes over trials, whichever way round each was planned, is
// added up by the calculator that stands in the Reckoner.
func TestPoolOverTrials(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		first := plan("Spring")
		first.Control = ""
		tried(b, first, map[string]float64{"oats": 10, "millet": 12})
		second := plan("Summer")
		second.Control, second.Closing, second.Primary = "millet", "2026-09-20", "picked"
		tried(b, second, map[string]float64{"oats": 9, "millet": 12})
		third := plan("Autumn")
		third.Control, third.Closing = "oats", "2026-12-20"
		tried(b, third, map[string]float64{"oats": 11, "millet": 12})
		_, far := friend(b.t, "North farm", "Away", 4)
		must(b.TakePackage(b.ctx, app.Act{}, posted(b, far), ""))(b)

		past := must(b.Past(b.ctx))(b)
		sets, silent := past.Sets, past.Silent
		if len(sets) != 1 || sets[0].Title() != "millet against oats" || sets[0].Trials != 4 || sets[0].Away != 1 || len(silent) != 0 {
			b.t.Fatalf("tried: %+v, silent %v", sets, silent)
		}
		p := must(b.Pool(b.ctx, app.PoolAsk{Of: "Oats against MILLET"}))(b)
		var in pool.PoolInput
		for i, name := range []string{"Spring", "Summer", "Autumn", "Away"} {
			r := p.Rows[i]
			if r.Trial != name || (r.From != "") != (name == "Away") || r.Given.Value < 1 {
				b.t.Fatalf("row %d is %+v, want %s", i, r, name)
			}
			se := math.Log(r.Given.High/r.Given.Low) / (2 * 1.959963984540054)
			in.Trials = append(in.Trials, pool.PoolTrial{Name: "x", Estimate: r.Given.Value, SE: &se, Imported: r.From != ""})
		}
		v := must(b.Verdict(b.ctx, "Autumn"))(b).Result.Comparisons[0]
		near(b.t, "a row", p.Rows[2].Given.High, 1+*v.Percent.High/100, 1e-12)
		w := must(b.Verdict(b.ctx, "Summer"))(b).Result.Comparisons[0] // oats less millet, per jar picked
		near(b.t, "a row that is turned", p.Rows[1].Given.Low, 1/(1+*w.Also.Percent.High/100), 1e-12)
		want, err := pool.Pool(in)
		b.ok(err)
		near(b.t, "mean", p.Answer.Result.Mean.Value, want.Result.Mean.Value, 1e-9)
		near(b.t, "next, high", p.Answer.Result.Next.High, want.Result.Next.High, 1e-9)
		if p.Ending != "supported" || !strings.HasPrefix(p.Sentence, "Over 4 trials, 1 of them from elsewhere, millet gives more than oats: ") || !strings.HasPrefix(p.Next, "The next grow may show ") {
			t.Errorf("%s: %s %s", p.Ending, p.Sentence, p.Next)
		}
		if !hasCaution(p, "same_by_name") || !hasCaution(p, "imported") {
			t.Errorf("cautions %v", p.Answer.Cautions)
		}
		own := must(b.Pool(b.ctx, app.PoolAsk{Of: sets[0].Key, OwnOnly: true}))(b)
		if len(own.Rows) != 3 || len(own.LeftOut) != 1 || own.LeftOut[0].From != "North farm" || own.Answer.Result.MeanOwn != nil {
			t.Errorf("own only: %d rows, left out %v", len(own.Rows), own.LeftOut)
		}
		near(b.t, "mean of the own", p.Answer.Result.MeanOwn.Value, own.Answer.Result.Mean.Value, 1e-9)
		shares := must(b.Pool(b.ctx, app.PoolAsk{Of: sets[0].Key, Outcome: lab.ByClean}))(b)
		if shares.Ratio || shares.Ending != "not_told_apart" || !strings.Contains(shares.Sentence, "points of a hundred jars") {
			t.Errorf("shares: %s", shares.Sentence)
		}
	})
}

func hasCaution(p app.Pooled, code string) bool {
	for _, c := range p.Answer.Cautions {
		if c.Code == code {
			return true
		}
	}
	return false
}

// What is not the same contrast, or says nothing, is left out with why.
func TestPoolLeavesOut(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		tried(b, plan("Spring"), map[string]float64{"oats": 10, "millet": 12})
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name: "millet", Mixes: []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "millet", Amount: "44 g"}}}},
			Fills: []lab.Fill{{Mix: "grain", Amount: "44 g"}},
		}))(b)
		later := plan("Second version")
		later.Closing = "2026-09-20"
		tried(b, later, map[string]float64{"oats": 10, "millet": 13})
		growing := plan("Growing")
		growing.Closing = "2026-12-20"
		k := b.cooked(growing, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		hidden := plan("Hidden")
		hidden.Blind, hidden.Closing = true, "2027-01-20"
		b.cooked(hidden, 60)

		p := must(b.Pool(b.ctx, app.PoolAsk{Of: "millet against oats"}))(b)
		if len(p.Rows) != 1 || p.Versions != 2 {
			t.Errorf("%d rows, %d of another version: %v", len(p.Rows), p.Versions, p.LeftOut)
		}
		why := ""
		for _, l := range p.LeftOut {
			why += l.Trial + ": " + l.Why + "\n"
		}
		if !strings.Contains(why, "Second version: it compares millet, version 2 with oats: another version") {
			t.Errorf("left out:\n%s", why)
		}
		any := must(b.Pool(b.ctx, app.PoolAsk{Of: p.Key, AnyVersion: true}))(b)
		if len(any.Rows) != 2 || len(any.LeftOut) != 1 || !strings.Contains(any.LeftOut[0].Why, "still growing") {
			t.Errorf("any version: %d rows, left out %v", len(any.Rows), any.LeftOut)
		}
		silent := must(b.Past(b.ctx))(b).Silent
		if len(silent) != 1 || silent[0].Trial != "Hidden" || !strings.Contains(silent[0].Why, "blind") {
			t.Errorf("silent: %v", silent)
		}
		if _, err := b.Pool(b.ctx, app.PoolAsk{Of: "millet, version 2 against rye"}); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("never tried: %v", err)
		}
		if _, err := b.Pool(b.ctx, app.PoolAsk{Of: p.Key, Outcome: lab.ByColour}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("colours: %v", err)
		}
	})
}

// Of many recipes the luckiest is not believed: it is drawn towards the others,
// and said not to be told apart.
func TestRankRecipes(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		typed := func(this, estimate, se string) {
			must(b.TypeGuest(b.ctx, app.Act{}, app.PrintedInput{Source: "Invented (1999)", Is: "recipe", This: this, Than: "oats", Estimate: estimate, SE: se}))(b)
		}
		tried(b, plan("Spring"), map[string]float64{"oats": 10, "millet": 13.5})
		typed("rye", "1.5", "0.5")
		typed("bran", "1.1", "0.1")
		r := must(b.Rank(b.ctx, lab.ByRecipe, ""))(b)
		if r.Usual != "oats" || len(r.Rows) != 3 {
			b.t.Fatalf("ranking: %+v", r)
		}
		for _, row := range r.Rows {
			if row.Name == "rye" && !(row.Shrunk.Value < 0.9*row.Given.Value && row.Fell > 0) {
				t.Errorf("the luckiest is believed: %+v", row)
			}
		}
		if !strings.Contains(r.Sentence, "is told apart neither from oats nor from rye") {
			t.Errorf("says %s", r.Sentence)
		}
		if _, err := b.Rank(b.ctx, lab.ByCulture, ""); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("cultures: %v", err)
		}
		if _, err := b.Rank(b.ctx, lab.ByContainer, ""); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("containers: %v", err)
		}
	})
}

// Figures from print come in as an estimate or as what the arms came to.
func TestPrintedFigures(t *testing.T) {
	onBoth(t, func(b *bench) {
		in := app.PrintedInput{Source: "Invented (1999), table 2", Is: "recipe", This: "rye", Than: "oats"}
		estimate := in
		estimate.Estimate, estimate.SE = "1.2", "0.1"
		g := must(b.TypeGuest(b.ctx, app.Act{}, estimate))(b).Guest
		near(b.t, "low by the standard error", g.Contrasts[0].Low, 1.2*math.Exp(-1.959963984540054*0.1), 1e-12)
		if g.Name != "rye against oats" || g.Kind != lab.FromPrint {
			t.Errorf("kept %+v", g)
		}
		if again := must(b.TypeGuest(b.ctx, app.Act{}, estimate))(b); !again.Repeat {
			t.Error("the same figures twice are kept twice")
		}
		shares := in
		shares.Outcome, shares.ThisArm, shares.ThanArm = "clean", app.PrintedArm{Jars: "70", Did: "56"}, app.PrintedArm{Jars: "80", Did: "48"}
		c := must(b.TypeGuest(b.ctx, app.Act{}, shares))(b).Guest.Contrasts[0]
		// Published: Newcombe (1998), table II, 56/70 less 48/80 by method 10.
		near(b.t, "points", c.Value, 20, 1e-9)
		near(b.t, "low", c.Low, 5.24, 0.005)
		near(b.t, "high", c.High, 33.39, 0.005)
		for field, change := range map[string]func(*app.PrintedInput){
			"source":         func(in *app.PrintedInput) { in.Source = " " },
			"than":           func(in *app.PrintedInput) { in.Than = "RYE" },
			"this":           func(in *app.PrintedInput) { in.This = "" },
			"estimate":       func(in *app.PrintedInput) { in.Estimate = "-2" },
			"se":             func(in *app.PrintedInput) { in.SE = "0" },
			"low":            func(in *app.PrintedInput) { in.SE = "" },
			"outcome":        func(in *app.PrintedInput) { in.Outcome = "colour" },
			"arms_differ_in": func(in *app.PrintedInput) { in.Is = "weather" },
			"this_jars":      func(in *app.PrintedInput) { in.Estimate = "" },
			"this_sd": func(in *app.PrintedInput) {
				in.Estimate, in.ThisArm, in.ThanArm = "", app.PrintedArm{Jars: "12", Mean: "14", SD: "much"}, app.PrintedArm{Jars: "12", Mean: "12", SD: "3"}
			},
		} {
			bad := estimate
			change(&bad)
			_, err := b.TypeGuest(b.ctx, app.Act{}, bad)
			if x, ok := lab.AsProblem(err); !ok || x.Field != field || x.Mend == "" {
				t.Errorf("fault %v, want one at %s", err, field)
			}
		}
	})
}

// One trial that tells its arms apart says less of the next one, and the page
// says why; of none but trials from elsewhere no mean of one's own is promised.
func TestPoolOfOneTrialSaysWhyItIsWider(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.TypeGuest(b.ctx, app.Act{}, app.PrintedInput{Source: "Invented (1999)", Is: "recipe", This: "rye", Than: "oats", Estimate: "1.5", Low: "1.1", High: "2.05"}))(b)
		p := must(b.Pool(b.ctx, app.PoolAsk{Of: "rye against oats"}))(b)
		if p.Ending != "not_told_apart" || !hasCaution(p, "one_trial") {
			t.Errorf("%s, %v", p.Ending, p.Answer.Cautions)
		}
		for _, c := range p.Answer.Cautions {
			if strings.Contains(c.Text, "stands beside") {
				t.Errorf("no mean stands beside, and the page says %s", c.Text)
			}
		}
		must(b.TypeGuest(b.ctx, app.Act{}, app.PrintedInput{Source: "Invented (2000)", Is: "recipe", This: "rye", Than: "oats", Estimate: "1.5", Low: "1.1", High: "2.05"}))(b)
		if p := must(b.Pool(b.ctx, app.PoolAsk{Of: "rye against oats"}))(b); hasCaution(p, "one_trial") {
			t.Error("two trials are taken for one")
		}
	})
}
