package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// postJudge serves POST /trials/{trial}/judge: keeps a reading of the trial.
func (s *server) postJudge(w http.ResponseWriter, r *http.Request) error {
	kept, _, err := s.farm.Judge(r.Context(), act(r), r.PathValue("trial"))
	if err != nil {
		return err
	}
	remember(w, r, "", "Kept: "+kept.Says())
	return seeOther(w, r, at("trials", r.PathValue("trial"))+"#readings")
}

// postOpenKey serves POST /trials/{trial}/key: opens the key of a blind trial.
func (s *server) postOpenKey(w http.ResponseWriter, r *http.Request) error {
	done, err := s.farm.OpenKey(r.Context(), act(r), r.PathValue("trial"))
	if err != nil {
		return err
	}
	remember(w, r, "", sentence(done.What))
	return seeOther(w, r, at("trials", r.PathValue("trial")))
}

// postLight serves POST /trials/{trial}/light: deals the jars out to places in
// the light.
func (s *server) postLight(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	shelves, err := readShelves(f.Get("shelves"))
	var done app.Allotted
	if err == nil {
		done, err = s.farm.AllotLight(r.Context(), act(r), r.PathValue("trial"), shelves, f.Get("seed"))
	}
	return s.afterDraw(w, r, f, done, err)
}

// postRedraw serves POST /trials/{trial}/redraw: draws the places in the
// cooker anew.
func (s *server) postRedraw(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	done, err := s.farm.Redraw(r.Context(), act(r), r.PathValue("trial"), f.Get("seed"))
	return s.afterDraw(w, r, f, done, err)
}

func (s *server) afterDraw(w http.ResponseWriter, r *http.Request, f form, done app.Allotted, err error) error {
	if err != nil {
		if lab.IsKind(err, lab.Conflict) || lab.IsKind(err, lab.NotFound) {
			return err
		}
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showTrial(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", sentence(done.What))
	return seeOther(w, r, at("trials", r.PathValue("trial"))+"#plan")
}
