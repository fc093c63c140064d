package app_test

import (
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// shelfOf returns the jars on a shelf by their numbers, ticked or not.
func jarsOn(v app.RoundView) (numbers []int) {
	for _, row := range v.Rows {
		for _, j := range row.Jars {
			if !j.Blank {
				numbers = append(numbers, j.Number)
			}
		}
	}
	return numbers
}

func TestRestAsBefore(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Rounds"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(10)
		since := b.clock.Now()
		v := must(b.Round(b.ctx, "1", since))(b)
		numbers := jarsOn(v)
		if v.Left != len(numbers) || len(numbers) < 4 || v.N != 1 || v.Of != 2 || v.After != "2" || v.Before != "" {
			t.Fatalf("the round begins with %d of %v jars left, shelf %d of %d, after it %q", v.Left, numbers, v.N, v.Of, v.After)
		}
		b.clock.minutes(1)
		two := lab.Span{Batch: k.Batch.String(), Numbers: numbers[:2]}.String()
		done := must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: two, Stage: "pins", Count: "12"}))(b)
		if !strings.HasSuffix(done.What, "12 pins") {
			t.Errorf("twelve pins are told as %q", done.What)
		}
		if v = must(b.Round(b.ctx, "1", since))(b); v.Left != len(numbers)-2 {
			t.Errorf("after an entry on 2 jars %d are left", v.Left)
		}
		but := must(b.RestAsBefore(b.ctx, app.Act{}, app.RestInput{Batch: k.Batch.String(), Since: since, But: []string{lab.ShowNumbers(numbers[2:3])}}))(b)
		if name := k.Batch.String() + "·" + lab.ShowNumbers(numbers[2:3]); slices.Contains(but.Jars, name) || len(but.Jars) != 9 {
			t.Errorf("with %s left out and two written the rest is %v", name, but.Jars)
		}
		must(b.Undo(b.ctx, app.Act{}, but.Deed))(b)
		rest := must(b.RestAsBefore(b.ctx, app.Act{}, app.RestInput{Shelf: "1", Since: since}))(b)
		if len(rest.Jars) != len(numbers)-2 || !strings.HasSuffix(rest.What, ": as before") {
			t.Errorf("the rest is %v: %q", rest.Jars, rest.What)
		}
		if _, err := b.RestAsBefore(b.ctx, app.Act{}, app.RestInput{Shelf: "1", Since: since}); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("with nothing left: %v, want a Conflict", err)
		}
		for _, row := range must(b.Round(b.ctx, "1", since))(b).Rows {
			for _, j := range row.Jars {
				if !j.Blank && j.Stage == lab.Pins != (j.Number == numbers[0] || j.Number == numbers[1]) {
					t.Errorf("jar %d is at %q", j.Number, j.Stage)
				}
			}
		}
		must(b.Undo(b.ctx, app.Act{}, rest.Deed))(b)
		if v = must(b.Round(b.ctx, "1", since))(b); v.Left != len(numbers)-2 {
			t.Errorf("after the rest was taken back %d are left, want %d", v.Left, len(numbers)-2)
		}
		must(b.Undo(b.ctx, app.Act{}, done.Deed))(b)
		if v = must(b.Round(b.ctx, "1", since))(b); v.Left != len(numbers) {
			t.Errorf("after all was taken back %d are left", v.Left)
		}
	})
}

// "as before" must not hide the sign that went before it.
func TestAsBeforeKeepsStageAndBlanks(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Rounds"), 60)
		if _, err := b.RestAsBefore(b.ctx, app.Act{}, app.RestInput{Batch: k.Batch.String(), Since: b.clock.Now()}); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("on jars that were never inoculated: %v, want a Conflict", err)
		}
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jarsBut(b, k), Stage: "cover"}))(b)
		b.clock.days(1)
		done := must(b.RestAsBefore(b.ctx, app.Act{ID: app.NewActID()}, app.RestInput{Batch: k.Batch.String(), Since: b.clock.Now()}))(b)
		if len(done.Jars) != 12 {
			t.Errorf("%d jars are as before, want 12 and no blank", len(done.Jars))
		}
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if !j.Blank && (j.Stage != lab.Cover || j.Fate != lab.Growing) {
				t.Errorf("jar %d is %q, %q", j.Number, j.Stage, j.Fate)
			}
		}
	})
}

func TestCountsNeedWhatIsCounted(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Counts"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		one := string(must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars[1].Code)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: one, Sign: "aborts", Count: " 3 "}))(b)
		if h := must(b.JarView(b.ctx, one))(b).History; !strings.Contains(h[0].What+h[len(h)-1].What, "3 aborts") {
			t.Errorf("three aborts are told as %+v", h)
		}
		for count, in := range map[string]app.SeeInput{"3": {Stage: "cover"}, "0": {Stage: "pins"}, "-1": {Stage: "pins"}, "many": {Stage: "pins"}, "99999": {Stage: "pins"}} {
			in.Jars, in.Count = one, count
			if _, err := b.See(b.ctx, app.Act{}, in); !lab.IsKind(err, lab.Invalid) {
				t.Errorf("%q with %+v: %v, want an Invalid Problem", count, in, err)
			}
		}
	})
}

func TestWalkingOrder(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Way")
		in.Shelves = []app.PlanShelf{{Name: "Shelf 10", Places: 4}, {Name: "Shelf 2", Places: 4}, {Name: "attic", Places: 6}}
		b.cooked(in, 60)
		names := func() string {
			page, err := b.Shelf(b.ctx, 0, 100)
			b.ok(err)
			var out []string
			for _, s := range page.Shelves {
				out = append(out, s.Name)
			}
			return strings.Join(out, ", ")
		}
		if got := names(); got != "attic, Shelf 2, Shelf 10" {
			t.Errorf("by name the shelves are %s", got)
		}
		b.ok(b.SetWalkingOrder(b.ctx, " shelf 10 \n\nnowhere\n"))
		if got := names(); got != "Shelf 10, attic, Shelf 2" {
			t.Errorf("on the way the shelves are %s", got)
		}
		b.ok(b.SetWalkingOrder(b.ctx, ""))
		if got := names(); got != "attic, Shelf 2, Shelf 10" {
			t.Errorf("without a way the shelves are %s", got)
		}
	})
}

func TestShelfJars(t *testing.T) {
	row := func(number int, code lab.Code, jars ...int) app.ShelfRow {
		r := app.ShelfRow{Batch: lab.Batch{Number: number}}
		for _, n := range jars {
			r.Jars = append(r.Jars, store.JarRow{Jar: lab.Jar{Number: n, Code: code + lab.Code(rune('0'+n%10))}})
		}
		return r
	}
	one := app.RoundView{Shelf: "1", Rows: []app.ShelfRow{row(12, "AAAA", 13, 14, 22)}}
	two := app.RoundView{Shelf: "1", Rows: []app.ShelfRow{row(12, "AAAA", 13, 14), row(13, "CCCC", 2, 3)}}
	for _, c := range []struct {
		v     app.RoundView
		typed string
		want  int
		err   string
	}{
		{one, "13-14, 22", 3, ""},
		{one, "B12·13", 1, ""},
		{two, "B13·2-3", 2, ""},
		{two, "b13", 2, ""},
		{two, "K73QF", 1, ""},
		{two, "13", 0, "write the batch too"},
		{one, "22-345", 0, "no such jar"},
		{one, "15", 0, "no such jar"},
		{one, "x", 0, "names no jars"},
	} {
		got, err := c.v.ShelfJars(c.typed)
		if c.err == "" && (err != nil || len(got) != c.want) || c.err != "" && (err == nil || !strings.Contains(err.Error(), c.err)) {
			t.Errorf("ShelfJars(%q) = %v, %v, want %d jars, error %q", c.typed, got, err, c.want, c.err)
		}
	}
}

// TestRestOfAnEarlierRound says "as before" of a round that was walked before
// some jars were inoculated: those are left out.
func TestRestOfAnEarlierRound(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Rounds"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Except: "4-12"}))(b)
		b.clock.days(1)
		pressed := b.clock.Now()
		b.clock.minutes(90)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Except: "7-12"}))(b)
		b.clock.minutes(30)
		in := app.RestInput{Batch: k.Batch.String(), Since: pressed, At: pressed.UTC().Format("2006-01-02T15:04:05Z")}
		rest := must(b.RestAsBefore(b.ctx, app.Act{}, in))(b)
		if len(rest.Jars) != 3 {
			t.Errorf("of a round at %s the rest is %v", in.At, rest.Jars)
		}
	})
}
