package substrate

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Ingredient is a row of the built-in table. Shares are 0..1; a figure that
// the sources do not give is nil.
type Ingredient struct {
	ID       string   // stable, such as "ndb20036" or "MgSO4·7H2O"
	Name     string   // as printed
	Kind     string   // grain, flour, bran, meal, wood, straw, hull, sugar, syrup, salt, carbonate, organic, egg, yeast, extract, water, …
	Source   string   // where the figures are from; "memory" if from memory
	Number   string   // row in the source
	Note     string   // what to know about the figures
	Moisture *float64 // water, of the mass as weighed; crystal water counts
	N        *float64 // nitrogen, of dry mass
	C        *float64 // organic carbon, of dry mass
	Fat      *float64 // of dry mass
	Ash      *float64 // of dry mass
	Protein  *float64 // of dry mass; N says what counts
	Carbs    *float64 // carbohydrate by difference, fibre included, of dry mass
	Fibre    *float64 // of dry mass
	Sugars   *float64 // of dry mass; of SR28 rows from memory
	Factor   *float64 // protein over nitrogen
	Formula  string   // of a pure chemical
	Measures []Measure

	dryVolume float64 // mL per g of dry mass
	molar     float64 // g/mol of dry mass; 0 if it is no one chemical
	ions      float64 // particles of one mole in solution; 0 if it does not dissolve
	assumedN  bool
}

// Measure is what one piece or one level measure weighs.
type Measure struct {
	Name  string  // "cup", "tbsp", "tsp", "large", "packet"
	Grams float64 // > 0
}

//go:embed ingredients.tsv
var tableText string

// book is the built-in table and its index.
type book struct {
	rows  []Ingredient
	index map[string][]int // rows by alias; the one taken first
}

var theBook = sync.OnceValue(func() *book {
	b, err := readBook(tableText)
	if err != nil {
		panic(err) // the table is ours, and tested
	}
	return b
})

// Ingredients returns the built-in table.
func Ingredients() []Ingredient { return slices.Clone(theBook().rows) }

// Find returns the rows that a label names, the likeliest first: none if the
// table does not know it, several if the label fits several substances.
func Find(label string) []Ingredient {
	b := theBook()
	var found []Ingredient
	for _, i := range b.find(label) {
		found = append(found, b.rows[i])
	}
	return found
}

func (b *book) find(label string) []int {
	k := normal(label)
	for _, try := range []string{k, strings.TrimSuffix(k, "s"), k + "s", normal(withoutBrackets(label))} {
		if rows := b.index[try]; len(rows) > 0 && try != "" {
			return rows
		}
	}
	return nil
}

// commonWords are of too many names to say what is meant.
var commonWords = []string{"grain", "raw", "dry", "dried", "whole", "meal", "flour", "powder"}

// near returns up to three names that share a word with label.
func (b *book) near(label string) []string {
	words := strings.Fields(normal(label))
	var names []string
	for i := range b.rows {
		for _, w := range strings.Fields(normal(b.rows[i].Name)) {
			if len(w) > 2 && !slices.Contains(commonWords, w) && slices.Contains(words, w) {
				names = append(names, b.rows[i].Name)
				break
			}
		}
		if len(names) == 3 {
			break
		}
	}
	return names
}

func withoutBrackets(s string) string {
	for {
		open := strings.IndexByte(s, '(')
		if open < 0 {
			return s
		}
		shut := strings.IndexByte(s[open:], ')')
		if shut < 0 {
			return s[:open]
		}
		s = s[:open] + " " + s[open+shut+1:]
	}
}

// normal is s in lower case, with single spaces for all that is neither
// letter nor digit.
func normal(s string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(s) {
		if ('a' <= r && r <= 'z') || ('0' <= r && r <= '9') || r > 127 && r != '·' && r != '⋅' && r != '•' && r != '\u00a0' {
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			if '₀' <= r && r <= '₉' {
				r = r - '₀' + '0'
			}
			b.WriteRune(r)
			continue
		}
		gap = true
	}
	return b.String()
}

func readBook(text string) (*book, error) {
	b := &book{index: map[string][]int{}}
	taken := map[string]int{}
	var columns []string
	for n, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "\t")
		if columns == nil {
			columns = cells
			continue
		}
		if len(cells) != len(columns) {
			return nil, fmt.Errorf("substrate: ingredients.tsv line %d has %d cells, want %d", n+1, len(cells), len(columns))
		}
		row := make(map[string]string, len(columns))
		for i, c := range columns {
			row[c] = cells[i]
		}
		ing, err := readRow(row)
		if err != nil {
			return nil, fmt.Errorf("substrate: ingredients.tsv line %d: %w", n+1, err)
		}
		at := len(b.rows)
		b.rows = append(b.rows, ing)
		labels := append(strings.Split(row["aliases"], ";"), ing.Name, ing.ID)
		if ing.Source == "SR28" {
			labels = append(labels, ing.Number)
		}
		for _, label := range labels {
			if err := b.alias(label, at, taken); err != nil {
				return nil, fmt.Errorf("substrate: ingredients.tsv line %d: %w", n+1, err)
			}
		}
	}
	return b, nil
}

// alias lets label find row at. One that begins with ? may fit several.
func (b *book) alias(label string, at int, taken map[string]int) error {
	many := strings.HasPrefix(label, "?")
	k := normal(label)
	if k == "" {
		return nil
	}
	if other, ok := taken[k]; ok && other != at && !many {
		return fmt.Errorf("%q names both %s and %s", k, b.rows[other].ID, b.rows[at].ID)
	}
	if !many {
		taken[k] = at
	}
	switch rows := b.index[k]; {
	case slices.Contains(rows, at):
	case strings.HasPrefix(label, "?!"):
		b.index[k] = append([]int{at}, rows...)
	default:
		b.index[k] = append(rows, at)
	}
	return nil
}

func readRow(row map[string]string) (Ingredient, error) {
	ing := Ingredient{
		ID: row["id"], Name: row["name"], Kind: row["kind"], Source: row["source"], Number: row["number"],
		Note: row["note"], Formula: row["formula"], assumedN: strings.Contains(row["note"], "factor assumed"),
	}
	r := rowReader{row: row}
	ing.Moisture = r.share("water")
	dry := 1.0
	if row["basis"] == "as is" && ing.Moisture != nil {
		dry = 1 - *ing.Moisture
	}
	ing.N, ing.C = r.share("n"), r.share("c")
	if protein, factor := r.share("protein"), r.number("nf"); protein != nil && factor != nil {
		n := *protein / *factor
		ing.N = &n
	}
	ing.Fat, ing.Ash, ing.Protein, ing.Carbs = r.share("fat"), r.share("ash"), r.share("protein"), r.share("carb")
	ing.Fibre, ing.Sugars = r.share("fibre"), r.share("sugars")
	ing.Factor = r.number("nf")
	for _, x := range []*float64{ing.N, ing.C, ing.Fat, ing.Ash, ing.Protein, ing.Carbs, ing.Fibre, ing.Sugars} {
		if x != nil {
			*x /= dry
		}
	}
	if ions := r.number("ions"); ions != nil {
		ing.ions = *ions
	}
	ing.dryVolume = r.dryVolume(ing.Kind, dry)
	ing.Measures = r.measures()
	if r.err == nil && ing.Formula != "" {
		r.err = ing.fromFormula()
	}
	if ing.Sugars == nil && ing.Kind == "mineral" {
		ing.Sugars = ptr(0)
	}
	return ing, r.err
}

// fromFormula fills in what the columns leave open.
func (ing *Ingredient) fromFormula() error {
	c, err := parseFormula(ing.Formula)
	if err != nil {
		return err
	}
	ing.molar = c.molar - c.water
	if ing.Kind == "carbonate" {
		c.c = 0
	}
	if ing.Fat == nil {
		ing.Fat = ptr(0)
	}
	if ing.Ash == nil && ing.Kind != "salt" { // of a carbonate, as weighed dry: it stays at 550 °C
		ing.Ash = ptr(map[bool]float64{true: 1, false: 0}[ing.Kind == "carbonate"])
	}
	if ing.Ash == nil && c.n == 0 { // salts of ammonium go up in smoke in part
		ing.Ash = ptr(1)
	}
	if ing.Moisture == nil {
		water, n, carbon := c.water/c.molar, c.n/ing.molar, c.c/ing.molar
		ing.Moisture, ing.N, ing.C = &water, &n, &carbon
	}
	if ing.Sugars == nil {
		ing.Sugars = ptr(map[bool]float64{true: 1, false: 0}[ing.Kind == "sugar"])
	}
	return nil
}

// rowReader reads cells and keeps the first error.
type rowReader struct {
	row map[string]string
	err error
}

func (r *rowReader) number(column string) *float64 {
	if r.row[column] == "" {
		return nil
	}
	x, err := strconv.ParseFloat(r.row[column], 64)
	if err != nil && r.err == nil {
		r.err = fmt.Errorf("%s: %w", column, err)
	}
	return &x
}

func (r *rowReader) share(column string) *float64 {
	x := r.number(column)
	if x != nil {
		*x /= 100
	}
	return x
}

func (r *rowReader) dryVolume(kind string, dry float64) float64 {
	protein, fat, carbs, ash := r.share("protein"), r.share("fat"), r.share("carb"), r.share("ash")
	switch {
	case protein != nil && fat != nil && carbs != nil && ash != nil:
		return (*protein/proteinDensity + *fat/fatDensity + *carbs/carbohydrateDensity + *ash/ashDensity) / dry
	case kind == "salt" || kind == "carbonate" || kind == "mineral":
		return 1 / ashDensity
	case kind == "sugar" || kind == "organic":
		return 1 / carbohydrateDensity
	}
	return 1 / otherDryDensity
}

func (r *rowReader) measures() []Measure {
	var all []Measure
	for _, m := range strings.Split(r.row["measures"], ";") {
		if m == "" {
			continue
		}
		name, grams, _ := strings.Cut(m, "=")
		g, err := strconv.ParseFloat(grams, 64)
		if err != nil && r.err == nil {
			r.err = fmt.Errorf("measure %q: %w", m, err)
		}
		all = append(all, Measure{name, g})
	}
	return all
}
