package web

import (
	"bytes"
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/workbook"
)

// getExport serves GET /export/{file}: "jars.csv", "jars.xlsx", and
// "farm.xlsx" with a sheet for each noun.
func (s *server) getExport(w http.ResponseWriter, r *http.Request) error {
	file := r.PathValue("file")
	noun, ext, _ := strings.Cut(file, ".")
	nouns := []string{noun}
	if noun == "farm" && ext == "xlsx" {
		nouns = app.ExportNouns
	}
	if ext != "csv" && ext != "xlsx" {
		return lab.NotFoundf("ask for .csv or .xlsx", "there is no file %s", clipped(file, 40))
	}
	var tables []app.Table
	for _, n := range nouns {
		t, err := s.farm.Export(r.Context(), n)
		if err != nil {
			return err
		}
		tables = append(tables, t)
	}
	var body bytes.Buffer
	h := w.Header()
	if ext == "csv" {
		h.Set("Content-Type", "text/csv; charset=utf-8")
		if err := workbook.WriteCSV(&body, tables[0]); err != nil {
			return err
		}
	} else {
		h.Set("Content-Type", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
		if err := workbook.WriteXLSX(&body, tables...); err != nil {
			return err
		}
	}
	h.Set("Content-Disposition", `attachment; filename="`+noun+"."+ext+`"`)
	h.Set("Cache-Control", "private, no-cache")
	_, err := w.Write(body.Bytes())
	return err
}
