package web

import (
	"fmt"
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// batchesPage lists the batches.
type batchesPage struct {
	frame
	Rows  []app.BatchRow
	Older int // batches under this number are on the next page; 0 is none
}

func (batchesPage) template() string { return "watch/batches" }

// getBatches serves GET /batches.
func (s *server) getBatches(w http.ResponseWriter, r *http.Request) error {
	rows, older, err := s.farm.BatchesBelow(r.Context(), formOf(r).int("below", 0))
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &batchesPage{frame{Title: "Batches", Section: "/plan"}, rows, older})
}

// batchPage shows one batch: its jars in a crate and what can be done.
type batchPage struct {
	frame
	app.BatchView
	Cells []cell
	After int
	Next  []app.StageWindow // stages that are still to come
	Asked []app.DayQuestion // what its visits leave open
	Shown []shown           // its latest photos
	Shot  int               // how many photos it has
}

func (batchPage) template() string { return "watch/batch" }

// getBatch serves GET /batches/{batch}.
func (s *server) getBatch(w http.ResponseWriter, r *http.Request) error {
	after := formOf(r).int("after", 0)
	v, err := s.farm.BatchView(r.Context(), r.PathValue("batch"), after)
	if err != nil {
		return err
	}
	p := &batchPage{frame: frame{Title: v.Title(), Section: "/shelf"}, BatchView: v, After: after}
	p.Cells = cellsOf(v)
	if v.Tally.Growing > 0 {
		if p.Next, err = s.farm.Forecast(r.Context(), v.Batch.String()); err != nil {
			return err
		}
	}
	if v.Tally.Inoculated > 0 {
		if p.Asked, err = s.farm.BatchQuestions(r.Context(), v.Batch.String()); err != nil {
			return err
		}
	}
	photos, err := s.farm.PhotosOfBatch(r.Context(), v.Batch.String(), "", latestPhotos)
	if err != nil {
		return err
	}
	p.Shown, p.Shot = shownAll(photos.Photos, s.farm.Zone(r.Context())), photos.All
	return s.show(w, r, http.StatusOK, p)
}

// latestPhotos is how many photos stand on the page of a jar or a batch.
const latestPhotos = 6

// cellsOf draws the jars of a batch.
func cellsOf(v app.BatchView) []cell {
	arms := make(armOrder)
	for _, a := range v.Arms {
		arms.index(a)
	}
	cells := make([]cell, len(v.Jars))
	for i, j := range v.Jars {
		cells[i] = newCell(j.Jar, j.Standing, arms.index(j.Arm))
	}
	return cells
}

// armOrder numbers arms by name, from 0, as they come.
type armOrder map[string]int

func (a armOrder) index(name string) int {
	if name == "" {
		return -1
	}
	i, ok := a[name]
	if !ok {
		i = len(a)
		a[name] = i
	}
	return i
}

// Says counts the jars of a batch: "24 jars, 20 growing, 2 lost".
func (p *batchPage) Says() string { return tallyWords(p.BatchRow) }

// Log is what was entered, newest first.
func (p *batchPage) Log() []deedLine { return deedLines(p.Deeds) }

// Last is the number of the last jar on the page.
func (p *batchPage) Last() int { return p.Cells[len(p.Cells)-1].Number }

// Path is the address of the batch.
func (p *batchPage) Path() string { return at("batches", p.Batch.String()) }

// Waits reports whether jars wait for a culture.
func (p *batchPage) Waits() bool { return p.Tally.Inoculated+p.Tally.Lost < p.Tally.Jars }

func tallyWords(b app.BatchRow) string {
	t := b.Tally
	parts := []string{count(t.Jars, "jar")}
	add := func(n int, word string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, word))
		}
	}
	if t.Inoculated == 0 && t.Jars > 0 {
		parts = append(parts, "none inoculated")
	}
	add(t.Growing, "growing")
	add(t.Picked, "picked")
	add(t.Barren, "barren")
	add(t.Lost, "lost")
	text := strings.Join(parts, ", ")
	if t.Blanks > 0 {
		text += "; " + count(t.Blanks, "blank")
	}
	return text
}

// jarPage shows one jar: how it stands and all that happened to it.
type jarPage struct {
	frame
	app.JarView
	Cell   cell
	Form   form
	Stages []lab.Stage
	Signs  []lab.Sign
	Losses []string
	Next   *app.JarsOutlook  // nil if nothing is known of it
	Asked  []app.DayQuestion // what its visits leave open
	Shown  []shown           // its latest photos
	Shot   int               // how many photos it has
	Shut   bool              // what was written just now may mean that it is fouled
}

func (jarPage) template() string { return "watch/jar" }

// getJar serves GET /j/{code} and /J/{code}.
func (s *server) getJar(w http.ResponseWriter, r *http.Request) error {
	return s.showJar(w, r, http.StatusOK, form{})
}

func (s *server) showJar(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.JarView(r.Context(), r.PathValue("code"))
	if err != nil {
		return err
	}
	p := &jarPage{frame: frame{Title: v.Name, Section: "/shelf", Gloved: true, Room: true, Photos: true}, JarView: v, Form: f, Stages: lab.Stages, Signs: lab.Signs, Losses: lab.Reasons}
	p.Cell = newCell(v.Row.Jar, v.Row.Standing, -1)
	p.Shut = formOf(r).Is("shut", "1") && v.Row.Fate != lab.Lost
	if v.Row.Fate == lab.Growing {
		o, err := s.farm.OutlookOf(r.Context(), string(v.Row.Code))
		if err != nil {
			return err
		}
		if len(o.Jars) > 0 {
			p.Next = &o.Jars[0]
		}
	}
	if p.Asked, err = s.farm.JarQuestions(r.Context(), string(v.Row.Code)); err != nil {
		return err
	}
	photos, err := s.farm.PhotosOfJar(r.Context(), string(v.Row.Code), "", latestPhotos)
	if err != nil {
		return err
	}
	p.Shown, p.Shot = shownAll(photos.Photos, s.farm.Zone(r.Context())), photos.All
	return s.show(w, r, status, p)
}

// postJarSeen serves POST /j/{code}/seen: what was seen on one jar.
func (s *server) postJarSeen(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in := seenOf(f)
	in.Jars = r.PathValue("code")
	done, err := s.farm.See(r.Context(), act(r), in)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showJar(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	to := at("j", r.PathValue("code"))
	if lab.Sign(in.Sign).Fouls() {
		to += "?shut=1"
	}
	return seeOther(w, r, to)
}

// postAnswer serves POST /j/{code}/answer: which of two entries holds.
func (s *server) postAnswer(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	done, err := s.farm.Answer(r.Context(), act(r), app.AnswerInput{
		Jar: r.PathValue("code"), First: lab.EntryID(f.Get("first")), Second: lab.EntryID(f.Get("second")), Holds: lab.EntryID(f.Get("holds")),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showJar(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("j", r.PathValue("code")))
}

// seenOf reads what was seen. The button that was pressed says it as
// "stage:pins", "sign:green", "fate:spent" or "lost:fouled"; "note" and ""
// say no more than the note.
func seenOf(f form) app.SeeInput {
	in := app.SeeInput{Note: f.Get("note"), At: f.Get("at"), Count: f.Get("count")}
	if strings.TrimSpace(in.Count) == "" {
		in.Count = f.Get("counted")
	}
	kind, what, _ := strings.Cut(f.Get("see"), ":")
	switch kind {
	case "note":
		if what != "" {
			in.Note = what
		}
	case "stage":
		in.Stage = what
	case "cover":
		in.Cover, in.Count = what, ""
	case "sign":
		in.Sign = what
	case "fate":
		in.Fate = what
	case "lost":
		in.Fate, in.Reason = string(lab.Lost), what
		if what == "" {
			in.Reason = f.Get("reason")
		}
	}
	return in
}
