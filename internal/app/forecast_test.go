package app_test

import (
	"fmt"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// species gives the farm a culture that the book knows.
func (b *bench) bookCulture() {
	b.t.Helper()
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-M", Form: "LC", Species: "Cordyceps militaris", Made: "2026-02-10"}))(b)
}

// sown is a batch of six jars inoculated today.
func (b *bench) sown(name string) app.Kept {
	b.t.Helper()
	in := plan(name)
	in.Culture = "LC-M"
	k := b.cooked(in, 60)
	must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
	return k
}

func (b *bench) next(k app.Kept, stage lab.Stage) (app.StageWindow, bool) {
	b.t.Helper()
	for _, w := range must(b.Forecast(b.ctx, k.Batch.String()))(b) {
		if w.Stage == stage {
			return w, true
		}
	}
	return app.StageWindow{}, false
}

// The first batch of a farm has the book's windows. They narrow while a stage
// does not come, a stage that came is not forecast again, and the next batch
// leans on what the first one did.
func TestForecastNarrowsAndLearns(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		first := b.sown("first")
		begun := b.clock.Now()
		w, ok := b.next(first, lab.Pins)
		if !ok || w.Batches != 0 || w.Rests() != "from published 14 to 28 days (common practice, no source)" {
			t.Fatalf("a new farm: %+v", w)
		}
		if d := w.Likely.Sub(begun).Hours() / 24; d < 19 || d > 21 {
			t.Errorf("pins after %.0f days by the book, want about 20, the middle of 14 to 28", d)
		}
		wide := w.To.Sub(w.From)
		b.clock.days(12)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: first.Batch.String() + "·1-12", Sign: "clean"}))(b)
		b.clock.days(8)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: first.Batch.String() + "·1-12", Stage: "cover"}))(b)
		if _, ok := b.next(first, lab.Cover); ok {
			t.Error("full cover was seen and is forecast")
		}
		w, _ = b.next(first, lab.Pins)
		if w.From.Before(begun.AddDate(0, 0, 19)) || w.To.Sub(w.From) >= wide {
			t.Errorf("after 20 days without pins they are expected %s to %s", w.From.Format(time.DateOnly), w.To.Format(time.DateOnly))
		}
		if w.Late {
			t.Error("pins on day 20 are late")
		}
		b.clock.days(30)
		if w, _ = b.next(first, lab.Pins); !w.Late {
			t.Error("pins on day 50 are not late")
		}
		b.clock.days(-16)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: first.Batch.String() + "·1-12", Stage: "pins"}))(b)
		second := b.sown("second")
		w, _ = b.next(second, lab.Pins)
		if d := w.Likely.Sub(b.clock.Now()).Hours() / 24; !(d > 22 && d < 34) || w.Batches != 1 {
			t.Errorf("after one batch at day 30 to 34 pins are expected on day %.0f, from %d batches", d, w.Batches)
		}
	})
}

// Half of the living jars make a stage of the batch: one early jar does not,
// and a lost jar is not waited for.
func TestForecastCountsLivingJars(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("one")
		b.clock.days(10)
		see := func(jars, stage string) {
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·" + jars, Stage: stage}))(b)
		}
		see("1-5", "cover")
		if _, ok := b.next(k, lab.Cover); !ok {
			t.Error("5 of 12 jars make no half")
		}
		for _, n := range []int{11, 12} {
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: fmt.Sprintf("%s·%d", k.Batch, n), Fate: "lost", Reason: "fouled"}))(b)
		}
		if _, ok := b.next(k, lab.Cover); ok {
			t.Error("5 of 10 living jars are half of them")
		}
	})
}

// A species that the book does not know has no window before own batches.
func TestForecastOfUnknownSpecies(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("other")
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		if w := must(b.Forecast(b.ctx, k.Batch.String()))(b); len(w) != 0 {
			t.Errorf("a species that nobody named is forecast: %+v", w)
		}
	})
}
