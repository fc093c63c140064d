package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestCookDay: 40 jars in pots of 14 and of 6 are two rounds, of 20 jars each;
// a round is the slower heat-up of 45 min (that of the small one was not
// measured), 90 min of hold and 70 min around it. Invented pots.
func TestCookDay(t *testing.T) {
	onBoth(t, func(b *bench) {
		ask := app.CookDayInput{Jars: "40 half-litre jar", Hold: "90 min"}
		if _, err := b.CookDay(b.ctx, ask); err == nil {
			t.Error("a day without cookers is planned")
		}
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, cooker)
		b.ok(err)
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "small", Holds: "half-litre jar 6 x 1"})
		b.ok(err)
		day := must(b.CookDay(b.ctx, ask))(b)
		r := day.Result
		if r.Rounds != 2 || r.Days != 1 || len(r.Cooks) != 4 || day.CycleMin != 205 || r.Minutes != 410 || day.DayMin != 600 {
			t.Errorf("%d rounds on %d days, %d cooks of %g min in all %g min", r.Rounds, r.Days, len(r.Cooks), day.CycleMin, r.Minutes)
		}
		for _, c := range r.Cooks {
			if c.StartMin != float64(c.Round-1)*205 {
				t.Errorf("round %d begins at minute %g", c.Round, c.StartMin)
			}
		}
		short := must(b.CookDay(b.ctx, app.CookDayInput{Jars: "40 half-litre jar", Cycle: "3 h", Day: "4 h"}))(b)
		if short.Result.Days != 2 || short.CycleMin != 180 || short.Cycle != "" {
			t.Errorf("a day of 4 h holds one round of 3 h: %+v", short.Result)
		}
		for field, in := range map[string]app.CookDayInput{
			"jars": {Jars: "many jars", Hold: "90 min"}, "cycle": {Jars: "4 half-litre jar"}, "hold": {Jars: "4 half-litre jar", Hold: "90 g"}, "day": {Jars: "4 half-litre jar", Cycle: "3 h", Day: "long"},
		} {
			_, err := b.CookDay(b.ctx, in)
			if p, ok := lab.AsProblem(err); !ok || p.Field != field {
				t.Errorf("%+v gives %v, want a problem at %s", in, err, field)
			}
		}
		_, err = b.CookDay(b.ctx, app.CookDayInput{Jars: "4 quart jar", Hold: "90 min"})
		if p, ok := lab.AsProblem(err); !ok || p.Field != "jars" {
			t.Errorf("a jar that no cooker holds gives %v", err)
		}
	})
}

// TestCookDayEstimatesWhatNobodyCounted: a pot of 320 mm has room for eight
// jars of 80 mm with 10 mm of wall: circles of 95 mm in one of 315, 3.316 times
// as wide; eight want 3.305, nine 3.613 (known packings of circles). Two layers of 120 mm fit under 250 mm, with a plate of 3 mm between.
func TestCookDayEstimatesWhatNobodyCounted(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "wide", Bore: "320 mm", Room: "250 mm", Divider: "3 mm"})
		b.ok(err)
		day := must(b.CookDay(b.ctx, app.CookDayInput{Jars: "30 half-litre jar", Hold: "90 min"}))(b)
		if r := day.Result; r.Rounds != 2 || len(r.Cooks) != 2 || r.Cooks[0].Places != 16 {
			t.Errorf("%d rounds, the first cook has %d places, want 2 of 16", r.Rounds, r.Cooks[0].Places)
		}
		has(t, day.Cautions, "packing_estimated")
		if first := day.Cautions[0].Text; !strings.Contains(first, "8 of half-litre jar in a layer of wide, 2 layers") {
			t.Errorf("it says %q", first)
		}
		// A plan has the same places from the same measures.
		in := plan("estimated")
		in.Cooks = []app.PlanCook{{Cooker: "wide", Hold: "90 min", Gauge: "15 psi"}}
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)

		// What was counted goes before, and says nothing of an estimate.
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "wide", Holds: "half-litre jar 5 x 2"})
		b.ok(err)
		day = must(b.CookDay(b.ctx, app.CookDayInput{Jars: "30 half-litre jar", Hold: "90 min"}))(b)
		if r := day.Result; r.Rounds != 3 || strings.Contains(codes(day.Cautions), "packing_estimated") {
			t.Errorf("counted: %d rounds, %s", r.Rounds, codes(day.Cautions))
		}
		// A pot that is too small for the jar takes none; another one does.
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tiny", Bore: "90 mm"})
		b.ok(err)
		if day = must(b.CookDay(b.ctx, app.CookDayInput{Jars: "30 half-litre jar", Hold: "90 min"}))(b); len(day.Cookers) != 1 {
			t.Errorf("the cookers are %v", day.Cookers)
		}
	})
}
