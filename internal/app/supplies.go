package app

import (
	"context"
	"fmt"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func parseAltitude(typed string) (float64, error) {
	m, err := units.ParseAltitude(typed)
	if err != nil {
		return 0, atField("altitude", err)
	}
	if !(m >= -450 && m <= 9000) {
		return 0, lab.Invalidf("altitude", "write the height of the kitchen above the sea, such as 420 m", "%g m is out of the range −450 to 9000 m", float64(m))
	}
	return float64(m), nil
}

// atField names the field of a fault that a parser could not know.
func atField(field string, err error) error {
	if p, ok := lab.AsProblem(err); ok && p.Kind == lab.Invalid {
		q := *p
		q.Field = field
		return &q
	}
	return err
}

// NewIngredient is an ingredient as typed.
type NewIngredient struct {
	ID       lab.IngredientID // "" lets the farm make one
	Name     string
	Moisture string // such as "12 %", "" if not known
	Note     string
}

// AddIngredient keeps an ingredient.
func (f *Farm) AddIngredient(ctx context.Context, n NewIngredient) (lab.Ingredient, error) {
	i := lab.Ingredient{ID: n.ID, Name: n.Name, Note: n.Note}
	if i.ID == "" {
		i.ID = newID[lab.IngredientID]()
	}
	if strings.TrimSpace(n.Moisture) != "" {
		m, err := units.ParseFraction(n.Moisture)
		if err != nil {
			return lab.Ingredient{}, atField("moisture", err)
		}
		i.Moisture = &m
	}
	i, err := i.Check()
	if err != nil {
		return lab.Ingredient{}, err
	}
	return i, f.store.Write(ctx, func(w store.Writer) error { return w.AddIngredient(ctx, i) })
}

// Ingredients returns all ingredients by name.
func (f *Farm) Ingredients(ctx context.Context) (out []lab.Ingredient, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error { out, err = r.Ingredients(ctx); return err })
	return out, err
}

// NewContainer is a container as typed; blank measures are not known.
type NewContainer struct {
	ID     lab.ContainerID
	Name   string
	Kind   string
	Volume string // such as "500 mL" or "1 pt"
	Bore   string // such as "76 mm"
	Height string
	Lid    string // one of lab.Lids, blank is not known
	Note   string
	By     string // who says so
}

// AddContainer keeps a kind of vessel.
func (f *Farm) AddContainer(ctx context.Context, n NewContainer) (lab.Container, error) {
	c := lab.Container{ID: n.ID, Name: n.Name, Kind: lab.ContainerKind(n.Kind), Note: n.Note}
	if c.ID == "" {
		c.ID = newID[lab.ContainerID]()
	}
	var err error
	if c.Volume, err = optional("volume", n.Volume, units.ParseVolume); err != nil {
		return lab.Container{}, err
	}
	if c.Bore, err = optional("bore", n.Bore, units.ParseLength); err != nil {
		return lab.Container{}, err
	}
	if c.Height, err = optional("height", n.Height, units.ParseLength); err != nil {
		return lab.Container{}, err
	}
	if c, err = c.Check(); err != nil {
		return lab.Container{}, err
	}
	return c, f.store.Write(ctx, func(w store.Writer) error {
		if err := w.AddContainer(ctx, c); err != nil || strings.TrimSpace(n.Lid) == "" {
			return err
		}
		_, err := f.keepLid(ctx, w, Act{By: n.By}, c, n.Lid)
		return err
	})
}

// optional reads typed with parse, or returns 0 if nothing was typed.
func optional[T ~float64](field, typed string, parse func(string) (T, error)) (T, error) {
	if strings.TrimSpace(typed) == "" {
		return 0, nil
	}
	v, err := parse(typed)
	return v, atField(field, err)
}

// ContainerRow is a container with what is known of its lid.
type ContainerRow struct {
	lab.Container
	Lid lab.Lid // "" if it is not known
}

// Containers returns all containers by name.
func (f *Farm) Containers(ctx context.Context) ([]ContainerRow, error) {
	var out []ContainerRow
	err := f.store.Read(ctx, func(r store.Reader) error {
		all, err := r.Containers(ctx)
		if err != nil {
			return err
		}
		lids, err := r.ContainerLids(ctx)
		if err != nil {
			return err
		}
		now := lab.LidsNow(lids)
		for _, c := range all {
			out = append(out, ContainerRow{c, now[c.ID]})
		}
		return nil
	})
	return out, err
}

// NewRecipe is a recipe as typed.
type NewRecipe struct {
	ID    lab.RecipeVersionID
	Name  string
	Mixes []lab.Mix
	Fills []lab.Fill
	Note  string

	Details lab.Details
	Answers []NewFigures // to what was asked about its ingredients; only what a cup weighs and what a name stands for is kept
}

// AddRecipe keeps a recipe, and the answers to what was asked about its
// ingredients with those. A name that is known makes the next version of it.
func (f *Farm) AddRecipe(ctx context.Context, n NewRecipe) (lab.Recipe, error) {
	r, err := f.newVersion(n)
	if err != nil {
		return lab.Recipe{}, err
	}
	kept, err := f.tryRecipe(ctx, r, n.Answers)
	switch {
	case err != nil:
		return lab.Recipe{}, err
	case kept != nil:
		return *kept, nil
	}
	err = f.store.Write(ctx, func(w store.Writer) error {
		if kept, err := w.Recipe(ctx, r.ID); err == nil {
			r = kept
			return nil
		} else if !lab.IsKind(err, lab.NotFound) {
			return err
		}
		if err := f.keepAnswers(ctx, w, n.Answers); err != nil {
			return err
		}
		if err := nextVersion(ctx, w, &r); err != nil {
			return err
		}
		return w.AddRecipe(ctx, r)
	})
	return r, err
}

// newVersion is n as a recipe that has no number yet.
func (f *Farm) newVersion(n NewRecipe) (lab.Recipe, error) {
	r := lab.Recipe{ID: n.ID, Name: n.Name, Mixes: n.Mixes, Fills: n.Fills, Note: n.Note, Details: n.Details, Made: f.clock()}
	if r.ID == "" {
		r.ID = newID[lab.RecipeVersionID]()
	}
	return r.Check()
}

// tryRecipe works r out as it will be with the answers, so that amounts that
// can not be read are refused before anything is written. It returns r as it
// was kept if it was kept before.
func (f *Farm) tryRecipe(ctx context.Context, r lab.Recipe, answers []NewFigures) (*lab.Recipe, error) {
	var kept *lab.Recipe
	var own *stock
	err := f.store.Read(ctx, func(rd store.Reader) error {
		old, err := rd.Recipe(ctx, r.ID)
		if err == nil {
			kept = &old
			return nil
		}
		if !lab.IsKind(err, lab.NotFound) {
			return err
		}
		own, err = f.readStock(ctx, rd)
		return err
	})
	if err != nil || kept != nil {
		return kept, err
	}
	if err := own.answer(answers); err != nil {
		return nil, err
	}
	if _, err := weigh(r, 1, own); err != nil {
		return nil, askInstead(own, r, err)
	}
	return nil, nil
}

// nextVersion numbers r as the next version of its name.
func nextVersion(ctx context.Context, r store.Reader, v *lab.Recipe) error {
	last, err := r.RecipeByName(ctx, v.Name)
	switch {
	case err == nil:
		v.Line, v.Version = last.Line, last.Version+1
	case lab.IsKind(err, lab.NotFound):
		v.Line, v.Version = newID[lab.RecipeID](), 1
	default:
		return err
	}
	return nil
}

// Recipes returns the newest version of every recipe, by name.
func (f *Farm) Recipes(ctx context.Context) (out []lab.Recipe, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error { out, err = r.Recipes(ctx); return err })
	return out, err
}

// keepAnswers keeps what was answered about ingredients.
func (f *Farm) keepAnswers(ctx context.Context, w store.Writer, answers []NewFigures) error {
	for _, a := range answers {
		if a.blank() {
			continue
		}
		name, err := lab.Name("ingredient", a.Ingredient)
		if err != nil {
			return err
		}
		deed, err := f.deed(Act{}, "", "figures of %s", name)
		if err != nil {
			return err
		}
		if _, err := w.AddDeed(ctx, deed); err != nil {
			return err
		}
		if err := f.keepFigures(ctx, w, deed, name, NewFigures{Cup: a.Cup, StandsFor: a.StandsFor}); err != nil {
			return err
		}
	}
	return nil
}

// blank reports whether an answer says nothing.
func (n NewFigures) blank() bool {
	return strings.TrimSpace(n.Cup) == "" && strings.TrimSpace(n.StandsFor) == ""
}

// answer puts answers into s as they will stand once they are kept. A Problem
// names the answer, such as answers[0].cup.
func (s *stock) answer(answers []NewFigures) error {
	for i, a := range answers {
		if a.blank() {
			continue
		}
		row := s.of(a.Ingredient)
		if row == nil {
			row = BookRow(a.Ingredient)
			s.rows, s.by[lab.NameKey(a.Ingredient)] = append(s.rows, row), row
		}
		figures, err := NewFigures{Cup: a.Cup, StandsFor: a.StandsFor}.onto(row.Figures)
		if p, ok := lab.AsProblem(err); ok {
			return atField(fmt.Sprintf("answers[%d].%s", i, p.Field), err)
		}
		row.Figures = figures
		row.look()
	}
	return nil
}

// askInstead returns err, or the question whose answer mends it.
func askInstead(own *stock, r lab.Recipe, err error) error {
	for _, a := range own.asks(r) {
		if a.Amount == "" {
			continue
		}
		p, ok := lab.AsProblem(err)
		if !ok {
			return err
		}
		return &lab.Problem{
			Kind: lab.Invalid, Field: p.Field,
			What: a.Amount + " of " + a.Ingredient + " can not be turned into grams: what a cup of it weighs is not known",
			Mend: "weigh a level cup and write it down with the ingredient, or weigh this amount and write grams",
		}
	}
	return err
}

// RecipeAsks lists what must be asked about a recipe that is not kept yet.
func (f *Farm) RecipeAsks(ctx context.Context, n NewRecipe) ([]Ask, error) {
	var out []Ask
	err := f.store.Read(ctx, func(r store.Reader) error {
		own, err := f.readStock(ctx, r)
		out = own.asks(lab.Recipe{Name: n.Name, Mixes: n.Mixes, Fills: n.Fills, Details: n.Details})
		return err
	})
	return out, err
}
