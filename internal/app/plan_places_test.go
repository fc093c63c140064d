package app_test

import (
	"slices"
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
