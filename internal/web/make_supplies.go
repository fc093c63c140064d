package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// suppliesPage lists recipes, ingredients and containers.
type suppliesPage struct {
	frame
	Recipes    []lab.Recipe
	Stock      []*app.StockRow
	Containers []app.ContainerRow
	Ingredient form
	Container  form
	LidForm    form
	Kinds      []string
}

func (suppliesPage) template() string { return "make/supplies" }

// getSupplies serves GET /supplies.
func (s *server) getSupplies(w http.ResponseWriter, r *http.Request) error {
	return s.showSupplies(w, r, http.StatusOK, &suppliesPage{})
}

func (s *server) showSupplies(w http.ResponseWriter, r *http.Request, status int, p *suppliesPage) error {
	p.Title, p.Section = "Supplies", "/supplies"
	p.Container.prefix, p.Ingredient.prefix, p.LidForm.prefix = "c-", "i-", "l-"
	var err error
	if p.Recipes, err = s.farm.Recipes(r.Context()); err != nil {
		return err
	}
	if p.Stock, err = s.farm.Stock(r.Context()); err != nil {
		return err
	}
	if p.Containers, err = s.farm.Containers(r.Context()); err != nil {
		return err
	}
	for _, k := range lab.ContainerKinds {
		p.Kinds = append(p.Kinds, string(k))
	}
	return s.show(w, r, status, p)
}

// postIngredient serves POST /supplies/ingredients.
func (s *server) postIngredient(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	id, err := formID[lab.IngredientID](f)
	var i lab.Ingredient
	if err == nil {
		i, err = s.farm.AddIngredient(r.Context(), app.NewIngredient{ID: id, Name: f.Get("name"), Moisture: f.Get("moisture"), Note: f.Get("note")})
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showSupplies(w, r, http.StatusUnprocessableEntity, &suppliesPage{Ingredient: f})
	}
	remember(w, r, "", i.Name+" written down")
	return seeOther(w, r, "/supplies#ingredients")
}

// postContainer serves POST /supplies/containers.
func (s *server) postContainer(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	id, err := formID[lab.ContainerID](f)
	var c lab.Container
	if err == nil {
		c, err = s.farm.AddContainer(r.Context(), app.NewContainer{
			ID: id, Name: f.Get("name"), Kind: f.Get("kind"), Volume: f.Get("volume"), Bore: f.Get("bore"), Height: f.Get("height"), Lid: f.Get("lid"), Note: f.Get("note"), By: initialsOf(r),
		})
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showSupplies(w, r, http.StatusUnprocessableEntity, &suppliesPage{Container: f})
	}
	remember(w, r, "", c.Name+" written down")
	return seeOther(w, r, "/supplies#containers")
}

// postLid serves POST /supplies/containers/lid.
func (s *server) postLid(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	deed, err := s.farm.SaveLid(r.Context(), act(r), f.Get("container"), f.Get("lid"))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showSupplies(w, r, http.StatusUnprocessableEntity, &suppliesPage{LidForm: f})
	}
	remember(w, r, deed, f.Get("container")+": "+lab.Lid(f.Get("lid")).Label())
	return seeOther(w, r, "/supplies#containers")
}

// LidField asks how a lid vents.
func (p *suppliesPage) LidField(f form) field {
	x := f.Field("lid", "Its lid").WithHint("What reaches the top of the fill as it cooks.")
	x = x.Or("Not said: counts as vented")
	for _, l := range lab.Lids {
		x.Options = append(x.Options, choice{string(l), lidWords[l], f.Is("lid", string(l))})
	}
	return x
}

// lidWords say what each lid is to somebody who chooses one.
var lidWords = map[lab.Lid]string{
	"vented": "Vented: a hole, or screwed loose", "filter": "A filter in it, or a filter patch",
	"foil": "Foil over the mouth", "tight": "Shut tight", "open": "Open: steam reaches the fill",
}

// LidContainer asks for the container whose lid is told of.
func (p *suppliesPage) LidContainer() field {
	x := p.LidForm.Field("container", "Container")
	for _, c := range p.Containers {
		x.Options = append(x.Options, choice{c.Name, c.Name, p.LidForm.Is("container", c.Name)})
	}
	return x
}

// Water is the water of an ingredient as the farm measured it, nil if it did
// not: of the lot in use, else of the ingredient.
func (p *suppliesPage) Water(row *app.StockRow) *units.Fraction {
	if lot := row.InUse(); lot != nil && lot.Moisture != nil {
		return lot.Moisture
	}
	if row.Figures.Moisture != nil {
		return row.Figures.Moisture
	}
	return row.Moisture
}
