package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// TestWarmCoresAreTold: jars of a cook whose heat went off an hour ago are not
// cold in the core, those of the day before are.
func TestWarmCoresAreTold(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("warm")))(b)
		b.mark(lab.Reached)
		b.clock.minutes(90)
		b.mark(lab.HeatOff)
		told := func(after int) *figure.Caution {
			b.t.Helper()
			b.clock.minutes(after)
			for _, c := range must(b.InoculateDraft(b.ctx, app.InoculateInput{Batch: "B1", Means: "LC", Amount: "2 mL"}))(b).Cautions {
				if c.Code == "core_still_warm" {
					return &c
				}
			}
			return nil
		}
		first := told(60)
		if first == nil || first.Weight != figure.Stop || !strings.Contains(first.Text, "60 min before") || !strings.Contains(first.Text, "by the model up to") {
			t.Fatalf("an hour after the heat: %+v", first)
		}
		report := must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: "B1", Means: "LC", Amount: "2 mL", Except: "2-6"}))(b)
		if !strings.Contains(codes(report.Cautions), "core_still_warm") {
			t.Errorf("inoculating says %s", codes(report.Cautions))
		}
		if later := told(60); later == nil || !strings.Contains(later.Text, "2 h before") {
			t.Errorf("two hours after the heat: %+v", later)
		}
		if cold := told(18 * 60); cold != nil {
			t.Errorf("20 h after the heat: %+v", cold)
		}
		if day := must(b.InoculateDraft(b.ctx, app.InoculateInput{Batch: "B1", Means: "LC", Amount: "2 mL", At: "yesterday"}))(b); strings.Contains(codes(day.Cautions), "core_still_warm") {
			t.Error("a day without an hour is taken for one")
		}
	})
}

// Where the model can not speak, ten hours are taken.
func TestWarmCoresWithoutAModel(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		in := plan("warm")
		in.Cooks[0].Gauge = ""
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		b.mark(lab.Reached)
		b.clock.minutes(90)
		b.mark(lab.HeatOff)
		for _, c := range []struct {
			after int
			warm  bool
		}{{599, true}, {1, false}} {
			b.clock.minutes(c.after)
			report := must(b.InoculateDraft(b.ctx, app.InoculateInput{Batch: "B1", Means: "LC", Amount: "2 mL"}))(b)
			if got := strings.Contains(codes(report.Cautions), "core_still_warm"); got != c.warm {
				t.Errorf("%d min on: warm %v", c.after, got)
			}
		}
	})
}
