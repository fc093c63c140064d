package app_test

import (
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// best is the likeliest F0 at heat-off of the cores of cook 1.
func best(b *bench) float64 {
	b.t.Helper()
	core := must(b.CookCore(b.ctx, "1", 0))(b)
	if core.Result == nil {
		b.t.Fatalf("no core: %v", core.Missing)
	}
	return core.Result.Core.Best.F0HeatOffMin
}

// A target that was lost and came back: the core goes on from what it was, and
// what it earns in both stretches is told, though only the longest counts.
func TestCoreGoesOnAfterALostTarget(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("broken")))(b)
		b.step(lab.HeatOn, "")
		from := b.clock.Now()
		b.clock.minutes(20)
		b.mark(lab.Reached)
		b.clock.minutes(55)
		first := best(b)
		b.mark(lab.Broken)
		b.clock.minutes(15)
		b.mark(lab.Back)
		b.clock.minutes(30)
		b.mark(lab.HeatOff)
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		if f := core.Result.Core.Best.F0HeatOffMin; !(f > 1.5*first) {
			t.Errorf("F0 %g after a second stretch, %g after the first", f, first)
		}
		if v := must(b.CookView(b.ctx, "1"))(b); v.State != lab.NotHeld {
			t.Errorf("the state is %s: F0 must not rescue a hold", v.State)
		}
		if !strings.Contains(core.Chamber, "below boiling") || !core.Begin.Equal(from) {
			t.Errorf("it begins at %v, heat on was at %v, and says %q", core.Begin, from, core.Chamber)
		}
		// In the gap the pot is at 98.6 °C, where water boils at 420 m, less 3 K.
		if c := chamberAt(t, core, 80); !(c > 93 && c < 96) {
			t.Errorf("five minutes into the gap the chamber is at %.1f °C", c)
		}
		if c := chamberAt(t, core, 100); !(c > 119) {
			t.Errorf("back at the target the chamber is at %.1f °C", c)
		}
	})
}

// chamberAt is the chamber so many minutes after the beginning.
func chamberAt(t *testing.T, core app.CookCore, minute float64) float64 {
	t.Helper()
	for _, m := range core.Result.Trace {
		if m.Min == minute {
			return m.ChamberC
		}
	}
	t.Fatalf("the trace has no minute %g", minute)
	return 0
}

// A logger that lay in the chamber through the hold is believed before the
// gauge, and the cool-down that it saw is counted apart.
func TestCoreFollowsTheLogger(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("logged")))(b)
		b.step(lab.HeatOn, "")
		from := b.clock.Now()
		b.clock.minutes(20)
		b.mark(lab.Reached)
		b.clock.minutes(70)
		b.mark(lab.HeatOff)
		gauge := best(b)
		readings := func(minutes int, top float64) (out []lab.Reading) {
			for m := range minutes {
				c := top
				switch {
				case m < 20:
					c = 20 + (top-20)*float64(m)/20
				case m > 90:
					c = top - 0.5*float64(m-90)
				}
				out = append(out, lab.Reading{At: from.Add(time.Duration(m) * time.Minute), Celsius: c})
			}
			return out
		}
		part := app.NewCookRecord{Place: "chamber", File: "part.csv", Original: "x", Readings: readings(60, 117)}
		must(b.AddCookRecord(b.ctx, app.Act{}, "1", part))(b)
		if f := best(b); f != gauge {
			t.Errorf("a logger that did not see the end of the hold makes F0 %g of %g", f, gauge)
		}
		whole := app.NewCookRecord{Place: "chamber", File: "pot.csv", Original: "y", Readings: readings(130, 116)}
		must(b.AddCookRecord(b.ctx, app.Act{}, "1", whole))(b)
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		f := core.Result.Core.Best
		if !(f.F0HeatOffMin < 0.6*gauge) {
			t.Errorf("a chamber of 116 °C gives F0 %g, the gauge has %g", f.F0HeatOffMin, gauge)
		}
		if !(f.F0TotalMin > f.F0HeatOffMin) || !strings.Contains(core.Sentence, "with the cool-down as it was logged at least") {
			t.Errorf("of the cool-down it says %q", core.Sentence)
		}
		if !strings.Contains(core.Chamber, "pot.csv") || !core.Followed || !core.Begin.Equal(from) {
			t.Errorf("it says %q and begins at %v", core.Chamber, core.Begin)
		}
		has(t, core.Cautions, "air_in_chamber")
	})
}
