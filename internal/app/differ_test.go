package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// grownJar returns a batch and the name of a jar in it that grows.
func grownJar(b *bench) (app.Kept, string) {
	b.supplies()
	k := b.cooked(plan("Two hands"), 60)
	must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
	b.clock.days(20)
	for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
		if !j.Blank {
			return k, k.Batch.String() + "·" + lab.ShowNumbers([]int{j.Number})
		}
	}
	b.t.Fatal("no jar grows")
	return k, ""
}

// asked returns what Today asks about jars.
func asked(b *bench) []app.Task {
	var out []app.Task
	for _, t := range must(b.Today(b.ctx))(b).Due {
		if t.Doing == "answer" {
			out = append(out, t)
		}
	}
	return out
}

func TestTwoPeopleOnOneJar(t *testing.T) {
	onBoth(t, func(b *bench) {
		_, jar := grownJar(b)
		mo, vi, ada := app.Act{By: "MO"}, app.Act{By: "V"}, app.Act{By: "AD"}
		must(b.See(b.ctx, mo, app.SeeInput{Jars: jar, Sign: "clean"}))(b)
		if got := asked(b); len(got) != 0 {
			b.t.Fatalf("one person is asked: %v", got)
		}
		must(b.See(b.ctx, vi, app.SeeInput{Jars: jar, Sign: "green"}))(b)
		ask := asked(b)
		if len(ask) != 1 || !strings.Contains(ask[0].What, jar) || ask[0].Kind != "jar" || !strings.Contains(ask[0].Why, "MO’s clean and V’s green") {
			b.t.Fatalf("asked %+v", ask)
		}
		v := must(b.JarView(b.ctx, jar))(b)
		if len(v.History) < 3 || len(v.Differs) != 1 {
			b.t.Fatalf("both are kept: %+v; asked %+v", v.History, v.Differs)
		}
		d := v.Differs[0]
		in := app.AnswerInput{Jar: jar, First: d.First.ID, Second: d.Second.ID, Holds: d.Second.ID}
		if _, err := b.Answer(b.ctx, ada, app.AnswerInput{Jar: jar, First: d.First.ID, Second: d.Second.ID, Holds: "x"}); !lab.IsKind(err, lab.Invalid) {
			b.t.Errorf("neither of the two holds: %v", err)
		}
		done := must(b.Answer(b.ctx, ada, in))(b)
		if !strings.Contains(done.What, "V’s green holds, not MO’s clean") {
			b.t.Errorf("the answer says %q", done.What)
		}
		if len(asked(b)) != 0 || len(must(b.JarView(b.ctx, jar))(b).Differs) != 0 {
			b.t.Error("what was answered is asked again")
		}
		for _, h := range must(b.JarView(b.ctx, jar))(b).History {
			if h.What == "clean" && !h.Undone || h.What == "green" && h.Undone {
				b.t.Errorf("after the answer: %+v", h)
			}
		}
		if _, err := b.Answer(b.ctx, ada, in); !lab.IsKind(err, lab.Conflict) {
			b.t.Errorf("answered twice: %v", err)
		}
		must(b.Undo(b.ctx, ada, done.Deed))(b) // what it took back is there again
		held := 0
		for _, h := range must(b.JarView(b.ctx, jar))(b).History {
			if !h.Undone && (h.What == "clean" && h.By == "MO" || h.What == "green") {
				held++
			}
		}
		if held != 2 {
			b.t.Errorf("after the answer was undone %d of both hold: %+v", held, must(b.JarView(b.ctx, jar))(b).History)
		}
	})
}

func TestOnePickWeighedTwice(t *testing.T) {
	onBoth(t, func(b *bench) {
		k, jar := grownJar(b)
		first := must(b.PickJars(b.ctx, app.Act{By: "MO"}, app.PickInput{Picks: []app.TypedPick{{Jar: jar, Grams: "8.2"}}}))(b)
		must(b.PickJars(b.ctx, app.Act{By: "V"}, app.PickInput{Picks: []app.TypedPick{{Jar: jar, Grams: "8.4"}}}))(b)
		v := must(b.JarView(b.ctx, jar))(b)
		if v.Row.Grams < 16.5 || len(v.Differs) != 1 || !v.Differs[0].Weighed {
			b.t.Fatalf("%v g, asked %+v", v.Row.Grams, v.Differs)
		}
		d := v.Differs[0]
		act := app.Act{ID: app.NewActID(), By: "V"}
		in := app.AnswerInput{Jar: jar, First: d.First.ID, Second: d.Second.ID, Holds: d.First.ID}
		must(b.Answer(b.ctx, act, in))(b)
		if again := must(b.Answer(b.ctx, act, in))(b); !again.Repeat {
			b.t.Error("the same act is no repeat")
		}
		if v = must(b.JarView(b.ctx, jar))(b); v.Row.Grams != 8.2 || v.Row.Picks != 1 {
			b.t.Errorf("%v g in %d picks after the answer", v.Row.Grams, v.Row.Picks)
		}
		must(b.Undo(b.ctx, app.Act{}, first.Deed))(b)
		if v = must(b.JarView(b.ctx, jar))(b); v.Row.Picks != 0 {
			b.t.Errorf("%d picks of %s after all was taken back", v.Row.Picks, k.Batch)
		}
	})
}

func TestBothHold(t *testing.T) {
	onBoth(t, func(b *bench) {
		_, jar := grownJar(b)
		must(b.See(b.ctx, app.Act{By: "MO"}, app.SeeInput{Jars: jar, Sign: "black dots"}))(b)
		second := must(b.See(b.ctx, app.Act{By: "V"}, app.SeeInput{Jars: jar, Sign: "green"}))(b)
		d := must(b.JarView(b.ctx, jar))(b).Differs[0]
		must(b.Answer(b.ctx, app.Act{By: "MO"}, app.AnswerInput{Jar: jar, First: d.First.ID, Second: d.Second.ID}))(b)
		holds := func() (n int) {
			for _, h := range must(b.JarView(b.ctx, jar))(b).History {
				if !h.Undone && (h.What == "green" || h.What == "black dots") {
					n++
				}
			}
			return n
		}
		if holds() != 2 || len(asked(b)) != 0 {
			b.t.Errorf("%d hold, %d are asked about", holds(), len(asked(b)))
		}
		must(b.Undo(b.ctx, app.Act{}, second.Deed))(b) // what was written once more goes too
		if holds() != 1 {
			b.t.Errorf("%d hold after one was taken back", holds())
		}
	})
}
