package web

import (
	"net/http"
	"strconv"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// weighPage takes one weight for each jar of a batch, fast by keyboard.
type weighPage struct {
	frame
	app.BatchView
	Form form
	Rows []weighRow
	Rest []weighRow // jars from which nothing is expected now
}

// weighRow is one jar's field.
type weighRow struct {
	Number int
	Field  string
	Value  string
	Says   string
	Bad    *lab.Problem
}

func (weighPage) template() string { return "weigh/pick" }

// getWeigh serves GET /batches/{batch}/weigh.
func (s *server) getWeigh(w http.ResponseWriter, r *http.Request) error {
	return s.showWeigh(w, r, http.StatusOK, form{values: r.Form})
}

func (s *server) showWeigh(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.BatchView(r.Context(), r.PathValue("batch"), f.int("after", 0))
	if err != nil {
		return err
	}
	p := &weighPage{frame: frame{Title: "Weigh " + v.Batch.String(), Section: "/crop"}, BatchView: v, Form: f}
	for _, j := range v.Jars {
		if j.Blank {
			continue
		}
		c := newCell(j.Jar, j.Standing, -1)
		name := "g" + strconv.Itoa(j.Number)
		row := weighRow{Number: j.Number, Field: name, Value: f.Get(name), Says: string(j.Code) + ", " + c.Word, Bad: f.Bad(name)}
		if c.Grams != "" && c.Grams != c.Word {
			row.Says += ", " + c.Grams
		}
		expected := !c.Done && !j.Inoculated.IsZero()
		if expected || row.Value != "" {
			p.Rows = append(p.Rows, row)
		} else {
			p.Rest = append(p.Rest, row)
		}
	}
	return s.show(w, r, status, p)
}

// Path is the address of the batch.
func (p *weighPage) Path() string { return at("batches", p.Batch.String()) }

// Fieldless is what is wrong with no field of this page.
func (p *weighPage) Fieldless() *lab.Problem {
	for _, row := range p.Rows {
		if row.Bad != nil {
			return nil
		}
	}
	if p.Form.Bad("at") != nil || p.Form.Bad("flush") != nil {
		return nil
	}
	return p.Form.Wrong()
}

// postWeigh serves POST /batches/{batch}/weigh.
func (s *server) postWeigh(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	batch := r.PathValue("batch")
	in := app.PickInput{At: f.Get("at")}
	var err error
	if in.Flush, err = f.whole("flush", 1, 20, 1); err == nil {
		in.Picks, err = s.typedPicks(r, batch, f)
	}
	var done app.Done
	if err == nil {
		done, err = s.farm.PickJars(r.Context(), act(r), in)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showWeigh(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("batches", batch))
}

// typedPicks returns the weights of the form in the order of the jars.
func (s *server) typedPicks(r *http.Request, batch string, f form) ([]app.TypedPick, error) {
	v, err := s.farm.BatchView(r.Context(), batch, f.int("after", 0))
	if err != nil {
		return nil, err
	}
	var out []app.TypedPick
	for _, j := range v.Jars {
		if typed := f.Get("g" + strconv.Itoa(j.Number)); typed != "" {
			out = append(out, app.TypedPick{Jar: string(j.Code), Grams: typed})
		}
	}
	return out, nil
}

// cropPage shows what was picked.
type cropPage struct {
	frame
	app.CropView
	Weigh []app.BatchRow // batches that can be weighed
}

func (cropPage) template() string { return "weigh/crop" }

// getCrop serves GET /crop.
func (s *server) getCrop(w http.ResponseWriter, r *http.Request) error {
	v, err := s.farm.Crop(r.Context(), formOf(r).int("below", 0))
	if err != nil {
		return err
	}
	open, err := s.farm.OpenBatches(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &cropPage{frame{Title: "Crop", Section: "/crop"}, v, open})
}

// LastJar is the number of the last jar on the page.
func (p *weighPage) LastJar() int { return p.Jars[len(p.Jars)-1].Number }
