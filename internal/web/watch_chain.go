package web

import (
	"net/http"

	"pinset/internal/app"
)

// chainPage is one jar with all that led to it and came of it, to print.
type chainPage struct {
	frame
	app.Chain
	Letter bool
}

func (chainPage) template() string { return "watch/chain" }

// Path is the address of the jar.
func (p *chainPage) Path() string { return at("j", string(p.Row.Code)) }

// getChain serves GET /j/{code}/chain?paper=letter.
func (s *server) getChain(w http.ResponseWriter, r *http.Request) error {
	t, err := s.farm.Chain(r.Context(), r.PathValue("code"))
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &chainPage{frame{Title: "Chain of " + t.Name, Section: "/shelf", Paper: true}, t, r.FormValue("paper") == "letter"})
}
