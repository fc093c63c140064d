package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type batchCmds struct {
	Plan      batchPlanCmd     `cmd:"" help:"Draft a plain batch; --keep makes it."`
	List      batchListCmd     `cmd:"" help:"List the batches with their counts."`
	Show      batchShowCmd     `cmd:"" help:"Show a batch and its jars."`
	Sheet     batchSheetCmd    `cmd:"" help:"Print the bench sheet: what to weigh, what goes where."`
	Codes     batchCodesCmd    `cmd:"" help:"Print number and code of every jar, to write on them."`
	Inoculate inoculateCmd     `cmd:"" help:"Put a culture into all jars of a batch."`
	Forecast  batchForecastCmd `cmd:"" help:"Say when the next stages of a batch are expected."`
	Fouled    batchFouledCmd   `cmd:"" help:"Say what fouled jars have in common."`
}

type batchPlanCmd struct {
	signed
	planFlags
}

func (c *batchPlanCmd) Run(r *run) error {
	in, err := c.input(r)
	if err != nil {
		return err
	}
	return r.plan(c.signed, in, c.Keep)
}

type batchListCmd struct {
	records
	Below int `help:"Only those with lower numbers; a list ends after 200." placeholder:"N"`
}

// batchView is a batch with its counts for printing.
type batchView struct {
	Batch      string            `json:"batch"`
	Name       string            `json:"name"`
	Trial      string            `json:"trial"`
	Closing    string            `json:"closing"`
	Jars       int               `json:"jars"`
	Blanks     int               `json:"blanks"`
	Inoculated int               `json:"inoculated"`
	Growing    int               `json:"growing"`
	Picked     int               `json:"picked"`
	Barren     int               `json:"barren"`
	Lost       int               `json:"lost"`
	Grams      float64           `json:"fresh_g"`
	Stages     map[lab.Stage]int `json:"growing_by_stage"`
}

func viewBatch(b app.BatchRow) batchView {
	v := batchView{
		Batch: b.Batch.String(), Name: b.Name, Trial: b.Trial, Closing: b.Batch.Closing.String(), Jars: b.Tally.Jars, Blanks: b.Tally.Blanks,
		Inoculated: b.Tally.Inoculated, Growing: b.Tally.Growing, Picked: b.Tally.Picked, Barren: b.Tally.Barren, Lost: b.Tally.Lost,
		Grams: b.Tally.Grams, Stages: b.Tally.ByStage,
	}
	if v.Stages == nil {
		v.Stages = map[lab.Stage]int{}
	}
	return v
}

func (c *batchListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, _, err := f.BatchesBelow(r.ctx, c.Below)
		if err != nil {
			return err
		}
		views := []batchView{}
		for _, b := range rows {
			views = append(views, viewBatch(b))
		}
		return r.print(views, func(w io.Writer) {
			t := newTable("batch", "name", "jars", "growing", "picked", "barren", "lost", "fresh g")
			for _, v := range views {
				t.row(v.Batch, v.Name, v.Jars, v.Growing, v.Picked, v.Barren, v.Lost, fmt.Sprintf("%.1f", v.Grams))
			}
			t.write(w)
		})
	})
}

// jarView is a jar with its standing for printing.
type jarView struct {
	Code       lab.Code `json:"code"`
	Number     int      `json:"number"`
	Mark       string   `json:"mark"`
	Arm        string   `json:"arm"`
	Blank      bool     `json:"blank"`
	Layer      int      `json:"layer"`
	Shelf      string   `json:"shelf"`
	MixMade    string   `json:"mix_made"`
	Stage      string   `json:"stage"`
	Fate       string   `json:"fate"`
	Reason     string   `json:"reason"`
	Inoculated *string  `json:"inoculated"`
	Grams      *float64 `json:"fresh_g"`
	Dry        *float64 `json:"dry_substrate_g"`
}

func viewJar(j app.JarRow) jarView {
	v := jarView{
		Code: j.Code, Number: j.Number, Mark: j.Mark, Arm: j.Arm, Blank: j.Blank, Layer: j.Layer, Shelf: j.Shelf, MixMade: j.MixMade,
		Stage: string(j.Stage), Fate: string(j.Fate), Reason: j.Reason, Inoculated: viewWhen(j.Inoculated),
	}
	if j.Picks > 0 {
		g := float64(j.Grams)
		v.Grams = &g
	}
	if j.DryGrams > 0 {
		g := float64(j.DryGrams)
		v.Dry = &g
	}
	return v
}

// viewWhen is a time for JSON: RFC 3339, a day, or "unknown"; nil if it never was.
func viewWhen(w lab.When) *string {
	var s string
	switch w.Exactness {
	case lab.Exact:
		s = w.Time.Format("2006-01-02T15:04:05Z07:00")
	case lab.ThatDay:
		s = w.Time.Format("2006-01-02")
	case lab.Unknown:
		s = "unknown"
	default:
		return nil
	}
	return &s
}

type batchShowCmd struct {
	records
	Batch string `arg:"" help:"Batch, such as B12 or its own name."`
	After int    `help:"Only jars with higher numbers; 400 are shown at a time." placeholder:"N"`
}

func (c *batchShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		view, err := f.BatchView(r.ctx, c.Batch, c.After)
		if err != nil {
			return err
		}
		asked, err := f.BatchQuestions(r.ctx, c.Batch)
		if err != nil {
			return err
		}
		out := struct {
			batchView
			JarRows   []jarView         `json:"jar_rows"`
			More      bool              `json:"more"`
			Questions []app.DayQuestion `json:"questions"`
		}{batchView: viewBatch(view.BatchRow), JarRows: []jarView{}, More: view.More, Questions: asked}
		for _, j := range view.Jars {
			out.JarRows = append(out.JarRows, viewJar(j))
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%s: %s, %d growing, %d picked, %d barren, %d lost\n\n", strings.TrimSpace(out.Batch+" "+out.Name), counted(out.Jars, "jar"), out.Growing, out.Picked, out.Barren, out.Lost)
			writeJars(w, out.JarRows)
			if out.More {
				fmt.Fprintf(w, "\nMore: pinset batch show %s --after %d\n", out.Batch, out.JarRows[len(out.JarRows)-1].Number)
			}
			printQuestions(w, asked)
		})
	})
}

// printQuestions prints what visits leave open, a line each.
func printQuestions(w io.Writer, asked []app.DayQuestion) {
	for _, q := range asked {
		wrap(w, "? ", strings.TrimPrefix(q.Jar+": "+q.Text, ": "))
	}
}

func writeJars(w io.Writer, jars []jarView) {
	t := newTable("jar", "code", "mark", "arm", "layer", "shelf", "stage", "fate", "fresh g")
	for _, j := range jars {
		arm, fate := j.Arm, j.Fate
		if j.Blank {
			arm = "blank"
		}
		if j.Reason != "" {
			fate += ": " + j.Reason
		}
		t.row(j.Number, j.Code, j.Mark, arm, j.Layer, j.Shelf, j.Stage, fate, decimals(j.Grams, 1))
	}
	t.write(w)
}

type inoculateCmd struct {
	signed
	Batch    string `arg:"" help:"Batch, such as B12."`
	Culture  string `help:"Culture that all jars get; else what the plan meant for each." placeholder:"NAME"`
	Means    string `help:"LC, agar, grain or spores; follows from the culture." placeholder:"MEANS"`
	Amount   string `help:"For each jar." placeholder:"2mL"`
	At       string `help:"When; now if left out." placeholder:"TIME"`
	Except   string `help:"Numbers that are left out." placeholder:"5,7-9"`
	Override string `help:"Why jars of a cook that did not hold get it all the same." placeholder:"REASON"`
	DryRun   bool   `help:"Only say what would happen."`
}

func (c *inoculateCmd) Run(r *run) error {
	in := app.InoculateInput{Batch: c.Batch, Culture: c.Culture, Means: c.Means, Amount: c.Amount, At: c.At, Except: c.Except, Override: c.Override}
	return r.onFarm(c.records, func(f *app.Farm) error {
		var report app.InoculateReport
		var err error
		if c.DryRun {
			report, err = f.InoculateDraft(r.ctx, in)
		} else {
			report, err = f.Inoculate(r.ctx, c.act(), in)
		}
		if err != nil {
			return err
		}
		out := viewInoculation(report, c.DryRun)
		return r.print(out, func(w io.Writer) {
			fmt.Fprintln(w, out.What)
			for _, h := range out.HeldBack {
				fmt.Fprintf(w, "held back: %d (%s), %s\n", h.Number, h.Code, h.Why)
			}
			if c.DryRun {
				fmt.Fprintln(w, "Nothing is stored.")
			}
			printCautions(w, report.Cautions)
			writeUndo(w, out.Deed)
		})
	})
}

// writeUndo says how the act is taken back.
func writeUndo(w io.Writer, deed lab.DeedID) {
	if deed != "" {
		fmt.Fprintf(w, "Undo: pinset deed undo %s\n", deed)
	}
}
