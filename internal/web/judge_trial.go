package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// trialsPage lists the trials.
type trialsPage struct {
	frame
	Rows []app.TrialRow
}

func (trialsPage) template() string { return "judge/trials" }

// getTrials serves GET /trials.
func (s *server) getTrials(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.farm.Trials(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &trialsPage{frame{Title: "Trials", Section: "/trials"}, rows})
}

// trialPage shows one trial: the verdict first, the numbers below.
type trialPage struct {
	frame
	app.TrialView
	Picture *drawing     // nil while no jar can be drawn
	Wanting *lab.Problem // why there is no verdict, nil if there is one
}

func (trialPage) template() string { return "judge/trial" }

// getTrial serves GET /trials/{trial}.
func (s *server) getTrial(w http.ResponseWriter, r *http.Request) error {
	v, err := s.farm.TrialView(r.Context(), r.PathValue("trial"))
	p := &trialPage{frame: frame{Title: v.Name, Section: "/trials"}, TrialView: v, Picture: evidenceDrawing(v)}
	if lab.IsKind(err, lab.Invalid) && v.Trial.ID != "" { // the trial is there, but nothing to judge
		p.Wanting, _ = lab.AsProblem(err)
	} else if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, p)
}

// endings are how a verdict can end, in words.
var endings = map[string]string{
	"supported":      "supported",
	"not_told_apart": "not told apart",
	"alike":          "alike",
	"no_comparison":  "no comparison",
	"running":        "still running",
}

// Ending is how the verdict ends, in words.
func (p *trialPage) Ending() string { return endings[p.endingKey()] }

// Disc is the drawing of the ending.
func (p *trialPage) Disc() string { return p.endingKey() }

func (p *trialPage) endingKey() string { return string(p.Verdict.Result.Ending) }

// Mark is the mark of the arm called name, "" if the trial has none.
func (p *trialPage) Mark(name string) template.HTML {
	i := slices.IndexFunc(p.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(name) })
	if i < 0 {
		return ""
	}
	return armMark(i)
}

// ByArm are the arms of the verdict in the order of the plan.
func (p *trialPage) ByArm() []app.ArmSummary {
	rows := slices.Clone(p.Verdict.Result.Arms)
	place := func(a app.ArmSummary) int {
		return slices.IndexFunc(p.Arms, func(x lab.Arm) bool { return lab.NameKey(x.Name) == lab.NameKey(a.Name) })
	}
	slices.SortStableFunc(rows, func(a, b app.ArmSummary) int { return place(a) - place(b) })
	return rows
}

// Failed says which jars of an arm gave nothing: "2 lost, 1 barren".
func (p *trialPage) Failed(lost, barren, growing int) string {
	var parts []string
	for _, x := range []struct {
		n    int
		word string
	}{{lost, "lost"}, {barren, "barren"}, {growing, "growing"}} {
		if x.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.n, x.word))
		}
	}
	return strings.Join(parts, ", ")
}

// EndingOf is an ending in words.
func (p *trialPage) EndingOf(key string) string { return endings[key] }
