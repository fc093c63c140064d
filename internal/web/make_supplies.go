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
	Containers []lab.Container
	Ingredient form
	Container  form
	Kinds      []string
}

func (suppliesPage) template() string { return "make/supplies" }

// getSupplies serves GET /supplies.
func (s *server) getSupplies(w http.ResponseWriter, r *http.Request) error {
	return s.showSupplies(w, r, http.StatusOK, &suppliesPage{})
}

func (s *server) showSupplies(w http.ResponseWriter, r *http.Request, status int, p *suppliesPage) error {
	p.Title, p.Section = "Supplies", "/supplies"
	p.Container.prefix, p.Ingredient.prefix = "c-", "i-"
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
			ID: id, Name: f.Get("name"), Kind: f.Get("kind"), Volume: f.Get("volume"), Bore: f.Get("bore"), Height: f.Get("height"), Note: f.Get("note"),
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
