package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// way returns all that a cook says on its way: steps, buttons and alarms.
func (b *bench) way(name string) (text string, run app.CookRun) {
	b.t.Helper()
	run = must(b.CookRun(b.ctx, name))(b)
	for _, s := range run.Steps {
		text += s.What + ". " + s.Caution + "\n"
	}
	for _, e := range append(append([]lab.Event{}, lab.Events...), lab.Steps...) {
		text += run.Words[e].Label + ": " + run.Words[e].Hint + "\n"
	}
	for _, a := range run.Alarms {
		text += a.What + "\n"
	}
	return text, run
}

// TestEachKindOfCookerSpeaksItsOwnWords: no gauge, weight or psi is spoken of
// where there is none, and a target in °C is said in °C.
func TestEachKindOfCookerSpeaksItsOwnWords(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		for _, kind := range lab.CookerKinds {
			_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: string(kind), Kind: string(kind)})
			b.ok(err)
		}
		for _, c := range []struct {
			cooker, target string
			kind           lab.CookerKind
			says, never    []string
		}{
			{"weight", "15 psi", lab.WeightCooker, []string{"weight rocks", "Weight stopped", "Vent", "zero pressure"}, []string{"dial"}},
			{"dial", "15 psi", lab.DialCooker, []string{"dial stands at the target", "Vent closed"}, []string{"rocks"}},
			{"steamer", "98 °C", lab.Steamer, []string{"Full steam, 98 °C", "thermometer", "boiling water", "stopped steaming"}, []string{"gauge", "psi", "the weight", "vent closed"}},
			{"autoclave", "121 °C", lab.Autoclave, []string{"121 °C reached", "It should have reached 121 °C by now", "slow let-down", "door"}, []string{"gauge", "psi", "the weight", "full steam"}},
			{"", "100 °C", lab.Steamer, []string{"98.6 °C"}, []string{"gauge"}}, // what steam has at 420 m, ISO 2533 and IF97
			{"", "105 °C", lab.Autoclave, []string{"105 °C reached"}, []string{"gauge"}},
			{"", "98.5 °C", lab.Steamer, []string{"98.5 °C"}, []string{"gauge"}},
		} {
			cook := must(b.AddCook(b.ctx, app.NewCook{Cooker: c.cooker, Hold: "90 min", Gauge: c.target}))(b)
			must(b.StepCook(b.ctx, app.Act{}, cook.String(), lab.HeatOn, "", "now"))(b)
			text, run := b.way(cook.String())
			if run.Kind != c.kind {
				t.Errorf("%s at %s is run as %q, want %q", c.cooker, c.target, run.Kind, c.kind)
			}
			for _, w := range c.says {
				if !strings.Contains(text, w) {
					t.Errorf("%s at %s does not say %q:\n%s", c.cooker, c.target, w, text)
				}
			}
			// The manual's own line names what any vessel may have.
			_, spoken, _ := strings.Cut(text, "The load. ")
			for _, w := range c.never {
				if strings.Contains(strings.ToLower(spoken), w) {
					t.Errorf("%s at %s speaks of %q", c.cooker, c.target, w)
				}
			}
		}
	})
}

// TestASteamerIsNotAskedForPressure: what steam without pressure can not
// reach is refused with what it does reach.
func TestASteamerIsNotAskedForPressure(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "1609 m"}))
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "drum", Kind: "steamer"})
		b.ok(err)
		for target, says := range map[string]string{"15 psi": "is a pressure", "102 °C": "94.6 °C"} { // boiling at 1609 m, ISO 2533 and IF97
			_, err := b.AddCook(b.ctx, app.NewCook{Cooker: "drum", Hold: "8 h", Gauge: target})
			if p, ok := lab.AsProblem(err); !ok || p.Field != "gauge" || !strings.Contains(p.What, says) || !strings.Contains(p.Mend, "94.6 °C") {
				t.Errorf("%s gives %v, want %q and what it gets to", target, err, says)
			}
		}
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "drum", Hold: "8 h", Gauge: "100 °C"}))(b)
		has(t, must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b).Cautions, "boils_lower") // and 94.6 °C is counted
		must(b.MarkCook(b.ctx, app.Act{}, "1", lab.Reached, "now"))(b)
		b.clock.minutes(8 * 60)
		must(b.MarkCook(b.ctx, app.Act{}, "1", lab.HeatOff, "now"))(b)
		b.clock.minutes(11)
		if a := alarm(t, must(b.Alarms(b.ctx))(b), "open"); a == nil || !a.Due || !strings.Contains(a.What, "steaming") {
			t.Errorf("11 min after the heat was off: %+v", a)
		}
	})
}

func TestAHoldOfZeroIsRefused(t *testing.T) {
	onSQLite(t, func(b *bench) {
		_, err := b.AddCook(b.ctx, app.NewCook{Hold: "0 min", Gauge: "15 psi"})
		if p, ok := lab.AsProblem(err); !ok || p.Field != "hold" || !strings.Contains(p.Mend, "blank") {
			t.Errorf("a hold of zero gives %v", err)
		}
	})
}
