package api

import (
	"bytes"
	"context"
	"encoding/csv"
	"maps"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"pinset/internal/app"
	"pinset/internal/ingest"
	"pinset/internal/lab"
)

// describeSheets registers records that are read and written as rows under the
// headings of a spreadsheet.
func (s *service) describeSheets(to huma.API) {
	get(to, "/records/{noun}", "list-records", "Supplies and cultures as rows under the headings of a sheet", s.sheet)
	post(to, "/records/{noun}", "add-records", "Take rows in under the headings of a sheet: all or none, and twice is harmless", s.addRows)
	get(to, "/species/{species}", "get-species", "What a species wants, with the grower's own figures for a strain", s.species)
}

type sheetPage struct {
	Noun  string `path:"noun" enum:"cultures,lots,ingredients,containers,recipes"`
	After int    `query:"after" minimum:"0" doc:"rows that come later only"`
}

// Row is a record by heading. A value is text, a number, or null.
type Row map[string]any

const rowsShown = 500

func (s *service) sheet(ctx context.Context, in *sheetPage) (list[Row], error) {
	table, err := s.farm.Export(ctx, in.Noun)
	if err != nil {
		return list[Row]{}, err
	}
	from := min(in.After, len(table.Rows))
	until := min(from+rowsShown, len(table.Rows))
	var out []Row
	for _, cells := range table.Rows[from:until] {
		row := make(Row, len(table.Head))
		for i, h := range table.Head {
			row[h] = cell(cells[i])
		}
		out = append(out, row)
	}
	page := whole(out)
	if until < len(table.Rows) {
		page.Next = nextAfter(until)
	}
	return page, nil
}

// cell is a value of a sheet in JSON: days and times are text.
func cell(v any) any {
	switch v := v.(type) {
	case lab.Day:
		return v.Format(time.DateOnly)
	case time.Time:
		return v.Format(time.RFC3339)
	}
	return v
}

type newRows struct {
	Act
	Noun string `path:"noun" enum:"cultures,lots,ingredients,containers,recipes,seen,picks"`
	Body struct {
		Rows    []map[string]string `json:"rows" minItems:"1" maxItems:"5000" doc:"by heading, as typed: {\"culture\": \"LC-9\", \"volume\": \"600 mL\"}"`
		DryRun  bool                `json:"dry_run,omitempty" doc:"say what would happen and store nothing"`
		SkipBad bool                `json:"skip_bad,omitempty" doc:"take in the good rows although some are refused"`
	}
}

type tookIn struct {
	Stored  bool         `json:"stored"`
	New     int          `json:"new"`
	Same    int          `json:"same" doc:"that were there already"`
	Refused []refusedRow `json:"refused"`
	Deed    string       `json:"deed" doc:"of seen and picks: give it to undo"`
}

type refusedRow struct {
	Row     int    `json:"row" doc:"from 1"`
	Heading string `json:"heading"`
	Value   string `json:"value"`
	What    string `json:"what"`
	Mend    string `json:"mend"`
}

// addRows takes the rows in by way of a sheet, so that headings and days are
// read as those of a file are.
func (s *service) addRows(ctx context.Context, in *newRows) (tookIn, error) {
	file, err := csvOf(in.Body.Rows)
	if err != nil {
		return tookIn{}, err
	}
	sheet, err := ingest.ReadRecords(file, "rows of a program", in.Noun, ingest.Options{Zone: s.farm.Zone(ctx), Now: s.farm.Now()})
	if err != nil {
		return tookIn{}, err
	}
	report, err := s.farm.ImportRecords(ctx, in.act(), sheet, app.ImportOptions{DryRun: in.Body.DryRun, SkipBad: in.Body.SkipBad})
	if err != nil {
		return tookIn{}, err
	}
	out := tookIn{Stored: report.Stored, New: report.Entries, Same: report.Same, Refused: []refusedRow{}, Deed: string(report.Deed)}
	for _, r := range report.Refused {
		out.Refused = append(out.Refused, refusedRow{r.Row - 1, r.Column, r.Value, r.What, r.Mend})
	}
	return out, nil
}

func csvOf(rows []map[string]string) (*bytes.Buffer, error) {
	headings := make(map[string]bool)
	for _, row := range rows {
		for h := range row {
			headings[h] = true
		}
	}
	head := slices.Sorted(maps.Keys(headings))
	var file bytes.Buffer
	w := csv.NewWriter(&file)
	if err := w.Write(head); err != nil {
		return nil, err
	}
	for _, row := range rows {
		line := make([]string, len(head))
		for i, h := range head {
			line[i] = row[h]
		}
		if err := w.Write(line); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return &file, w.Error()
}

type ofSpecies struct {
	Species string `path:"species" doc:"as you call it"`
	Strain  string `query:"strain" doc:"whose own figures go first"`
}

type speciesProfile struct {
	Species string   `json:"species"`
	Light   bool     `json:"light" doc:"jars are moved to light when covered"`
	Targets []target `json:"targets"`
}

type target struct {
	Target string   `json:"target" doc:"phase and quantity, such as run.temperature"`
	From   *float64 `json:"from" doc:"null is an open end"`
	To     *float64 `json:"to"`
	Text   string   `json:"text"`
	Source string   `json:"source"`
	Doubt  string   `json:"doubt"`
	Own    bool     `json:"own"`
}

func (s *service) species(ctx context.Context, in *ofSpecies) (speciesProfile, error) {
	v, err := s.farm.SpeciesOf(ctx, in.Species, in.Strain)
	if err != nil {
		return speciesProfile{}, err
	}
	out := speciesProfile{Species: v.Species, Light: v.Light, Targets: []target{}}
	for _, t := range v.Targets {
		x := target{Target: t.Key(), Text: t.String(), Source: t.Source, Doubt: t.Doubt, Own: t.Own}
		x.From, x.To = t.Ends()
		out.Targets = append(out.Targets, x)
	}
	return out, nil
}
