package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// advised is the advice for a plan of one cook in the cooker given.
func (b *bench) advised(n app.NewCooker, gauge string) app.CookAdvice {
	b.t.Helper()
	_, _, err := b.SaveCooker(b.ctx, app.Act{}, n)
	b.ok(err)
	cook := must(b.AddCook(b.ctx, app.NewCook{Cooker: n.Name, Hold: "120 min", Gauge: gauge}))(b)
	return must(b.CookAdvice(b.ctx, cook.String(), app.AdviceOptions{}))(b)
}

// TestGaugesAreTestedEveryYear: the bench stands in March 2026. A test of
// last year counts, an older one is asked for again, one to come is refused,
// and nobody asks for the test of a weight.
func TestGaugesAreTestedEveryYear(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		for _, c := range []struct {
			cooker app.NewCooker
			asked  int
			says   string
		}{
			{app.NewCooker{Name: "dial", Kind: "dial"}, 1, "When was"},
			{app.NewCooker{Name: "old", Kind: "dial", Tested: "2025-01-20", ReadsHigh: "0.5 psi"}, 1, "2025-01-20"},
			{app.NewCooker{Name: "new", Kind: "dial", Tested: "2025-06-20"}, 0, ""},
			{app.NewCooker{Name: "weight", Kind: "weight"}, 0, ""},
		} {
			a := b.advised(c.cooker, "15 psi")
			n := 0
			for _, x := range a.Cautions {
				if x.Code == "gauge_untested" {
					n++
					if !strings.Contains(x.Title, c.says) {
						t.Errorf("%s: %q, want %q in it", c.cooker.Name, x.Title, c.says)
					}
				}
			}
			if n != c.asked {
				t.Errorf("%s: the test of the gauge is asked for %d times, want %d", c.cooker.Name, n, c.asked)
			}
		}
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "new", Tested: "2030-01-01"})
		if p, ok := lab.AsProblem(err); !ok || p.Field != "tested" || !strings.Contains(p.What, "still to come") {
			t.Errorf("a test to come gives %v", err)
		}
		has(t, b.advised(app.NewCooker{Name: "worn", Kind: "dial", ReadsHigh: "3 psi"}, "15 psi").Cautions, "replace_gauge")
	})
}

// TestAsksOnlyForWhatIsNotKnown: water that was reckoned is no stop sign, an
// autoclave fills itself, and a cooker that nobody wrote down is named.
func TestAsksOnlyForWhatIsNotKnown(t *testing.T) {
	onSQLite(t, func(b *bench) {
		measured := b.advised(app.NewCooker{Name: "tall", Loss: "240 mL"}, "15 psi")
		if measured.PourL == nil || strings.Contains(" "+codes(measured.Cautions)+" ", " water ") {
			t.Errorf("at least %v L to pour, and still: %s", measured.PourL, codes(measured.Cautions))
		}
		clave := b.advised(app.NewCooker{Name: "clave", Kind: "autoclave"}, "121 °C")
		if missing := strings.Join(clave.Missing, " "); strings.Contains(missing, "water") {
			t.Errorf("an autoclave lacks %q", missing)
		}
		must(b.AddCook(b.ctx, app.NewCook{Name: "typo", Cooker: "tal", Hold: "60 min", Gauge: "15 psi"}))(b)
		if missing := strings.Join(must(b.CookAdvice(b.ctx, "typo", app.AdviceOptions{}))(b).Missing, " "); !strings.Contains(missing, "No cooker is called tal") {
			t.Errorf("a cooker that is not known: %q", missing)
		}
	})
}

// TestBareReadingsTakeTheUnitOfTheTarget: 98 in a cook at 103 kPa are kPa.
func TestBareReadingsTakeTheUnitOfTheTarget(t *testing.T) {
	onSQLite(t, func(b *bench) {
		for i, c := range []struct {
			target, typed, kept string
			psi                 float64
		}{{"103 kPa", "98", "98 kPa", 14.2137}, {"1 bar", "0.95", "0.95 bar", 13.7786}, {"15 psi", "14.5", "14.5 psi", 14.5}, {"103 kPa", "14 psi", "14 psi", 14}} {
			cook := must(b.AddCook(b.ctx, app.NewCook{Hold: "60 min", Gauge: c.target}))(b)
			must(b.StepCook(b.ctx, app.Act{}, cook.String(), lab.GaugeAt, c.typed, "now"))(b)
			got := must(b.CookRun(b.ctx, cook.String()))(b).Logged[0]
			if got.Typed != c.kept || got.Value < c.psi-0.001 || got.Value > c.psi+0.001 {
				t.Errorf("%d: %s at %s is kept as %s, %g psi, want %s, %g psi", i, c.typed, c.target, got.Typed, got.Value, c.kept, c.psi)
			}
		}
		_, err := b.StepCook(b.ctx, app.Act{}, "1", lab.GaugeAt, "120 psi", "now")
		if p, ok := lab.AsProblem(err); !ok || !strings.Contains(p.What, "120 psi") || !strings.Contains(p.Mend, "unit") {
			t.Errorf("120 psi gives %v", err)
		}
	})
}

// TestAWeakRuleSaysWhatWouldDo: where the own rule leaves a core behind, the
// hold that brings it to the usual aim stands beside it, from the model.
func TestAWeakRuleSaysWhatWouldDo(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("deep")))(b)
		b.step(lab.FillAt, "90 mm")
		said := ""
		for _, x := range must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b).Cautions {
			if x.Code == "rule_is_weak" {
				said = x.Text
			}
		}
		if !strings.Contains(said, "8 min in the core") || !strings.Contains(said, "take a hold of") || !strings.Contains(said, "up to") {
			t.Errorf("the weak rule says %q, want the hold for 8 min", said)
		}
	})
}
