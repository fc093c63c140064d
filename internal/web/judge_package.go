package web

import "net/http"

// getTrialPackage serves GET /trials/{trial}/package.zip: the trial as a Data
// Package.
func (s *server) getTrialPackage(w http.ResponseWriter, r *http.Request) error {
	p, err := s.farm.PackageTrial(r.Context(), r.PathValue("trial"))
	if err != nil {
		return err
	}
	data, err := p.Zip()
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+p.Name+`.zip"`)
	h.Set("Cache-Control", "private, no-cache")
	if _, err := w.Write(data); err != nil {
		s.log.Debug("answer not taken", "error", err)
	}
	return nil
}
