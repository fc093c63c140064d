package app_test

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// bottle is a made-up one of half a litre, 180 mm high inside.
var bottle = app.NewContainer{Name: "half-litre bottle", Kind: "bottle", Volume: "500 mL", Bore: "70 mm", Height: "180 mm"}

// TestItemsCountAsALoad: bottles and tools of no batch are counted for heat
// and water, and jars of no batch have a core.
func TestItemsCountAsALoad(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		must(b.AddContainer(b.ctx, bottle))(b)
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, cooker)
		b.ok(err)
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "45 min", Gauge: "15 psi"}))(b)
		heat := func() float64 {
			a := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
			return *a.Water.Result.HeatKJ
		}
		before := heat()
		// 6 bottles of 400 mL and 300 g of glass, 2 kg of steel: 2.4 kg x 4.20,
		// 1.8 x 0.84 and 2 x 0.49 kJ/kgK, over what 1 K takes.
		item := must(b.AddCookItem(b.ctx, app.Act{}, "1", app.NewItem{Name: "broth bottles", Count: 6, Kind: "liquid", Container: "half-litre bottle", Fill: "400 mL", Empty: "300 g", Layer: 1}))(b)
		must(b.AddCookItem(b.ctx, app.Act{}, "1", app.NewItem{Name: "scalpels", Count: 4, Kind: "tools", Mass: "500 g"}))(b)
		per := 2.4*4.20 + 1.8*0.84 + 2*0.49
		if rise := (heat() - before) / per; rise < 90 || rise > 101 { // 20 °C to the pot's 120 °C
			t.Errorf("the items take %g kJ, which is %g K of their heat", heat()-before, rise)
		}
		a := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		has(t, a.Cautions, "too_full", "tools")
		if a.Vessel == nil || a.Vessel.Recipe != "broth bottles" || a.Vessel.Jars != 6 {
			t.Errorf("the slowest is %v, missing %q", a.Vessel, a.Missing)
		}
		if run := must(b.CookView(b.ctx, "1"))(b); len(run.Items) != 2 || run.Items[0].Figures.Fill != 400 {
			t.Errorf("the items are %+v", run.Items)
		}
		must(b.Undo(b.ctx, app.Act{}, item.Deed))(b)
		if run := must(b.CookView(b.ctx, "1"))(b); len(run.Items) != 1 {
			t.Errorf("after the undo: %+v", run.Items)
		}
		must(b.AddCookItem(b.ctx, app.Act{}, "1", app.NewItem{Name: "jars of a neighbour", Count: 4, Kind: "fill", Container: "half-litre jar", Fill: "60 mm", Moisture: "60%", Mass: "260 g"}))(b)
		a = must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		if a.Vessel == nil || a.Vessel.FillMM != 60 || a.Vessel.Jars != 4 || a.Vessel.WeighedG == nil || a.CoreMin == nil { // slower than a liquid
			t.Errorf("a jar of no batch has the core %+v, missing %v", a.Vessel, a.Missing)
		}
	})
}

// TestALoadThatDoesNotFitIsRefused, with the numbers and the mend: over the
// rim, another size, too high with dividers, at planning and beside a load.
func TestALoadThatDoesNotFitIsRefused(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies() // the half-litre jar is 110 mm high
		must(b.AddContainer(b.ctx, bottle))(b)
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Room: "222 mm", Divider: "3 mm"})
		b.ok(err)
		in := plan("high")
		in.Cooks[0].Places, in.Cooks[0].Cooker = []int{7, 7}, "tall"
		_, err = b.KeepPlan(b.ctx, app.Act{}, in)
		if p, ok := lab.AsProblem(err); !ok || p.Field != "places" || !strings.Contains(p.What, "223 mm high") || !strings.Contains(p.What, "2 × half-litre jar of 110 mm, 1 plate of 3 mm), and tall has 222 mm") {
			t.Fatalf("two layers of 110 mm and a plate of 3 mm in 222 mm give %v", err)
		}
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Room: "223 mm"})
		b.ok(err)
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		for _, c := range []struct {
			field, says string
			n           app.NewItem
		}{
			{"fill", "600 mL", app.NewItem{Name: "b", Count: 1, Kind: "liquid", Container: "half-litre bottle", Fill: "600 mL", Mixed: true}},
			{"container", "another size", app.NewItem{Name: "b", Count: 1, Kind: "liquid", Container: "half-litre bottle", Fill: "300 mL", Layer: 1}},
			{"container", "293 mm high", app.NewItem{Name: "b", Count: 1, Kind: "liquid", Container: "half-litre bottle", Fill: "300 mL", Layer: 2, Mixed: true}},
			{"container", "no container", app.NewItem{Name: "b", Count: 1, Kind: "liquid", Container: "vase"}},
			{"count", "0 pieces", app.NewItem{Name: "b", Kind: "tools"}},
			{"kind", "not a kind", app.NewItem{Name: "b", Count: 1, Kind: "soup"}},
			{"moisture", "out of the range", app.NewItem{Name: "b", Count: 1, Kind: "fill", Moisture: "99%"}},
		} {
			_, err := b.AddCookItem(b.ctx, app.Act{}, k.Cooks[0].String(), c.n)
			if p, ok := lab.AsProblem(err); !ok || p.Field != c.field || !strings.Contains(p.What, c.says) {
				t.Errorf("%+v gives %v, want %q at %s", c.n, err, c.says, c.field)
			}
		}
		must(b.AddCookItem(b.ctx, app.Act{}, k.Cooks[0].String(), app.NewItem{Name: "more jars", Count: 1, Kind: "fill", Container: "half-litre jar", Layer: 2}))(b)
	})
}

// TestMeasuredFillIsKept: height and mass that were measured are entries of
// the cook, and give the density that the core is reckoned with.
func TestMeasuredFillIsKept(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("weighed")))(b)
		b.step(lab.FillAt, "60 mm")
		solid := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		b.step(lab.MassAt, "180 g")
		loose := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		if loose.Vessel.WeighedG == nil || *loose.Vessel.WeighedG != 180 || loose.Vessel.FillMM != 60 {
			t.Fatalf("the vessel is %+v", loose.Vessel)
		}
		if *loose.Hold.Result.RuleCoreF0Min.Best == *solid.Hold.Result.RuleCoreF0Min.Best {
			t.Error("pores make no difference to the core")
		}
		b.step(lab.MassAt, "3 kg")
		if a := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b); a.Vessel.WeighedG != nil || !strings.Contains(strings.Join(a.Missing, " "), "do not stand 60 mm high") {
			t.Errorf("3 kg in a jar: %+v, missing %v", a.Vessel, a.Missing)
		}
	})
}

// TestStartIsAskedForWhereItMatters, and counted once it was said.
func TestStartIsAskedForWhereItMatters(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		in := plan("cold")
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		b.step(lab.FillAt, "90 mm")
		unknown := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		has(t, unknown.Cautions, "start_assumed")
		b.step(lab.StartAt, "5")
		cold := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		if *cold.Hold.Result.RuleCoreF0Min.Low >= *unknown.Hold.Result.RuleCoreF0Min.Low {
			t.Error("a cold load earns as much")
		}
		if strings.Contains(codes(cold.Cautions), "start_assumed") {
			t.Error("it is asked for again")
		}
		for typed, mend := range map[string]string{"122 °C": "50.0 °C", "warm": ""} { // 122 °F is 50 °C
			_, err := b.StepCook(b.ctx, app.Act{}, "1", lab.StartAt, typed, "now")
			if p, ok := lab.AsProblem(err); !ok || p.Field != "typed" || !strings.Contains(p.Mend, mend) {
				t.Errorf("%s gives %v", typed, err)
			}
		}
	})
}

// TestThermometerLowersTheCore: a reading in °C counts as one of the gauge
// does, also below boiling, where no pressure speaks.
func TestThermometerLowersTheCore(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		in := plan("steamed")
		in.Cooks[0].Gauge, in.Cooks[0].Hold = "98.5 °C", "8 h"
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		b.mark(lab.Reached)
		b.clock.minutes(200)
		b.step(lab.ReadsAt, "96 °C")
		b.clock.minutes(300)
		b.mark(lab.HeatOff)
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		if core.Result == nil || math.Abs(core.Result.ChamberC-96) > 0.05 {
			t.Fatalf("the chamber is %+v, want the thermometer's 96 °C; missing %v", core.Result, core.Missing)
		}
		has(t, core.Cautions, "gauge_below_target", "near_nothing")
		if len(core.Gauge) != 1 || core.Gauge[0].Psi != nil || core.Gauge[0].Celsius != 96 {
			t.Errorf("readings are %+v", core.Gauge)
		}
	})
}

// TestLossIsSplitWhereTheLogsLet: 0.4 L before the hold and 0.2 L in an hour
// of it, from cooks of 1 and 2 h; from cooks of one length all is taken as
// lost in the hold, and it is said. Invented figures.
func TestLossIsSplitWhereTheLogsLet(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "0 m"}))
		run := func(name string, hold int, left string) {
			must(b.StepCook(b.ctx, app.Act{}, name, lab.WaterIn, "3 L", "now"))(b)
			must(b.MarkCook(b.ctx, app.Act{}, name, lab.Reached, "now"))(b)
			b.clock.minutes(hold)
			must(b.MarkCook(b.ctx, app.Act{}, name, lab.HeatOff, "now"))(b)
			b.clock.minutes(60)
			must(b.StepCook(b.ctx, app.Act{}, name, lab.WaterLeft, left, "now"))(b)
		}
		for range 3 {
			must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "30 min", Gauge: "15 psi"}))(b)
		}
		run("1", 60, "2.4 L")
		lumped := must(b.CookAdvice(b.ctx, "3", app.AdviceOptions{}))(b)
		if lumped.PourL == nil || math.Abs(*lumped.PourL-1.6) > 0.01 || !strings.Contains(lumped.Learned, "can not tell the two apart") {
			t.Errorf("after one cook of an hour: pour %v L, %q; want what that one lost and a litre", lumped.PourL, lumped.Learned)
		}
		run("2", 120, "2.2 L")
		split := must(b.CookAdvice(b.ctx, "3", app.AdviceOptions{}))(b)
		if split.PourL == nil || math.Abs(*split.PourL-1.5) > 0.01 || split.VentL == nil || math.Abs(*split.VentL-0.4) > 0.01 {
			t.Errorf("pour %v L of which %v before the hold, want 0.4 + 0.1 + 1; %q", split.PourL, split.VentL, split.Learned)
		}
	})
}
