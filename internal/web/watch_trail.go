package web

import (
	"net/http"

	"pinset/internal/app"
)

// trailPage is one jar with all that led to it and came of it, to print.
type trailPage struct {
	frame
	app.Trail
	Letter bool
}

func (trailPage) template() string { return "watch/trail" }

// Path is the address of the jar.
func (p *trailPage) Path() string { return at("j", string(p.Row.Code)) }

// getTrail serves GET /j/{code}/trail?paper=letter.
func (s *server) getTrail(w http.ResponseWriter, r *http.Request) error {
	t, err := s.farm.Trail(r.Context(), r.PathValue("code"))
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &trailPage{frame{Title: "Trail of " + t.Name, Section: "/shelf", Paper: true}, t, r.FormValue("paper") == "letter"})
}
