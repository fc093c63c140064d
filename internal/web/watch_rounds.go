package web

import (
	"net/http"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// roundsPage logs one thing seen on several jars of a batch.
type roundsPage struct {
	frame
	app.BatchView
	Form   form
	Cells  []cell // jars of which something is still expected
	Done   []cell
	Stages []lab.Stage
	Signs  []lab.Sign
	Losses []string
}

func (roundsPage) template() string { return "watch/rounds" }

// getRounds serves GET /batches/{batch}/rounds.
func (s *server) getRounds(w http.ResponseWriter, r *http.Request) error {
	return s.showRounds(w, r, http.StatusOK, form{values: r.Form})
}

func (s *server) showRounds(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.BatchView(r.Context(), r.PathValue("batch"), f.int("after", 0))
	if err != nil {
		return err
	}
	p := &roundsPage{
		frame:     frame{Title: "Rounds, " + v.Batch.String(), Section: "/shelf", Gloved: true, Room: true},
		BatchView: v, Form: f, Stages: lab.Stages, Signs: lab.Signs, Losses: lab.Reasons,
	}
	cells, _ := cellsOf(v)
	for _, c := range cells {
		c.Ticked = f.Is("jar", strconv.Itoa(c.Number))
		if c.Done {
			p.Done = append(p.Done, c)
		} else {
			p.Cells = append(p.Cells, c)
		}
	}
	return s.show(w, r, status, p)
}

// Path is the address of the batch.
func (p *roundsPage) Path() string { return at("batches", p.Batch.String()) }

// LastJar is the number of the last jar on the page.
func (p *roundsPage) LastJar() int { return p.Jars[len(p.Jars)-1].Number }

// postRounds serves POST /batches/{batch}/rounds.
func (s *server) postRounds(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	batch := r.PathValue("batch")
	in := seenOf(f)
	var err error
	var done app.Done
	if in.Jars, err = jarsTicked(batch, f); err == nil {
		done, err = s.farm.See(r.Context(), act(r), in)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showRounds(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	to := at("batches", batch, "rounds")
	if after := f.int("after", 0); after > 0 {
		to += "?after=" + strconv.Itoa(after)
	}
	return seeOther(w, r, to)
}

// jarsTicked returns the jars that were ticked and written, as a span.
func jarsTicked(batch string, f form) (string, error) {
	var parts []string
	if typed := strings.TrimSpace(f.Get("numbers")); typed != "" {
		parts = append(parts, typed)
	}
	parts = append(parts, f.values["jar"]...)
	if len(parts) == 0 {
		return "", lab.Invalidf("numbers", "tick them, or write numbers such as 13–24", "no jar is chosen")
	}
	return batch + "·" + strings.Join(parts, ","), nil
}
