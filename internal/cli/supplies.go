package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type cultureCmds struct {
	Add  cultureAddCmd  `cmd:"" help:"Keep a culture."`
	List cultureListCmd `cmd:"" help:"List the cultures."`
}

type cultureAddCmd struct {
	signed
	Name    string `arg:"" help:"Name, such as LC-3."`
	Form    string `help:"LC, plate, slant, syringe, grain, print." default:"LC"`
	Strain  string `help:"Strain." placeholder:"NAME"`
	Species string `help:"Species." placeholder:"NAME"`
	Parent  string `help:"Culture that it was taken from." placeholder:"NAME"`
	Made    string `help:"Day; today if left out." default:"today"`
	Note    string `help:"Anything else." placeholder:"TEXT"`
}

func (c *cultureAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddCulture(r.ctx, app.NewCulture{Name: c.Name, Form: c.Form, Strain: c.Strain, Species: c.Species, Parent: c.Parent, Made: c.Made, Note: c.Note})
		if err != nil {
			return err
		}
		return r.printKept("culture", got.Name)
	})
}

// printKept says what was kept.
func (r *run) printKept(noun, name string) error {
	return r.print(map[string]string{noun: name}, func(w io.Writer) { fmt.Fprintf(w, "kept the %s %s\n", noun, name) })
}

type cultureListCmd struct{ records }

func (c *cultureListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Cultures(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Culture string   `json:"culture"`
			Form    lab.Form `json:"form"`
			Strain  string   `json:"strain"`
			Species string   `json:"species"`
			Parent  string   `json:"parent"`
			Made    *string  `json:"made"`
		}
		out := []view{}
		for _, x := range rows {
			out = append(out, view{x.Name, x.Form, x.Strain, x.Species, x.ParentName, viewWhen(x.Made)})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("culture", "form", "strain", "from", "made")
			for i, v := range out {
				t.row(v.Culture, v.Form, v.Strain, v.Parent, rows[i].Made.Show(f.Zone(r.ctx)))
			}
			t.write(w)
		})
	})
}

type ingredientCmds struct {
	Add  ingredientAddCmd  `cmd:"" help:"Keep an ingredient."`
	List ingredientListCmd `cmd:"" help:"List the ingredients."`
}

type ingredientAddCmd struct {
	signed
	Name     string `arg:"" help:"Name."`
	Moisture string `help:"Water as measured, wet basis." placeholder:"12%"`
	Note     string `help:"Anything else." placeholder:"TEXT"`
}

func (c *ingredientAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddIngredient(r.ctx, app.NewIngredient{Name: c.Name, Moisture: c.Moisture, Note: c.Note})
		if err != nil {
			return err
		}
		return r.printKept("ingredient", got.Name)
	})
}

type ingredientListCmd struct{ records }

func (c *ingredientListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Ingredients(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Ingredient string   `json:"ingredient"`
			Moisture   *float64 `json:"moisture_pct"`
		}
		out := []view{}
		for _, i := range rows {
			v := view{Ingredient: i.Name}
			if i.Moisture != nil {
				pct := 100 * float64(*i.Moisture)
				v.Moisture = &pct
			}
			out = append(out, v)
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("ingredient", "water %")
			for _, v := range out {
				t.row(v.Ingredient, decimals(v.Moisture, 1))
			}
			t.write(w)
		})
	})
}

type containerCmds struct {
	Add  containerAddCmd  `cmd:"" help:"Keep a kind of vessel."`
	List containerListCmd `cmd:"" help:"List the kinds of vessel."`
}

type containerAddCmd struct {
	signed
	Name   string `arg:"" help:"Name."`
	Kind   string `help:"jar, bottle, bag, tub or plate." default:"jar"`
	Volume string `help:"Brim-full." placeholder:"500mL"`
	Bore   string `help:"Inner diameter." placeholder:"80mm"`
	Height string `help:"Inner height." placeholder:"110mm"`
	Note   string `help:"Anything else." placeholder:"TEXT"`
}

func (c *containerAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddContainer(r.ctx, app.NewContainer{Name: c.Name, Kind: c.Kind, Volume: c.Volume, Bore: c.Bore, Height: c.Height, Note: c.Note})
		if err != nil {
			return err
		}
		return r.printKept("container", got.Name)
	})
}

type containerListCmd struct{ records }

func (c *containerListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Containers(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Container string            `json:"container"`
			Kind      lab.ContainerKind `json:"kind"`
			Volume    *float64          `json:"volume_ml"`
			Bore      *float64          `json:"bore_mm"`
			Height    *float64          `json:"height_mm"`
		}
		out := []view{}
		for _, x := range rows {
			out = append(out, view{x.Name, x.Kind, known(float64(x.Volume)), known(float64(x.Bore)), known(float64(x.Height))})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("container", "kind", "mL", "bore mm", "height mm")
			for _, v := range out {
				t.row(v.Container, v.Kind, decimals(v.Volume, 0), decimals(v.Bore, 0), decimals(v.Height, 0))
			}
			t.write(w)
		})
	})
}

type recipeCmds struct {
	Add  recipeAddCmd  `cmd:"" help:"Keep a recipe; a name that is known makes the next version."`
	List recipeListCmd `cmd:"" help:"List the recipes."`
	Show recipeShowCmd `cmd:"" help:"Work a recipe out for some jars."`
}

type recipeAddCmd struct {
	signed
	Name string   `arg:"" optional:"" help:"Name."`
	In   string   `help:"JSON file {name, mixes[{name, lines[{ingredient, amount}], make_up_to}], fill{mix: amount}}." placeholder:"FILE"`
	Mix  []string `help:"One for each mix: 'grain: 40 g oats' or 'broth to 1 L: 20 g malt extract, 3 g yeast extract'." sep:"none" placeholder:"'MIX: LINES'"`
	Fill []string `help:"One for each mix: '48 mL broth'." sep:"none" placeholder:"'AMOUNT MIX'"`
	Note string   `help:"Anything else." placeholder:"TEXT"`
}

func (c *recipeAddCmd) Run(r *run) error {
	in := app.NewRecipe{Name: c.Name, Note: c.Note}
	var err error
	if c.In != "" {
		in, err = r.readRecipe(c.In)
	} else {
		in.Mixes, in.Fills, err = lab.ParseRecipe(c.Mix, c.Fill)
	}
	if err != nil {
		return err
	}
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddRecipe(r.ctx, in)
		if err != nil {
			return err
		}
		return r.printKept("recipe", got.String())
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
	Name    string `arg:"" help:"Recipe."`
	Jars    int    `help:"Jars to work it out for." default:"1"`
	Working bool   `help:"Print the working too."`
}

func (c *recipeShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.RecipeView(r.ctx, c.Name, c.Jars)
		if err != nil {
			return err
		}
		if v.Answer == nil {
			return lab.Conflictf("enter it with pinset recipe add", "nothing is known of %s but its name", v.Name)
		}
		return r.printAnswer(v.Answer, c.Working)
	})
}

type farmCmds struct {
	Show farmShowCmd `cmd:"" help:"Show name, time zone and altitude."`
	Set  farmSetCmd  `cmd:"" help:"Set them."`
}

type farmShowCmd struct{ records }

func (c *farmShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.Settings(r.ctx)
		if err != nil {
			return err
		}
		out := struct {
			Name     string   `json:"name"`
			Zone     string   `json:"zone"`
			Altitude *float64 `json:"altitude_m"`
		}{s.Name, s.Zone.String(), s.Altitude}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "name      %s\nzone      %s\naltitude  %s m\n", out.Name, out.Zone, decimals(out.Altitude, 0))
		})
	})
}

type farmSetCmd struct {
	signed
	Name     string `help:"Name of the farm." placeholder:"NAME"`
	Zone     string `help:"Time zone." placeholder:"Europe/Lisbon"`
	Altitude string `help:"Height above the sea." placeholder:"420m"`
}

func (c *farmSetCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		if err := f.SaveSettings(r.ctx, app.NewSettings{Name: c.Name, Zone: c.Zone, Altitude: c.Altitude}); err != nil {
			return err
		}
		return r.printKept("farm", c.Name)
	})
}
