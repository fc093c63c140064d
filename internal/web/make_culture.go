package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// culturesPage lists the cultures and takes a new one.
type culturesPage struct {
	frame
	Rows  []app.CultureRow
	Form  form
	Forms []string
	Names []string
}

func (culturesPage) template() string { return "make/cultures" }

// getCultures serves GET /cultures.
func (s *server) getCultures(w http.ResponseWriter, r *http.Request) error {
	return s.showCultures(w, r, http.StatusOK, form{})
}

func (s *server) showCultures(w http.ResponseWriter, r *http.Request, status int, f form) error {
	rows, err := s.farm.Cultures(r.Context())
	if err != nil {
		return err
	}
	p := &culturesPage{frame: frame{Title: "Cultures", Section: "/cultures"}, Rows: rows, Form: f}
	for _, x := range lab.Forms {
		p.Forms = append(p.Forms, string(x))
	}
	for _, c := range rows {
		p.Names = append(p.Names, c.Name)
	}
	return s.show(w, r, status, p)
}

// postCultures serves POST /cultures.
func (s *server) postCultures(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	id, err := formID[lab.CultureID](f)
	var c lab.Culture
	if err == nil {
		c, err = s.farm.AddCulture(r.Context(), app.NewCulture{
			ID: id, Name: f.Get("name"), Form: f.Get("form"), Strain: f.Get("strain"), Species: f.Get("species"),
			Parent: f.Get("parent"), Made: f.Get("made"), Note: f.Get("note"),
		})
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCultures(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", c.Name+" written down")
	return seeOther(w, r, "/cultures")
}
