package cli

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/ingest"
	"pinset/internal/lab"
)

type importCmds struct {
	Jars        importJarsCmd        `cmd:"" help:"Take in a sheet of jars, one row each."`
	Cultures    importCulturesCmd    `cmd:"" help:"Take in a list of cultures."`
	Lots        importLotsCmd        `cmd:"" help:"Take in deliveries of ingredients."`
	Ingredients importIngredientsCmd `cmd:"" help:"Take in figures of your own of ingredients."`
	Containers  importContainersCmd  `cmd:"" help:"Take in containers."`
	Recipes     importRecipesCmd     `cmd:"" help:"Take in recipes, one line in each row."`
	Seen        importSeenCmd        `cmd:"" help:"Take in what was seen on jars that are there."`
	Picks       importPicksCmd       `cmd:"" help:"Take in picks from jars that are there."`
	Headings    importHeadingsCmd    `cmd:"" help:"List what was said of headings, or forget one."`
}

type importJarsCmd struct {
	signed
	File       string            `arg:"" help:"CSV file." name:"file"`
	DryRun     bool              `help:"Say what would happen and store nothing."`
	SkipBad    bool              `help:"Take in the good rows although some are refused."`
	DayFirst   bool              `help:"3/4/2026 is 3 April." xor:"order"`
	MonthFirst bool              `help:"3/4/2026 is 4 March." xor:"order"`
	As         map[string]string `help:"What a heading of the sheet stands for; it is remembered. See the guide for what may stand there." placeholder:"HEADING=WORD" mapsep:"none"`
	Differ     []string          `help:"What arms differ in: recipe, culture, container, treatment." name:"arms-differ-in" placeholder:"FACTOR"`
}

func (c *importJarsCmd) Run(r *run) error {
	raw, err := r.readInput(c.File, "the rows of the sheet")
	if err != nil {
		return err
	}
	return r.beginFarm(c.records, func(f *app.Farm) error {
		o := ingest.Options{Zone: f.Zone(r.ctx), Now: f.Now()}
		if c.DayFirst || c.MonthFirst {
			o.DayFirst = &c.DayFirst
		}
		said, err := ingest.ParseAliases(ingest.Jars, c.As)
		if err != nil {
			return err
		}
		known, err := f.Headings(r.ctx, c.File)
		if err != nil {
			return err
		}
		o.Headings = ingest.Remembered(ingest.Jars, known)
		maps.Copy(o.Headings, said)
		sheet, err := ingest.ReadJars(bytes.NewReader(raw), filepath.Base(c.File), o)
		if err != nil {
			return err
		}
		report, err := f.ImportJars(r.ctx, c.act(), sheet, app.ImportOptions{
			DryRun: c.DryRun, SkipBad: c.SkipBad, ArmsDifferIn: c.Differ,
			Progress: func(done, total int) { fmt.Fprintf(r.Err, "%d of %d rows\n", done, total) },
		})
		if err != nil {
			return err
		}
		if report.Stored {
			if err := f.KeepHeadings(r.ctx, c.File, said); err != nil {
				return err
			}
		}
		return r.printImport(report, len(report.Refused) > 0 && !c.SkipBad)
	})
}

type importHeadingsCmd struct {
	records
	File   string `help:"Only those that count for a file of this name." placeholder:"FILE"`
	Forget string `help:"Heading to forget." placeholder:"HEADING"`
}

func (c *importHeadingsCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if c.Forget != "" {
			if err := f.KeepHeadings(r.ctx, c.File, map[string]string{ingest.HeadingKey(c.Forget): ""}); err != nil {
				return err
			}
		}
		known, err := f.Headings(r.ctx, c.File)
		if err != nil {
			return err
		}
		return r.print(known, func(w io.Writer) {
			t := newTable("heading", "stands for")
			for _, h := range slices.Sorted(maps.Keys(known)) {
				t.row(h, known[h])
			}
			t.write(w)
		})
	})
}

// printImport prints what an import did. Rows that keep the sheet out end it
// with exit code 2.
func (r *run) printImport(report app.ImportReport, keptOut bool) error {
	out := struct {
		Error *fault `json:"error,omitempty"`
		app.ImportReport
	}{ImportReport: report}
	if !keptOut {
		return r.print(out, func(w io.Writer) { writeImport(w, report) })
	}
	p := refusedProblem(report)
	out.Error = &fault{p.What, p.Mend, p.Field}
	if err := r.print(out, func(w io.Writer) { writeImport(w, report) }); err != nil {
		return err
	}
	return &toldProblem{p}
}

// refusedProblem says why nothing of a sheet was taken in.
func refusedProblem(report app.ImportReport) *lab.Problem {
	n := len(report.Refused)
	verb := "is"
	if n != 1 {
		verb = "are"
	}
	return lab.Invalidf("file", "mend them, or take in the others with --skip-bad", "%s %s refused and nothing is stored", counted(n, "row"), verb)
}

// toldProblem is a problem that is in what was printed already.
type toldProblem struct{ *lab.Problem }

// someOf lists words, or if they are many their ends and how many there are.
func someOf(words []string) string {
	n := len(words)
	if n <= fewItems {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s … %s (%d)", strings.Join(words[:3], ", "), words[n-1], n)
}

func writeImport(w io.Writer, report app.ImportReport) {
	for _, x := range report.Refused {
		where := x.Column
		if x.Value != "" {
			where += fmt.Sprintf(" %q", x.Value)
		}
		wrap(w, fmt.Sprintf("row %d  ", x.Row), fmt.Sprintf("%s: %s; %s", strings.TrimSpace(where), x.What, x.Mend))
	}
	if report.Stored {
		fmt.Fprintln(w, "stored:")
	} else {
		fmt.Fprintln(w, "not stored:")
	}
	if report.Noun == "" {
		fmt.Fprintf(w, "  %s read, %d refused\n", counted(report.Rows, "row"), len(report.Refused))
		fmt.Fprintf(w, "  %s new, %d known\n", counted(report.Jars, "jar"), report.Known)
		fmt.Fprintf(w, "  %d entries new, %d mended, %d there already\n", report.Entries, report.Mended, report.Same)
	} else {
		writeRecords(w, report)
	}
	if len(report.Batches) > 0 {
		wrap(w, "  batches: ", someOf(report.Batches))
	}
	if len(report.Trials) > 0 {
		wrap(w, "  trials: ", someOf(report.Trials))
	}
	if report.DryRun {
		t := newTable("column", "taken for")
		for _, c := range report.Columns {
			t.row(c.Header, c.Means)
		}
		fmt.Fprintln(w)
		t.write(w)
	}
	printCautions(w, report.Cautions)
	if report.Stored && report.Deed != "" && report.Entries+report.Mended > 0 {
		writeUndo(w, report.Deed)
	}
}
