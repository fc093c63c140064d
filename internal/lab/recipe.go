package lab

import (
	"fmt"
	"time"

	"pinset/internal/figure"
)

// Recipe is one version of a recipe: mixes, and how much of each goes into
// one vessel. A version is never edited; a change makes the next.
type Recipe struct {
	ID      RecipeVersionID
	Line    RecipeID // what all versions of one recipe share
	Name    string   // unique among lines
	Version int      // 1, 2, 3 …
	Mixes   []Mix
	Fills   []Fill
	Made    time.Time
	Note    string
	Details Details
}

// Mix is ingredients made up together: a dry mix, or a broth made up to a volume.
type Mix struct {
	Name     string       `json:"name"`
	Lines    []RecipeLine `json:"lines"`
	MakeUpTo string       `json:"make_up_to,omitempty"` // as typed, such as "1 L"; "" if not made up to a volume
	// PercentOf is what "n %" is a share of: the weight as weighed, also if
	// "", or the dry matter.
	PercentOf string `json:"percent_of,omitempty"`
}

// RecipeLine is one ingredient of a mix, with its amount as typed.
type RecipeLine struct {
	Ingredient string `json:"ingredient"`
	Amount     string `json:"amount"`
}

// Fill is how much of a mix goes into one vessel, as typed.
type Fill struct {
	Mix    string `json:"mix"`
	Amount string `json:"amount"`
}

// NameOnly reports whether nothing is known of the recipe but its name, as
// when a grower's sheet names it.
func (r Recipe) NameOnly() bool { return len(r.Mixes) == 0 }

// String returns the recipe's name and version, such as "rye and malt, version 2".
func (r Recipe) String() string {
	if r.Version <= 1 {
		return r.Name
	}
	return fmt.Sprintf("%s, version %d", r.Name, r.Version)
}

// maxLines bounds the lines of a recipe.
const maxLines = 200

// Check returns r with its texts tidied, or an Invalid Problem: mixes have
// names that differ and at least one line, and every fill names a mix.
// Amounts are read by calc/substrate, not here.
func (r Recipe) Check() (Recipe, error) {
	var err error
	if r.Name, err = Name("recipe", r.Name); err != nil {
		return Recipe{}, err
	}
	if len(r.Mixes) == 0 {
		return Recipe{}, Invalidf("recipe.mixes", "write at least one mix with one ingredient", "the recipe %s holds nothing", r.Name)
	}
	mixes := make(map[string]bool)
	lines := 0
	for i := range r.Mixes {
		field := fmt.Sprintf("recipe.mixes[%d]", i)
		if r.Mixes[i], err = r.Mixes[i].check(field); err != nil {
			return Recipe{}, err
		}
		if mixes[NameKey(r.Mixes[i].Name)] {
			return Recipe{}, Invalidf(field+".name", "give each mix a name of its own", "two mixes are called %s", r.Mixes[i].Name)
		}
		mixes[NameKey(r.Mixes[i].Name)] = true
		lines += len(r.Mixes[i].Lines)
	}
	if lines > maxLines {
		return Recipe{}, Invalidf("recipe.mixes", "split it into several recipes", "the recipe has %d lines, %d are kept", lines, maxLines)
	}
	if len(r.Fills) == 0 {
		return Recipe{}, Invalidf("recipe.fill", "say how much of each mix goes into one vessel", "nothing goes into the vessel")
	}
	for _, f := range r.Fills {
		if !mixes[NameKey(f.Mix)] {
			return Recipe{}, Invalidf("recipe.fill."+f.Mix, "name one of the mixes above", "the fill names %q, which is not a mix of this recipe", figure.Clip(f.Mix, 40))
		}
		if f.Amount == "" {
			return Recipe{}, Invalidf("recipe.fill."+f.Mix, "write an amount such as 50 g or 60 mL", "how much %s goes into a vessel is not said", f.Mix)
		}
	}
	if r.Note, err = Text("note", r.Note); err != nil {
		return Recipe{}, err
	}
	r.Details, err = r.Details.check()
	return r, err
}

// check names in a Problem the field under field, such as
// recipe.mixes[0].lines[2].amount.
func (m Mix) check(field string) (Mix, error) {
	var err error
	if m.Name, err = Name("mix", m.Name); err != nil {
		return Mix{}, under(field+".name", err)
	}
	switch m.PercentOf {
	case "", "weight", "dry":
	default:
		return Mix{}, Invalidf(field+".percent_of", "choose weight or dry", "per cent of %q is not known", figure.Clip(m.PercentOf, 40))
	}
	if len(m.Lines) == 0 {
		return Mix{}, Invalidf(field+".lines", "write at least one ingredient", "the mix %s holds nothing", m.Name)
	}
	for i, l := range m.Lines {
		if m.Lines[i].Ingredient, err = Name("ingredient", l.Ingredient); err != nil {
			return Mix{}, under(fmt.Sprintf("%s.lines[%d].ingredient", field, i), err)
		}
		if l.Amount == "" {
			return Mix{}, Invalidf(fmt.Sprintf("%s.lines[%d].amount", field, i), "write an amount such as 20 g, 1/2 cup or 3 parts", "%s has no amount in %s", l.Ingredient, m.Name)
		}
	}
	return m, nil
}

// under puts field into an Invalid Problem.
func under(field string, err error) error {
	if p, ok := AsProblem(err); ok && p.Kind == Invalid {
		q := *p
		q.Field = field
		return &q
	}
	return err
}

// Making is one making-up of a mix.
type Making struct {
	Entry
	Batch   BatchID
	Recipe  RecipeVersionID
	Mix     string
	Label   string // which making of the batch: jars carry the same label
	Weighed []Weighed
}

// Weighed is what went into a making, as typed and in grams.
type Weighed struct {
	Ingredient string  `json:"ingredient"`
	Typed      string  `json:"typed"`
	Grams      float64 `json:"grams"`
	// Lot is the delivery that it was taken from, "" if not said.
	Lot IngredientLotID `json:"lot,omitempty"`
}
