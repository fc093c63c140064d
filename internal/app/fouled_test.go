package app_test

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Two batches of one cook each get LC-1 or LC-3; what got LC-3 fouls.
func (b *bench) fouledFarm() (clean, foul, growing app.Kept) {
	b.t.Helper()
	b.supplies()
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-3", Form: "LC", Strain: "A1", Made: "2026-02-10"}))(b)
	batch := func(name, culture string) app.Kept {
		in := plan(name)
		in.Culture = culture
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{By: "IV"}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		return k
	}
	clean, foul, growing = batch("first", "LC-1"), batch("second", "LC-3"), batch("third", "LC-3")
	b.clock.days(6)
	n := 0
	for _, j := range must(b.BatchView(b.ctx, foul.Batch.String(), 0))(b).Jars {
		if n++; j.Blank || n > 11 {
			continue
		}
		see := app.SeeInput{Jars: fmt.Sprintf("%s·%d", foul.Batch, j.Number), Fate: "lost", Reason: "fouled"}
		if n%2 == 0 {
			see.Fate, see.Reason, see.Sign = "", "", "green"
		}
		must(b.See(b.ctx, app.Act{}, see))(b)
	}
	must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: clean.Batch.String() + "·1", Fate: "lost", Reason: "broken"}))(b)
	return clean, foul, growing
}

func TestFouledNamesTheCulture(t *testing.T) {
	onBoth(t, func(b *bench) {
		clean, foul, growing := b.fouledFarm()
		v := must(b.Fouled(b.ctx, app.FouledInput{Batches: []string{clean.Batch.String(), foul.Batch.String()}}))(b)
		r := v.Answer.Result
		if r.Total != 24 || r.Bad < 9 || r.Bad > 11 || r.Blanks.Total != 2 || r.Blanks.Bad != 0 {
			t.Fatalf("%d of %d, blanks %+v", r.Bad, r.Total, r.Blanks)
		}
		if len(r.Suspects) == 0 || !strings.Contains(r.Sentence, "LC-3") || !strings.Contains(r.Sentence, "0 of 12") {
			t.Fatalf("says %q", r.Sentence)
		}
		if len(r.Confused) == 0 {
			t.Error("one culture for each cook, and nothing is named as inseparable")
		}
		all := must(b.Fouled(b.ctx, app.FouledInput{}))(b)
		if all.Answer.Result.Total != 36 || len(all.Batches) != 3 {
			t.Errorf("the last batches hold %d jars in %d batches", all.Answer.Result.Total, len(all.Batches))
		}
		reached := false
		for _, x := range v.Touched {
			for _, tb := range x.Batches {
				if tb.Batch.ID == growing.Batch.ID && len(tb.Numbers) == 12 {
					reached = true
				}
			}
		}
		if !reached {
			t.Errorf("the third batch, from the same culture, is not touched: %+v", v.Touched)
		}
	})
}

// A sign that was withdrawn, or a clean look after it, clears a jar; a jar that
// gave its crop before it fouled is no loss.
func TestFouledCountsWhatHolds(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("one"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(5)
		var numbers []string
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if !j.Blank {
				numbers = append(numbers, fmt.Sprintf("%s·%d", k.Batch, j.Number))
			}
		}
		done := must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: numbers[0], Sign: "green"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: numbers[1], Sign: "green"}))(b)
		must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: numbers[2], Grams: "12"}}, At: "today"}))(b)
		b.clock.days(1)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: numbers[2], Fate: string(lab.Lost), Reason: "fouled"}))(b)
		bad := func() int { return must(b.Fouled(b.ctx, app.FouledInput{}))(b).Answer.Result.Bad }
		if n := bad(); n != 2 {
			t.Fatalf("%d fouled, want 2", n)
		}
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: numbers[1], Sign: "clean"}))(b)
		must(b.Undo(b.ctx, app.Act{}, done.Deed))(b)
		if n := bad(); n != 0 {
			t.Errorf("%d fouled after a clean look and an undo, want none", n)
		}
	})
}

func TestFouledOfNothing(t *testing.T) {
	onBoth(t, func(b *bench) {
		v := must(b.Fouled(b.ctx, app.FouledInput{}))(b)
		if v.Answer.Result.Total != 0 || v.Answer.Result.Sentence == "" {
			t.Errorf("an empty farm: %+v", v.Answer.Result)
		}
		if _, err := b.Fouled(b.ctx, app.FouledInput{Batches: []string{"B9"}}); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("no such batch: %v", err)
		}
		if _, err := b.Fouled(b.ctx, app.FouledInput{Last: 500}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("too many batches: %v", err)
		}
	})
}
