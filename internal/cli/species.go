package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type speciesCmds struct {
	List speciesListCmd `cmd:"" help:"List the species that something was read about."`
	Show speciesShowCmd `cmd:"" help:"Show what a species wants, and when its stages come."`
	Set  speciesSetCmd  `cmd:"" help:"Set a figure of your own, for a strain or for all of the species."`
}

type speciesListCmd struct{}

func (c *speciesListCmd) Run(r *run) error {
	type row struct {
		Key     string `json:"key"`
		Species string `json:"species"`
	}
	out := []row{}
	for _, p := range lab.Profiles() {
		out = append(out, row{p.Key, p.Species})
	}
	return r.print(out, func(w io.Writer) {
		t := newTable("species", "called")
		for _, x := range out {
			t.row(x.Species, x.Key)
		}
		t.write(w)
	})
}

// targetView is one figure for printing; an open end is null.
type targetView struct {
	Target string   `json:"target"`
	From   *float64 `json:"from"`
	To     *float64 `json:"to"`
	Text   string   `json:"text"`
	Source string   `json:"source"`
	Doubt  string   `json:"doubt"`
	Own    bool     `json:"own"`
}

func viewTargets(p lab.Profile) []targetView {
	out := []targetView{}
	for _, phase := range lab.Phases {
		for _, q := range phase.Quantities() {
			first, ok := p.Target(phase, q)
			if !ok {
				continue
			}
			for _, t := range append([]lab.Target{first}, p.Others(first)...) {
				v := targetView{Target: t.Key(), Text: t.String(), Source: t.Source, Doubt: t.Doubt, Own: t.Own}
				v.From, v.To = t.Ends()
				out = append(out, v)
			}
		}
	}
	return out
}

type speciesShowCmd struct {
	records
	Species string `arg:"" help:"The species, as you call it."`
	Strain  string `help:"Strain whose own figures go first." placeholder:"NAME"`
}

func (c *speciesShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.SpeciesOf(r.ctx, c.Species, c.Strain)
		if err != nil {
			return err
		}
		return r.printSpecies(v)
	})
}

func (r *run) printSpecies(v app.SpeciesView) error {
	out := struct {
		Species string       `json:"species"`
		Strain  string       `json:"strain"`
		Targets []targetView `json:"targets"`
	}{v.Species, v.Strain, viewTargets(v.Profile)}
	return r.print(out, func(w io.Writer) {
		fmt.Fprintln(w, v.Species, v.Strain)
		t := newTable("target", "figure", "source", "mind")
		for _, x := range out.Targets {
			t.row(x.Target, x.Text, x.Source, x.Doubt)
		}
		t.write(w)
		fmt.Fprintln(w, "CO2 in the run is what was measured inside bags: no aim for a room that people enter.")
	})
}

type speciesSetCmd struct {
	records
	Species string `arg:"" help:"The species, as you call it."`
	Target  string `arg:"" help:"Such as run.temperature, pins.days, crop.moisture."`
	Span    string `arg:"" help:"20-23, 22, 'up to 2000', 'from 5000', none; a dash goes back to the book."`
	Strain  string `help:"Only for this strain." placeholder:"NAME"`
}

func (c *speciesSetCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if err := f.SetTarget(r.ctx, c.Species, c.Strain, c.Target, c.Span); err != nil {
			return err
		}
		v, err := f.SpeciesOf(r.ctx, c.Species, c.Strain)
		if err != nil {
			return err
		}
		return r.printSpecies(v)
	})
}
