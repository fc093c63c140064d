package web

import (
	"net/http"
	"slices"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// inoculatePage is the one screen after a session: what it comes to, and the
// exceptions.
type inoculatePage struct {
	frame
	app.InoculateReport
	Form     form
	Cultures []string
	Means    []string
	Override bool // some jars could get it for a stated reason
}

func (inoculatePage) template() string { return "make/inoculate" }

// getInoculate serves GET /batches/{batch}/inoculate. What is in the query
// is counted, nothing is written.
func (s *server) getInoculate(w http.ResponseWriter, r *http.Request) error {
	return s.showInoculate(w, r, http.StatusOK, formOf(r))
}

func inoculateOf(batch string, f form) app.InoculateInput {
	return app.InoculateInput{
		Batch: batch, Culture: f.Get("culture"), Means: f.Get("means"), Amount: f.Get("amount"),
		At: f.Get("at"), Except: f.Get("except"), Override: f.Get("override"),
	}
}

func (s *server) showInoculate(w http.ResponseWriter, r *http.Request, status int, f form) error {
	report, err := s.farm.InoculateDraft(r.Context(), inoculateOf(r.PathValue("batch"), f))
	if err != nil {
		if f.problem == nil {
			if f, err = f.with(err); err != nil {
				return err
			}
			if len(r.Form) > 0 {
				status = http.StatusUnprocessableEntity
			}
		}
	}
	cultures, err := s.cultureNames(r)
	if err != nil {
		return err
	}
	if report.Batch.Number == 0 { // the batch itself was not found
		return lab.NotFoundf("look for it under Batches", "no batch is called %q", r.PathValue("batch"))
	}
	p := &inoculatePage{
		frame:           frame{Title: "Inoculate " + report.Batch.String(), Section: "/shelf", Gloved: true},
		InoculateReport: report, Form: f, Cultures: cultures,
	}
	for _, m := range lab.AllMeans {
		p.Means = append(p.Means, string(m))
	}
	p.Override = f.Get("override") != "" || slices.ContainsFunc(report.HeldBack, func(h app.HeldBack) bool { return h.Overridable })
	return s.show(w, r, status, p)
}

// heldGroup is jars that are held back for one reason.
type heldGroup struct {
	Numbers []int
	Why     string
}

// Held groups the jars that are held back by their reason.
func (p *inoculatePage) Held() []heldGroup {
	var out []heldGroup
	for _, h := range p.HeldBack {
		i := slices.IndexFunc(out, func(g heldGroup) bool { return g.Why == h.Why })
		if i < 0 {
			i, out = len(out), append(out, heldGroup{Why: h.Why})
		}
		out[i].Numbers = append(out[i].Numbers, h.Number)
	}
	return out
}

// Doubts are the cautions that the page does not say otherwise.
func (p *inoculatePage) Doubts() []figure.Caution {
	return distinct(p.Cautions, func(c figure.Caution) bool { return c.Code != "held_back" })
}

// Path is the address of the batch.
func (p *inoculatePage) Path() string { return at("batches", p.Batch.String()) }

// cultureNames returns the names of all cultures, newest first.
func (s *server) cultureNames(r *http.Request) ([]string, error) {
	rows, err := s.farm.Cultures(r.Context())
	names := make([]string, len(rows))
	for i, c := range rows {
		names[i] = c.Name
	}
	return names, err
}

// postInoculate serves POST /batches/{batch}/inoculate.
func (s *server) postInoculate(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	report, err := s.farm.Inoculate(r.Context(), act(r), inoculateOf(r.PathValue("batch"), f))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showInoculate(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, report.Deed, "Inoculated "+report.What)
	to := at("batches", r.PathValue("batch"))
	if len(report.HeldBack) > 0 { // stay where they are listed
		to = at("batches", r.PathValue("batch"), "inoculate")
	}
	return seeOther(w, r, to)
}
