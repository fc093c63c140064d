package lab

import "pinset/internal/units"

// Ingredient is something that is bought and weighed into a mix.
type Ingredient struct {
	ID       IngredientID
	Name     string          // unique
	Moisture *units.Fraction // measured water, wet basis; nil if not known
	Note     string
}

// Check returns i with its texts tidied, or an Invalid Problem.
func (i Ingredient) Check() (Ingredient, error) {
	var err error
	if i.Name, err = Name("ingredient", i.Name); err != nil {
		return Ingredient{}, err
	}
	if m := i.Moisture; m != nil && !(*m >= 0 && *m < 1) {
		return Ingredient{}, Invalidf("moisture", "write the water as a share of the wet weight, such as 12 %", "%s can not hold %.4g %% water", i.Name, float64(*m)*100)
	}
	i.Note, err = Text("note", i.Note)
	return i, err
}
