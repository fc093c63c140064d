package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// checkPage counts labels as they are scanned: "24 of 24 found".
type checkPage struct {
	frame
	app.LabelCheck
	Form form
}

func (checkPage) template() string { return "watch/check" }

// getCheck serves GET /batches/{batch}/check?have=1–12&code=. All that was
// found is in the address, so a reload loses nothing.
func (s *server) getCheck(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	c, err := s.farm.CheckLabels(r.Context(), r.PathValue("batch"), f.Get("have"), f.Get("code"))
	if err != nil {
		return err
	}
	p := &checkPage{frame{Title: "Check the labels of " + c.Batch.String(), Section: "/shelf", Gloved: true, Room: true, Scans: true}, c, f}
	return s.show(w, r, http.StatusOK, p)
}

// Path is the address of the batch.
func (p *checkPage) Path() string { return at("batches", p.Batch.String()) }

// Have is what was found, as the next request says it.
func (p *checkPage) Have() string { return lab.ShowNumbers(p.Found) }
