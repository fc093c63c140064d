package web

import (
	"html/template"
	"net/http"

	"pinset/internal/report"
)

// reportPage shows the report of a trial, as it is printed.
type reportPage struct {
	frame
	Path  string
	Sub   string
	Parts template.HTML
}

func (reportPage) template() string { return "judge/report" }

func (s *server) trialReport(r *http.Request) (report.Report, error) {
	v, wanting, err := s.trial(r)
	if err != nil {
		return report.Report{}, err
	}
	days, err := s.farm.TrialDays(r.Context(), v.Name)
	if err != nil {
		return report.Report{}, err
	}
	return report.Trial(v, days, wanting, s.farm.Now()), nil
}

// getReport serves GET /trials/{trial}/report.
func (s *server) getReport(w http.ResponseWriter, r *http.Request) error {
	made, err := s.trialReport(r)
	if err != nil {
		return err
	}
	p := &reportPage{frame: frame{Title: made.Title, Section: "/trials"}, Path: at("trials", r.PathValue("trial")), Sub: made.Sub, Parts: made.HTML()}
	return s.show(w, r, http.StatusOK, p)
}

// getReportPDF serves GET /trials/{trial}/report.pdf?paper=letter.
func (s *server) getReportPDF(w http.ResponseWriter, r *http.Request) error {
	made, err := s.trialReport(r)
	if err != nil {
		return err
	}
	settings, err := s.farm.Settings(r.Context())
	if err != nil {
		return err
	}
	pdf, err := made.PDF(report.Options{Paper: report.Paper(r.FormValue("paper")), Farm: settings.Name})
	if err != nil {
		return err
	}
	return s.sendPDF(w, "trial.pdf", pdf)
}
