package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// lidOf returns what is known of the lid of the container called name.
func (b *bench) lidOf(name string) lab.Lid {
	b.t.Helper()
	for _, c := range must(b.Containers(b.ctx))(b) {
		if c.Name == name {
			return c.Lid
		}
	}
	b.t.Fatalf("no container %s", name)
	return ""
}

// refused reports an err that does not name the field and what was typed.
func (b *bench) refused(err error, field, typed string) {
	b.t.Helper()
	if p, ok := lab.AsProblem(err); !ok || p.Field != field || !strings.Contains(p.What, typed) || !strings.Contains(p.Mend, "filter") {
		b.t.Errorf("%v, want a refusal of %s at %s with a mend", err, typed, field)
	}
}

func TestContainersKeepTheirLid(t *testing.T) {
	onBoth(t, func(b *bench) {
		n := bottle
		n.Lid = "foil"
		must(b.AddContainer(b.ctx, n))(b)
		if got := b.lidOf(n.Name); got != "foil" {
			t.Errorf("the lid is %q, want foil", got)
		}
		deed := must(b.SaveLid(b.ctx, app.Act{}, n.Name, "Filter"))(b)
		if got := b.lidOf(n.Name); got != "filter" {
			t.Errorf("the lid is %q, want filter", got)
		}
		must(b.Undo(b.ctx, app.Act{}, deed))(b)
		if got := b.lidOf(n.Name); got != "foil" {
			t.Errorf("after undo the lid is %q, want foil again", got)
		}
		_, err := b.SaveLid(b.ctx, app.Act{}, n.Name, "cork")
		b.refused(err, "lid", "cork")
		n.Name, n.Lid = "other", "cork"
		_, err = b.AddContainer(b.ctx, n)
		b.refused(err, "lid", "cork")
		if all := must(b.Containers(b.ctx))(b); len(all) != 1 {
			t.Errorf("%d containers, want none kept without its lid", len(all))
		}
	})
}

// TestLidsCountInACook asks where a lid matters, takes what the container
// keeps, and lets the cook alter it.
func TestLidsCountInACook(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("lids")))(b)
		least := func() float64 {
			b.t.Helper()
			return *must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b).Hold.Result.RuleCoreF0Min.Low
		}
		unknown := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		has(t, unknown.Cautions, "lid_assumed")
		if run := must(b.CookRun(b.ctx, "1"))(b); !run.AsksLid {
			t.Error("nobody asks how the lid vents")
		}
		vented := least()
		must(b.SaveLid(b.ctx, app.Act{}, "half-litre jar", "tight"))(b)
		tight := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		has(t, tight.Cautions, "tight_lid")
		if got := least(); !(got < vented) || strings.Contains(codes(tight.Cautions), "lid_assumed") {
			t.Errorf("a tight lid leaves %g min of F0, a vented one %g; cautions %s", got, vented, codes(tight.Cautions))
		}
		deed := b.step(lab.LidAt, " Filter ")
		if got := least(); got != vented {
			t.Errorf("with filters in this cook %g min of F0, want %g as vented", got, vented)
		}
		if v := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b).Vessel; v.Lid != "filter" {
			t.Errorf("the lid of the vessel is %q, want filter", v.Lid)
		}
		b.step(lab.LidAt, "open")
		if got := least(); !(got > vented) {
			t.Errorf("an open jar has %g min of F0, want more than %g", got, vented)
		}
		must(b.Undo(b.ctx, app.Act{}, deed))(b)
		_, err := b.StepCook(b.ctx, app.Act{}, "1", lab.LidAt, "cork", "now")
		b.refused(err, "typed", "cork")
	})
}
