package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pinset/internal/app"
	"pinset/internal/ingest"
)

type importCmds struct {
	Jars importJarsCmd `cmd:"" help:"Take in a sheet of jars, one row each."`
}

type importJarsCmd struct {
	signed
	File       string   `arg:"" help:"CSV file." name:"file"`
	DryRun     bool     `help:"Say what would happen and store nothing."`
	SkipBad    bool     `help:"Take in the good rows although some are refused."`
	DayFirst   bool     `help:"3/4/2026 is 3 April." xor:"order"`
	MonthFirst bool     `help:"3/4/2026 is 4 March." xor:"order"`
	Differ     []string `help:"What arms differ in: recipe, culture, container, treatment." name:"arms-differ-in"`
}

func (c *importJarsCmd) Run(r *run) error {
	raw, err := r.readInput(c.File)
	if err != nil {
		return err
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		o := ingest.Options{Zone: f.Zone(r.ctx), Now: f.Now()}
		if c.DayFirst || c.MonthFirst {
			o.DayFirst = &c.DayFirst
		}
		sheet, err := ingest.ReadJars(bytes.NewReader(raw), filepath.Base(c.File), o)
		if err != nil {
			return err
		}
		report, err := f.ImportJars(r.ctx, c.act(), sheet, app.ImportOptions{DryRun: c.DryRun, SkipBad: c.SkipBad, ArmsDifferIn: c.Differ})
		if err != nil {
			return err
		}
		if err := r.print(report, func(w io.Writer) { writeImport(w, report) }); err != nil {
			return err
		}
		if len(report.Refused) > 0 && !report.Stored && !c.DryRun {
			return &refusedRows{len(report.Refused)}
		}
		return nil
	})
}

// refusedRows ends an import that was kept out with exit code 2; the report
// is printed already.
type refusedRows struct{ n int }

func (e *refusedRows) Error() string {
	return fmt.Sprintf("%d rows are refused and nothing is stored; mend them, or take in the others with --skip-bad", e.n)
}

func writeImport(w io.Writer, report app.ImportReport) {
	for _, x := range report.Refused {
		where := x.Column
		if x.Value != "" {
			where += fmt.Sprintf(" %q", x.Value)
		}
		fmt.Fprintf(w, "row %d, %s: %s; %s\n", x.Row, strings.TrimSpace(where), x.What, x.Mend)
	}
	verb := "stored"
	if !report.Stored {
		verb = "not stored"
	}
	fmt.Fprintf(w, "%d rows read, %d refused; %d new jars, %d known; %d new entries, %d mended, %d there already: %s\n",
		report.Rows, len(report.Refused), report.Jars, report.Known, report.Entries, report.Mended, report.Same, verb)
	if len(report.Batches) > 0 {
		fmt.Fprintln(w, "batches:", strings.Join(report.Batches, ", "))
	}
	if len(report.Trials) > 0 {
		fmt.Fprintln(w, "trials:", strings.Join(report.Trials, ", "))
	}
	printCautions(w, report.Cautions)
	if report.Stored && report.Entries+report.Mended > 0 {
		writeUndo(w, report.Deed)
	}
}
