package cli

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/label"
)

type labelCmds struct {
	Jars      labelJarsCmd      `cmd:"" help:"Print labels for the jars of a batch."`
	Cultures  labelCulturesCmd  `cmd:"" help:"Print labels for cultures."`
	Lots      labelLotsCmd      `cmd:"" help:"Print labels for ingredient lots."`
	Shelves   labelShelvesCmd   `cmd:"" help:"Print labels for shelves."`
	Cooks     labelCooksCmd     `cmd:"" help:"Print labels for cooks."`
	Grids     labelGridsCmd     `cmd:"" help:"List the sheets of labels that are known."`
	Calibrate labelCalibrateCmd `cmd:"" help:"Print a page that shows where the printer puts things."`
	Set       labelSetCmd       `cmd:"" help:"Keep the address, the usual sheet and what is known of the printer."`
	Check     labelCheckCmd     `cmd:"" help:"Count labels that were scanned, and name what is missing."`
}

// onSheet are the flags of what is printed on labels.
type onSheet struct {
	PDF      string `name:"pdf" help:"Write them to a file, - for standard output; without it, list what they say." placeholder:"FILE"`
	Grid     string `help:"Sheet, by its name or as typed; the usual one if left out." placeholder:"GRID"`
	Start    int    `help:"First free place, row by row from 1." default:"1"`
	Side     string `help:"body, lid or both." default:"body" enum:"body,lid,both"`
	Outlines bool   `help:"Draw where to cut, for plain paper."`
}

// options reads the flags and what is kept.
func (c onSheet) options(keep app.LabelSettings) (label.Options, error) {
	o := label.Options{Start: c.Start, Side: label.Side(c.Side), Outlines: c.Outlines, Address: keep.Address}
	grid := c.Grid
	for _, g := range []string{keep.Grid, label.Grids()[0].Name} {
		if grid == "" {
			grid = g
		}
	}
	var err error
	if o.Grid, err = label.ParseGrid(grid); err != nil {
		return o, err
	}
	if o.Printer.Dots, err = label.ParseDots(keep.Dots); err != nil {
		return o, err
	}
	o.Printer.Fit, err = label.ParseFit(keep.Fit)
	return o, err
}

// labelLine is one label for printing as text.
type labelLine struct {
	Large string   `json:"large"`
	Over  string   `json:"over"`
	Code  string   `json:"code"`
	Day   string   `json:"day"`
	About []string `json:"about"`
	Path  string   `json:"path"`
}

// print writes the labels to a file, or lists them.
func (c onSheet) print(r *run, f *app.Farm, in app.LabelInput) error {
	keep, err := f.LabelSettings(r.ctx)
	if err != nil {
		return err
	}
	o, err := c.options(keep)
	if err != nil {
		return err
	}
	labels, err := f.Labels(r.ctx, in)
	if err != nil {
		return err
	}
	if c.PDF == "" {
		out := []labelLine{}
		for _, l := range labels {
			out = append(out, labelLine{l.Large, l.Over, l.Code, l.Day, append([]string{}, l.About...), l.Path})
		}
		return r.print(out, func(w io.Writer) {
			for _, l := range out {
				fmt.Fprintf(w, "%s\t%s\n", joined(" ", l.Over, l.Large), joined(", ", append([]string{l.Code, l.Day}, l.About...)...))
			}
		})
	}
	printed, err := label.Print(labels, o)
	if err != nil {
		return err
	}
	return r.writeLabels(c.PDF, printed)
}

func (r *run) writeLabels(file string, p label.Printed) error {
	if file == "-" {
		_, err := r.Out.Write(p.PDF)
		return err
	}
	if err := r.WriteFile(file, p.PDF); err != nil {
		return &lab.Problem{Kind: lab.Invalid, Field: "pdf", What: err.Error(), Mend: "choose another file or folder"}
	}
	out := struct {
		File     string           `json:"file"`
		Labels   int              `json:"labels"`
		Pages    int              `json:"pages"`
		Square   string           `json:"square"`
		Cautions []figure.Caution `json:"cautions"`
	}{file, p.Labels, p.Pages, p.Square, append([]figure.Caution{}, p.Cautions...)}
	return r.print(out, func(w io.Writer) {
		fmt.Fprintf(w, "%s on %s, in %s\n", counted(p.Labels, "label"), counted(p.Pages, "page"), file)
		if p.Square != "" {
			fmt.Fprintf(w, "each square is %s; print at 100 %%\n", p.Square)
		}
		printCautions(w, p.Cautions)
	})
}

type labelJarsCmd struct {
	records
	onSheet
	Batch   string `arg:"" help:"Batch, such as B12."`
	Numbers string `help:"Only these jars, such as 13-24,30." placeholder:"NUMBERS"`
	Arms    bool   `help:"Print the recipe on jars of a trial. Without it a label tells no arm."`
}

func (c *labelJarsCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		return c.print(r, f, app.LabelInput{Kind: lab.JarLabel, Batch: c.Batch, Numbers: c.Numbers, Arms: c.Arms})
	})
}

// named are labels of things that go by names.
type named struct {
	records
	onSheet
	Names []string `arg:"" optional:"" help:"Which; all if left out."`
}

func (c named) of(r *run, kind lab.LabelKind) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		return c.print(r, f, app.LabelInput{Kind: kind, Names: c.Names})
	})
}

type labelCulturesCmd struct{ named }

func (c *labelCulturesCmd) Run(r *run) error { return c.of(r, lab.CultureLabel) }

type labelLotsCmd struct{ named }

func (c *labelLotsCmd) Run(r *run) error { return c.of(r, lab.LotLabel) }

type labelShelvesCmd struct{ named }

func (c *labelShelvesCmd) Run(r *run) error { return c.of(r, lab.ShelfLabel) }

type labelCooksCmd struct{ named }

func (c *labelCooksCmd) Run(r *run) error { return c.of(r, lab.CookLabel) }

type labelGridsCmd struct{}

func (c *labelGridsCmd) Run(r *run) error {
	type line struct {
		Name   string  `json:"name"`
		Title  string  `json:"title"`
		Across int     `json:"across"`
		Down   int     `json:"down"`
		W      float64 `json:"width_mm"`
		H      float64 `json:"height_mm"`
		Left   float64 `json:"left_mm"`
		Top    float64 `json:"top_mm"`
		StepX  float64 `json:"step_across_mm"`
		StepY  float64 `json:"step_down_mm"`
		Round  bool    `json:"round"`
	}
	out := []line{}
	for _, g := range label.Grids() {
		out = append(out, line{g.Name, g.Title(), g.Across, g.Down, g.W, g.H, g.Left, g.Top, g.StepX, g.StepY, g.Round})
	}
	return r.print(out, func(w io.Writer) {
		for _, l := range out {
			fmt.Fprintf(w, "%-18s %s\n", l.Name, l.Title)
		}
		fmt.Fprintln(w, "Any other: paper, across x down, width x height, left,top, step, in mm:")
		fmt.Fprintln(w, "  'a4 3x8 70x37 0,0.5 70x37', or a roll: 'roll 57x32'")
	})
}

type labelCalibrateCmd struct {
	records
	PDF  string `name:"pdf" help:"File to write, - for standard output." required:"" placeholder:"FILE"`
	Grid string `help:"Sheet to draw on it; the usual one if left out." placeholder:"GRID"`
}

func (c *labelCalibrateCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		keep, err := f.LabelSettings(r.ctx)
		if err != nil {
			return err
		}
		o, err := onSheet{Grid: c.Grid}.options(keep)
		if err != nil {
			return err
		}
		pdf, err := label.Calibration(o)
		if err != nil {
			return err
		}
		return r.writeLabels(c.PDF, label.Printed{PDF: pdf, Labels: o.Grid.Each(), Pages: 1})
	})
}

type labelSetCmd struct {
	records
	Address *string `help:"How phones open the pages, such as http://192.168.1.20:8470; '' forgets it." placeholder:"ADDRESS"`
	Grid    *string `help:"The usual sheet, by its name or as typed." placeholder:"GRID"`
	Dots    *string `help:"Dots an inch of the printer." placeholder:"NUMBER"`
	Fit     *string `help:"What the ruler says of the calibration page: 21.2,19.6 149.5x150." placeholder:"MM"`
}

func (c *labelSetCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		keep, err := f.LabelSettings(r.ctx)
		if err != nil {
			return err
		}
		if err := c.onto(&keep); err != nil {
			return err
		}
		if err := f.SaveLabelSettings(r.ctx, keep); err != nil {
			return err
		}
		if keep, err = f.LabelSettings(r.ctx); err != nil {
			return err
		}
		out := struct {
			Address  string           `json:"address"`
			Grid     string           `json:"grid"`
			Dots     string           `json:"dots"`
			Fit      string           `json:"fit"`
			Cautions []figure.Caution `json:"cautions"`
		}{keep.Address, keep.Grid, keep.Dots, keep.Fit, []figure.Caution{}}
		if keep.Address != "" {
			a, err := app.ParseAddress(keep.Address)
			if err != nil {
				return err
			}
			out.Cautions = append(out.Cautions, a.Cautions...)
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "address  %s\nsheet    %s\ndots     %s\nfit      %s\n", orNone(out.Address), orNone(out.Grid), orNone(out.Dots), orNone(out.Fit))
			printCautions(w, out.Cautions)
		})
	})
}

// onto writes what was said over what is kept.
func (c *labelSetCmd) onto(keep *app.LabelSettings) error {
	if c.Address != nil {
		keep.Address = strings.TrimSpace(*c.Address)
	}
	if c.Grid != nil {
		g, err := label.ParseGrid(*c.Grid)
		if err != nil {
			return err
		}
		keep.Grid = g.Text()
	}
	if c.Dots != nil {
		n, err := label.ParseDots(*c.Dots)
		if err != nil {
			return err
		}
		if keep.Dots = ""; n > 0 {
			keep.Dots = strconv.Itoa(n)
		}
	}
	if c.Fit != nil {
		fit, err := label.ParseFit(*c.Fit)
		if err != nil {
			return err
		}
		keep.Fit = fit.Text()
	}
	return nil
}

type labelCheckCmd struct {
	records
	Batch   string   `arg:"" help:"Batch, such as B12."`
	Scanned []string `arg:"" optional:"" help:"What was scanned; without it, lines from standard input."`
}

func (c *labelCheckCmd) Run(r *run) error {
	scanned := c.Scanned
	if len(scanned) == 0 {
		raw, err := r.readInput("-", "codes, one a line")
		if err != nil {
			return err
		}
		scanned = strings.FieldsFunc(string(raw), func(x rune) bool { return x == '\n' || x == '\r' })
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		check, err := f.CheckLabels(r.ctx, c.Batch, "", "")
		if err != nil {
			return err
		}
		strangers := []string{}
		for _, s := range scanned {
			if check, err = f.CheckLabels(r.ctx, c.Batch, lab.ShowNumbers(check.Found), s); err != nil {
				return err
			}
			if check.Stranger {
				strangers = append(strangers, check.Says)
			}
		}
		out := struct {
			Batch     string   `json:"batch"`
			Found     int      `json:"found"`
			Of        int      `json:"of"`
			Missing   []int    `json:"missing_numbers"`
			Strangers []string `json:"strangers"`
		}{check.Batch.String(), len(check.Found), check.Of, append([]int{}, check.Missing...), strangers}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%d of %d found\n", out.Found, out.Of)
			if len(out.Missing) > 0 {
				fmt.Fprintf(w, "missing: %s·%s\n", out.Batch, lab.ShowNumbers(out.Missing))
			}
			for _, s := range out.Strangers {
				fmt.Fprintln(w, s)
			}
		})
	})
}
