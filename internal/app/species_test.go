package app_test

import (
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// A span of the grower's own for a strain moves what is expected of the jars
// that carry it, and of no others; a dash takes it back.
func TestOwnSpanMovesTheWindow(t *testing.T) {
	onBoth(t, func(b *bench) {
		in := b.cordyceps(plan("Oats or millet"))
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-8", Form: "LC", Strain: "K7", Species: "Cordyceps militaris", Made: "2026-02-10"}))(b)
		in.Culture, in.Shelves = "LC-8", nil
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		b.step(lab.HeatOn, "")
		b.clock.minutes(20)
		b.mark(lab.Reached)
		b.clock.minutes(90)
		b.mark(lab.HeatOff)
		b.clock.days(1)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
		cover := func() string {
			return find(t, b.told(), "full cover expected from today").Start.Format("2006-01-02")
		}
		book := cover()
		if book != "2026-03-09" {
			t.Errorf("by the book cover is looked for from %s", book)
		}
		b.ok(b.SetTarget(b.ctx, "militaris", "other", "run.days", "30-34"))
		if got := cover(); got != book {
			t.Errorf("another strain's span moves it to %s", got)
		}
		b.ok(b.SetTarget(b.ctx, "militaris", "k7", "run.days", "30-34"))
		if got := cover(); got != "2026-03-22" {
			t.Errorf("with 30 days for the strain it is looked for from %s", got)
		}
		b.ok(b.SetTarget(b.ctx, "militaris", "K7", "run.days", "-"))
		if got := cover(); got != book {
			t.Errorf("after the dash it is looked for from %s", got)
		}
		if err := b.SetTarget(b.ctx, "boletus", "", "run.days", "3"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("a species that is not known: %v", err)
		}
	})
}
