package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type recipeAuditCmd struct {
	records
	Text     string `arg:"" optional:"" help:"The recipe as it was found, such as '2 cups oats, 1 tbsp gypsum, 60 % moisture'."`
	In       string `help:"File with it, - for standard input." placeholder:"FILE"`
	Moisture string `help:"Moisture that is claimed, if the text does not say it." placeholder:"60%"`
	PctOf    string `help:"What per cent are a share of: weight or dry." name:"percent-of" enum:"weight,dry" default:"weight"`
}

func (c *recipeAuditCmd) Run(r *run) error {
	text := c.Text
	if c.In != "" {
		raw, err := r.readInput(c.In, "the recipe")
		if err != nil {
			return err
		}
		text = string(raw)
	}
	if strings.TrimSpace(text) == "" {
		return lab.Invalidf("text", "write it as an argument, or name a file with --in", "no recipe is given")
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		a, err := f.AuditFound(r.ctx, app.FoundInput{Text: text, PercentOf: c.PctOf, Moisture: c.Moisture})
		if err != nil {
			return err
		}
		for _, ask := range a.Asks {
			if ask.Choices == nil {
				return lab.Conflictf("answer it with pinset ingredient set", "%s", ask.Sentence())
			}
		}
		return r.print(a, func(w io.Writer) { printFound(w, a) })
	})
}

func printFound(w io.Writer, a app.FoundAudit) {
	wrap(w, "", a.Sentence)
	fmt.Fprintln(w)
	t := newTable("ingredient", "as found", "g")
	for _, l := range a.Lines {
		t.row(l.Ingredient, l.Typed, decimals(l.Grams, 1))
	}
	t.write(w)
	for _, g := range a.Guessed {
		wrap(w, "", fmt.Sprintf("%s can hold %.0f to %.0f %% water (%s); measure it.", g.Ingredient, g.LowPct, g.HighPct, g.Source))
	}
	for _, c := range a.Claims {
		if c.Reading != "" {
			wrap(w, "", fmt.Sprintf("%s: %s.", c.Typed, c.Reading))
		}
	}
	if p := a.WaterG; p != nil {
		fmt.Fprintf(w, "For the claimed moisture pour %.0f to %.0f g of water on each kilogram.\n", p.Low, p.High)
	}
	for _, u := range a.Unread {
		fmt.Fprintf(w, "Not read: %s\n", u)
	}
	printCautions(w, a.Cautions)
}

type recipeLadderCmd struct {
	signed
	Recipe    string   `arg:"" help:"Recipe."`
	Step      string   `arg:"" help:"Ingredient whose amount is stepped, or mix whose fill is."`
	From      string   `required:"" help:"First amount." placeholder:"100g"`
	To        string   `required:"" help:"Last amount." placeholder:"120g"`
	StepBy    string   `required:"" name:"by-step" help:"Step." placeholder:"5g"`
	Lot       string   `help:"Ingredient lot that all is made from." placeholder:"I7"`
	Jars      int      `help:"Jars of each step." default:"3"`
	Blanks    int      `help:"Blanks in each cook." default:"1"`
	Cook      []string `help:"One for each cook: jars that each layer takes, bottom first, such as 7,7." sep:"none" placeholder:"7,7"`
	Hold      string   `help:"Your own rule for the hold." placeholder:"60min"`
	Gauge     string   `help:"Target on the gauge." placeholder:"15psi"`
	Culture   string   `help:"Culture of all jars." placeholder:"NAME"`
	Container string   `help:"Container of all jars." placeholder:"NAME"`
	Name      string   `help:"Name of the trial." placeholder:"NAME"`
	Closing   string   `help:"Closing day." placeholder:"DAY"`
	Seed      string   `help:"Seed of the draw." placeholder:"N"`
	Keep      bool     `help:"Make it; without this nothing is stored."`
}

// rungView is a step for printing.
type rungView struct {
	Amount   string   `json:"amount"`
	Recipe   string   `json:"recipe"`
	WetG     float64  `json:"wet_g"`
	Moisture *float64 `json:"moisture_pct"`
	CN       *float64 `json:"cn"`
}

func (c *recipeLadderCmd) Run(r *run) error {
	flags := planFlags{Cook: c.Cook, Hold: c.Hold, Gauge: c.Gauge}
	plan, err := flags.input(r)
	if err != nil {
		return err
	}
	in := app.LadderInput{
		Recipe: c.Recipe, Step: c.Step, From: c.From, To: c.To, By: c.StepBy, Lot: c.Lot, Jars: c.Jars, Blanks: c.Blanks,
		Name: c.Name, Culture: c.Culture, Container: c.Container, Closing: c.Closing, Seed: c.Seed, Cooks: plan.Cooks,
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		l, err := f.DraftLadder(r.ctx, in)
		if err != nil {
			return err
		}
		out := struct {
			Rungs []rungView `json:"rungs"`
			Lots  []string   `json:"lots"`
			Kept  bool       `json:"kept"`
			Batch *string    `json:"batch"`
		}{Rungs: []rungView{}, Lots: []string{}}
		for _, x := range l.Rungs {
			out.Rungs = append(out.Rungs, rungView{x.Amount, x.Recipe, x.WetG, x.MoisturePct, x.CN})
		}
		for _, lot := range l.Lots {
			out.Lots = append(out.Lots, lot.String())
		}
		if c.Keep {
			k, err := f.KeepLadder(r.ctx, c.act(), in)
			if err != nil {
				return err
			}
			name := k.Batch.String()
			out.Kept, out.Batch = true, &name
		}
		return r.print(out, func(w io.Writer) {
			t := newTable(c.Step, "one jar g", "water %", "C:N", "recipe")
			for _, x := range out.Rungs {
				t.row(x.Amount, fmt.Sprintf("%.1f", x.WetG), decimals(x.Moisture, 1), decimals(x.CN, 0), x.Recipe)
			}
			t.write(w)
			if len(out.Lots) > 0 {
				fmt.Fprintf(w, "made from %s\n", strings.Join(out.Lots, ", "))
			}
			if out.Kept {
				fmt.Fprintf(w, "kept as %s\n", *out.Batch)
			} else {
				fmt.Fprintln(w, "Nothing is stored yet: --keep makes it.")
			}
		})
	})
}
