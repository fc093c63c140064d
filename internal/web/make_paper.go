package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/report"
)

// getBenchPDF serves GET /batches/{batch}/bench.pdf?paper=letter&units=us.
func (s *server) getBenchPDF(w http.ResponseWriter, r *http.Request) error {
	return s.showPDF(w, r, "bench", report.Bench)
}

func (s *server) showPDF(w http.ResponseWriter, r *http.Request, what string, draw func(app.BenchSheet, report.Options) ([]byte, error)) error {
	sheet, err := s.farm.BenchSheet(r.Context(), r.PathValue("batch"))
	if err != nil {
		return err
	}
	settings, err := s.farm.Settings(r.Context())
	if err != nil {
		return err
	}
	pdf, err := draw(sheet, report.Options{Paper: report.Paper(r.FormValue("paper")), Units: report.Units(r.FormValue("units")), Farm: settings.Name})
	if err != nil {
		return err
	}
	return s.sendPDF(w, what+"-"+sheet.Batch.String()+".pdf", pdf)
}
