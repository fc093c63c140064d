package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

type cultureCmds struct {
	Add   cultureAddCmd   `cmd:"" help:"Write a culture down."`
	List  cultureListCmd  `cmd:"" help:"List the cultures."`
	Show  cultureShowCmd  `cmd:"" help:"Show one: its line, what was done to it, what was made from it."`
	Keep  cultureKeepCmd  `cmd:"" help:"Write down that one was tested, stored, drawn from, seen to fruit, or ended."`
	Limit cultureLimitCmd `cmd:"" help:"Set a limit of your own: of transfers, or of days in storage."`
}

type cultureAddCmd struct {
	signed
	Name       string `arg:"" help:"Name, such as LC-3."`
	Form       string `help:"LC, plate, slant, syringe, grain, print." default:"LC"`
	Strain     string `help:"Strain; its parent's if left out." placeholder:"NAME"`
	Species    string `help:"Species; its parent's if left out." placeholder:"NAME"`
	Parent     string `help:"Culture that it was taken from." placeholder:"NAME"`
	Took       string `help:"What was drawn from the parent for it." placeholder:"1mL"`
	Jar        string `help:"Jar that it also is, such as B12·3." placeholder:"JAR"`
	Source     string `help:"Who gave or sold it." placeholder:"NAME"`
	Generation string `help:"Transfers since the master; one more than its parent's if left out." placeholder:"N"`
	Medium     string `help:"Recipe that it grows on." placeholder:"RECIPE"`
	Volume     string `help:"What the vessel holds." placeholder:"600mL"`
	Made       string `help:"Day; today if left out." default:"today"`
	Note       string `help:"Anything else." placeholder:"TEXT"`
}

func (c *cultureAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddCulture(r.ctx, app.NewCulture{
			Name: c.Name, Form: c.Form, Strain: c.Strain, Species: c.Species, Parent: c.Parent, Took: c.Took, Jar: c.Jar, Source: c.Source,
			Generation: c.Generation, Medium: c.Medium, Volume: c.Volume, Made: c.Made, Note: c.Note, By: c.By,
		})
		if err != nil {
			return err
		}
		return r.printKept("culture", got.Name)
	})
}

// cultureView is a culture for printing.
type cultureView struct {
	Culture    string           `json:"culture"`
	Form       lab.Form         `json:"form"`
	Strain     string           `json:"strain"`
	Species    string           `json:"species"`
	Parent     string           `json:"parent"`
	Generation *int             `json:"generation"`
	Made       *string          `json:"made"`
	Left       *float64         `json:"left_ml"`
	Jars       int              `json:"jars"`
	Picked     int              `json:"picked"`
	Lost       int              `json:"lost"`
	Fouled     int              `json:"fouled"`
	PerJar     *float64         `json:"g_per_inoculated"`
	Due        *string          `json:"renew_by"`
	Ended      *string          `json:"ended"`
	Cautions   []figure.Caution `json:"cautions"`
}

func viewCulture(x app.CultureRow) cultureView {
	v := cultureView{
		Culture: x.Name, Form: x.Form, Strain: x.Strain, Species: x.Species, Parent: x.ParentName, Generation: x.Generation, Made: viewWhen(x.Made),
		Jars: x.Use.Jars, Picked: x.Use.Picked, Lost: x.Use.Lost, Fouled: x.Use.Fouled, PerJar: x.Use.GramsPerJar(), Cautions: x.Cautions,
	}
	if x.Left != nil {
		left := float64(*x.Left)
		v.Left = &left
	}
	if !x.Due.IsZero() {
		day := x.Due.Format("2006-01-02")
		v.Due = &day
	}
	if x.Standing.End.ID != "" {
		v.Ended = viewWhen(x.Standing.End.At)
	}
	if v.Cautions == nil {
		v.Cautions = []figure.Caution{}
	}
	return v
}

type cultureListCmd struct{ records }

func (c *cultureListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Cultures(r.ctx)
		if err != nil {
			return err
		}
		out := []cultureView{}
		for _, x := range rows {
			out = append(out, viewCulture(x))
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("culture", "form", "strain", "from", "transfer", "made", "mL left", "jars", "mind")
			for i, v := range out {
				transfer, mind := "", ""
				if v.Generation != nil {
					transfer = fmt.Sprint(*v.Generation)
				}
				if len(v.Cautions) > 0 && v.Cautions[0].Weight != figure.Note {
					mind = v.Cautions[0].Title
				}
				if v.Ended != nil {
					mind = "ended"
				}
				t.row(v.Culture, v.Form, v.Strain, v.Parent, transfer, rows[i].Made.Show(f.Zone(r.ctx)), decimals(v.Left, 0), v.Jars, mind)
			}
			t.write(w)
		})
	})
}

type cultureShowCmd struct {
	records
	Name string `arg:"" help:"Its name."`
}

func (c *cultureShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.CultureView(r.ctx, c.Name)
		if err != nil {
			return err
		}
		type done struct {
			At   *string `json:"at"`
			What string  `json:"what"`
			Note string  `json:"note"`
			By   string  `json:"by"`
		}
		out := struct {
			cultureView
			Line   []string  `json:"line"`
			Back   string    `json:"back_to"`
			Watch  lineWatch `json:"tires"`
			Done   []done    `json:"done"`
			Used   []string  `json:"made_from_it"`
			Medium string    `json:"medium"`
			Jar    string    `json:"jar"`
		}{viewCulture(v.CultureRow), []string{}, v.Back, viewWatch(v.Watch), []done{}, []string{}, v.Medium, v.JarName}
		for _, x := range v.Line {
			out.Line = append(out.Line, x.Name)
		}
		for _, k := range v.Entries {
			out.Done = append(out.Done, done{viewWhen(k.At), app.KeptLine(k), k.Note, k.By})
		}
		for _, b := range v.Made {
			out.Used = append(out.Used, b.String())
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("culture", "form", "from", "transfer", "made", "jars")
			for _, x := range v.Line {
				transfer := ""
				if x.Generation != nil {
					transfer = fmt.Sprint(*x.Generation)
				}
				t.row(x.Name, x.Form, x.ParentName, transfer, x.Made.Show(f.Zone(r.ctx)), x.Use.Jars)
			}
			t.write(w)
			for _, k := range v.Entries {
				fmt.Fprintln(w, k.At.Show(f.Zone(r.ctx)), app.KeptLine(k), k.Note)
			}
			for _, u := range out.Used {
				fmt.Fprintln(w, "made from it:", u)
			}
			for _, x := range out.Watch.Trends {
				wrap(w, "", x.Sentence)
			}
			if out.Back != "" {
				fmt.Fprintln(w, "go back to", out.Back, "if it tires")
			}
			printCautions(w, out.Cautions)
		})
	})
}

// lineWatch says whether a line wears out, for printing.
type lineWatch struct {
	Tires  bool        `json:"tires"`
	Trends []lineTrend `json:"trends"`
}

type lineTrend struct {
	Of       string   `json:"of"`
	Against  string   `json:"against"`
	Readings int      `json:"readings"`
	Change   *float64 `json:"change_pct"` // for each step; null if too few say
	Low      *float64 `json:"low_pct"`
	High     *float64 `json:"high_pct"`
	Worse    *float64 `json:"chance_worse"`
	Sentence string   `json:"sentence"`
}

func viewWatch(x app.LineWatch) lineWatch {
	out := lineWatch{Tires: x.Tires, Trends: []lineTrend{}}
	for _, t := range x.Trends {
		v := lineTrend{Of: t.Of, Against: t.Against, Readings: t.Readings, Sentence: t.Sentence}
		if t.Known {
			v.Change, v.Low, v.High, v.Worse = &t.Change, &t.Low, &t.High, &t.Worse
		}
		out.Trends = append(out.Trends, v)
	}
	return out
}

type cultureKeepCmd struct {
	signed
	Name    string `arg:"" help:"Its name."`
	Did     string `arg:"" help:"tested, stored, drawn, fruited or ended." name:"did"`
	Finding string `help:"Of tested: clean or dirty." placeholder:"FINDING"`
	Storage string `help:"Of stored: fridge, room, water, dried grain, freezer, freeze-dried, nitrogen." placeholder:"WAY"`
	Amount  string `help:"Of drawn." placeholder:"5mL"`
	At      string `help:"When; now if left out." default:"now"`
	Note    string `help:"Anything else." placeholder:"TEXT"`
}

func (c *cultureKeepCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.KeepCulture(r.ctx, c.act(), app.NewKeeping{
			Culture: c.Name, Kept: c.Did, Finding: c.Finding, Storage: c.Storage, Amount: c.Amount, At: c.At, Note: c.Note,
		})
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

type cultureLimitCmd struct {
	records
	Of    string `arg:"" help:"warn or stop, in transfers; or a way of storage, in days."`
	Limit string `arg:"" help:"A whole number, or - for that of the book."`
}

func (c *cultureLimitCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if err := f.SetCultureLimit(r.ctx, c.Of, c.Limit); err != nil {
			return err
		}
		l, err := f.CultureLimits(r.ctx)
		if err != nil {
			return err
		}
		return r.print(l, func(w io.Writer) {
			fmt.Fprintf(w, "think again at transfer %d, stop at %d\n", l.Warn, l.Stop)
			for _, s := range lab.Storages {
				if n, ok := l.Days[s]; ok {
					fmt.Fprintf(w, "%s: %d days\n", s.Label(), n)
				}
			}
		})
	})
}
