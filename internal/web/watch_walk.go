package web

import (
	"fmt"
	"net/http"
	"strings"

	"pinset/internal/app"
)

// walkPage lists the shelves in the order that they are walked.
type walkPage struct {
	frame
	Form    form
	Shelves []walkStop
}

// walkStop is one shelf on the way.
type walkStop struct {
	Name, Path, Says string
}

// namedJars bounds the jars that the way names; beyond it they are counted.
const namedJars = 400

func (walkPage) template() string { return "watch/walk" }

// getWalk serves GET /rounds.
func (s *server) getWalk(w http.ResponseWriter, r *http.Request) error {
	return s.showWalk(w, r, http.StatusOK, form{})
}

func (s *server) showWalk(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.Shelf(r.Context(), 0, namedJars)
	if err != nil {
		return err
	}
	shelves := v.Shelves
	if v.Next > 0 || v.Cut > 0 { // too many jars to name them here
		shelves = nil
	}
	way, err := s.farm.WalkingOrder(r.Context())
	if err != nil {
		return err
	}
	if !f.Has("walk") {
		f = form{values: map[string][]string{"walk": {strings.Join(way, "\n")}}}
	}
	p := &walkPage{frame: frame{Title: "Rounds", Section: "/shelf", Gloved: true, Room: true}, Form: f}
	since := "?since=" + sinceMark(s.farm.Now())
	for _, shelf := range shelves {
		if shelf.Name != "" {
			p.Shelves = append(p.Shelves, walkStop{shelf.Name, at("shelves", shelf.Name, "rounds") + since, standing(shelf.Rows)})
			continue
		}
		for _, row := range shelf.Rows { // no shelf to walk to: by batch
			p.Shelves = append(p.Shelves, walkStop{row.Batch.Title() + ", shelf not said", at("batches", row.Batch.String(), "rounds") + since, standing([]app.ShelfRow{row})})
		}
	}
	if shelves == nil {
		for _, c := range v.All {
			stop := walkStop{c.Name, at("shelves", c.Name, "rounds") + since, count(c.Jars, "jar")}
			if c.Name == "" {
				stop.Name, stop.Path = "Shelf not said", "/batches"
			}
			p.Shelves = append(p.Shelves, stop)
		}
	}
	return s.show(w, r, status, p)
}

// standing says what stands on a shelf: "14 jars: B12 1–12, B13 3".
func standing(rows []app.ShelfRow) string {
	n := 0
	var parts []string
	for _, row := range rows {
		n += len(row.Jars)
		parts = append(parts, fmt.Sprintf("%s %s", row.Batch, row.Numbers))
	}
	return count(n, "jar") + ": " + strings.Join(parts, ", ")
}

// postWalk serves POST /rounds: keeps the order that shelves are walked in.
func (s *server) postWalk(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if err := s.farm.SetWalkingOrder(r.Context(), f.Get("walk")); err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showWalk(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, "", "The way is kept")
	return seeOther(w, r, "/rounds")
}

// shelfRoundsPage logs one thing seen on several jars of a shelf.
type shelfRoundsPage struct {
	frame
	app.RoundView
	seeing
	Crates []crate
}

// crate is the jars of one batch on a shelf.
type crate struct {
	app.ShelfRow
	Cells []tickCell
}

func (shelfRoundsPage) template() string { return "watch/shelf_rounds" }

// getShelfRounds serves GET /shelves/{shelf}/rounds.
func (s *server) getShelfRounds(w http.ResponseWriter, r *http.Request) error {
	return s.showShelfRounds(w, r, http.StatusOK, formOf(r))
}

func (s *server) showShelfRounds(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.Round(r.Context(), r.PathValue("shelf"), s.roundBegan(f))
	if err != nil {
		return err
	}
	p := &shelfRoundsPage{
		frame:     frame{Title: "Rounds, " + v.Shelf, Section: "/shelf", Gloved: true, Room: true, Photos: true},
		RoundView: v, seeing: newSeeing(f, v.Left, len(v.Written), "to Today", "/"),
	}
	if v.After != "" {
		p.seeing = newSeeing(f, v.Left, len(v.Written), "on to "+v.After, at("shelves", v.After, "rounds")+"?since="+p.SinceMark())
		p.Then = v.After
	}
	for _, row := range v.Rows {
		x := crate{ShelfRow: row}
		for _, j := range row.Jars {
			c := newCell(j.Jar, j.Standing, -1)
			c.Ticked = f.Is("jar", string(c.Code))
			x.Cells = append(x.Cells, tickCell{c, string(c.Code), v.Written[j.Jar.ID]})
		}
		p.Crates = append(p.Crates, x)
	}
	return s.show(w, r, status, p)
}

// Path is the address of these rounds.
func (p *shelfRoundsPage) Path() string { return at("shelves", p.Shelf, "rounds") }

// ShelfPath is the address of the shelf.
func (p *shelfRoundsPage) ShelfPath() string { return at("shelves", p.Shelf) }

// SinceMark is when this round began.
func (p *shelfRoundsPage) SinceMark() string { return sinceMark(p.Since) }

// NumbersHint says how numbers are written on this shelf.
func (p *shelfRoundsPage) NumbersHint() string {
	if len(p.Rows) > 1 {
		return "With the batch, such as " + p.Rows[0].Batch.String() + "·13–20, 22."
	}
	return "Such as 13–20, 22."
}

// postShelfRounds serves POST /shelves/{shelf}/rounds.
func (s *server) postShelfRounds(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in := seenOf(f)
	done, err := s.writeShelfRounds(r, f, in)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showShelfRounds(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	shelf := r.PathValue("shelf")
	switch v, err := s.farm.Round(r.Context(), shelf, s.roundBegan(f)); {
	case err != nil: // its last jar was finished
		return seeOther(w, r, "/rounds")
	case f.Is("see", "rest") && v.Left == 0 && v.After != "":
		return seeOther(w, r, at("shelves", v.After, "rounds")+f.onward("since"))
	}
	return seeOther(w, r, f.seenAgain(at("shelves", shelf, "rounds"), in, "since"))
}

func (s *server) writeShelfRounds(r *http.Request, f form, in app.SeeInput) (app.Done, error) {
	shelf, since := r.PathValue("shelf"), s.roundBegan(f)
	if f.Is("see", "rest") {
		return s.farm.RestAsBefore(r.Context(), act(r), app.RestInput{Shelf: shelf, Since: since, But: f.All("jar"), At: f.Get("at")})
	}
	codes := f.All("jar")
	if typed := strings.TrimSpace(f.Get("numbers")); typed != "" {
		v, err := s.farm.Round(r.Context(), shelf, since)
		if err != nil {
			return app.Done{}, err
		}
		named, err := v.ShelfJars(typed)
		if err != nil {
			return app.Done{}, err
		}
		for _, c := range named {
			codes = append(codes, string(c))
		}
	}
	if len(codes) == 0 {
		return app.Done{}, errNoJarChosen()
	}
	in.Jars = strings.Join(codes, ", ")
	return s.farm.See(r.Context(), act(r), in)
}
