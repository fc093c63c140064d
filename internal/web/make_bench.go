package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
)

// benchPage is the sheet for the make day, to print and write on.
type benchPage struct {
	frame
	app.BenchSheet
	Form   form
	Letter bool
}

func (benchPage) template() string { return "make/bench" }

// getBench serves GET /batches/{batch}/bench.
func (s *server) getBench(w http.ResponseWriter, r *http.Request) error {
	return s.showBench(w, r, http.StatusOK, form{values: r.Form})
}

func (s *server) showBench(w http.ResponseWriter, r *http.Request, status int, f form) error {
	sheet, err := s.farm.BenchSheet(r.Context(), r.PathValue("batch"))
	if err != nil {
		return err
	}
	p := &benchPage{
		frame:      frame{Title: "Bench sheet, " + sheet.Batch.String(), Section: "/shelf", Paper: true},
		BenchSheet: sheet, Form: f, Letter: f.Get("paper") == "letter",
	}
	return s.show(w, r, status, p)
}

// Path is the address of the batch.
func (p *benchPage) Path() string { return at("batches", p.Batch.String()) }

// Load draws cook number i of the sheet from above.
func (p *benchPage) Load(i int) *drawing {
	return loadDrawing("load"+strconv.Itoa(i), p.Cooks[i], p.Trial != nil)
}

// distinct returns the cautions that pass, each once.
func distinct(cautions []figure.Caution, pass func(figure.Caution) bool) []figure.Caution {
	var out []figure.Caution
	for _, c := range cautions {
		if pass(c) && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// jarColumn is one table of jars on the sheet.
type jarColumn struct {
	Cook int // 0: not named
	Jars []app.SheetJar
}

// Columns parts the jars into tables that stand side by side: one for each
// cook, or two halves of one.
func (p *benchPage) Columns() []jarColumn {
	const few = 8
	if len(p.Cooks) == 1 && len(p.Jars) > few {
		half := (len(p.Jars) + 1) / 2
		return []jarColumn{{0, p.Jars[:half]}, {0, p.Jars[half:]}}
	}
	var out []jarColumn
	for _, j := range p.Jars {
		if n := len(out); n == 0 || out[n-1].Cook != j.Cook {
			out = append(out, jarColumn{Cook: j.Cook})
		}
		last := &out[len(out)-1]
		last.Jars = append(last.Jars, j)
	}
	return out
}

// postMaking serves POST /batches/{batch}/makings: what was weighed.
func (s *server) postMaking(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in := app.MakingInput{Batch: r.PathValue("batch"), Label: f.Get("label"), Mix: f.Get("mix"), At: f.Get("at")}
	for i, name := range f.values["ingredient"] {
		in.Weighed = append(in.Weighed, app.TypedWeight{Ingredient: name, Typed: strings.TrimSpace(f.Get(fmt.Sprintf("w%d", i+1))), Lot: f.Get(fmt.Sprintf("lot%d", i+1))})
	}
	done, err := s.farm.LogMaking(r.Context(), act(r), in)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showBench(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("batches", r.PathValue("batch"), "bench")+"#mixes")
}
