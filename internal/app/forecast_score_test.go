package app_test

import (
	"reflect"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// A forecast is kept when a batch comes to a stage, stays as it was said, and
// is judged by the last one that was made before the stage came. Below 20
// nothing is said.
func TestForecastsAreKeptAndJudged(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("first")
		begun := b.clock.Now()
		said, ok := b.next(k, lab.Cover)
		if !ok {
			t.Fatal("no forecast of full cover")
		}
		of := func(stage lab.Stage) app.KeptForecast {
			b.t.Helper()
			for _, x := range must(b.Calibration(b.ctx))(b).Forecasts {
				if x.Stage == stage {
					return x
				}
			}
			b.t.Fatalf("no forecast of %s was kept", stage)
			return app.KeptForecast{}
		}
		if x := of(lab.Cover); !x.Window.From.Equal(said.From) || !x.Window.To.Equal(said.To) || !x.Window.Likely.Equal(said.Likely) || x.Outcome != app.StillToCome || x.Score != nil {
			t.Errorf("kept is %+v, said was %+v", x, said)
		}
		jars := k.Batch.String() + "·1-12"
		b.clock.days(8)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars, Sign: "clean"}))(b)
		b.clock.days(3)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars, Stage: "cover"}))(b)
		x := of(lab.Cover)
		if x.Outcome != app.CameWithin || x.Score == nil || x.CameBy.Sub(begun).Hours()/24 < 10 || !x.Window.From.Equal(said.From) {
			t.Errorf("after it came between day 8 and 11: %+v", x)
		}
		if x := of(lab.Pins); x.After != lab.Cover || x.Window.Since.Before(begun.AddDate(0, 0, 10)) {
			t.Errorf("pins are judged by the forecast from %q, want from full cover", x.After)
		}
		b.clock.days(60)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars, Sign: "clean"}))(b)
		if x := of(lab.Pins); x.Outcome != app.CameOutside || x.Score == nil || !x.Score.Censored || !x.CameBy.IsZero() {
			t.Errorf("pins that never came: %+v", x)
		}
		c := must(b.Calibration(b.ctx))(b)
		if c.Scored != 3 || c.Hits != 1 || c.Sentence == "" || len(c.Cautions) != 0 {
			t.Errorf("judged: %+v", c.Watch)
		}
	})
}

// A forecast that was made when the stage had come already, by an entry that
// was written late, is none.
func TestForecastsMadeTooLateAreNotJudged(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("first")
		b.clock.days(12)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1-12", Sign: "clean"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1-12", Stage: "cover"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1-12", Stage: "pins", At: b.clock.Now().AddDate(0, 0, -1).Format(time.DateOnly)}))(b)
		for _, x := range must(b.Calibration(b.ctx))(b).Forecasts {
			if x.Stage == lab.Pins && x.After == lab.Cover {
				t.Errorf("pins from the day before are judged by a forecast that was made after: %+v", x)
			}
		}
	})
}

// A batch of which every jar was lost is neither expected nor judged: what
// fouled it says nothing of days. Its forecasts stay as they were kept.
func TestForecastsOfALostBatch(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("first")
		jars := k.Batch.String() + "·1-12"
		kept := func() []lab.Forecast {
			var out []lab.Forecast
			b.ok(b.store.Read(b.ctx, func(r store.Reader) (err error) {
				out, err = r.Forecasts(b.ctx, k.Batch.ID)
				return err
			}))
			return out
		}
		before := kept()
		b.clock.days(70)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars, Fate: "lost", Reason: "fouled"}))(b)
		if o := must(b.Outlook(b.ctx))(b); len(o.Batches)+len(o.Jars) != 0 {
			t.Errorf("a lost batch is expected to come to %+v", o)
		}
		c := must(b.Calibration(b.ctx))(b)
		if c.Scored != 0 || len(c.Forecasts) != len(before) || len(before) == 0 {
			t.Errorf("%d of %d forecasts of a lost batch are judged", c.Scored, len(c.Forecasts))
		}
		for _, x := range c.Forecasts {
			if x.Outcome != app.NeverSeen || x.Score != nil {
				t.Errorf("%s of a lost batch: %s", x.Stage, x.Outcome)
			}
		}
		second := b.sown("second")
		b.clock.days(9)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: second.Batch.String() + "·1-12", Stage: "cover"}))(b)
		if after := kept(); !reflect.DeepEqual(before, after) {
			t.Errorf("what was kept is now %+v, was %+v", after, before)
		}
	})
}
