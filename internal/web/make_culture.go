package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// culturesPage lists the cultures and takes a new one.
type culturesPage struct {
	frame
	Rows  []app.CultureRow
	Form  form
	Forms []string
	Names []string
	Media []string
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
	recipes, err := s.farm.Recipes(r.Context())
	if err != nil {
		return err
	}
	for _, x := range recipes {
		p.Media = append(p.Media, x.Name)
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
			Parent: f.Get("parent"), Took: f.Get("took"), Jar: f.Get("jar"), Made: f.Get("made"), Source: f.Get("source"),
			Generation: f.Get("generation"), Medium: f.Get("medium"), Volume: f.Get("volume"), Note: f.Get("note"), By: act(r).By,
		})
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCultures(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", c.Name+" written down")
	return seeOther(w, r, at("cultures", c.Name))
}

// culturePage shows one culture: its line, what was done to it and what was
// made from it.
type culturePage struct {
	frame
	app.CultureView
	Picture *drawing
	Wear    *drawing
	Form    form
	Limit   form
}

func (culturePage) template() string { return "make/culture" }

// getCulture serves GET /cultures/{culture}.
func (s *server) getCulture(w http.ResponseWriter, r *http.Request) error {
	return s.showCulture(w, r, http.StatusOK, form{}, form{})
}

func (s *server) showCulture(w http.ResponseWriter, r *http.Request, status int, keep, limit form) error {
	v, err := s.farm.CultureView(r.Context(), r.PathValue("culture"))
	if err != nil {
		return err
	}
	limit.prefix = "l-"
	p := &culturePage{frame{Title: v.Name, Section: "/cultures"}, v, nil, wearDrawing(v), keep, limit}
	if len(v.Line) > 1 {
		p.Picture = descentDrawing(v, lab.OnDay(s.farm.Now()).Time)
	}
	return s.show(w, r, status, p)
}

// Path is the address of the culture.
func (p *culturePage) Path() string { return at("cultures", p.Name) }

// StorageField asks how the culture is put away.
func (p *culturePage) StorageField() field {
	x := p.Form.Field("storage", "Put away")
	for _, s := range lab.Storages {
		x.Options = append(x.Options, choice{string(s), s.Label(), x.Value == string(s)})
	}
	return x
}

// LimitField asks for which limit of the grower's own.
func (p *culturePage) LimitField() field {
	x := p.Limit.Field("of", "Limit of")
	for _, s := range lab.Storages {
		x.Options = append(x.Options, choice{string(s), "days " + s.Label(), x.Value == string(s)})
	}
	x.Options = append(x.Options,
		choice{"warn", "transfers: think again", x.Value == "warn"}, choice{"stop", "transfers: stop", x.Value == "stop"})
	return x
}

// About says what an entry on the culture was.
func (p *culturePage) About(k lab.Keeping) string { return app.KeptLine(k) }

// GramsPerJar is what its jars gave, "" while none is done.
func (p *culturePage) GramsPerJar() string {
	g := p.Use.GramsPerJar()
	if g == nil {
		return ""
	}
	return fix(1, *g) + " g"
}

// Dose is the address of the calculator with the culture's volume filled in.
func (p *culturePage) Dose() string {
	q := url.Values{}
	if p.Left != nil && *p.Left > 0 {
		q.Set("lc_ml", fix(1, float64(*p.Left)))
	}
	if p.Generation != nil {
		q.Set("generation", strconv.Itoa(*p.Generation))
	}
	return "/reckoner/dose?" + q.Encode()
}

// SpeciesPath is the address of what its species wants, "" if nothing is known
// of that.
func (p *culturePage) SpeciesPath() string {
	known, ok := lab.ProfileOf(p.Species)
	if !ok {
		return ""
	}
	if p.Strain == "" {
		return at("species", known.Key)
	}
	return at("species", known.Key) + "?" + url.Values{"strain": {p.Strain}}.Encode()
}

// postKeeping serves POST /cultures/{culture}: something that was done to it.
func (s *server) postKeeping(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	kept, finding := f.Get("kept"), ""
	if of, found := strings.CutPrefix(kept, "tested:"); found {
		kept, finding = string(lab.Tested), of
	}
	done, err := s.farm.KeepCulture(r.Context(), act(r), app.NewKeeping{
		Culture: r.PathValue("culture"), Kept: kept, Finding: finding, Storage: f.Get("storage"), Amount: f.Get("amount"), At: f.Get("at"), Note: f.Get("note"),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCulture(w, r, http.StatusUnprocessableEntity, f, form{})
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("cultures", r.PathValue("culture")))
}

// postCultureLimit serves POST /cultures/{culture}/limit: a limit of the
// grower's own, which holds for all cultures.
func (s *server) postCultureLimit(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if err := s.farm.SetCultureLimit(r.Context(), f.Get("of"), f.Get("limit")); err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCulture(w, r, http.StatusUnprocessableEntity, form{}, f)
	}
	remember(w, r, "", "limit kept")
	return seeOther(w, r, at("cultures", r.PathValue("culture")))
}

// descentDrawing draws the line of a culture.
func descentDrawing(v app.CultureView, today time.Time) *drawing {
	d := picture.Descent{Name: "The line of " + v.Name, Today: today}
	index := make(map[lab.CultureID]int, len(v.Line))
	for i, c := range v.Line {
		index[c.ID] = i
		x := picture.DescentCulture{Name: c.Name, Note: cultureNote(c), Parent: -1, Made: c.Made.Time, This: c.ID == v.ID, Link: at("cultures", c.Name)}
		if parent, ok := index[c.Parent]; ok {
			x.Parent = parent
		}
		if c.Standing.End.ID != "" {
			x.Ended = c.Standing.End.At.Time
		}
		x.Doubt = len(c.Cautions) > 0 && c.Cautions[0].Weight != figure.Note
		if t := c.Standing.Test; t.Finding == lab.Clean {
			x.Marks = append(x.Marks, picture.DescentMark{Day: t.At.Time, Sign: picture.Covered, Says: "tested clean"})
		} else if t.Finding == lab.Dirty {
			x.Marks = append(x.Marks, picture.DescentMark{Day: t.At.Time, Sign: picture.Foul, Says: "tested dirty"})
		}
		if !c.Use.LastPick.IsZero() {
			x.Marks = append(x.Marks, picture.DescentMark{Day: c.Use.LastPick, Sign: picture.PickedOff, Says: "last picked"})
		}
		d.Cultures = append(d.Cultures, x)
	}
	return newDrawing("descent", deskWide, d.Draw)
}

// wearDrawing draws what the line gave from transfer to transfer, nil while no
// batch with a known transfer is done.
func wearDrawing(v app.CultureView) *drawing {
	w := picture.Wear{Name: "What the line of " + v.Name + " gave"}
	for _, t := range v.Watch.Trends {
		if t.Of != "yield" || t.Against != "transfer" {
			continue
		}
		w.Finding = t.Sentence
		if t.Known {
			w.Fall = &picture.WearFall{Mean: t.Change, Low: t.Low, High: t.High}
		}
	}
	for _, r := range v.Watch.Readings {
		if r.Generation != nil && r.Jars > 0 {
			w.Readings = append(w.Readings, picture.WearReading{
				Transfer: *r.Generation, Grams: r.PerJar, SE: r.SE, Jars: r.Jars, Culture: r.Culture, Says: r.Batch, This: r.Culture == v.Name,
			})
		}
	}
	if len(w.Readings) == 0 {
		return nil
	}
	return newDrawing("wear", deskWide, w.Draw)
}

// cultureNote says form and generation of a culture.
func cultureNote(c app.CultureRow) string {
	if c.Generation == nil {
		return string(c.Form)
	}
	return fmt.Sprintf("%s, transfer %d", c.Form, *c.Generation)
}
