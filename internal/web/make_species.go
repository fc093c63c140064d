package web

import (
	"net/http"
	"net/url"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// allSpeciesPage lists the species that something was read about.
type allSpeciesPage struct {
	frame
	Species []lab.Profile
}

// Covered says how long the run of a species takes.
func (allSpeciesPage) Covered(p lab.Profile) string {
	t, _ := p.Target(lab.Run, lab.Days)
	return t.String()
}

func (allSpeciesPage) template() string { return "make/species_list" }

// getAllSpecies serves GET /species.
func (s *server) getAllSpecies(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, http.StatusOK, &allSpeciesPage{frame{Title: "Species", Section: "/cultures"}, lab.Profiles()})
}

// speciesPage shows what a species wants, and takes the grower's own figures.
type speciesPage struct {
	frame
	app.SpeciesView
	Form form
}

func (speciesPage) template() string { return "make/species" }

// getSpecies serves GET /species/{species}.
func (s *server) getSpecies(w http.ResponseWriter, r *http.Request) error {
	return s.showSpecies(w, r, http.StatusOK, form{}, r.URL.Query().Get("strain"))
}

func (s *server) showSpecies(w http.ResponseWriter, r *http.Request, status int, f form, strain string) error {
	v, err := s.farm.SpeciesOf(r.Context(), r.PathValue("species"), strain)
	if err != nil {
		return err
	}
	return s.show(w, r, status, &speciesPage{frame{Title: v.Species, Section: "/cultures"}, v, f})
}

// Path is the address of the species.
func (p *speciesPage) Path() string { return at("species", p.Key) }

// Of is the address of the species for one strain.
func (p *speciesPage) Of(strain string) string {
	return p.Path() + "?" + url.Values{"strain": {strain}}.Encode()
}

// phaseTargets are the targets of one phase, each with what else was read.
type phaseTargets struct {
	Phase   lab.Phase
	Targets []targetLine
}

type targetLine struct {
	lab.Target
	Others []lab.Target
}

// Phases are the targets in the order of a grow.
func (p *speciesPage) Phases() []phaseTargets {
	var out []phaseTargets
	for _, phase := range lab.Phases {
		of := phaseTargets{Phase: phase}
		for _, q := range phase.Quantities() {
			if t, ok := p.Target(phase, q); ok {
				of.Targets = append(of.Targets, targetLine{t, p.Others(t)})
			}
		}
		out = append(out, of)
	}
	return out
}

// Sources are where the figures were read, once each; pages number them.
func (p *speciesPage) Sources() []string {
	var out []string
	for _, of := range p.Phases() {
		for _, t := range of.Targets {
			for _, x := range append([]lab.Target{t.Target}, t.Others...) {
				if !x.Own && !slices.Contains(out, x.Source) {
					out = append(out, x.Source)
				}
			}
		}
	}
	return out
}

// Note is the number of the source of a target.
func (p *speciesPage) Note(t lab.Target) int { return 1 + slices.Index(p.Sources(), t.Source) }

// TargetField asks which figure is set.
func (p *speciesPage) TargetField() field {
	x := p.Form.Field("target", "Figure")
	for _, phase := range lab.Phases {
		for _, q := range phase.Quantities() {
			key := lab.Target{Phase: phase, What: q}.Key()
			x.Options = append(x.Options, choice{key, phase.Label() + ": " + q.Label(), x.Value == key})
		}
	}
	return x
}

// StrainField asks for which strain.
func (p *speciesPage) StrainField() field {
	strains := p.Strains
	if p.Strain != "" && !slices.Contains(strains, p.Strain) {
		strains = append(slices.Clone(strains), p.Strain)
	}
	x := p.Form.Choice("strain", "For", strains).Or("all strains of it")
	if !p.Form.Has("strain") {
		for i := range x.Options {
			x.Options[i].Chosen = x.Options[i].Value == p.Strain
		}
	}
	return x
}

// postTarget serves POST /species/{species}: a figure of the grower's own.
func (s *server) postTarget(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	species, strain := r.PathValue("species"), f.Get("strain")
	if err := s.farm.SetTarget(r.Context(), species, strain, f.Get("target"), f.Get("span")); err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showSpecies(w, r, http.StatusUnprocessableEntity, f, strain)
	}
	remember(w, r, "", "figure kept")
	to := at("species", species)
	if strain != "" {
		to += "?" + url.Values{"strain": {strain}}.Encode()
	}
	return seeOther(w, r, to)
}
