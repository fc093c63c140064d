package web

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// recipePage shows a recipe with its mass balance.
type recipePage struct {
	frame
	app.RecipeView
	Form       form
	Containers []string
}

func (recipePage) template() string { return "make/recipe" }

// getRecipe serves GET /recipes/{recipe}?jars=24, with a container, liquid
// culture per jar and a target moisture if they are said.
func (s *server) getRecipe(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	status := http.StatusOK
	q := app.RecipeQuery{Name: r.PathValue("recipe"), Container: f.Get("container"), LC: f.Get("lc"), Target: f.Get("target")}
	var err error
	var v app.RecipeView
	if q.Jars, err = f.whole("jars", 1, 10000, 12); err == nil {
		v, err = s.farm.RecipeBalance(r.Context(), q)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		status = http.StatusUnprocessableEntity
		if v, err = s.farm.RecipeView(r.Context(), q.Name, 12); err != nil {
			return err
		}
	}
	p := &recipePage{frame: frame{Title: v.Recipe.Name, Section: "/supplies"}, RecipeView: v, Form: f}
	containers, err := s.farm.Containers(r.Context())
	if err != nil {
		return err
	}
	for _, c := range containers {
		p.Containers = append(p.Containers, c.Name)
	}
	return s.show(w, r, status, p)
}

// howFigure is a figure that opens its working.
type howFigure struct {
	Text string
	Step *figure.Step // nil if it has none
}

// How returns a figure of one jar with the step of the working that it comes
// from.
func (p *recipePage) How(step string, x *float64, digits int, unit string) howFigure {
	if x == nil {
		return howFigure{Text: "not known"}
	}
	h := howFigure{Text: strings.TrimSpace(fix(digits, *x) + " " + unit)}
	i := slices.IndexFunc(p.Answer.Working, func(s figure.Step) bool { return s.Step == step })
	if i >= 0 {
		h.Step = &p.Answer.Working[i]
	}
	return h
}

// balanceRow is the mass balance of a mix, a jar or the batch.
type balanceRow struct {
	Name                                     string
	Wet                                      float64
	Dry, Moisture, OnDry, N, C, CN, Ash, Fat *float64
}

// Balance returns the mass balance of one jar, each mix and the batch.
func (p *recipePage) Balance() []balanceRow {
	if p.Answer == nil {
		return nil
	}
	r := p.Answer.Result
	jar := r.PerJar
	out := []balanceRow{{"one " + p.Vessel(), jar.WetG, jar.DryG, jar.MoisturePct, jar.MoisturePctDry, jar.NG, jar.CG, jar.CN, jar.AshG, jar.FatG}}
	for _, m := range p.Mixes {
		if b, ok := r.Mixes[m.Name]; ok {
			out = append(out, balanceRow{m.Name, b.WetG, b.DryG, b.MoisturePct, b.MoisturePctDry, b.NG, b.CG, b.CN, b.AshG, b.FatG})
		}
	}
	b := r.Total
	return append(out, balanceRow{"all of it", b.WetG, b.DryG, b.MoisturePct, b.MoisturePctDry, b.NG, b.CG, b.CN, b.AshG, b.FatG})
}

// brothRow is what is dissolved in one mix.
type brothRow struct {
	Mix                            string
	Sugars, Osmotic, WaterActivity *float64
	AgarGL, JarsPerL               *float64
	SugarsAtLeast, AtLeast         bool
	Salts                          []saltRow
}

type saltRow struct {
	Formula string
	MMolL   float64
}

// Broths returns what is dissolved in the mixes that pour.
func (p *recipePage) Broths() []brothRow {
	var out []brothRow
	for _, m := range p.Mixes {
		s, ok := p.Answer.Result.Broth[m.Name]
		if !ok {
			continue
		}
		row := brothRow{m.Name, s.SugarsGL, s.OsmoticKPa, s.WaterActivity, s.AgarGL, s.JarsPerL, s.SugarsAtLeast, s.AtLeast, nil}
		for _, formula := range slices.Sorted(maps.Keys(s.SaltsMM)) {
			row.Salts = append(row.Salts, saltRow{formula, s.SaltsMM[formula]})
		}
		slices.SortStableFunc(row.Salts, func(a, b saltRow) int { return cmp.Compare(b.MMolL, a.MMolL) })
		out = append(out, row)
	}
	return out
}

// Money prints a cost in the currency of the lots.
func (p *recipePage) Money(x *float64) string {
	if x == nil {
		return "not known"
	}
	return strings.TrimSpace(fix(2, *x) + " " + p.Currency)
}

// Unpriced lists what no lot gives a price of, where others do. Water is free.
func (p *recipePage) Unpriced() []string {
	priced := make(map[string]bool)
	for _, l := range p.Lots {
		if l.Price.Known() {
			priced[lab.NameKey(l.Name)] = true
		}
	}
	if len(priced) == 0 {
		return nil
	}
	var out []string
	for _, m := range p.Mixes {
		for _, l := range m.Lines {
			if k := lab.NameKey(l.Ingredient); !priced[k] && k != "water" && !slices.Contains(out, l.Ingredient) {
				out = append(out, l.Ingredient)
			}
		}
	}
	return out
}

// Cups are the questions about measures, before which nothing can be weighed.
func (p *recipePage) Cups() []app.Ask {
	return slices.DeleteFunc(slices.Clone(p.Asks), func(a app.Ask) bool { return a.Choices != nil })
}

// Which are the questions about labels.
func (p *recipePage) Which() []app.Ask {
	return slices.DeleteFunc(slices.Clone(p.Asks), func(a app.Ask) bool { return a.Choices == nil })
}

// Routes lists the routes that a recipe can take.
func (p *recipeForm) Routes() []string {
	var out []string
	for _, r := range lab.Routes {
		out = append(out, string(r))
	}
	return out
}

// Bases are what per cent can be shares of.
func (p *recipeForm) Bases() []string { return []string{"weight", "dry"} }
