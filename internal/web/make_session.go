package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/report"
)

// sessionPage is the list of a session: whole, or one card that fills the
// screen.
type sessionPage struct {
	frame
	app.SessionSheet
	Form form
	Path string // of this list
	Back string // where what was done is entered
	Step int    // of the card that is shown, from 1; 0 is the whole list
}

func (sessionPage) template() string { return "make/session" }

// Card is the card that is shown.
func (p *sessionPage) Card() app.SessionCard { return p.Cards[p.Step-1] }

// Last reports whether no card follows.
func (p *sessionPage) Last() bool { return p.Step == len(p.Cards) }

// PDF is the address of the printed list.
func (p *sessionPage) PDF() string {
	v := url.Values{}
	for _, c := range p.Query() {
		v.Set(c.Label, c.Value)
	}
	to := p.Path + "/sheet.pdf"
	if strings.HasPrefix(p.Path, "/cooks/") {
		to = p.Path + ".pdf"
	}
	if len(v) > 0 {
		to += "?" + v.Encode()
	}
	return to
}

// Query carries what was chosen from card to card.
func (p *sessionPage) Query() []choice {
	var out []choice
	for _, name := range []string{"culture", "amount", "means", "except", "flush"} {
		if v := p.Form.Get(name); v != "" {
			out = append(out, choice{Value: v, Label: name})
		}
	}
	return out
}

// sessions are the lists of a batch by the word in their address.
var sessions = map[string]func(*server, *http.Request, form) (app.SessionSheet, error){
	"inoculate": func(s *server, r *http.Request, f form) (app.SessionSheet, error) {
		return s.farm.InoculationSheet(r.Context(), inoculateOf(r.PathValue("batch"), f))
	},
	"weigh": func(s *server, r *http.Request, _ form) (app.SessionSheet, error) {
		return s.farm.WeighSheet(r.Context(), r.PathValue("batch"))
	},
}

// sessionOf returns the list that the address names.
func (s *server) sessionOf(r *http.Request, f form) (app.SessionSheet, error) {
	if cook := r.PathValue("cook"); cook != "" {
		return s.farm.CookSheet(r.Context(), cook)
	}
	of := sessions[r.PathValue("list")]
	if of == nil {
		return app.SessionSheet{}, notFoundPage(r)
	}
	return of(s, r, f)
}

// getSession serves GET /batches/{batch}/list/{list} and GET
// /cooks/{cook}/list?step=1: the list, or one card of it.
func (s *server) getSession(w http.ResponseWriter, r *http.Request) error {
	return s.showSession(w, r, http.StatusOK, formOf(r))
}

func (s *server) showSession(w http.ResponseWriter, r *http.Request, status int, f form) error {
	sheet, err := s.sessionOf(r, f)
	if err != nil {
		return err
	}
	p := &sessionPage{
		frame: frame{Title: sheet.Name, Section: "/shelf", Gloved: true, Steps: true}, SessionSheet: sheet, Form: f,
		Step: max(0, min(f.int("step", 0), len(sheet.Cards))),
	}
	p.Path, p.Back = r.URL.Path, strings.Replace(r.URL.Path, "/list/", "/", 1)
	if r.PathValue("cook") != "" {
		p.Section, p.Back = "/cooks", strings.TrimSuffix(r.URL.Path, "/list")
	}
	return s.show(w, r, status, p)
}

// postWeighCard serves POST /batches/{batch}/list/weigh: keeps the weight of
// one jar and goes to the next. A blank one is passed over.
func (s *server) postWeighCard(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	r.SetPathValue("list", "weigh")
	next := "?step=" + strconv.Itoa(f.int("step", 1)+1)
	if f.Get("flush") != "" {
		next += "&flush=" + strconv.Itoa(f.int("flush", 1))
	}
	if f.Is("last", "yes") {
		next = ""
	}
	if strings.TrimSpace(f.Get("grams")) == "" {
		return seeOther(w, r, r.URL.Path+next)
	}
	done, err := s.keepWeight(r, f)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		f.problem.Field = "grams"
		return s.showSession(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, r.URL.Path+next)
}

func (s *server) keepWeight(r *http.Request, f form) (app.Done, error) {
	grams, err := app.ReadScale("grams", f.Get("grams"))
	if err != nil {
		return app.Done{}, err
	}
	code, err := lab.ParseCode(f.Get("jar"))
	if err != nil {
		return app.Done{}, err
	}
	flush, err := f.whole("flush", 1, 20, 1)
	if err != nil {
		return app.Done{}, err
	}
	return s.farm.PickJars(r.Context(), act(r), app.PickInput{Flush: flush, At: f.Get("at"), Picks: []app.TypedPick{{Jar: string(code), Grams: grams}}})
}

// getSessionPDF serves GET /batches/{batch}/list/{list}/sheet.pdf and GET
// /cooks/{cook}/list.pdf.
func (s *server) getSessionPDF(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	sheet, err := s.sessionOf(r, f)
	if err != nil {
		return err
	}
	settings, err := s.farm.Settings(r.Context())
	if err != nil {
		return err
	}
	pdf, err := report.Session(sheet, report.Options{Paper: report.Paper(f.Get("paper")), Farm: settings.Name})
	if err != nil {
		return err
	}
	return s.sendPDF(w, "session.pdf", pdf)
}
