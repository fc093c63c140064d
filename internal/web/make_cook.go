package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// cooksPage lists the cooks and takes a new one.
type cooksPage struct {
	frame
	Rows  []app.CookRow
	Older int // cooks under this number are on the next page; 0 is none
	Form  form

	Cookers []string
}

// CookerField asks for the cooker, from those that are written down.
func (p *cooksPage) CookerField() field {
	return p.Form.Choice("cooker", "Cooker", p.Cookers).Or("Not said")
}

func (cooksPage) template() string { return "make/cooks" }

// getCooks serves GET /cooks.
func (s *server) getCooks(w http.ResponseWriter, r *http.Request) error {
	return s.showCooks(w, r, http.StatusOK, form{})
}

func (s *server) showCooks(w http.ResponseWriter, r *http.Request, status int, f form) error {
	rows, older, err := s.farm.CooksBelow(r.Context(), formOf(r).int("below", 0))
	if err != nil {
		return err
	}
	p := &cooksPage{frame: frame{Title: "Cooks", Section: "/cooks"}, Rows: rows, Older: older, Form: f}
	cookers, err := s.farm.Cookers(r.Context())
	if err != nil {
		return err
	}
	for _, c := range cookers {
		p.Cookers = append(p.Cookers, c.Name)
	}
	if !formOf(r).Has("below") {
		p.Form = f.usually(rows)
	}
	return s.show(w, r, status, p)
}

// usually fills in what the newest cook was made by, for that is how the next
// one mostly is.
func (f form) usually(rows []app.CookRow) form {
	if len(rows) == 0 || f.Has("hold") {
		return f
	}
	last := rows[0]
	f.values = url.Values{"cooker": {last.Cooker}, "gauge": {last.Gauge}}
	if last.Hold > 0 {
		f.values.Set("hold", last.Hold.String())
	}
	return f
}

// postCooks serves POST /cooks: writes down a cook that no plan made.
func (s *server) postCooks(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	cook, err := s.addCook(r, f)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCooks(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", sentence(cook.String()+" written down"))
	return seeOther(w, r, at("cooks", strconv.Itoa(cook.Number)))
}

func (s *server) addCook(r *http.Request, f form) (lab.Cook, error) {
	layers, err := f.whole("layers", 0, 20, 0)
	if err != nil {
		return lab.Cook{}, err
	}
	id, err := formID[lab.CookID](f)
	if err != nil {
		return lab.Cook{}, err
	}
	return s.farm.AddCook(r.Context(), app.NewCook{
		ID: id, Name: f.Get("name"), Cooker: f.Get("cooker"), Layers: layers,
		Hold: f.Get("hold"), Gauge: f.Get("gauge"), Day: f.Get("day"), Note: f.Get("note"),
	})
}

// formID returns the identifier that the form was given, so that sending it
// twice stores once.
func formID[T ~string](f form) (T, error) { return lab.ParseID[T](f.Get("act")) }

// cookPage shows one cook: its marks by one tap, and what they come to.
type cookPage struct {
	frame
	app.CookView
	Form       form
	Layers     []cookLayer
	Containers []app.ContainerRow
	Run        cookRun
	Loggers    []app.Logger // whose files something was said of
}

// Places are where a logger can lie.
func (p *cookPage) Places() []string { return lab.RecordPlaces }

// cookLayer is one layer of the load, the top first.
type cookLayer struct {
	Layer int
	Cells []cell
}

func (cookPage) template() string { return "make/cook" }

// getCook serves GET /cooks/{cook}.
func (s *server) getCook(w http.ResponseWriter, r *http.Request) error {
	return s.showCook(w, r, http.StatusOK, form{})
}

func (s *server) showCook(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.CookView(r.Context(), r.PathValue("cook"))
	if err != nil {
		return err
	}
	p := &cookPage{frame: frame{Title: capital(v.String()), Section: "/cooks", Gloved: true}, CookView: v, Form: f}
	if p.Containers, err = s.farm.Containers(r.Context()); err != nil {
		return err
	}
	if p.Loggers, err = s.farm.Loggers(r.Context()); err != nil {
		return err
	}
	for _, j := range v.Load {
		i := slices.IndexFunc(p.Layers, func(l cookLayer) bool { return l.Layer == j.Layer })
		if i < 0 {
			i, p.Layers = len(p.Layers), append(p.Layers, cookLayer{Layer: j.Layer})
		}
		p.Layers[i].Cells = append(p.Layers[i].Cells, newCell(j.Jar, j.Standing, -1))
	}
	slices.SortFunc(p.Layers, func(a, b cookLayer) int { return b.Layer - a.Layer })
	if err := s.addRun(r, p); err != nil {
		return err
	}
	return s.show(w, r, status, p)
}

// postMark serves POST /cooks/{cook}/mark: one mark by one tap.
func (s *server) postMark(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	event := lab.Event(f.Get("event"))
	a := act(r)
	_, err := s.farm.MarkCook(r.Context(), a, r.PathValue("cook"), event, f.Get("at"))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCook(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, a.ID, "Cook "+r.PathValue("cook")+": "+event.Label())
	return seeOther(w, r, at("cooks", r.PathValue("cook")))
}

// Open is the stretch that runs, nil if none does.
func (p *cookPage) Open() *app.Stretch {
	for i := range p.Stretches {
		if p.Stretches[i].Open {
			return &p.Stretches[i]
		}
	}
	return nil
}

// Left is how many minutes the running stretch still needs; 0 if the hold
// was long enough or none is set.
func (p *cookPage) Left() int {
	open := p.Open()
	if open == nil || p.Hold == 0 || p.MetAt != nil {
		return 0
	}
	return int(float64(p.Hold) - open.Minutes + .999)
}

// Until is when the hold will be long enough if the pressure stays.
func (p *cookPage) Until() time.Time {
	return p.Open().From.Add(time.Duration(float64(p.Hold) * float64(time.Minute)))
}

// markButton is how a mark or a step is offered.
type markButton struct {
	Event        lab.Event
	Label, Icon  string
	Class, Hints string
}

// markLooks are the icons and classes of marks and steps.
var markLooks = map[lab.Event]markButton{
	lab.HeatOn:   {Icon: "heat", Class: "go"},
	lab.Venting:  {Icon: "gauge"},
	lab.WeightOn: {Icon: "gauge"},
	lab.Zero:     {Icon: "gauge"},
	lab.Reached:  {Icon: "gauge", Class: "go"},
	lab.Broken:   {Icon: "gauge", Class: "alarm"},
	lab.Back:     {Icon: "gauge", Class: "go"},
	lab.HeatOff:  {Icon: "off"},
	lab.Opened:   {Icon: "open"},
}

// button offers e in the words of this kind of cooker.
func (p *cookPage) button(e lab.Event) (markButton, bool) {
	b, ok := markLooks[e]
	words := p.Run.Words[e]
	b.Event, b.Label, b.Hints = e, words.Label, words.Hint
	if e == lab.Opened {
		for _, a := range p.Run.Coming() {
			b.Hints = "not before " + p.Clock(a.At) + ": " + words.Hint // the wait is all that is still to come
		}
	}
	return b, ok
}

// Buttons are the marks that may come next.
func (p *cookPage) Buttons() []markButton {
	var out []markButton
	for _, e := range p.Next {
		b, ok := p.button(e)
		if !ok || e == lab.HeatOff && !p.Begun() {
			continue // heat that is not on is not turned off
		}
		if p.StepButton() != nil {
			b.Class = "" // a step comes first
		}
		out = append(out, b)
	}
	return out
}

// urgent are the codes of cautions about this load and this pot, which are to
// be mended before the next tap. Other stop signs stand on every cook.
var urgent = []string{"stacked", "crowded", "too_full", "rule_is_weak", "target_out_of_reach", "not_enough_water", "above_rating", "clock_behind"}

func isUrgent(c figure.Caution) bool {
	return c.Weight == figure.Stop && slices.Contains(urgent, c.Code)
}

// Urgent are the cautions that stand above what comes next.
func (p *cookPage) Urgent() []figure.Caution {
	return slices.DeleteFunc(slices.Clone(p.Cautions), func(c figure.Caution) bool { return !isUrgent(c) })
}

// Stops are the other cautions that must be settled first, Doubts all that are
// none.
func (p *cookPage) Stops() []figure.Caution {
	return slices.DeleteFunc(slices.Clone(p.Cautions), func(c figure.Caution) bool { return c.Weight != figure.Stop || isUrgent(c) })
}

// MarkedLate reports whether the time of a mark is typed again.
func (p *cookPage) MarkedLate() bool {
	return p.Form.Bad("at") != nil && !lab.Event(p.Form.Get("event")).IsStep()
}
