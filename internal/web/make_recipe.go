package web

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// recipeForm writes a recipe: mixes with their lines, and what of each goes
// into one jar.
type recipeForm struct {
	frame
	Form  form
	Mixes []mixRows
	Known []string // ingredients that are written down
	Next  int      // the version that it would be, 0 for a new recipe
	Asks  []app.Ask
}

// mixRows are the fields of one mix. Their names end in the mix's number,
// those of its lines in the line's number too.
type mixRows struct {
	N     int
	Lines []int
}

func (recipeForm) template() string { return "make/recipe_form" }

// Fields of a form at the start and at most.
const (
	startMixes, startLines = 2, 4
	mostMixes, mostLines   = 8, 30
)

// getRecipeForm serves GET /supplies/recipe, with ?from= a recipe to change.
func (s *server) getRecipeForm(w http.ResponseWriter, r *http.Request) error {
	f := form{values: url.Values{}}
	next := 0
	if from := r.FormValue("from"); from != "" {
		v, err := s.farm.RecipeView(r.Context(), from, 1)
		if err != nil {
			return err
		}
		f.values, next = recipeValues(v.Recipe), v.Version+1
	}
	return s.showRecipeForm(w, r, http.StatusOK, f, next)
}

func (s *server) showRecipeForm(w http.ResponseWriter, r *http.Request, status int, f form, next int) error {
	known, err := s.farm.Ingredients(r.Context())
	if err != nil {
		return err
	}
	p := &recipeForm{frame: frame{Title: "Write a recipe", Section: "/supplies"}, Form: f, Next: next}
	for _, i := range known {
		p.Known = append(p.Known, i.Name)
	}
	if status != http.StatusOK {
		if p.Asks, err = s.farm.RecipeAsks(r.Context(), recipeOf(f)); err != nil {
			return err
		}
	}
	mixes, lines := sizeOf(f)
	for m := range mixes {
		p.Mixes = append(p.Mixes, mixRows{m + 1, make([]int, lines)})
		for l := range lines {
			p.Mixes[m].Lines[l] = l + 1
		}
	}
	return s.show(w, r, status, p)
}

// sizeOf returns how many mixes, and lines of each, the form shows.
func sizeOf(f form) (mixes, lines int) {
	mixes = min(mostMixes, max(startMixes, f.int("mixes", startMixes)))
	lines = min(mostLines, max(startLines, f.int("lines", startLines)))
	return mixes, lines
}

// Mix and Line return the fields of mix m and of its line l.
func (p *recipeForm) Mix(name, label string, m int) field {
	return p.Form.Field(name+strconv.Itoa(m), label)
}

// Line returns a field of line l of mix m.
func (p *recipeForm) Line(name, label string, m, l int) field {
	x := p.Form.Field(lineField(name, m, l), label)
	if name == "ing" {
		x.List = "known"
	}
	return x
}

func lineField(name string, m, l int) string { return fmt.Sprintf("%s%d.%d", name, m, l) }

// recipeValues returns a recipe as the form's fields.
func recipeValues(r lab.Recipe) url.Values {
	d := r.Details
	v := url.Values{
		"name": {r.Name}, "note": {r.Note}, "route": {string(d.Route)}, "species": {d.Species}, "ph_before": {phText(d.PHBefore)}, "ph_after": {phText(d.PHAfter)},
		"lc": {d.LC}, "soak_dry": {d.SoakDry}, "soak_drained": {d.SoakDrained},
	}
	if len(r.Mixes) > 0 {
		v.Set("percent_of", r.Mixes[0].PercentOf)
	}
	fill := make(map[string]string)
	for _, x := range r.Fills {
		fill[lab.NameKey(x.Mix)] = x.Amount
	}
	most := startLines
	for m, mix := range r.Mixes {
		n := strconv.Itoa(m + 1)
		v.Set("mix"+n, mix.Name)
		v.Set("upto"+n, mix.MakeUpTo)
		v.Set("fill"+n, fill[lab.NameKey(mix.Name)])
		for l, line := range mix.Lines {
			v.Set(lineField("ing", m+1, l+1), line.Ingredient)
			v.Set(lineField("amt", m+1, l+1), line.Amount)
		}
		most = max(most, len(mix.Lines)+1)
	}
	v.Set("mixes", strconv.Itoa(max(startMixes, len(r.Mixes))))
	v.Set("lines", strconv.Itoa(most))
	return v
}

func phText(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

// detailsOf reads what else the form says of a recipe.
func detailsOf(f form) (lab.Details, error) {
	d := lab.Details{
		Route: lab.Route(f.Get("route")), Species: f.Get("species"), LC: f.Get("lc"), SoakDry: strings.TrimSpace(f.Get("soak_dry")), SoakDrained: strings.TrimSpace(f.Get("soak_drained")),
	}
	for _, x := range []struct {
		name string
		to   **float64
	}{{"ph_before", &d.PHBefore}, {"ph_after", &d.PHAfter}} {
		typed := strings.ReplaceAll(strings.TrimSpace(f.Get(x.name)), ",", ".")
		if typed == "" {
			continue
		}
		ph, err := strconv.ParseFloat(typed, 64)
		if err != nil {
			return d, lab.Invalidf(x.name, "write a pH from 0 to 14, such as 6.5", "%q is not a pH", clipped(typed, 20))
		}
		*x.to = &ph
	}
	return d, nil
}

// answersOf reads the answers to what was asked about ingredients.
func answersOf(f form) []app.NewFigures {
	var out []app.NewFigures
	for i, name := range f.All("asked") {
		k := strconv.Itoa(i + 1)
		out = append(out, app.NewFigures{Ingredient: name, Cup: f.Get("cup" + k), StandsFor: f.Get("is" + k)})
	}
	return out
}

// recipeOf reads the form. Mixes and lines that were left blank are left out.
func recipeOf(f form) app.NewRecipe {
	n := app.NewRecipe{Name: f.Get("name"), Note: f.Get("note"), Answers: answersOf(f)}
	for _, rows := range typedRows(f) {
		k := strconv.Itoa(rows.N)
		mix := lab.Mix{Name: mixName(f, rows.N), MakeUpTo: f.Get("upto" + k), PercentOf: f.Get("percent_of")}
		for _, l := range rows.Lines {
			mix.Lines = append(mix.Lines, lab.RecipeLine{Ingredient: f.Get(lineField("ing", rows.N, l)), Amount: strings.TrimSpace(f.Get(lineField("amt", rows.N, l)))})
		}
		n.Mixes = append(n.Mixes, mix)
		if fill := f.Get("fill" + k); strings.TrimSpace(fill) != "" {
			n.Fills = append(n.Fills, lab.Fill{Mix: mix.Name, Amount: fill})
		}
	}
	return n
}

// typedRows lists the mixes, and the lines of each, that are not blank.
func typedRows(f form) []mixRows {
	var out []mixRows
	mixes, lines := sizeOf(f)
	for m := 1; m <= mixes; m++ {
		k := strconv.Itoa(m)
		rows := mixRows{N: m}
		for l := 1; l <= lines; l++ {
			if strings.TrimSpace(f.Get(lineField("ing", m, l))+f.Get(lineField("amt", m, l))) != "" {
				rows.Lines = append(rows.Lines, l)
			}
		}
		if len(rows.Lines) > 0 || strings.TrimSpace(f.Get("mix"+k)+f.Get("upto"+k)+f.Get("fill"+k)) != "" {
			out = append(out, rows)
		}
	}
	return out
}

// mixName is what mix m is called.
func mixName(f form, m int) string {
	if name := f.Get("mix" + strconv.Itoa(m)); strings.TrimSpace(name) != "" {
		return name
	}
	return "mix " + strconv.Itoa(m)
}

// What a fault of a recipe can be about.
var (
	ofAnswer = regexp.MustCompile(`^answers\[(\d+)\]\.(\w+)$`)
	ofMix    = regexp.MustCompile(`^recipe\.mixes\[(\d+)\](?:\.lines\[(\d+)\])?(?:\.(\w+))?$`)
)

// atRecipe puts a fault of the recipe at the field that it was typed into.
func atRecipe(f form, err error) error {
	p, ok := lab.AsProblem(err)
	if !ok {
		return err
	}
	q := *p
	rows := typedRows(f)
	switch mix, isFill := strings.CutPrefix(q.Field, "recipe.fill."); {
	case isFill:
		for _, r := range rows {
			if lab.NameKey(mixName(f, r.N)) == lab.NameKey(mix) {
				q.Field = "fill" + strconv.Itoa(r.N)
			}
		}
	case q.Field == "recipe.fill":
		for _, r := range rows {
			if k := "fill" + strconv.Itoa(r.N); strings.TrimSpace(f.Get(k)) == "" {
				q.Field = k
				break
			}
		}
	case q.Field == "recipe.mixes":
		q.Field = lineField("ing", 1, 1)
	default:
		if m := ofAnswer.FindStringSubmatch(q.Field); m != nil {
			i, _ := strconv.Atoi(m[1])
			q.Field = map[string]string{"cup": "cup", "stands_for": "is"}[m[2]] + strconv.Itoa(i+1)
		} else if m := ofMix.FindStringSubmatch(q.Field); m != nil {
			q.Field = mixField(rows, m)
		}
	}
	return &q
}

// mixField is the form's name of what ofMix found.
func mixField(rows []mixRows, m []string) string {
	i, _ := strconv.Atoi(m[1])
	if i >= len(rows) {
		return m[0]
	}
	n := strconv.Itoa(rows[i].N)
	if m[2] != "" {
		l, _ := strconv.Atoi(m[2])
		if l >= len(rows[i].Lines) {
			return m[0]
		}
		if m[3] == "ingredient" {
			return lineField("ing", rows[i].N, rows[i].Lines[l])
		}
		return lineField("amt", rows[i].N, rows[i].Lines[l])
	}
	switch m[3] {
	case "make_up_to":
		return "upto" + n
	case "percent_of":
		return m[3]
	case "lines":
		if len(rows[i].Lines) > 0 {
			return lineField("amt", rows[i].N, rows[i].Lines[0])
		}
		return lineField("ing", rows[i].N, 1)
	}
	return "mix" + n
}

// postRecipeForm serves POST /supplies/recipe: keeps the recipe, or with
// "more" shows more fields.
func (s *server) postRecipeForm(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if more := f.Get("more"); more != "" {
		mixes, lines := sizeOf(f)
		if more == "mix" {
			mixes++
		} else {
			lines += startLines
		}
		f.values.Set("mixes", strconv.Itoa(mixes))
		f.values.Set("lines", strconv.Itoa(lines))
		return s.showRecipeForm(w, r, http.StatusOK, f, 0)
	}
	id, err := formID[lab.RecipeVersionID](f)
	var kept lab.Recipe
	if err == nil {
		n := recipeOf(f)
		n.ID = id
		if n.Details, err = detailsOf(f); err == nil {
			kept, err = s.farm.AddRecipe(r.Context(), n)
		}
	}
	if err != nil {
		if f, err = f.with(atRecipe(f, err)); err != nil {
			return err
		}
		return s.showRecipeForm(w, r, http.StatusUnprocessableEntity, f, 0)
	}
	remember(w, r, "", kept.String()+" written down")
	return seeOther(w, r, at("recipes", kept.Name))
}

// poured is what a mix gets besides its lines: water to make it up.
type poured struct {
	Name  string
	Grams float64
}

// Poured returns what mix gets besides its lines.
func (p *recipePage) Poured(mix string) []poured {
	listed := make(map[string]bool)
	for _, m := range p.Mixes {
		for _, l := range m.Lines {
			if m.Name == mix {
				listed[l.Ingredient] = true
			}
		}
	}
	var out []poured
	grams := p.Answer.Result.Batch[mix]
	for _, name := range slices.Sorted(maps.Keys(grams)) {
		if !listed[name] {
			out = append(out, poured{name, grams[name]})
		}
	}
	return out
}
