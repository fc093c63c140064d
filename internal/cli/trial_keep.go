package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/report"
)

type trialJudgeCmd struct {
	signed
	Name string `arg:"" help:"Name of the trial."`
}

func (c *trialJudgeCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		kept, v, err := f.Judge(r.ctx, c.act(), c.Name)
		if err != nil {
			return err
		}
		out := struct {
			Made     string `json:"made"`
			Says     string `json:"says"`
			Sentence string `json:"sentence"`
			Ending   string `json:"ending"`
			Seed     uint64 `json:"seed"`
			Version  string `json:"version"`
			DataHash string `json:"data_hash"`
		}{kept.Made.Format("2006-01-02T15:04:05Z"), kept.Says(), kept.Sentence, string(kept.Ending), kept.Seed, kept.Version, kept.DataHash}
		return r.print(out, func(w io.Writer) {
			wrap(w, "", v.Result.Sentence)
			fmt.Fprintln(w)
			wrap(w, "", fmt.Sprintf("Kept: %s. %s, seed %d, data %s.", out.Says, out.Version, out.Seed, out.DataHash))
			printCautions(w, v.Cautions)
		})
	})
}

type trialReportCmd struct {
	records
	Name  string `arg:"" help:"Name of the trial."`
	PDF   string `name:"pdf" help:"Write it as PDF to a file, - for standard output." placeholder:"FILE"`
	HTML  string `name:"html" help:"Write it as HTML to a file, - for standard output." placeholder:"FILE"`
	Paper string `help:"a4 or letter." default:"a4" enum:"a4,letter"`
}

func (c *trialReportCmd) Run(r *run) error {
	if (c.PDF == "") == (c.HTML == "") {
		return lab.Invalidf("pdf", "write --pdf FILE or --html FILE", "nothing says how the report is to be written")
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.TrialView(r.ctx, c.Name)
		var failed *lab.Problem
		if p, ok := lab.AsProblem(err); ok && p.Kind == lab.Invalid && v.Trial.ID != "" {
			failed, err = p, nil // the report says why there is no verdict
		}
		if err != nil {
			return err
		}
		days, err := f.TrialDays(r.ctx, v.Name)
		if err != nil {
			return err
		}
		made := report.Trial(v, days, failed, f.Now())
		if c.HTML != "" {
			return r.writeOut("html", c.HTML, made.Page())
		}
		settings, err := f.Settings(r.ctx)
		if err != nil {
			return err
		}
		pdf, err := made.PDF(report.Options{Paper: report.Paper(c.Paper), Farm: settings.Name})
		if err != nil {
			return err
		}
		return r.writeOut("pdf", c.PDF, pdf)
	})
}

// writeOut writes data to the file that a flag names, - for standard output.
func (r *run) writeOut(flag, file string, data []byte) error {
	if file == "-" {
		_, err := r.Out.Write(data)
		return err
	}
	if err := r.WriteFile(file, data); err != nil {
		return &lab.Problem{Kind: lab.Invalid, Field: flag, What: err.Error(), Mend: "choose another file or folder"}
	}
	return r.printKept("file", file)
}

type trialOpenCmd struct {
	signed
	Name string `arg:"" help:"Name of the trial."`
}

func (c *trialOpenCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.OpenKey(r.ctx, c.act(), c.Name)
		if err != nil {
			return err
		}
		return r.printKept("deed", string(done.Deed))
	})
}

type trialLightCmd struct {
	signed
	Name  string   `arg:"" help:"Name of the trial."`
	Shelf []string `help:"Place in the light and the jars it takes, such as window=12." placeholder:"NAME=PLACES"`
	Seed  string   `help:"Seed of the draw; one is drawn if left out." placeholder:"N"`
}

func (c *trialLightCmd) Run(r *run) error {
	shelves, err := readShelves(c.Shelf)
	if err != nil {
		return err
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.AllotLight(r.ctx, c.act(), c.Name, shelves, c.Seed)
		return r.printDraw(done, err)
	})
}

type trialRedrawCmd struct {
	signed
	Name string `arg:"" help:"Name of the trial."`
	Seed string `help:"Seed of the draw; one is drawn if left out." placeholder:"N"`
}

func (c *trialRedrawCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.Redraw(r.ctx, c.act(), c.Name, c.Seed)
		return r.printDraw(done, err)
	})
}

func (r *run) printDraw(done app.Allotted, err error) error {
	if err != nil {
		return err
	}
	out := struct {
		What  string     `json:"what"`
		Jars  int        `json:"jars"`
		Seed  uint64     `json:"seed"`
		Bound string     `json:"bound"`
		Deed  lab.DeedID `json:"deed"`
	}{done.What, done.Jars, done.Seed, done.Bound, done.Deed}
	return r.print(out, func(w io.Writer) {
		wrap(w, "", fmt.Sprintf("%s, seed %d. %s", out.What, out.Seed, out.Bound))
	})
}

type trialAgainCmd struct {
	records
	Name string `arg:"" help:"Name of the trial."`
}

func (c *trialAgainCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		again, err := f.PlanAgain(r.ctx, c.Name)
		if err != nil {
			return err
		}
		return r.print(again.Plan, func(w io.Writer) {
			for _, s := range again.Learnt {
				wrap(w, "", s)
			}
			fmt.Fprintf(w, "\nWith --json this prints the plan, to be changed and given to pinset trial plan --in FILE:\n\n")
			if text, err := json.MarshalIndent(again.Plan, "", "  "); err == nil { // a plan is plain text and numbers
				fmt.Fprintf(w, "%s\n", text)
			}
		})
	})
}

// readShelves reads shelves with their places, such as top=12.
func readShelves(typed []string) ([]app.PlanShelf, error) {
	var out []app.PlanShelf
	for _, text := range typed {
		name, n, _ := strings.Cut(text, "=")
		places, err := strconv.Atoi(n)
		if err != nil {
			return nil, lab.Invalidf("shelf", "write it like top=12", "%q is not a shelf with its places", text)
		}
		out = append(out, app.PlanShelf{Name: name, Places: places})
	}
	return out, nil
}
