package web

import (
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// ingredientPage shows one ingredient: the grower's own figures and its lots.
type ingredientPage struct {
	frame
	*app.StockRow
	Form form // own figures
	Lot  form // a delivery
}

func (ingredientPage) template() string { return "make/ingredient" }

// getIngredient serves GET /ingredients/{ingredient}.
func (s *server) getIngredient(w http.ResponseWriter, r *http.Request) error {
	return s.showIngredient(w, r, http.StatusOK, form{}, form{})
}

func (s *server) showIngredient(w http.ResponseWriter, r *http.Request, status int, figures, lot form) error {
	name, err := lab.Name("ingredient", r.PathValue("ingredient"))
	if err != nil {
		return err
	}
	row, err := s.farm.StockOf(r.Context(), name)
	if lab.IsKind(err, lab.NotFound) { // it is written down with the first thing that is known of it
		row, err = app.BookRow(name), nil
	}
	if err != nil {
		return err
	}
	lot.prefix = "l-"
	return s.show(w, r, status, &ingredientPage{frame{Title: row.Name, Section: "/supplies"}, row, figures, lot})
}

// Path is the address of the ingredient.
func (p *ingredientPage) Path() string { return at("ingredients", p.Name) }

// Own are the figures that the grower set, for a table: what and how much.
func (p *ingredientPage) Own() [][2]string {
	f := p.Figures
	var out [][2]string
	add := func(name string, share *float64) {
		if share != nil {
			out = append(out, [2]string{name, fix(2, *share) + " %"})
		}
	}
	add("water", percentOf(f.Moisture))
	add("nitrogen of dry matter", percentOf(f.Nitrogen))
	add("carbon of dry matter", percentOf(f.Carbon))
	add("protein", percentOf(f.Protein))
	add("fat", percentOf(f.Fat))
	add("carbohydrate", percentOf(f.Carbohydrate))
	add("sugars", percentOf(f.Sugars))
	add("fibre", percentOf(f.Fibre))
	add("ash", percentOf(f.Ash))
	if f.Factor != nil {
		out = append(out, [2]string{"protein over nitrogen", fix(2, *f.Factor)})
	}
	if f.Cup > 0 {
		text := grams(f.Cup)
		if f.CupTyped != "" {
			text += " (" + f.CupTyped + ")"
		}
		out = append(out, [2]string{"a level cup", text})
	}
	if len(f.Allergens) > 0 {
		out = append(out, [2]string{"allergens", strings.Join(f.Allergens, ", ")})
	}
	return out
}

func percentOf[T ~float64](x *T) *float64 {
	if x == nil {
		return nil
	}
	pct := 100 * float64(*x)
	return &pct
}

// postFigures serves POST /ingredients/{ingredient}: own figures.
func (s *server) postFigures(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	done, err := s.farm.SetFigures(r.Context(), act(r), app.NewFigures{
		Ingredient: r.PathValue("ingredient"), StandsFor: f.Get("stands_for"), Moisture: f.Get("moisture"), Nitrogen: f.Get("nitrogen"), Carbon: f.Get("carbon"),
		Protein: f.Get("protein"), Fat: f.Get("fat"), Carbs: f.Get("carbohydrate"), Sugars: f.Get("sugars"), Fibre: f.Get("fibre"), Ash: f.Get("ash"),
		Factor: f.Get("factor"), Cup: f.Get("cup"), Allergens: f.Get("allergens"),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showIngredient(w, r, http.StatusUnprocessableEntity, f, form{})
	}
	remember(w, r, done.Deed, done.What)
	to := at("ingredients", r.PathValue("ingredient"))
	if back := f.Get("recipe"); back != "" { // asked on a recipe's page
		to = at("recipes", back)
	}
	return seeOther(w, r, to)
}

// postLot serves POST /ingredients/{ingredient}/lots: a delivery, or a
// correction of one.
func (s *server) postLot(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	lot, done, err := s.farm.AddLot(r.Context(), act(r), app.NewLot{
		Ingredient: r.PathValue("ingredient"), Corrects: f.Get("corrects"), Supplier: f.Get("supplier"), SupplierCode: f.Get("supplier_code"),
		Received: f.Get("received"), BestBefore: f.Get("best_before"), Moisture: f.Get("moisture"), Cup: f.Get("cup"), Bought: f.Get("bought"),
		Price: f.Get("price"), Note: f.Get("note"),
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showIngredient(w, r, http.StatusUnprocessableEntity, form{}, f)
	}
	remember(w, r, done.Deed, lot.String()+" written down")
	return seeOther(w, r, at("ingredients", r.PathValue("ingredient"))+"#lots")
}

// LotNames lists the lots by number, to choose one to correct.
func (p *ingredientPage) LotNames() []string {
	var out []string
	for _, l := range p.Lots {
		out = append(out, l.String())
	}
	return out
}

// LotLeft says what is left of a lot.
func (p *ingredientPage) LotLeft(l *app.LotRow) string {
	switch {
	case l.Left == nil:
		return "not known"
	case *l.Left < 0:
		return grams(-*l.Left) + " more was taken than came"
	}
	return l.Left.String()
}

// LotPrice says what a kilogram costs.
func (p *ingredientPage) LotPrice(l *app.LotRow) string {
	perKg, ok := l.Price.PerKg()
	if !ok {
		return l.Price.Typed
	}
	return strings.TrimSpace(fix(2, perKg)+" "+l.Price.Currency) + " a kg"
}
