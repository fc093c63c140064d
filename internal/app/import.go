package app

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// JarSheet is a grower's own sheet of jars as read, before anything is stored.
type JarSheet struct {
	Source  string // file name
	Columns []SheetColumn
	Rows    []SheetRow
	Refused []RefusedRow
	Doubts  []figure.Caution // about the sheet as a whole
}

// SheetColumn says what a column was taken for.
type SheetColumn struct {
	Header string `json:"header"`
	Means  string `json:"means"`
	As     string `json:"as,omitempty"` // what it was told to be, "" if its own words say it
}

// SheetRow is one jar of a sheet. Blank fields were not said.
type SheetRow struct {
	Row        int // in the file, from 1, the header counted
	Batch      string
	Number     int // 0 not said
	Mark       string
	Blank      bool
	Arm        string
	Recipe     string
	Culture    string
	Container  string
	Cook       string
	Layer      int // 1 is the bottom, 0 not said
	Shelf      string
	MixMade    string
	Filled     lab.When
	Inoculated lab.When
	Amount     string // of inoculum, as typed
	Stages     []SheetStage
	Lost       bool
	Reason     string
	LostAt     lab.When
	Barren     bool
	Spent      bool
	Picks      []SheetPick
	DryGrams   units.Gram // dry substrate, 0 not said
	Note       string
}

// SheetStage is a stage that a sheet dates.
type SheetStage struct {
	Stage lab.Stage
	At    lab.When
}

// SheetPick is a weight that a sheet gives.
type SheetPick struct {
	Flush int
	Grams units.Gram
	Typed string
	At    lab.When
}

// RefusedRow is a row that can not be taken in, with its reason.
type RefusedRow struct {
	Row    int    `json:"row"`
	Column string `json:"column"`
	Value  string `json:"value"`
	What   string `json:"what"`
	Mend   string `json:"mend"`
}

// ImportOptions says how a sheet is taken in.
type ImportOptions struct {
	DryRun       bool                  // say what would happen and store nothing
	SkipBad      bool                  // take in the good rows although some are refused
	Progress     func(done, total int) // called now and then, from the same goroutine; nil for none
	ArmsDifferIn []string              // what arms differ in; nothing is treatment
}

// ImportReport says what an import did, or would do.
type ImportReport struct {
	Noun     string           `json:"noun,omitempty"` // of a sheet of other records than jars
	DryRun   bool             `json:"dry_run"`
	Stored   bool             `json:"stored"`
	Rows     int              `json:"rows"`    // read without fault
	Jars     int              `json:"jars"`    // new
	Known    int              `json:"known"`   // jars that were there already
	Entries  int              `json:"entries"` // new
	Same     int              `json:"same"`    // entries that were there already
	Mended   int              `json:"mended"`  // entries that differ from the sheet and are corrected by it
	Batches  []string         `json:"batches"`
	Trials   []string         `json:"trials"`
	Columns  []SheetColumn    `json:"columns"`
	Refused  []RefusedRow     `json:"refused"`
	Cautions []figure.Caution `json:"cautions"`
	Deed     lab.DeedID       `json:"deed,omitempty"`

	touched []lab.JarID // jars on which something was entered
}

// errNotKept rolls an import back that is a dry run or was refused.
var errNotKept = errors.New("import is not kept")

// ImportJars takes a sheet of jars in. By default a single refused row keeps
// the whole sheet out. Running it twice stores nothing twice: what is there
// already is recognised by batch and number or mark, and what differs is
// corrected by a new entry.
func (f *Farm) ImportJars(ctx context.Context, a Act, sheet JarSheet, o ImportOptions) (ImportReport, error) {
	im := &importing{
		farm: f, sheet: sheet, options: o,
		report: ImportReport{DryRun: o.DryRun, Rows: len(sheet.Rows), Columns: sheet.Columns, Refused: slices.Clone(sheet.Refused), Cautions: slices.Clone(sheet.Doubts)},
	}
	var err error
	if im.differ, err = lab.ParseFactors(o.ArmsDifferIn); err != nil {
		return im.report, err
	}
	err = f.store.Write(ctx, func(w store.Writer) error { return im.run(ctx, w, a) })
	if errors.Is(err, errNotKept) {
		err = nil
	}
	im.report.touched = im.touched
	im.report.tidy()
	if err == nil {
		err = f.askAbout(ctx, &im.report)
	}
	return im.report, err
}

// askAbout adds a caution if visits that were taken in do not fit together. They
// are taken in as they stand: which of them is right only the grower knows.
func (f *Farm) askAbout(ctx context.Context, report *ImportReport) error {
	if !report.Stored || len(report.touched) == 0 {
		return nil
	}
	jars := report.touched[:min(len(report.touched), pageOfJars)]
	asked, err := f.questions(ctx, func(r store.Reader) ([]store.JarRow, error) {
		return r.Jars(ctx, store.JarFilter{IDs: jars})
	})
	asked = Contradicting(asked)
	if err != nil || len(asked) == 0 {
		return err
	}
	text := fmt.Sprintf("%s about what was taken in; the first: %s", figure.Count(len(asked), "question is open", "questions are open"), asked[0].Jar+": "+asked[0].Text)
	if len(jars) < len(report.touched) {
		text += fmt.Sprintf(" Only the first %d jars were looked at.", len(jars))
	}
	report.Cautions = append(report.Cautions, figure.Caution{Code: "visits_differ", Title: "Visits do not fit together", Weight: figure.Care, Text: text + " All stand on the pages of their batches; nothing was mended."})
	return nil
}

// tidy sorts the refused rows and leaves no list nil.
func (r *ImportReport) tidy() {
	slices.SortStableFunc(r.Refused, func(a, b RefusedRow) int { return a.Row - b.Row })
	if r.Refused == nil {
		r.Refused = []RefusedRow{}
	}
	if r.Cautions == nil {
		r.Cautions = []figure.Caution{}
	}
	if r.Columns == nil {
		r.Columns = []SheetColumn{}
	}
	if r.Batches == nil {
		r.Batches = []string{}
	}
	if r.Trials == nil {
		r.Trials = []string{}
	}
}
