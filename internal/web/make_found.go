package web

import (
	"net/http"

	"pinset/internal/app"
)

// foundPage audits a recipe that was found elsewhere.
type foundPage struct {
	frame
	Form  form
	Audit *app.FoundAudit
	Bases []string
}

func (foundPage) template() string { return "make/found" }

// getFound serves GET /supplies/found, with ?text= a recipe to audit.
func (s *server) getFound(w http.ResponseWriter, r *http.Request) error {
	return s.showFound(w, r, formOf(r))
}

// postFound serves POST /supplies/found: a recipe too long for an address.
func (s *server) postFound(w http.ResponseWriter, r *http.Request) error {
	return s.showFound(w, r, formOf(r))
}

func (s *server) showFound(w http.ResponseWriter, r *http.Request, f form) error {
	p := &foundPage{frame: frame{Title: "A recipe found elsewhere", Section: "/supplies"}, Form: f, Bases: []string{"weight", "dry"}}
	if !f.Has("text") {
		return s.show(w, r, http.StatusOK, p)
	}
	audit, err := s.farm.AuditFound(r.Context(), app.FoundInput{Text: f.Get("text"), PercentOf: f.Get("percent_of"), Moisture: f.Get("moisture")})
	if err != nil {
		if p.Form, err = f.with(err); err != nil {
			return err
		}
		return s.show(w, r, http.StatusUnprocessableEntity, p)
	}
	p.Audit = &audit
	return s.show(w, r, http.StatusOK, p)
}

// Measures are the questions that must be answered before anything is said.
func (p *foundPage) Measures() []app.Ask {
	var out []app.Ask
	for _, a := range p.Audit.Asks {
		if a.Choices == nil {
			out = append(out, a)
		}
	}
	return out
}

// Of names what a claim is of.
func (p *foundPage) Of(claim string) string {
	return map[string]string{
		"moisture_pct": "moisture, %", "cn": "C : N", "n_pct_of_dry": "nitrogen of dry matter, %", "ml_per_g": "mL per g", "ph": "pH",
	}[claim]
}

// Range prints from low to high.
func (p *foundPage) Range(low, high *float64) string {
	switch {
	case low == nil || high == nil:
		return "not known"
	case *high-*low < 0.05:
		return fix(1, *low)
	}
	return fix(1, *low) + " to " + fix(1, *high)
}
