package report

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

func num(x float64) *float64 { return &x }

// trialView is an invented trial over two cooks, with cautions of every weight.
func trialView(arms ...string) app.TrialView {
	v := app.TrialView{DataHash: strings.Repeat("ab", 32)}
	v.Trial = lab.Trial{
		Name: "rice or oats", Question: "Does rice give more?", Differ: []lab.Factor{lab.ByRecipe}, Control: arms[0], Matters: 20, Primary: lab.PerInoculated,
		Planned: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), Details: lab.TrialDetails{Spread: 22, Loss: 8},
	}
	v.Draws = []lab.Allotment{{Procedure: "counted", Version: 1, Seed: 40218, Bound: "Fair shares.", Made: v.Planned, Stage: lab.AtMaking}, {Procedure: "counted", Version: 1, Seed: 7, Bound: "Fair shares.", Made: v.Planned.AddDate(0, 0, 20), Stage: lab.AtLight}}
	v.Verdict.Result.Sentence = "No verdict yet: jars still grow"
	for i, a := range arms {
		v.Trial.Arms = append(v.Trial.Arms, lab.Arm{Name: a})
		mean := 20 + 3*float64(i)
		v.Verdict.Result.Arms = append(v.Verdict.Result.Arms, app.ArmSummary{Name: a, Inoculated: 6, Picked: 5, Lost: 1, MeanInoculated: &mean, MeanPicked: num(mean + 4), CVPct: num(21)})
		v.Evidence.Arms = append(v.Evidence.Arms, app.EvidenceArm{Name: a, Mean: &mean, Low: num(mean - 4), High: num(mean + 4)})
		v.Losses = append(v.Losses, app.ArmLoss{Arm: a, Failed: 1, Of: 6, Percent: num(16.7), Low: num(3), High: num(56.4)})
		for k := range 6 {
			v.Evidence.Jars = append(v.Evidence.Jars, app.EvidenceJar{Name: fmt.Sprintf("B1·%d", 6*i+k+1), Arm: i, Place: fmt.Sprintf("cook %d", k%2+1), Grams: mean + float64(k), Lost: k == 5})
		}
	}
	v.ByCook = &app.CookEffects{Of: strings.Join(arms[:2], " less "), Cooks: []app.CookApart{
		{Cook: "cook 1", Jars: []int{3, 3}, Interval: app.Interval{Value: num(-3), Low: num(-8), High: num(2)}},
		{Cook: "cook 2", Jars: []int{3, 0}},
		{Cook: "cook 3", Jars: []int{4, 4}, Interval: app.Interval{Value: num(-5), Low: num(-9), High: num(-1)}},
		{Cook: "cook 4", Jars: []int{4, 3}, Interval: app.Interval{Value: num(-4), Low: num(-8), High: num(0)}},
	}, All: &app.OverCooks{Cooks: 3, Interval: app.Interval{Value: num(-4), Low: num(-6.5), High: num(-1.5)}}}
	v.Cells = []app.TrialCell{{Cook: "cook 1", Layer: 1, Jars: make([]int, len(arms))}}
	v.Verdict.Cautions = []figure.Caution{
		{Code: "one_making", Title: "One mixing each", Text: "A weighing slip would look like a better recipe.", Weight: figure.Care},
		{Code: "few", Title: "Few <jars>", Text: "5 & fewer.", Weight: figure.Note},
		{Code: "stop", Title: "Cook 2 did not hold", Text: "Held 40 of 90 min.", Weight: figure.Stop},
	}
	v.Verdict.Working = []figure.Step{{Step: "difference", Formula: "b − a", Value: 3.25, Unit: "g", Source: "Welch (1947)"}, {Step: "ratio", Value: (*float64)(nil)}, {Step: "odd", Value: math.NaN()}}
	v.Analyses = []app.KeptAnalysis{{Analysis: lab.Analysis{Made: v.Planned, Version: "compare 1", Seed: 40218, DataHash: strings.Repeat("ab", 32)}, Sentence: "Running", First: true}}
	return v
}

var asOf = time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC)

// No format may leave out a caution, a sentence of the verdict, or what the
// verdict can be checked by.
func TestNoFormatLeavesOut(t *testing.T) {
	v := trialView("oats", "rice")
	failed := &lab.Problem{Kind: lab.Invalid, What: "two arms have one jar each", Mend: "read the counts"}
	for _, p := range []*lab.Problem{nil, failed} {
		r := Trial(v, trialDays(v), p, asOf)
		pdf, err := r.PDF(Options{Farm: "Test barn", plain: true})
		if err != nil {
			t.Fatal(err)
		}
		var paper strings.Builder
		for _, m := range texts(t, pdf) {
			paper.WriteString(m.text + " ")
		}
		html := strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(string(r.HTML()))
		want := []string{"No verdict yet: jars still grow.", "Does rice give more?", "40218", "seed 7", "to the light", strings.Repeat("ab", 32), "Welch (1947)", "compare 1", "16.7", "Visits too far apart", "B1·3: Which of the two visits is right? Until then it is left out.", "Half of oats came by day 21"}
		for _, c := range v.Verdict.Cautions {
			want = append(want, c.Title, c.Text)
		}
		if p != nil {
			want = append(want, "Two arms have one jar each.", "Read the counts.")
		}
		for format, all := range map[string]string{"PDF": paper.String(), "HTML": html, "page": strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(string(r.Page()))} {
			flat := strings.Join(strings.Fields(all), " ")
			for _, w := range want {
				if w == "Does rice give more?" && format == "HTML" { // stands in the plan, too
					w = "Does rice give more?</dd>"
				}
				if !strings.Contains(flat, w) {
					t.Errorf("%s leaves out %q", format, w)
				}
			}
			if strings.Contains(flat, "NaN") || strings.Contains(flat, "Inf") || strings.Contains(flat, "<nil>") {
				t.Errorf("%s prints what is no figure", format)
			}
		}
	}
}

func TestTrialGolden(t *testing.T) {
	r := Trial(trialView("oats", "rice"), trialDays(trialView("oats", "rice")), nil, asOf)
	pdf, err := r.PDF(Options{Farm: "Test barn", plain: true})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "trial_a4.txt", listing(texts(t, pdf)))
	golden(t, "trial.html", string(r.HTML()))
	again, err := Trial(trialView("oats", "rice"), trialDays(trialView("oats", "rice")), nil, asOf).PDF(Options{Farm: "Test barn", plain: true})
	if err != nil || !bytes.Equal(pdf, again) {
		t.Errorf("the same report twice differs: %v", err)
	}
}

// Twelve arms, long names and letters that the font lacks stay on the paper.
func TestTrialOnPaper(t *testing.T) {
	twelve := make([]string, 12)
	for i := range twelve {
		twelve[i] = fmt.Sprintf("rung %d with a rather long name", i+1)
	}
	for name, arms := range map[string][]string{"twelve": twelve, "hangul": {"귀리 배지", "기장 배지"}, "endless": {strings.Repeat("x", 300), strings.Repeat("y ", 150)}} {
		for _, paper := range []Paper{A4, Letter} {
			pdf, err := Trial(trialView(arms...), trialDays(trialView(arms...)), nil, asOf).PDF(Options{Paper: paper, plain: true})
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			wide, tall := 210.0, 297.0
			if paper == Letter {
				wide, tall = 215.9, 279.4
			}
			for _, m := range texts(t, pdf) {
				if m.x < left-3 || m.x > wide-right+1 || m.y < top-1 || m.y > tall-8 {
					t.Errorf("%s on %s: %q stands at %.0f, %.0f mm, off the paper", name, paper, m.text, m.x, m.y)
				}
			}
			if dir := os.Getenv("PINSET_SHEETS"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, "trial_"+name+"_"+string(paper)+".pdf"), pdf, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	if _, err := Trial(app.TrialView{}, app.TrialDays{}, nil, asOf).PDF(Options{}); err != nil {
		t.Errorf("a trial of which nothing is known: %v", err)
	}
	if _, err := Trial(app.TrialView{}, app.TrialDays{}, nil, asOf).PDF(Options{Paper: "a5"}); !lab.IsKind(err, lab.Invalid) {
		t.Errorf("an unknown paper: %v", err)
	}
}

// trialDays is invented days of the arms of v, with a question.
func trialDays(v app.TrialView) app.TrialDays {
	s := app.StageDays{Stage: lab.Pins}
	for i, a := range v.Arms {
		arm := app.StageArm{Name: figure.Label(a.Name), Jars: 6, Seen: 5, Lost: 1}
		for k := range 4 {
			day := float64(18 + 3*k - i)
			arm.ShareByDay = append(arm.ShareByDay, app.StageShare{Day: day, Low: float64(k) / 4, High: float64(k+1) / 4})
		}
		s.Answer.Result.Arms = append(s.Answer.Result.Arms, arm)
	}
	s.Answer.Result.Sentence = "Half of oats came by day 21"
	s.Answer.Cautions = []figure.Caution{{Code: "visit_more_often", Title: "Visits too far apart", Text: "Visit more often.", Weight: figure.Care}}
	return app.TrialDays{Stages: []app.StageDays{s}, Questions: []app.DayQuestion{{Jar: "B1·3", Text: "Which of the two visits is right?", Out: true}}}
}
