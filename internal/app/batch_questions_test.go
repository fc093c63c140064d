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
		see("3", app.SeeInput{Cover: "40"})
		b.clock.days(1)
		see("3", app.SeeInput{Cover: "90"})
		b.clock.days(1)
		see("3", app.SeeInput{Cover: "30"})
		b.clock.days(8)
		ahead := see("1", app.SeeInput{Stage: "ready"})
		if q, ok := find("never seen with pins: " + name + "·1"); !ok || q.Jar != "" {
			t.Errorf("pins that were passed unseen: %+v", asked())
		}
		b.clock.days(3)
		see("1", app.SeeInput{Stage: "pins"})
		if q, ok := find("ready to pick on day 20 and only pins on day 23"); !ok || q.Jar != name+"·1" {
			t.Errorf("a jar seen backwards: %+v", asked())
		}
		if q, ok := find("It was covered to 90 % on day 11 and to 30 % on day 12"); !ok || q.Jar != name+"·3" {
			t.Errorf("a cover that fell: %+v", asked())
		}
		// A jar answers for itself, and is asked about nothing else.
		one := must(b.JarQuestions(b.ctx, name+"·3"))(b)
		if len(one) != 4 || len(must(b.JarQuestions(b.ctx, name+"·4"))(b)) != 0 {
			t.Errorf("of jar 3: %+v", one)
		}
		for _, q := range one {
			if q.Jar != name+"·3" {
				t.Errorf("jar 3 is asked %+v", q)
			}
		}
		if _, ok := find("It showed full cover on day 10 and only 90 % covered on day 11"); !ok {
			t.Errorf("what was entered is called otherwise: %+v", one)
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
