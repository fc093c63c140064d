package app_test

import (
	"fmt"
	"reflect"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// lookedAt is what the pages of trials show.
type lookedAt struct {
	trials []app.TrialView
	days   []app.TrialDays
	past   app.Past
	pooled app.Pooled
	again  app.Again
}

func look(b *bench, f *app.Farm, names ...string) lookedAt {
	b.t.Helper()
	var out lookedAt
	for _, name := range names {
		out.trials = append(out.trials, must(f.TrialView(b.ctx, name))(b))
		out.days = append(out.days, must(f.TrialDays(b.ctx, name))(b))
	}
	out.past = must(f.Past(b.ctx))(b)
	out.again = must(f.PlanAgain(b.ctx, names[0]))(b)
	if len(out.past.Sets) > 0 {
		out.pooled = must(f.Pool(b.ctx, app.PoolAsk{Of: out.past.Sets[0].Key}))(b)
	}
	return out
}

// A farm that runs for long shows after every change what one shows that was
// just started on the same records, and computes nothing twice.
func TestLooksAreNeverOutOfDate(t *testing.T) {
	onBoth(t, func(b *bench) {
		k, arms := grown(b, "seen")
		b.weigh(k, map[string]float64{"oats": 30, "millet": 34})
		hidden := b.inoculated(blind())
		b.clock.days(4)
		last := fmt.Sprintf("%s·%d", k.Batch, arms["oats"][0])
		before := look(b, b.Farm, "seen", "hidden")
		step := func(what string, change func(), changes bool) {
			b.t.Helper()
			change()
			after := look(b, b.Farm, "seen", "hidden")
			if anew := look(b, app.New(b.store, app.WithClock(b.clock.Now)), "seen", "hidden"); !reflect.DeepEqual(after, anew) {
				t.Errorf("%s: what is shown is not what comes of the records", what)
			}
			if same := reflect.DeepEqual(before, after); same == changes {
				t.Errorf("%s: what is shown is the same: %v", what, same)
			}
			reckoned := app.Reckoned(b.Farm)
			if again := look(b, b.Farm, "seen", "hidden"); !reflect.DeepEqual(again, after) || app.Reckoned(b.Farm) != reckoned {
				t.Errorf("%s: looked at again, %d answers were computed", what, app.Reckoned(b.Farm)-reckoned)
			}
			before = after
		}
		step("nothing", func() {}, false)
		step("one weight more", func() {
			must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: last, Grams: "0.1"}}, At: "today"}))(b)
		}, true)
		var aside app.Done
		step("one jar set aside", func() {
			aside = must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: hidden.Batch.String() + "·3", Fate: "lost", Reason: "broken", At: "today"}))(b)
		}, true)
		step("that undone", func() { must(b.Undo(b.ctx, app.Act{}, aside.Deed))(b) }, true)
		step("one look more at a blind jar", func() {
			b.clock.minutes(180) // past noon, when it is the next day elsewhere
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: hidden.Batch.String() + "·2", Stage: "growth", At: "now"}))(b)
		}, true)
		step("the key opened", func() { must(b.OpenKey(b.ctx, app.Act{}, "hidden"))(b) }, true)
		step("the mark of a cook taken back", func() {
			for _, m := range must(b.CookView(b.ctx, fmt.Sprint(k.Cooks[0].Number)))(b).Marks {
				if m.Event == lab.HeatOff {
					must(b.Undo(b.ctx, app.Act{}, m.Deed))(b)
				}
			}
			must(b.MarkCook(b.ctx, app.Act{}, fmt.Sprint(k.Cooks[0].Number), lab.HeatOff, "2026-03-02 09:30"))(b)
		}, true)
		step("the farm elsewhere", func() { b.ok(b.SaveSettings(b.ctx, app.NewSettings{Zone: "Pacific/Auckland"})) }, true)
		step("the closing day passed", func() { b.clock.days(90) }, true)
	})
}
