package cli

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"path/filepath"

	"pinset/internal/app"
	"pinset/internal/ingest"
)

// importRecordsCmd takes in a sheet of other records than jars.
type importRecordsCmd struct {
	signed
	File       string            `arg:"" help:"CSV file or workbook (.xlsx)." name:"file"`
	DryRun     bool              `help:"Say what would happen and store nothing."`
	SkipBad    bool              `help:"Take in the good rows although some are refused."`
	DayFirst   bool              `help:"3/4/2026 is 3 April." xor:"order"`
	MonthFirst bool              `help:"3/4/2026 is 4 March." xor:"order"`
	As         map[string]string `help:"What a heading of the sheet stands for; it is remembered." placeholder:"HEADING=WORD" mapsep:"none"`
}

type (
	importCulturesCmd    struct{ importRecordsCmd }
	importLotsCmd        struct{ importRecordsCmd }
	importIngredientsCmd struct{ importRecordsCmd }
	importContainersCmd  struct{ importRecordsCmd }
	importRecipesCmd     struct{ importRecordsCmd }
	importSeenCmd        struct{ importRecordsCmd }
	importPicksCmd       struct{ importRecordsCmd }
)

func (c *importCulturesCmd) Run(r *run) error    { return c.take(r, "cultures") }
func (c *importLotsCmd) Run(r *run) error        { return c.take(r, "lots") }
func (c *importIngredientsCmd) Run(r *run) error { return c.take(r, "ingredients") }
func (c *importContainersCmd) Run(r *run) error  { return c.take(r, "containers") }
func (c *importRecipesCmd) Run(r *run) error     { return c.take(r, "recipes") }
func (c *importSeenCmd) Run(r *run) error        { return c.take(r, "seen") }
func (c *importPicksCmd) Run(r *run) error       { return c.take(r, "picks") }

func (c *importRecordsCmd) take(r *run, noun string) error {
	raw, err := r.readInput(c.File, "the rows of the sheet")
	if err != nil {
		return err
	}
	said, err := ingest.ParseAliases(noun, c.As)
	if err != nil {
		return err
	}
	return r.beginFarm(c.records, func(f *app.Farm) error {
		known, err := f.Headings(r.ctx, c.File)
		if err != nil {
			return err
		}
		o := ingest.Options{Zone: f.Zone(r.ctx), Now: f.Now(), Headings: ingest.Remembered(noun, known)}
		maps.Copy(o.Headings, said)
		if c.DayFirst || c.MonthFirst {
			o.DayFirst = &c.DayFirst
		}
		sheet, err := ingest.ReadRecords(bytes.NewReader(raw), filepath.Base(c.File), noun, o)
		if err != nil {
			return err
		}
		report, err := f.ImportRecords(r.ctx, c.act(), sheet, app.ImportOptions{DryRun: c.DryRun, SkipBad: c.SkipBad})
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

// writeRecords says what a sheet of other records than jars came to.
func writeRecords(w io.Writer, report app.ImportReport) {
	fmt.Fprintf(w, "  %s read, %d refused\n", counted(report.Rows, "row"), len(report.Refused))
	fmt.Fprintf(w, "  %d new, %d there already\n", report.Entries, report.Same)
}
