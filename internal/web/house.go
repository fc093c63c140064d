package web

import (
	"encoding/base64"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// allPage lists the sections, for phones whose bar holds five.
type allPage struct{ frame }

func (allPage) template() string { return "house/all" }

// getAll serves GET /all.
func (s *server) getAll(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, http.StatusOK, &allPage{frame{Title: "All sections", Section: "/all"}})
}

// postLamp serves POST /lamp: changes the theme and goes back.
func (s *server) postLamp(w http.ResponseWriter, r *http.Request) error {
	to := r.PostFormValue("to")
	if slices.Contains(themes, to) {
		keep(w, r, lampCookie, to)
	}
	return seeOther(w, r, localPath(r.PostFormValue("here")))
}

// findPage asks for a code or a name.
type findPage struct {
	frame
	Form form
}

func (findPage) template() string { return "house/find" }

// getFind serves GET /find?q=: goes to what is called so.
func (s *server) getFind(w http.ResponseWriter, r *http.Request) error {
	p := &findPage{frame: frame{Title: "Find", Section: "/find"}, Form: formOf(r)}
	if !p.Form.Has("q") {
		return s.show(w, r, http.StatusOK, p)
	}
	found, err := s.farm.Find(r.Context(), p.Form.Get("q"))
	if err == nil {
		http.Redirect(w, r, pathOf(found.Kind, found.Name), http.StatusSeeOther)
		return nil
	}
	problem, ok := lab.AsProblem(err)
	if !ok || problem.Kind == lab.Busy {
		return err
	}
	problem.Field = "q"
	p.Form.problem = problem
	return s.show(w, r, statuses[problem.Kind], p)
}

// pathOf returns the page of the thing of that kind and name.
func pathOf(kind, name string) string {
	switch kind {
	case "jar":
		return at("j", name)
	case "batch":
		return at("batches", name)
	case "cook":
		return at("cooks", name)
	case "trial":
		return at("trials", name)
	case "culture":
		return at("cultures", name)
	case "ingredient":
		return at("ingredients", name)
	case "shelf":
		return at("shelves", name, "rounds")
	}
	return "/"
}

// anchor returns name as the id of an element.
func anchor(name string) string {
	return "n-" + base64.RawURLEncoding.EncodeToString([]byte(lab.NameKey(name)))
}

// settingsPage changes what the farm says of itself, and this browser's own.
type settingsPage struct {
	frame
	Form form
}

func (settingsPage) template() string { return "house/settings" }

// getSettings serves GET /settings.
func (s *server) getSettings(w http.ResponseWriter, r *http.Request) error {
	set, err := s.farm.Settings(r.Context())
	if err != nil {
		return err
	}
	v := url.Values{"name": {set.Name}, "zone": {set.Zone.String()}, "by": {initialsOf(r)}}
	v.Set("step", set.Step.String())
	if set.Altitude != nil {
		v.Set("altitude", fix(0, *set.Altitude)+" m")
	}
	return s.show(w, r, http.StatusOK, newSettingsPage(form{values: v}))
}

func newSettingsPage(f form) *settingsPage {
	return &settingsPage{frame: frame{Title: "Settings", Section: "/all"}, Form: f}
}

// postSettings serves POST /settings.
func (s *server) postSettings(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	zone := f.Get("zone")
	if zone == "Local" { // the machine's own, which is kept by saying nothing
		zone = ""
	}
	err := s.farm.SaveSettings(r.Context(), app.NewSettings{Name: f.Get("name"), Zone: zone, Altitude: f.Get("altitude"), Step: f.Get("step")})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.show(w, r, http.StatusUnprocessableEntity, newSettingsPage(f))
	}
	by := clipped(strings.Join(strings.Fields(f.Get("by")), " "), 20)
	keep(w, r, byCookie, base64.RawURLEncoding.EncodeToString([]byte(by)))
	remember(w, r, "", "Settings kept")
	return seeOther(w, r, "/settings")
}

// undoPage lists what was entered last.
type undoPage struct {
	frame
	Deeds []deedLine
}

func (undoPage) template() string { return "house/undo" }

// deedLine is an act of entry in a list.
type deedLine struct {
	lab.Deed
	Gone bool // taken back since
}

// deedLines marks those deeds that a later one of them takes back.
func deedLines(deeds []lab.Deed) []deedLine {
	gone := make(map[lab.DeedID]bool)
	for _, d := range deeds {
		gone[d.Undoes] = true
	}
	out := make([]deedLine, len(deeds))
	for i, d := range deeds {
		out[i] = deedLine{d, gone[d.ID]}
	}
	return out
}

// lastDeeds is how many acts of entry can be taken back from the list of them.
const lastDeeds = 8

// getUndo serves GET /undo.
func (s *server) getUndo(w http.ResponseWriter, r *http.Request) error {
	recent, err := s.farm.Deeds(r.Context(), "", lastDeeds)
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &undoPage{frame{Title: "Take back an entry", Section: "/all"}, deedLines(recent)})
}

// postUndo serves POST /undo: takes back one act of entry.
func (s *server) postUndo(w http.ResponseWriter, r *http.Request) error {
	id, err := lab.ParseID[lab.DeedID](r.PostFormValue("deed"))
	if err != nil {
		return err
	}
	done, err := s.farm.Undo(r.Context(), act(r), id)
	if err != nil {
		return err
	}
	remember(w, r, "", done.What)
	return seeOther(w, r, localPath(r.PostFormValue("here")))
}
