package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Jars of a batch that came to the light on two days are looked for on two
// spans of days, and stand on Today as one line that holds both.
func TestComingJarsAreOneLine(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.bookCulture()
		k := b.sown("first")
		jars := func(numbers string) string { return k.Batch.String() + "·" + numbers }
		see := func(numbers, stage string) {
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars(numbers), Stage: stage}))(b)
		}
		b.clock.days(8)
		see("1-12", "cover")
		see("1-3", "light")
		b.clock.days(2)
		see("4-12", "light")
		b.clock.days(1)

		first, last := outlookOf(must(b.Outlook(b.ctx))(b), 1), outlookOf(must(b.Outlook(b.ctx))(b), 12)
		if first == nil || last == nil || first.Window.Stage != lab.Pins && first.Window.Stage != lab.Colour || !first.Window.To.Before(last.Window.To) {
			t.Fatalf("jars 1 to 3 %+v, jars 4 to 12 %+v", first, last)
		}
		var lines []app.Task
		for _, task := range must(b.Today(b.ctx))(b).Early {
			if strings.HasSuffix(task.What, ": "+first.Window.Stage.Label()) {
				lines = append(lines, task)
			}
		}
		if len(lines) != 1 || lines[0].What != jars("1–12")+": "+first.Window.Stage.Label() || lines[0].Count != 12 {
			t.Fatalf("on Today: %+v", lines)
		}
		both := app.StageWindow{
			From: first.Window.From, To: last.Window.To, NearFrom: first.Window.NearFrom, NearTo: last.Window.NearTo,
			Likely: last.Window.Likely, // most of the jars
		}
		if !strings.HasPrefix(lines[0].Why, both.When()+"; ") {
			t.Errorf("it says %q, want %s", lines[0].Why, both.When())
		}
	})
}
