package web

import (
	"maps"
	"net/http"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/label"
)

// labelsPage chooses what labels are printed for, and on what.
type labelsPage struct {
	frame
	Form    form
	Batches []choice
	Sheets  []choice
	Keep    app.LabelSettings
	Grid    label.Grid // that is chosen
	Draft   *labelDraft
}

// labelDraft is what a print would come to.
type labelDraft struct {
	Labels, Pages int
	Square        string
	Cautions      []figure.Caution
	First         []app.LabelText // on the first sheet
	Trial         bool            // the jars are of a trial
}

func (labelsPage) template() string { return "make/labels" }

// labelKinds are what labels are printed for, as the form says it.
var labelKinds = []struct {
	name, label string
	kind        lab.LabelKind
}{
	{"jars", "Jars", lab.JarLabel},
	{"cultures", "Cultures", lab.CultureLabel},
	{"lots", "Ingredient lots", lab.LotLabel},
	{"shelves", "Shelves", lab.ShelfLabel},
	{"cooks", "Cooks", lab.CookLabel},
}

// Kinds are the choices of what to label.
func (p *labelsPage) Kinds() []choice {
	var out []choice
	for i, k := range labelKinds {
		chosen := p.Form.Is("kind", k.name) || i == 0 && p.Form.Get("kind") == ""
		out = append(out, choice{k.name, k.label, chosen})
	}
	return out
}

// SideChoices are the labels that one thing can get.
func (p *labelsPage) SideChoices() []choice {
	var out []choice
	for i, s := range label.Sides {
		word := map[label.Side]string{label.Body: "Body", label.Lid: "Lid", label.Both: "Lid and body"}[s]
		out = append(out, choice{string(s), word, p.Form.Is("side", string(s)) || i == 0 && p.Form.Get("side") == ""})
	}
	return out
}

// labelPlace is one place of the sheet, as the first print fills it.
type labelPlace struct {
	N      int
	Says   string // what is printed there, "" for nothing
	Chosen bool
}

// mostPlaces bounds the sheet that is drawn to be tapped.
const mostPlaces, mostAcross = 80, 6

// Places are the places of the sheet, none if they are too many to be tapped.
func (p *labelsPage) Places() []labelPlace {
	g := p.Grid
	if g.OnRoll || g.Each() > mostPlaces || g.Across > mostAcross {
		return nil
	}
	start := max(1, p.Form.int("start", 1))
	out := make([]labelPlace, g.Each())
	for i := range out {
		out[i] = labelPlace{N: i + 1, Chosen: i+1 == start}
		if at := i + 1 - start; p.Draft != nil && at >= 0 && at < len(p.Draft.First) {
			out[i].Says = p.Draft.First[at].Large
		}
	}
	return out
}

// getLabels serves GET /labels: what is in the query is counted.
func (s *server) getLabels(w http.ResponseWriter, r *http.Request) error {
	return s.showLabels(w, r, http.StatusOK, formOf(r))
}

func (s *server) showLabels(w http.ResponseWriter, r *http.Request, status int, f form) error {
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return err
	}
	p := &labelsPage{frame: frame{Title: "Labels", Section: "/supplies"}, Form: f, Keep: keep}
	batches, err := s.farm.Batches(r.Context())
	if err != nil {
		return err
	}
	if len(batches) > 0 && !f.Has("kind") && !f.Has("batch") { // the newest is the one that has no labels yet
		f.values = maps.Clone(f.values)
		f.values.Set("batch", batches[0].Batch.String())
		p.Form = f
	}
	for _, b := range batches {
		p.Batches = append(p.Batches, choice{b.Batch.String(), b.Batch.Title(), f.Is("batch", b.Batch.String())})
	}
	usual := label.Grids()[0].Text()
	if keep.Grid != "" {
		usual = keep.Grid
	}
	chosen := usual
	if f.Get("grid") != "" {
		chosen = f.Get("grid")
	}
	for _, g := range label.Grids() {
		p.Sheets = append(p.Sheets, choice{g.Name, g.Title(), g.Name == chosen})
	}
	if g, err := label.ParseGrid(chosen); err == nil && g.Name == "" {
		p.Sheets = append(p.Sheets, choice{g.Text(), "Your own: " + g.Title(), true})
	}
	if p.Draft, p.Grid, err = s.draftLabels(r, f, keep); err != nil && f.problem == nil && f.Has("kind") {
		if p.Form, err = f.with(err); err != nil {
			return err
		}
		status = http.StatusUnprocessableEntity
	}
	return s.show(w, r, status, p)
}

// draftLabels says what a print would come to. It counts one label only: that
// is enough to know the cautions.
func (s *server) draftLabels(r *http.Request, f form, keep app.LabelSettings) (*labelDraft, label.Grid, error) {
	o, err := labelOptions(f, keep)
	if err != nil {
		g, _ := label.ParseGrid(label.Grids()[0].Name) // it is known
		return nil, g, err
	}
	in := labelInput(f)
	if in.Kind == lab.JarLabel && in.Batch == "" {
		return nil, o.Grid, lab.Invalidf("batch", "choose it in the list", "no batch is chosen")
	}
	labels, err := s.farm.Labels(r.Context(), in)
	if p, ok := lab.AsProblem(err); ok && p.Field == "" { // mend it here, where it was chosen
		q := *p
		if q.Field = "names"; in.Kind == lab.JarLabel {
			q.Field = "batch"
		}
		err = &q
	}
	if err != nil || len(labels) == 0 {
		return nil, o.Grid, err
	}
	one, err := label.Count(labels[:1], o)
	if err != nil {
		return nil, o.Grid, err
	}
	d := &labelDraft{Labels: len(labels) * one.Labels, Square: one.Square, Cautions: one.Cautions}
	d.Pages = (max(1, o.Start) - 1 + d.Labels + o.Grid.Each() - 1) / o.Grid.Each()
	for _, l := range labels[:min(len(labels), o.Grid.Each())] {
		for range one.Labels {
			d.First = append(d.First, l)
		}
	}
	if in.Kind == lab.JarLabel {
		b, err := s.farm.Batch(r.Context(), in.Batch)
		if err != nil {
			return nil, o.Grid, err
		}
		d.Trial = b.Trial != ""
	}
	return d, o.Grid, nil
}

// labelInput reads what the labels are for.
func labelInput(f form) app.LabelInput {
	in := app.LabelInput{Kind: lab.JarLabel, Batch: f.Get("batch"), Numbers: f.Get("numbers"), Arms: f.Is("arms", "yes")}
	for _, k := range labelKinds {
		if f.Is("kind", k.name) {
			in.Kind = k.kind
		}
	}
	for name := range strings.SplitSeq(f.Get("names"), ",") {
		if name = strings.TrimSpace(name); name != "" {
			in.Names = append(in.Names, name)
		}
	}
	return in
}

// labelOptions reads how labels are printed: what the form leaves open is as
// usual.
func labelOptions(f form, keep app.LabelSettings) (label.Options, error) {
	o := label.Options{Side: label.Side(f.Get("side")), Outlines: f.Is("outlines", "yes"), Address: keep.Address}
	grid := strings.TrimSpace(f.Get("own"))
	for _, g := range []string{f.Get("grid"), keep.Grid, label.Grids()[0].Name} {
		if grid == "" {
			grid = g
		}
	}
	var err error
	if o.Grid, err = label.ParseGrid(grid); err != nil {
		return o, atOwn(f, err)
	}
	if o.Printer.Dots, err = label.ParseDots(keep.Dots); err != nil {
		return o, err
	}
	if o.Printer.Fit, err = label.ParseFit(keep.Fit); err != nil {
		return o, err
	}
	if o.Start, err = f.whole("start", 1, o.Grid.Each(), 1); err != nil {
		return o, err
	}
	return o.Check()
}

// atOwn puts what is wrong with a typed grid at its field.
func atOwn(f form, err error) error {
	if p, ok := lab.AsProblem(err); ok && f.Get("own") != "" {
		q := *p
		q.Field = "own"
		return &q
	}
	return err
}

// getLabelsPDF serves GET /labels.pdf.
func (s *server) getLabelsPDF(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	pdf, name, err := s.printLabels(r, f)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showLabels(w, r, http.StatusUnprocessableEntity, f)
	}
	return s.sendPDF(w, name, pdf)
}

func (s *server) printLabels(r *http.Request, f form) (pdf []byte, name string, err error) {
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return nil, "", err
	}
	o, err := labelOptions(f, keep)
	if err != nil {
		return nil, "", err
	}
	labels, err := s.farm.Labels(r.Context(), labelInput(f))
	if err != nil {
		return nil, "", err
	}
	printed, err := label.Print(labels, o)
	return printed.PDF, "labels.pdf", err
}

// getCalibration serves GET /calibration.pdf?grid=.
func (s *server) getCalibration(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return err
	}
	o, err := labelOptions(f, keep)
	if err != nil {
		return err
	}
	pdf, err := label.Calibration(o)
	if err != nil {
		return err
	}
	return s.sendPDF(w, "calibration.pdf", pdf)
}

// sendPDF answers with a document that the browser shows.
func (s *server) sendPDF(w http.ResponseWriter, name string, pdf []byte) error {
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+name+`"`)
	h.Set("Cache-Control", "private, no-cache")
	if _, err := w.Write(pdf); err != nil {
		s.log.Debug("answer not taken", "error", err)
	}
	return nil
}

// postLabels serves POST /labels: keeps what is usual, and what is known of
// the printer.
func (s *server) postLabels(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil {
		return err
	}
	if err = f.keepPrinter(&keep); err == nil {
		err = s.farm.SaveLabelSettings(r.Context(), keep)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showLabels(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", "What is usual for labels is kept")
	return seeOther(w, r, "/labels")
}

// keepPrinter reads the sheet that is usual and what is known of the printer.
func (f form) keepPrinter(keep *app.LabelSettings) error {
	grid := f.Get("grid")
	if own := strings.TrimSpace(f.Get("own")); own != "" {
		grid = own
	}
	g, err := label.ParseGrid(grid)
	if err != nil {
		return atOwn(f, err)
	}
	dots, err := label.ParseDots(f.Get("dots"))
	if err != nil {
		return err
	}
	fit, err := label.ParseFit(f.Get("fit"))
	if err != nil {
		return err
	}
	keep.Grid, keep.Dots, keep.Fit = g.Text(), "", fit.Text()
	if dots > 0 {
		keep.Dots = strconv.Itoa(dots)
	}
	return nil
}
