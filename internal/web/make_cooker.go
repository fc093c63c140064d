package web

import (
	"net/http"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// cookersPage lists the cookers and takes what is known of one.
type cookersPage struct {
	frame
	Cookers []lab.Cooker
	Form    form
}

func (cookersPage) template() string { return "make/cookers" }

// Kinds are the kinds of cooker.
func (*cookersPage) Kinds() []lab.CookerKind { return lab.CookerKinds }

// Open reports whether one of the fields called names is to be mended.
func (p *cookersPage) Open(names ...string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return p.Form.Bad(n) != nil })
}

// getCookers serves GET /cookers.
func (s *server) getCookers(w http.ResponseWriter, r *http.Request) error {
	return s.showCookers(w, r, http.StatusOK, formOf(r))
}

func (s *server) showCookers(w http.ResponseWriter, r *http.Request, status int, f form) error {
	cookers, err := s.farm.Cookers(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, status, &cookersPage{frame{Title: "Cookers", Section: "/cooks"}, cookers, f})
}

// postCookers serves POST /cookers.
func (s *server) postCookers(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	c, deed, err := s.farm.SaveCooker(r.Context(), act(r), app.NewCooker{
		Name: f.Get("name"), Kind: f.Get("kind"), Bore: f.Get("bore"), Room: f.Get("room"), Divider: f.Get("divider"), Tested: f.Get("tested"), Rated: f.Get("rated"), Diameter: f.Get("diameter"), Height: f.Get("height"), Mass: f.Get("mass"), Metal: f.Get("metal"),
		Burner: f.Get("burner"), ReadsHigh: f.Get("reads_high"), Loss: f.Get("loss"), HeatUp: f.Get("heat_up"), Holds: f.Get("holds"),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCookers(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, deed, c.Name+" kept")
	return seeOther(w, r, "/cookers")
}

// standardPage is the grower's own table of holds.
type standardPage struct {
	frame
	app.Standard
	Fits []app.CalibrationRow
}

func (standardPage) template() string { return "make/standard" }

// getStandard serves GET /standard.
func (s *server) getStandard(w http.ResponseWriter, r *http.Request) error {
	table, err := s.farm.Standard(r.Context())
	if err != nil {
		return err
	}
	fits, err := s.farm.Calibrations(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &standardPage{frame{Title: "Own standard", Section: "/cooks"}, table, fits})
}
