package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/workbook"
)

type exportCmd struct {
	records
	Noun string `arg:"" help:"jars, seen, picks, batches, cooks, cultures, lots, ingredients, containers, recipes, photos, or all."`
	To   string `arg:"" optional:"" help:"File to write, .csv or .xlsx; CSV to standard output if left out." type:"path" name:"file"`
}

func (c *exportCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		nouns := []string{c.Noun}
		if c.Noun == "all" {
			nouns = app.ExportNouns
		}
		var tables []app.Table
		for _, noun := range nouns {
			t, err := f.Export(r.ctx, noun)
			if err != nil {
				return err
			}
			tables = append(tables, t)
		}
		var file bytes.Buffer
		switch ext := strings.ToLower(filepath.Ext(c.To)); {
		case ext == ".xlsx":
			if err := workbook.WriteXLSX(&file, tables...); err != nil {
				return err
			}
		case c.To != "" && ext != ".csv":
			return lab.Invalidf("file", "end its name in .csv or .xlsx", "%s is neither CSV nor a workbook", c.To)
		case len(tables) > 1:
			return lab.Invalidf("file", "name a file that ends in .xlsx, or one noun", "CSV holds one sheet, not %d", len(tables))
		default:
			if err := workbook.WriteCSV(&file, tables[0]); err != nil {
				return err
			}
		}
		return r.printExport(c.To, file.Bytes(), tables)
	})
}

// printExport writes the file, or prints it where none is named.
func (r *run) printExport(to string, file []byte, tables []app.Table) error {
	if to == "" {
		_, err := r.Out.Write(file)
		return err
	}
	if err := r.WriteFile(to, file); err != nil {
		return err
	}
	rows := make(map[string]int, len(tables))
	for _, t := range tables {
		rows[t.Noun] = len(t.Rows)
	}
	return r.print(map[string]any{"file": to, "rows": rows}, func(w io.Writer) {
		for _, t := range tables {
			fmt.Fprintf(w, "%d %s\n", len(t.Rows), t.Noun)
		}
		fmt.Fprintln(w, "written:", to)
	})
}
