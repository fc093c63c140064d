package substrate

import (
	"slices"
	"strings"
)

// allergens are what must be named to whoever eats what grew on it, by words
// of the name.
//
// Source: Regulation (EU) 1169/2011, annex II, from memory; insects are not
// in it, but cross-react with crustaceans (EFSA Journal 2021, on insects as
// novel foods, from memory).
var allergens = []struct {
	name  string
	words []string
}{
	{"gluten cereals", []string{"wheat", "rye", "barley", "oat", "oats", "spelt", "malt", "gluten", "brewers", "distillers"}},
	{"eggs", []string{"egg", "eggs"}},
	{"soy", []string{"soy", "soya", "soybean", "soybeans"}},
	{"peanuts", []string{"peanut", "peanuts", "groundnut"}},
	{"milk", []string{"milk", "lactose", "whey", "casein"}},
	{"nuts", []string{"almond", "hazelnut", "walnut", "cashew", "pecan", "pistachio"}},
	{"sesame", []string{"sesame"}},
	{"lupin", []string{"lupin", "lupins"}},
	{"mustard", []string{"mustard"}},
	{"celery", []string{"celery"}},
	{"fish", []string{"fish"}},
	{"crustaceans", []string{"shrimp", "crab", "krill"}},
	{"insects", []string{"silkworm", "pupa", "pupae", "insect", "insects", "cricket", "mealworm"}},
}

// Allergens returns what an ingredient brings that sets off allergies, by its
// label and by the row that the label names. It knows the common ones only:
// the sack says more.
func Allergens(label string) []string {
	names := label
	for _, row := range Find(label) {
		names += " " + row.Name
	}
	words := strings.Fields(normal(names))
	free := slices.Contains(words, "buckwheat") // no cereal
	var out []string
	for _, a := range allergens {
		for _, w := range a.words {
			if slices.Contains(words, w) && !(free && a.name == "gluten cereals") {
				out = append(out, a.name)
				break
			}
		}
	}
	return out
}

// MoistureRange returns between which shares, 0..1, the water of a label's
// kind lies where the book has none, and where that is from.
func MoistureRange(label string) (low, high float64, source string) {
	rows := Find(label)
	if len(rows) == 0 {
		return 0, 0.8, "nothing is known of it: from bone dry to soaked"
	}
	row := rows[0]
	if row.Moisture != nil {
		return *row.Moisture, *row.Moisture, row.cite()
	}
	switch {
	case row.ID == "spent-coffee":
		return 0.07, 0.65, "dried 7 %, wet 55 to 65 %, from memory"
	case row.Kind == "wood":
		return 0.08, 0.60, "dry matter of sawdust 40 to 90 % and more, from memory"
	case row.Kind == "straw":
		return 0.08, 0.12, "dry matter 88 to 92 %, from memory"
	case row.Kind == "mineral":
		return 0, 0.5, "depends on storage, from memory"
	}
	return 0, 0.8, "differs too much: from bone dry to soaked"
}

// Dissolves reports whether what a label names goes into solution whole, as
// a stock solution needs.
func Dissolves(label string) bool {
	rows := Find(label)
	if len(rows) == 0 {
		return false
	}
	switch row := rows[0]; row.Kind {
	case "sugar", "extract":
		return true
	case "salt", "organic", "carbonate":
		return row.ions > 0
	}
	return false
}

// Choices returns the names that a label can mean, nil if it means one thing
// or none.
func Choices(label string) []string {
	rows := Find(label)
	if len(rows) < 2 {
		return nil
	}
	out := make([]string, len(rows))
	for i := range rows {
		out[i] = rows[i].Name
	}
	return out
}
