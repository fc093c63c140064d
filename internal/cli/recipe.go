package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type recipeCmds struct {
	Add  recipeAddCmd  `cmd:"" help:"Keep a recipe; a name that is known makes the next version."`
	List recipeListCmd `cmd:"" help:"List the recipes."`
	Show recipeShowCmd `cmd:"" help:"Work a recipe out for some jars."`

	Audit  recipeAuditCmd  `cmd:"" help:"Say what a recipe found elsewhere really is."`
	Ladder recipeLadderCmd `cmd:"" help:"Draft a small trial that steps one amount; --keep makes it."`
}

type recipeAddCmd struct {
	signed
	Name string   `arg:"" optional:"" help:"Name."`
	In   string   `help:"JSON file {name, mixes[{name, lines[{ingredient, amount}], make_up_to}], fill{mix: amount}}." placeholder:"FILE"`
	Mix  []string `help:"One for each mix: 'grain: 40 g oats' or 'broth to 1 L: 20 g malt extract, 3 g yeast extract'." sep:"none" placeholder:"'MIX: LINES'"`
	Fill []string `help:"One for each mix: '48 mL broth'." sep:"none" placeholder:"'AMOUNT MIX'"`
	Note string   `help:"Anything else." placeholder:"TEXT"`

	Route    string   `help:"How it comes into the vessel: 'dry grain and broth', 'soaked or simmered', block, agar, LC." placeholder:"ROUTE"`
	Species  string   `help:"That it is meant for." placeholder:"NAME"`
	PHBefore *float64 `help:"pH before the cook." name:"ph-before" placeholder:"PH"`
	PHAfter  *float64 `help:"pH after the cook." name:"ph-after" placeholder:"PH"`
	LC       string   `help:"Liquid culture into one jar." name:"lc" placeholder:"3mL"`
	SoakDry  string   `help:"Of soaked grain: dry grain in." placeholder:"1kg"`
	SoakWet  string   `help:"Of soaked grain: drained grain out." name:"soak-drained" placeholder:"1.7kg"`
	PctOf    string   `help:"What per cent are a share of: weight or dry." name:"percent-of" enum:"weight,dry" default:"weight"`
	Cup      []string `help:"One for each that is asked for: 'oats = 120 g a cup'." sep:"none" placeholder:"'NAME = WEIGHT'"`
	Is       []string `help:"One for each that is asked for: 'ammonium citrate = triammonium citrate'." sep:"none" placeholder:"'NAME = ROW'"`
}

// details puts the flags beside the mixes.
func (c *recipeAddCmd) details(in *app.NewRecipe) error {
	in.Details = lab.Details{
		Route: lab.Route(c.Route), Species: c.Species, PHBefore: c.PHBefore, PHAfter: c.PHAfter, LC: c.LC, SoakDry: c.SoakDry, SoakDrained: c.SoakWet,
	}
	if c.PctOf == "dry" {
		for i := range in.Mixes {
			in.Mixes[i].PercentOf = "dry"
		}
	}
	for _, text := range c.Cup {
		name, weight, ok := strings.Cut(text, "=")
		if !ok {
			return lab.Invalidf("cup", "write it like 'oats = 120 g'", "%q is not NAME = WEIGHT", text)
		}
		in.Answers = append(in.Answers, app.NewFigures{Ingredient: strings.TrimSpace(name), Cup: strings.TrimSuffix(strings.TrimSpace(weight), " a cup")})
	}
	for _, text := range c.Is {
		name, row, ok := strings.Cut(text, "=")
		if !ok {
			return lab.Invalidf("is", "write it like 'ammonium citrate = triammonium citrate'", "%q is not NAME = ROW", text)
		}
		in.Answers = append(in.Answers, app.NewFigures{Ingredient: strings.TrimSpace(name), StandsFor: strings.TrimSpace(row)})
	}
	return nil
}

func (c *recipeAddCmd) Run(r *run) error {
	in := app.NewRecipe{Name: c.Name, Note: c.Note}
	var err error
	if c.In != "" {
		in, err = r.readRecipe(c.In)
	} else {
		in.Mixes, in.Fills, err = lab.ParseRecipe(c.Mix, c.Fill)
		if err == nil {
			err = c.details(&in)
		}
	}
	if err != nil {
		return err
	}
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddRecipe(r.ctx, in)
		if err != nil {
			return err
		}
		asks, err := f.RecipeAsks(r.ctx, in)
		if err != nil {
			return err
		}
		return r.printRecipe(got.String(), asks)
	})
}

// printRecipe says what was kept, and what a label still leaves open.
func (r *run) printRecipe(name string, asks []app.Ask) error {
	open := []string{}
	for _, a := range asks {
		open = append(open, a.Sentence())
	}
	return r.print(map[string]any{"recipe": name, "asks": open}, func(w io.Writer) {
		fmt.Fprintln(w, "kept the recipe", name)
		for _, a := range asks {
			fmt.Fprintln(w, a.Sentence())
			if len(a.Choices) > 0 {
				fmt.Fprintf(w, "  say it once: pinset ingredient set %q --stands-for %q\n", a.Ingredient, a.Choices[0])
			}
		}
	})
}

func (r *run) readRecipe(name string) (app.NewRecipe, error) {
	raw, err := r.readInput(name, "the recipe as JSON")
	if err != nil {
		return app.NewRecipe{}, err
	}
	var in struct {
		Name  string            `json:"name"`
		Mixes []lab.Mix         `json:"mixes"`
		Fill  map[string]string `json:"fill"`
		Note  string            `json:"note"`
	}
	d := json.NewDecoder(strings.NewReader(string(raw)))
	d.DisallowUnknownFields()
	if err := d.Decode(&in); err != nil {
		return app.NewRecipe{}, lab.Invalidf("in", "see pinset recipe add --help", "the recipe can not be read: %v", err)
	}
	out := app.NewRecipe{Name: in.Name, Mixes: in.Mixes, Note: in.Note}
	for _, m := range in.Mixes {
		if amount, ok := in.Fill[m.Name]; ok {
			out.Fills = append(out.Fills, lab.Fill{Mix: m.Name, Amount: amount})
			delete(in.Fill, m.Name)
		}
	}
	for mix, amount := range in.Fill {
		out.Fills = append(out.Fills, lab.Fill{Mix: mix, Amount: amount})
	}
	return out, nil
}

type recipeListCmd struct{ records }

func (c *recipeListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Recipes(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Recipe  string     `json:"recipe"`
			Version int        `json:"version"`
			Mixes   []lab.Mix  `json:"mixes"`
			Fills   []lab.Fill `json:"fill"`
		}
		out := []view{}
		for _, x := range rows {
			out = append(out, view{x.Name, x.Version, x.Mixes, x.Fills})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("recipe", "version", "into one jar")
			for _, v := range out {
				var fill []string
				for _, f := range v.Fills {
					fill = append(fill, f.Amount+" "+f.Mix)
				}
				t.row(v.Recipe, v.Version, strings.Join(fill, ", "))
			}
			t.write(w)
		})
	})
}

type recipeShowCmd struct {
	records
	Name      string `arg:"" help:"Recipe."`
	Jars      int    `help:"Jars to work it out for." default:"1"`
	Container string `help:"Container, for depth and headspace." placeholder:"NAME"`
	LC        string `help:"Liquid culture into one jar." name:"lc" placeholder:"3mL"`
	Target    string `help:"Moisture to come to." placeholder:"60%"`
	Working   bool   `help:"Print the working too."`
}

func (c *recipeShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.RecipeBalance(r.ctx, app.RecipeQuery{Name: c.Name, Jars: c.Jars, Container: c.Container, LC: c.LC, Target: c.Target})
		if err != nil {
			return err
		}
		if v.Answer == nil && len(v.Asks) > 0 {
			return lab.Conflictf("answer it with pinset ingredient set", "%s", v.Asks[0].Sentence())
		}
		if v.Answer == nil {
			return lab.Conflictf("enter it with pinset recipe add", "nothing is known of %s but its name", v.Name)
		}
		if err := r.printAnswer(v.Answer, c.Working); err != nil || r.json {
			return err
		}
		return r.print(nil, func(w io.Writer) { printTarget(w, v) })
	})
}

// printTarget prints what is known of the species, and what is asked.
func printTarget(w io.Writer, v app.RecipeView) {
	if v.Currency != "" {
		fmt.Fprintf(w, "\nCosts are in %s.\n", v.Currency)
	}
	if e := v.Enough; e != nil {
		fmt.Fprintf(w, "\nWhat is left is enough for %s; then %s of %s is used up.\n", counted(e.Jars, "jar"), e.Limits, e.Lot)
	}
	if t := v.Target; t != nil {
		fmt.Fprintf(w, "\n%s, ranges to look at, no marks to pass\n", t.Species)
		if t.Moisture.Known() {
			fmt.Fprintf(w, "  moisture %g to %g %% (%s)\n", t.Moisture.Low, t.Moisture.High, t.Moisture.Source)
		}
		if t.CN.Known() {
			fmt.Fprintf(w, "  C:N %g to %g (%s)\n", t.CN.Low, t.CN.High, t.CN.Source)
		}
	}
	for _, a := range v.Asks {
		wrap(w, "", a.Sentence())
	}
}
