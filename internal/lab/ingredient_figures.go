package lab

import (
	"slices"
	"strings"

	"pinset/internal/units"
)

// IngredientFigures are what a grower knows of an ingredient better than a
// book does. The newest entry on an ingredient holds as a whole.
type IngredientFigures struct {
	Entry
	Ingredient IngredientID
	Figures    Figures
}

// Figures are the grower's own figures of an ingredient. What is nil, 0 or ""
// is not known, and the book's figure stays.
type Figures struct {
	// StandsFor is the row of the book that the name means, where a label
	// fits two substances, or where the grower calls it something else.
	StandsFor string `json:"stands_for,omitempty"`

	Moisture *units.Fraction `json:"moisture,omitempty"` // water, of the mass as weighed
	Nitrogen *units.Fraction `json:"nitrogen,omitempty"` // of dry matter
	Carbon   *units.Fraction `json:"carbon,omitempty"`   // of dry matter, without carbonates

	// As a label prints them, of the mass as weighed. Nitrogen and carbon
	// follow from them where those are not given.
	Protein      *units.Fraction `json:"protein,omitempty"`
	Fat          *units.Fraction `json:"fat,omitempty"`
	Carbohydrate *units.Fraction `json:"carbohydrate,omitempty"` // fibre and sugars included
	Sugars       *units.Fraction `json:"sugars,omitempty"`
	Fibre        *units.Fraction `json:"fibre,omitempty"`
	Ash          *units.Fraction `json:"ash,omitempty"`
	Factor       *float64        `json:"factor,omitempty"` // protein over nitrogen; 6.25 if nil

	Cup       units.Gram `json:"cup,omitempty"`       // what a level US cup weighs
	CupTyped  string     `json:"cup_typed,omitempty"` // such as "1 tbsp = 8 g"
	Allergens []string   `json:"allergens,omitempty"`
}

// Check returns f with its texts tidied, or an Invalid Problem at the field.
func (f Figures) Check() (Figures, error) {
	for _, x := range f.shares() {
		if x.share != nil && !(*x.share >= 0 && *x.share <= 1) {
			return f, Invalidf(x.field, "write a share from 0 to 100 %", "the %s is %.4g %%", x.field, 100*float64(*x.share))
		}
	}
	if f.Moisture != nil && *f.Moisture >= 1 {
		return f, Invalidf("moisture", "write the water as a share of the wet weight, such as 12 %", "nothing that is weighed in is %.4g %% water alone", 100*float64(*f.Moisture))
	}
	if err := f.checkSums(); err != nil {
		return f, err
	}
	if k := f.Factor; k != nil && !(*k >= 3 && *k <= 8) {
		return f, Invalidf("factor", "write protein over nitrogen, such as 6.25, or leave it out", "the nitrogen factor is %g, it lies from 3 to 8", *k)
	}
	if !(f.Cup >= 0 && f.Cup <= 6000) { // 6000 g is 25 g/mL
		return f, Invalidf("cup", "weigh a level cup, tablespoon or litre again", "a cup of it would weigh %g g", float64(f.Cup))
	}
	if f.StandsFor != "" {
		var err error
		if f.StandsFor, err = Name("stands_for", f.StandsFor); err != nil {
			return f, err
		}
	}
	return f.checkAllergens()
}

type namedShare struct {
	field string
	share *units.Fraction
}

func (f Figures) shares() []namedShare {
	return []namedShare{
		{"moisture", f.Moisture},
		{"nitrogen", f.Nitrogen},
		{"carbon", f.Carbon},
		{"protein", f.Protein},
		{"fat", f.Fat},
		{"carbohydrate", f.Carbohydrate},
		{"sugars", f.Sugars},
		{"fibre", f.Fibre},
		{"ash", f.Ash},
	}
}

// checkSums holds what a label prints to what can be: the parts are no more
// than the whole, and sugars and fibre no more than the carbohydrate.
func (f Figures) checkSums() error {
	const slack = 0.02 // labels round each figure
	sum := 0.0
	for _, x := range []*units.Fraction{f.Moisture, f.Protein, f.Fat, f.Carbohydrate, f.Ash} {
		if x != nil {
			sum += float64(*x)
		}
	}
	if sum > 1+slack {
		return Invalidf("carbohydrate", "copy the label again: all of them are shares of the weight as sold", "water, protein, fat, carbohydrate and ash add up to %.4g %%", 100*sum)
	}
	if f.Carbohydrate != nil {
		inner := 0.0
		for _, x := range []*units.Fraction{f.Sugars, f.Fibre} {
			if x != nil {
				inner += float64(*x)
			}
		}
		if inner > float64(*f.Carbohydrate)+slack {
			return Invalidf("carbohydrate", "add the fibre to the carbohydrate where the label prints it apart", "sugars and fibre are %.4g %%, the carbohydrate that holds them %.4g %%", 100*inner, 100*float64(*f.Carbohydrate))
		}
	}
	return nil
}

// maxAllergens bounds the allergens of one ingredient.
const maxAllergens = 30

func (f Figures) checkAllergens() (Figures, error) {
	if len(f.Allergens) > maxAllergens {
		return f, Invalidf("allergens", "name the chief ones", "%d allergens are listed, %d are kept", len(f.Allergens), maxAllergens)
	}
	var out []string
	for _, a := range f.Allergens {
		if strings.TrimSpace(a) == "" {
			continue
		}
		name, err := Name("allergens", a)
		if err != nil {
			return f, err
		}
		if !slices.ContainsFunc(out, func(o string) bool { return NameKey(o) == NameKey(name) }) {
			out = append(out, name)
		}
	}
	f.Allergens = out
	return f, nil
}

// Newest returns the entry that holds for each ingredient. The entries are in
// the order of entry.
func Newest(entries []IngredientFigures) map[IngredientID]Figures {
	out := make(map[IngredientID]Figures)
	for _, e := range Current(entries) {
		out[e.Ingredient] = e.Figures
	}
	return out
}
