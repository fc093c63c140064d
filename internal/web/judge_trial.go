package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
	"pinset/internal/report"
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
	Form    form
	Picture *drawing     // nil while no jar can be drawn
	Losses  *drawing     // nil while no jar is done
	Effects *drawing     // nil for fewer than two cooks
	Days    daysPart     // the furthest stage
	Wanting *lab.Problem // why there is no verdict, nil if there is one
}

func (trialPage) template() string { return "judge/trial" }

// getTrial serves GET /trials/{trial}.
func (s *server) getTrial(w http.ResponseWriter, r *http.Request) error {
	return s.showTrial(w, r, http.StatusOK, form{})
}

func (s *server) showTrial(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, wanting, err := s.trial(r)
	if err != nil {
		return err
	}
	p := &trialPage{frame: frame{Title: v.Name, Section: "/trials"}, TrialView: v, Form: f, Picture: evidenceDrawing(v), Wanting: wanting}
	if of, ok := report.Losses(v); ok {
		p.Losses = newDrawing("losses", deskWide, of.Draw)
	}
	if of, ok := report.Effects(v); ok {
		p.Effects = newDrawing("effects", deskWide, of.Draw)
	}
	days, err := s.farm.TrialDays(r.Context(), v.Name, app.FurthestStage)
	if err != nil {
		return err
	}
	p.Days = newDaysPart(v, days)
	return s.show(w, r, status, p)
}

// trial reads the trial of the path, with why there is no verdict.
func (s *server) trial(r *http.Request) (app.TrialView, *lab.Problem, error) {
	v, err := s.farm.TrialView(r.Context(), r.PathValue("trial"))
	if lab.IsKind(err, lab.Invalid) && v.Trial.ID != "" { // the trial is there, but nothing to judge
		wanting, _ := lab.AsProblem(err)
		return v, wanting, nil
	}
	return v, nil, err
}

// Path is the address of the trial.
func (p *trialPage) Path() string { return at("trials", p.Name) }

// History is the readings that were kept, the newest first.
func (p *trialPage) History() []app.KeptAnalysis {
	out := slices.Clone(p.Analyses)
	slices.Reverse(out)
	return out
}

// Done reports whether jars were inoculated and none grows any more.
func (p *trialPage) Done() bool { return p.Closed }

// Untouched reports whether the places can be drawn anew: jars are there, and
// none is inoculated.
func (p *trialPage) Untouched() bool {
	for _, b := range p.Batches {
		if b.Tally.Inoculated > 0 {
			return false
		}
	}
	return len(p.Batches) > 0 && p.Allotment != nil
}

// DrawWord says what a draw dealt out.
func (p *trialPage) DrawWord(a lab.Allotment) string {
	if a.Stage == lab.AtLight {
		return "To the light"
	}
	return "To the cooker"
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

// P prints a chance under pure luck.
func (p *trialPage) P(x *float64) string { return report.Chance(x) }

// EndingOf is an ending in words.
func (p *trialPage) EndingOf(key string) string { return endings[key] }

// Findings are what the verdict says, what decides first.
func (p *trialPage) Findings() []report.Finding { return report.Findings(p.TrialView) }

// Small reports whether finding i is set smaller: where there are many, or a ladder
// decides and it is no ladder.
func (p *trialPage) Small(i int) bool {
	ladders := len(p.Verdict.Result.Trends)
	return ladders > 0 && i >= ladders || len(p.Verdict.Result.Comparisons) > 2 && ladders == 0
}

// Dependences says whether the factors of a crossing depend on each other.
func (p *trialPage) Dependences() []report.Finding { return report.Dependences(p.TrialView) }

// Parts is the share that fruited beside the grams of those jars, nil if not known.
func (p *trialPage) Parts() *picture.Table {
	if t, ok := report.Parts(p.TrialView); ok {
		return &t
	}
	return nil
}

// PartsHint says what the two parts are.
func (p *trialPage) PartsHint() string { return report.PartsHint }

// Beside says what stands beside the verdict and decides nothing.
func (p *trialPage) Beside() []string { return report.Beside(p.TrialView) }

// Decides says what outcome decides, and from what difference on it matters.
func (p *trialPage) Decides() string {
	return fmt.Sprintf("%s; %s %s matters", lab.OutcomeWords(p.Primary), fix(0, p.Matters), lab.MattersUnit(p.Primary))
}

// Apart is the unit of the differences.
func (p *trialPage) Apart() string {
	switch p.Primary {
	case lab.ByFruited, lab.ByClean:
		return "points of a hundred jars"
	case lab.ByPins:
		return "pins a jar"
	case lab.ByColour:
		return "above, of 100 pairs"
	}
	return "g a jar"
}

// Scope says within what jars are compared, and whether cooks are counted or jars.
func (p *trialPage) Scope() string {
	if over := report.OverCooks(p.TrialView); over != "" {
		return "95 % interval, from cook to cook. " + over
	}
	within := p.Verdict.Result.BlockBy
	if len(within) == 0 {
		return "95 % interval, over all places together."
	}
	return "95 % interval, within the same " + strings.ReplaceAll(strings.Join(within, " and "), "_", " ") + "."
}

// EachCook says what the rows of the cooks rest on.
func (p *trialPage) EachCook() string { return report.EffectHint(p.TrialView) }
