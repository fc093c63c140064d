package trialstat

// factor is a column of a table that may have moved with the arms.
type factor struct {
	name   string // as in JSON
	word   string // as in a sentence
	many   string
	of     func(*CompareRow) *Label
	offers bool // arms may differ in it on purpose
}

// Names of the factors that have a part of their own to play.
const (
	factorCook      = "cook"
	factorLayer     = "layer"
	factorRecipe    = "recipe"
	factorCulture   = "culture"
	factorContainer = "container"
	factorTreatment = "treatment"
	factorMixMade   = "mix_made"
	factorLC        = "lc"
	factorShelf     = "shelf"
	factorRoom      = "room"
	factorDay       = "day"
	factorOther     = "other_factors" // the levels of the other factors of a crossing
)

// factors lists every factor in the order in which they are reported.
var factors = []factor{
	{factorCook, "cook", "cooks", func(r *CompareRow) *Label { return &r.Cook }, false},
	{factorLayer, "layer", "layers", func(r *CompareRow) *Label { return &r.Layer }, false},
	{factorShelf, "shelf", "shelves", func(r *CompareRow) *Label { return &r.Shelf }, false},
	{factorRoom, "room", "rooms", func(r *CompareRow) *Label { return &r.Room }, false},
	{factorDay, "day", "days", func(r *CompareRow) *Label { return &r.Day }, false},
	{"person", "person", "persons", func(r *CompareRow) *Label { return &r.Person }, false},
	{factorLC, "liquid culture", "liquid cultures", func(r *CompareRow) *Label { return &r.LC }, false},
	{factorMixMade, "making of the mix", "makings of the mix", func(r *CompareRow) *Label { return &r.MixMade }, false},
	{factorRecipe, "recipe", "recipes", func(r *CompareRow) *Label { return &r.Recipe }, true},
	{factorCulture, "culture", "cultures", func(r *CompareRow) *Label { return &r.Culture }, true},
	{factorContainer, "container", "containers", func(r *CompareRow) *Label { return &r.Container }, true},
	{factorTreatment, "treatment", "treatments", func(r *CompareRow) *Label { return &r.Treatment }, true},
	{factorOther, "other factors", "other factors", func(r *CompareRow) *Label { return &r.others }, false},
}

// factorNamed returns the factor of that name.
func factorNamed(name string) (factor, bool) {
	for _, f := range factors {
		if f.name == name {
			return f, true
		}
	}
	return factor{}, false
}

// column is a factor as codes: one per row, -1 where it is not recorded.
type column struct {
	factor
	codes  []int
	levels []string // by code, in order of first appearance
}

// column returns a factor over all rows.
func (s *sheet) column(f factor) column {
	c := column{factor: f, codes: make([]int, len(s.rows))}
	seen := map[string]int{}
	for i := range s.rows {
		name := f.of(&s.rows[i]).Trimmed()
		if name == "" {
			c.codes[i] = -1
			continue
		}
		code, ok := seen[name]
		if !ok {
			code = len(c.levels)
			seen[name] = code
			c.levels = append(c.levels, name)
		}
		c.codes[i] = code
	}
	return c
}

// varies reports whether the factor has two levels or more over the rows, and
// not one of its own for every jar, which would be but another name for the jar.
func (c column) varies(rows []int) bool {
	seen := make([]int, len(c.levels))
	levels, jars := 0, 0
	for _, i := range rows {
		if k := c.codes[i]; k >= 0 {
			if seen[k] == 0 {
				levels++
			}
			seen[k]++
			jars++
		}
	}
	return levels > 1 && levels < jars
}
