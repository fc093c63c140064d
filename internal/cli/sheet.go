package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/report"
)

type batchSheetCmd struct {
	records
	Batch string `arg:"" help:"Batch, such as B12."`
	printed
}

// printed are the flags of what can be printed on paper.
type printed struct {
	PDF   string `name:"pdf" help:"Write it as PDF to a file, - for standard output." placeholder:"FILE"`
	Paper string `help:"a4 or letter." default:"a4" enum:"a4,letter"`
	Units string `help:"Units on paper: metric or us." default:"metric" enum:"metric,us"`
}

// write writes the sheet of a batch as PDF.
func (p printed) write(r *run, f *app.Farm, s app.BenchSheet, draw func(app.BenchSheet, report.Options) ([]byte, error)) error {
	settings, err := f.Settings(r.ctx)
	if err != nil {
		return err
	}
	pdf, err := draw(s, report.Options{Paper: report.Paper(p.Paper), Units: report.Units(p.Units), Farm: settings.Name})
	if err != nil {
		return err
	}
	if p.PDF == "-" {
		_, err := r.Out.Write(pdf)
		return err
	}
	if err := r.WriteFile(p.PDF, pdf); err != nil {
		return &lab.Problem{Kind: lab.Invalid, Field: "pdf", What: err.Error(), Mend: "choose another file or folder"}
	}
	return r.printKept("file", p.PDF)
}

// sheetView is a bench sheet for printing.
type sheetView struct {
	Batch    string           `json:"batch"`
	Makings  []makingView     `json:"makings"`
	Jars     []sheetJar       `json:"jars"`
	Over     []app.OverList   `json:"over"`
	Cautions []figure.Caution `json:"cautions"`
}

type makingView struct {
	Label    string     `json:"label"`
	Mix      string     `json:"mix"`
	Recipe   string     `json:"recipe"`
	Jars     int        `json:"jars"`
	Reserve  float64    `json:"reserve_pct"`
	MakeUpML *float64   `json:"make_up_ml"`
	PerJar   string     `json:"per_jar"`
	Lines    []lineView `json:"lines"`
	Done     int        `json:"times_logged"`
	Leftover *float64   `json:"leftover_ml"`
	UseBy    string     `json:"use_by"`
}

type lineView struct {
	Ingredient string   `json:"ingredient"`
	Typed      string   `json:"typed"`
	Grams      *float64 `json:"grams_g"`
	Weigh      *float64 `json:"weigh_g"` // to the step of the scale
	Shows      *float64 `json:"scale_shows_g"`
	Lot        string   `json:"lot"`
}

type sheetJar struct {
	Number int        `json:"number"`
	Code   lab.Code   `json:"code"`
	Arm    string     `json:"arm"`
	Blank  bool       `json:"blank"`
	Cook   int        `json:"cook"`
	Layer  int        `json:"layer"`
	Shelf  string     `json:"shelf"`
	Fill   []lab.Fill `json:"fill"`
}

func known(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return &x
}

func viewSheet(s app.BenchSheet) sheetView {
	v := sheetView{Batch: s.Batch.String(), Makings: []makingView{}, Jars: []sheetJar{}, Cautions: s.Cautions}
	for _, m := range s.Makings {
		mv := makingView{Label: m.Label, Mix: m.Mix, Recipe: m.Recipe, Jars: m.Jars, Reserve: m.Reserve, MakeUpML: known(float64(m.Volume)), PerJar: m.PerJar, Done: len(m.Done), Leftover: known(float64(m.Leftover)), UseBy: m.UseBy.String()}
		for _, l := range m.Lines {
			mv.Lines = append(mv.Lines, lineView{l.Ingredient, l.Typed, known(float64(l.Grams)), known(float64(l.Weigh)), known(float64(l.Shows)), l.Lot})
		}
		v.Makings = append(v.Makings, mv)
	}
	for _, j := range s.Jars {
		v.Jars = append(v.Jars, sheetJar{j.Number, j.Code, j.Arm, j.Blank, j.Cook, j.Layer, j.Shelf, j.Fills})
	}
	v.Over = append([]app.OverList{}, s.Over...)
	return v
}

func (c *batchSheetCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.BenchSheet(r.ctx, c.Batch)
		if err != nil {
			return err
		}
		if c.PDF != "" {
			return c.printed.write(r, f, s, report.Bench)
		}
		v := viewSheet(s)
		return r.print(v, v.write)
	})
}

func (v sheetView) write(w io.Writer) {
	fmt.Fprintf(w, "Bench sheet, %s\n", v.Batch)
	for _, m := range v.Makings {
		fmt.Fprintf(w, "\n%s of %s, %s", m.Mix, m.Label, counted(m.Jars, "jar"))
		if m.MakeUpML != nil {
			fmt.Fprintf(w, ", made up to %.0f mL, %g %% of it in reserve", *m.MakeUpML, m.Reserve)
		}
		fmt.Fprintln(w)
		t := newTable("weigh", "g", "scale shows", "in the recipe", "lot")
		for _, l := range m.Lines {
			t.row(l.Ingredient, decimals(l.Grams, 1), decimals(l.Shows, 1), l.Typed, l.Lot)
		}
		t.write(w)
		if m.Leftover != nil {
			fmt.Fprintf(w, "about %.0f mL are left over; %s\n", *m.Leftover, useBy(m.UseBy))
		}
	}
	fmt.Fprintln(w)
	t := newTable("jar", "code", "arm", "cook", "layer", "shelf", "fill")
	for _, j := range v.Jars {
		arm := j.Arm
		if j.Blank {
			arm = "blank"
		}
		var fill []string
		for _, f := range j.Fill {
			fill = append(fill, f.Amount+" "+f.Mix)
		}
		t.row(j.Number, j.Code, arm, j.Cook, j.Layer, j.Shelf, strings.Join(fill, ", "))
	}
	t.write(w)
	for _, o := range v.Over {
		fmt.Fprintf(w, "%s %s: %s\n", o.Is, o.Level, o.Numbers)
	}
	printCautions(w, v.Cautions)
}

func useBy(day string) string {
	if day == "" {
		return "use them today"
	}
	return "kept cold, use them by " + day
}

type batchCodesCmd struct {
	records
	Batch string `arg:"" help:"Batch, such as B12."`
}

func (c *batchCodesCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.BenchSheet(r.ctx, c.Batch)
		if err != nil {
			return err
		}
		v := viewSheet(s)
		return r.print(v.Jars, func(w io.Writer) {
			for _, j := range v.Jars {
				fmt.Fprintf(w, "%s·%d\t%s\n", v.Batch, j.Number, j.Code)
			}
		})
	})
}

type makingCmds struct {
	Add makingAddCmd `cmd:"" help:"Log what was weighed for one making of a mix."`
}

type makingAddCmd struct {
	signed
	Batch   string   `arg:"" help:"Batch, such as B12."`
	Mix     string   `arg:"" help:"Mix, as on the bench sheet."`
	Weights []string `arg:"" help:"INGREDIENT=WEIGHT, such as 'oats=505 g', or with its lot 'oats=505 g from I7'."`
	Label   string   `help:"Which making, as on the bench sheet, if there are several." placeholder:"NAME"`
	At      string   `help:"When; now if left out." placeholder:"TIME"`
}

func (c *makingAddCmd) Run(r *run) error {
	in := app.MakingInput{Batch: c.Batch, Label: c.Label, Mix: c.Mix, At: c.At}
	for _, text := range c.Weights {
		name, weight, ok := strings.Cut(text, "=")
		if !ok {
			return lab.Invalidf("weighed", "write it like 'oats=505 g'", "%q is not INGREDIENT=WEIGHT", text)
		}
		weight, lot, _ := strings.Cut(weight, " from ")
		in.Weighed = append(in.Weighed, app.TypedWeight{Ingredient: name, Typed: weight, Lot: lot})
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		if in.Label == "" {
			s, err := f.BenchSheet(r.ctx, in.Batch)
			if err != nil {
				return err
			}
			in.Label = onlyLabel(s, in.Mix)
		}
		done, err := f.LogMaking(r.ctx, c.act(), in)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

// onlyLabel returns the label of the only making of mix, "" if there are several.
func onlyLabel(s app.BenchSheet, mix string) string {
	label := ""
	for _, m := range s.Makings {
		if lab.NameKey(m.Mix) != lab.NameKey(mix) {
			continue
		}
		if label != "" {
			return ""
		}
		label = m.Label
	}
	return label
}
