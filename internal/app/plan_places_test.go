package app_test

import (
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// A cook that says no places takes what was counted for its cooker; of a farm
// with one cooker, that one. What was not counted is asked for.
func TestPlanTakesCountedPlaces(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		bare := func() app.PlanInput {
			in := plan("counted")
			in.Cooks = []app.PlanCook{{Hold: "60 min", Gauge: "15 psi"}, {Hold: "90 min", Gauge: "12 psi", Places: []int{6}}}
			return in
		}
		refused := func(why string) {
			t.Helper()
			_, err := b.DraftPlan(b.ctx, bare())
			if p, ok := lab.AsProblem(err); !ok || p.Field != "places" {
				t.Errorf("%s: %v", why, err)
			}
		}
		refused("no cooker is known")
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Holds: "quart jar 4 x 1"})
		b.ok(err)
		refused("another container was counted")
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Holds: "half-litre jar 5 x 2"})
		b.ok(err)
		k := must(b.KeepPlan(b.ctx, app.Act{}, bare()))(b)
		if len(k.Cooks) != 2 || k.Cooks[0].Layers != 2 || k.Cooks[0].Cooker != "tall" || k.Cooks[1].Layers != 1 {
			t.Fatalf("the cooks are %+v", k.Cooks)
		}
		if k.Cooks[0].Hold != 60 || k.Cooks[1].Hold != 90 || k.Cooks[1].Gauge != "12 psi" {
			t.Errorf("holds %v and %v at %s", k.Cooks[0].Hold, k.Cooks[1].Hold, k.Cooks[1].Gauge)
		}
		layers := make(map[int]int)
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if j.Cook == k.Cooks[0].ID {
				layers[j.Layer]++
			}
		}
		if layers[1] > 5 || layers[2] > 5 || layers[1] == 0 {
			t.Errorf("jars by layer: %v, 5 fit", layers)
		}
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "small"})
		b.ok(err)
		refused("two cookers, and none is named")
		named := bare()
		named.Name, named.Cooks[0].Cooker = "named", "Tall"
		p := must(b.DraftPlan(b.ctx, named))(b)
		if i := slices.IndexFunc(p.Slots, func(s app.PlanSlot) bool { return s.Cook == 1 && s.Layer == 2 }); i < 0 {
			t.Error("nothing stands in the second layer of the cooker that was named")
		}
	})
}

// Without a count places are estimated by the packing of circles, and that is
// said: 7 jars of 76 + 10 mm in 300 mm with gaps of 5, on two layers of 300 mm
// of room. A jar that does not go in is refused.
func TestPlacesArePacked(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.AddContainer(b.ctx, app.NewContainer{Name: "tall jar", Kind: "jar", Bore: "76 mm", Height: "130 mm"}))(b)
		must(b.AddContainer(b.ctx, app.NewContainer{Name: "vat", Kind: "jar", Bore: "320 mm", Height: "130 mm"}))(b)
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "pot", Bore: "300 mm", Room: "300 mm"})
		b.ok(err)
		in := plan("packed")
		for i := range in.Arms {
			in.Arms[i].Container = "tall jar"
		}
		in.Cooks = []app.PlanCook{{Hold: "60 min", Gauge: "15 psi"}, {Hold: "60 min", Gauge: "15 psi"}}
		p := must(b.DraftPlan(b.ctx, in))(b)
		most := make(map[int]int)
		for _, s := range p.Slots {
			if s.Cook == 0 {
				most[s.Layer]++
			}
		}
		if most[1] > 7 || most[2] > 7 || most[3] > 0 || !slices.ContainsFunc(p.Sentences, func(s string) bool { return strings.Contains(s, "is estimated from the inner diameter") }) {
			t.Errorf("jars by layer: %v; %v", most, p.Sentences)
		}
		in.Arms[0].Container = "vat"
		if _, err := b.DraftPlan(b.ctx, in); !lab.IsKind(err, lab.Invalid) || !strings.Contains(err.Error(), "vat does not go into pot") {
			t.Errorf("a jar wider than the pot: %v", err)
		}
	})
}
