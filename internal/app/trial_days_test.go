package app_test

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// grown is a trial of two arms whose millet jars come to full cover two days
// sooner; visits are every third day.
func grown(b *bench, name string) (app.Kept, map[string][]int) {
	b.t.Helper()
	b.supplies()
	k := b.cooked(plan(name), 60)
	must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
	arms := make(map[string][]int)
	for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
		if !j.Blank {
			arms[j.Arm] = append(arms[j.Arm], j.Number)
		}
	}
	for day := 3; day <= 21; day += 3 {
		b.clock.days(3)
		for arm, numbers := range arms {
			for i, n := range numbers {
				comes := 12 + 1.3*float64(i)
				if arm == "millet" {
					comes -= 4
				}
				in := app.SeeInput{Jars: fmt.Sprintf("%s·%d", k.Batch, n), Sign: "as before", At: "today"}
				if float64(day) >= comes {
					in.Sign, in.Stage = "", "cover"
				} else if cover := 100 * float64(day) / (comes + 3); cover < 95 && cover > 20 {
					in.Sign, in.Cover = "", fmt.Sprintf("%.0f", cover)
				}
				must(b.See(b.ctx, app.Act{}, in))(b)
			}
		}
	}
	return k, arms
}

func TestDaysOfATrial(t *testing.T) {
	onBoth(t, func(b *bench) {
		grown(b, "Days")
		d := must(b.TrialDays(b.ctx, "days"))(b)
		if len(d.Came) != 2 || d.Came[1].Stage != lab.Cover {
			t.Fatalf("stages that came: %v, want growth and cover", d.Came)
		}
		s := d.Stages[1].Answer.Result
		if len(s.Comparison) != 1 || s.Comparison[0].Arms[0] != "millet" || s.Comparison[0].Ratio == nil {
			t.Fatalf("comparison %+v", s.Comparison)
		}
		if r := s.Comparison[0].Ratio; !(r.Value > 0.55 && r.Value < 0.9 && *r.Low < r.Value && *r.High > r.Value) {
			t.Errorf("millet takes %.3g times as long, want about 11.3 of 15.3 days", r.Value)
		}
		if says := d.Stages[1].Says(); len(says) != 1 || !strings.HasPrefix(says[0], "Millet takes 0.7") || !strings.Contains(says[0], "times as long as oats to full cover") {
			t.Errorf("in words: %q", says)
		}
		if d.Cover == nil || d.Cover.Answer.Result.Arms[0].Jars != 6 {
			t.Fatalf("cover %+v", d.Cover)
		}
		one := must(b.TrialDays(b.ctx, "days", lab.Cover))(b)
		if len(one.Stages) != 1 || len(one.Came) != 2 {
			t.Errorf("asked for one stage: %d of %d", len(one.Stages), len(one.Came))
		}
		if f := must(b.TrialDays(b.ctx, "days", app.FurthestStage))(b); len(f.Stages) != 1 || f.Stages[0].Stage != lab.Cover {
			t.Errorf("the furthest stage is %+v", f.Stages)
		}
	})
}

// The day of a stage lies between two visits, and a lost jar is followed to
// its last good visit.
func TestDaysLieBetweenVisits(t *testing.T) {
	onBoth(t, func(b *bench) {
		k, arms := grown(b, "Lost")
		lost := fmt.Sprintf("%s·%d", k.Batch, arms["oats"][5])
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: lost, Stage: "colour", At: "today"}))(b)
		before := must(b.TrialDays(b.ctx, "lost", lab.Pins))(b)
		if len(before.Stages) != 1 {
			t.Fatal("a stage that did not come yet has no curve")
		}
		b.clock.days(2)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: lost, Sign: "green"}))(b)
		b.clock.days(2)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: lost, Fate: "lost", Reason: "fouled"}))(b)
		b.clock.days(7)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: fmt.Sprintf("%s·%d", k.Batch, arms["oats"][0]), Stage: "pins"}))(b)
		d := must(b.TrialDays(b.ctx, "lost", lab.Pins))(b)
		r := d.Stages[0].Answer.Result
		oats := r.Arms[0]
		if oats.Name != "oats" || oats.Lost != 1 || oats.Seen != 1 || oats.Waiting != 4 {
			t.Errorf("oats: %+v", oats)
		}
		days := map[float64]bool{}
		for _, s := range oats.ShareByDay {
			days[s.Day] = true
		}
		if !days[21] || !days[32] || days[23] || days[25] {
			t.Errorf("days of the curve %v: pins between day 21 and 32, the lost jar to day 21, not to where it looked green or was lost", days)
		}
	})
}

// What contradicts itself is asked about, and is in no curve.
func TestDaysAreAskedAbout(t *testing.T) {
	onBoth(t, func(b *bench) {
		k, arms := grown(b, "Asked")
		jar := func(arm string, i int) string { return fmt.Sprintf("%s·%d", k.Batch, arms[arm][i]) }
		b.clock.days(3)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jar("oats", 0), Stage: "pins"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jar("millet", 0), Stage: "pins"}))(b)
		b.clock.days(3)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jar("oats", 0), Stage: "colour"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jar("oats", 1), Cover: "10", At: "2026-03-13"}))(b)
		d := must(b.TrialDays(b.ctx, "asked"))(b)
		find := func(part string) *app.DayQuestion {
			for i, q := range d.Questions {
				if strings.Contains(q.Text, part) {
					return &d.Questions[i]
				}
			}
			t.Errorf("nobody asks %q: %+v", part, d.Questions)
			return &app.DayQuestion{}
		}
		if q := find("pins on day 24 and only first colour on day 27"); q.Jar != jar("oats", 0) || !q.Out {
			t.Errorf("a jar seen backwards: %+v", q)
		}
		if q := find("which is later. Check both readings"); q.Jar != jar("oats", 1) || !q.Out || d.Cover.Out != 1 {
			t.Errorf("a cover that fell: %+v, %d jars left out", q, d.Cover.Out)
		}
		find("never seen with first colour: " + jar("millet", 0))
		for _, s := range d.Stages {
			if s.Stage == lab.Pins && (s.Out != 1 || s.Answer.Result.Arms[0].Jars != 5) {
				t.Errorf("pins: %d left out, %d jars of oats", s.Out, s.Answer.Result.Arms[0].Jars)
			}
		}
	})
}

func TestDaysOfABlindTrialCompareNothing(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Blind")
		in.Blind = true
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(9)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jarsBut(b, k), Stage: "growth"}))(b)
		d := must(b.TrialDays(b.ctx, "blind"))(b)
		r := d.Stages[0].Answer.Result
		if !d.Blind || len(r.Comparison) != 0 || len(d.Stages[0].Answer.Working) != 0 {
			t.Errorf("a blind trial compares %+v", r.Comparison)
		}
		for _, a := range r.Arms {
			if a.Name != "A" && a.Name != "B" {
				t.Errorf("a blind trial names the arm %s", a.Name)
			}
		}
	})
}
