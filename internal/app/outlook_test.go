package app_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// What is expected of the farm names each batch and each jar by its own days;
// asked about one jar, it is of that jar alone.
func TestOutlook(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		if o := must(b.Outlook(b.ctx))(b); len(o.Batches)+len(o.Jars) != 0 || o.Past.Sentence != "No forecast came due so far: too few to judge, 20 are wanted." {
			t.Errorf("an empty farm: %+v", o)
		}
		k := b.sown("first")
		b.clock.days(8)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1-3", Stage: "cover"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·4-12", Sign: "clean"}))(b)
		o := must(b.Outlook(b.ctx))(b)
		if len(o.Batches) != 1 || o.Batches[0].Batch.ID != k.Batch.ID || len(o.Past.Forecasts) == 0 {
			t.Fatalf("the farm: %+v", o)
		}
		said := must(b.Forecast(b.ctx, k.Batch.String()))(b)
		if got := o.Batches[0].Windows; len(got) != len(said) || got[0] != said[0] {
			t.Errorf("of the batch %+v, its page says %+v", got, said)
		}
		season := must(b.Season(b.ctx))(b)
		if got := season[len(season)-1]; got.Batch.ID != k.Batch.ID || !slices.Equal(got.Windows, said) {
			t.Errorf("the season line says %+v, the page of the batch %+v", got.Windows, said)
		}
		waits, covers := outlookOf(o, 2), outlookOf(o, 5)
		if waits == nil || !waits.Waits || waits.Window.Stage != lab.Pins || waits.Window.After != lab.Cover || waits.Window.Late {
			t.Fatalf("covered jars that wait for light: %+v", waits)
		}
		if covers == nil || covers.Waits || covers.Window.Stage != lab.Cover || covers.Window.From.Before(b.clock.Now().AddDate(0, 0, -1)) {
			t.Errorf("jars without cover on day 8: %+v", covers)
		}
		if c := must(b.Calendar(b.ctx))(b); covers != nil && !slices.ContainsFunc(c.Entries, func(e app.CalendarEntry) bool {
			return strings.Contains(e.Text, covers.Window.When()) && e.Start.Format(time.DateOnly) == covers.Window.From.Format(time.DateOnly)
		}) {
			t.Errorf("the calendar does not say %s: %+v", covers.Window.When(), c.Entries)
		}
		one := must(b.OutlookOf(b.ctx, k.Batch.String()+"·2"))(b)
		if len(one.Batches) != 0 || len(one.Jars) != 1 || one.Jars[0].Span() != k.Batch.String()+"·2" || one.Jars[0].Window.When() != waits.Window.When() {
			t.Errorf("of one jar: %+v", one)
		}
		if of := must(b.OutlookOf(b.ctx, k.Batch.String()))(b); len(of.Batches) != 1 || len(of.Jars) != len(o.Jars) {
			t.Errorf("of the batch: %+v", of)
		}
		for _, name := range []string{"B99", "B1·99", "ZZZZZ"} {
			if _, err := b.OutlookOf(b.ctx, name); !wrong(err, lab.NotFound) {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
}

// outlookOf is what is expected of a jar of the only batch.
func outlookOf(o app.Outlook, number int) *app.JarsOutlook {
	for _, j := range o.Jars {
		if slices.Contains(j.Numbers, number) {
			return &j
		}
	}
	return nil
}

func wrong(err error, kind lab.Kind) bool {
	p, ok := lab.AsProblem(err)
	return ok && p.Kind == kind
}

// The days of a recipe would tell the arms of a blind trial apart: while its
// key is closed all its jars are told the same.
func TestOutlookOfABlindTrial(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("open")
		for day := 4; day <= 16; day += 3 {
			b.clock.days(3)
			for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
				in := app.SeeInput{Jars: string(j.Code), Stage: "cover"}
				if j.Arm == "oats" && day < 16 {
					in = app.SeeInput{Jars: string(j.Code), Sign: "clean"}
				}
				if !j.Blank {
					must(b.See(b.ctx, app.Act{}, in))(b)
				}
			}
		}
		windows := func(blind bool, name string) map[string]bool {
			in := plan(name)
			in.Culture, in.Blind = "LC-M", blind
			k := b.cooked(in, 60)
			must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
			out := make(map[string]bool)
			for _, j := range must(b.OutlookOf(b.ctx, k.Batch.String()))(b).Jars {
				out[j.Window.When()+j.Window.Rests()] = true
			}
			return out
		}
		if got := windows(false, "named"); len(got) != 2 {
			t.Errorf("two recipes, one of them slow: %v", got)
		}
		if got := windows(true, "blind"); len(got) != 1 {
			t.Errorf("a blind trial: %v", got)
		}
	})
}

// The windows of half and of 4 in 5 are told with the likeliest day.
func TestWindowSays(t *testing.T) {
	day := func(month time.Month, d int) time.Time { return time.Date(2026, month, d, 0, 0, 0, 0, time.UTC) }
	w := app.StageWindow{Stage: lab.Pins, From: day(6, 18), To: day(6, 24), Likely: day(6, 21), NearFrom: day(6, 19), NearTo: day(6, 22)}
	for _, c := range []struct {
		change func(*app.StageWindow)
		want   string
	}{
		{func(*app.StageWindow) {}, "pins 18–24 June, most likely the 21st, half of them 19–22 June"},
		{func(w *app.StageWindow) { w.From, w.NearFrom = day(5, 30), day(5, 31) }, "pins 30 May – 24 June, most likely the 21st, half of them 31 May – 22 June"},
		{func(w *app.StageWindow) { w.Likely = day(5, 31) }, "pins 18–24 June, most likely 31 May, half of them 19–22 June"},
		{func(w *app.StageWindow) { w.To, w.NearTo, w.NearFrom, w.Likely = w.From, w.From, w.From, w.From }, "pins 18 June"},
	} {
		x := w
		if c.change(&x); x.Says() != c.want {
			t.Errorf("%q, want %q", x.Says(), c.want)
		}
	}
}
