package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
)

// Visits that do not fit together are asked about on the batch, with the jar
// and both days; nothing is changed until the grower takes an entry back.
func TestBatchQuestions(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("asked")
		name := k.Batch.String()
		see := func(jar string, in app.SeeInput) app.Done {
			in.Jars = name + "·" + jar
			return must(b.See(b.ctx, app.Act{}, in))(b)
		}
		asked := func() []app.DayQuestion { return must(b.BatchQuestions(b.ctx, name))(b) }
		find := func(part string) (app.DayQuestion, bool) {
			for _, q := range asked() {
				if strings.Contains(q.Text, part) {
					return q, true
				}
			}
			return app.DayQuestion{}, false
		}
		b.clock.days(10)
		see("1-12", app.SeeInput{Stage: "cover"}) // no growth was logged: not asked
		if q := asked(); len(q) != 0 {
			t.Errorf("visits that fit together: %+v", q)
		}
		see("2", app.SeeInput{Cover: "40"})
		if q, ok := find("read twice, as 100 % and 40 %"); !ok || q.Jar != name+"·2" || q.Code == "" {
			t.Errorf("two covers on one day: %+v", asked())
		}
		b.clock.days(10)
		ahead := see("1", app.SeeInput{Stage: "ready"})
		if q, ok := find("never seen with pins: " + name + "·1"); !ok || q.Jar != "" {
			t.Errorf("pins that were passed unseen: %+v", asked())
		}
		b.clock.days(3)
		see("1", app.SeeInput{Stage: "pins"})
		if q, ok := find("ready to pick on day 20 and only pins on day 23"); !ok || q.Jar != name+"·1" {
			t.Errorf("a jar seen backwards: %+v", asked())
		}
		before := must(b.Forecast(b.ctx, name))(b)
		must(b.Undo(b.ctx, app.Act{}, ahead.Deed))(b)
		if _, ok := find("only pins"); ok || len(before) == 0 {
			t.Errorf("the entry was taken back: %+v", asked())
		}
		if _, err := b.BatchQuestions(b.ctx, "B99"); err == nil {
			t.Error("a batch that is not there is asked about")
		}
	})
}
