package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
	"pinset/internal/report"
)

// daysPart is the days of a trial as pages show them.
type daysPart struct {
	app.TrialDays
	Stages []stageDays
	Cover  *coverDays // nil if none was read
}

// stageDays is one stage with its picture.
type stageDays struct {
	app.StageDays
	Picture *drawing
	Arms    picture.Table
	Ratios  picture.Table // without rows where none is compared
}

// coverDays is the cover with its picture.
type coverDays struct {
	app.CoverDays
	Picture *drawing
	Arms    picture.Table
	Apart   picture.Table // without rows where none is compared
	Jars    picture.Table
}

func newDaysPart(v app.TrialView, d app.TrialDays) daysPart {
	out := daysPart{TrialDays: d}
	for _, s := range d.Stages {
		out.Stages = append(out.Stages, stageDays{s, newDrawing("days-"+string(s.Stage), deskWide, report.StageCurves(v, s).Draw), report.StageTable(s), report.RatioTable(s)})
	}
	if c := d.Cover; c != nil {
		out.Cover = &coverDays{*c, newDrawing("days-covered", deskWide, report.CoverCurves(v, *c).Draw), report.CoverTable(*c), report.CoverApartTable(*c), report.CoverJarTable(*c)}
	}
	return out
}

// Hint says how the curves are read.
func (stageDays) Hint() string { return report.StageHint }

// FiguresHint says how the figures are read.
func (s stageDays) FiguresHint() string {
	if len(s.Ratios.Rows) == 0 {
		return report.IntervalHint
	}
	return report.RatioHint
}

// Hint says how the curves are read.
func (coverDays) Hint() string { return report.CoverHint }

// trialDaysPage shows when the jars of a trial came to a stage, and how they
// were covered.
type trialDaysPage struct {
	frame
	app.TrialView
	Days daysPart
	Now  lab.Stage // the stage that is shown
}

func (trialDaysPage) template() string { return "judge/days" }

// getTrialDays serves GET /trials/{trial}/days?stage=pins: one stage, the
// furthest if none is named.
func (s *server) getTrialDays(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.trial(r)
	if err != nil {
		return err
	}
	stage := lab.Stage(r.FormValue("stage"))
	if lab.Stage.Label(stage) == "" {
		stage = app.FurthestStage
	}
	days, err := s.farm.TrialDays(r.Context(), v.Name, stage)
	if err != nil {
		return err
	}
	p := &trialDaysPage{frame: frame{Title: "Days of " + v.Name, Section: "/trials"}, TrialView: v, Days: newDaysPart(v, days)}
	if len(days.Stages) > 0 {
		p.Now = days.Stages[0].Stage
	}
	return s.show(w, r, http.StatusOK, p)
}

// Path is the address of the trial.
func (p *trialDaysPage) Path() string { return at("trials", p.Name) }
