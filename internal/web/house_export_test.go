package web

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/workbook"
)

// The page of sheets offers every noun, and each file is what it says.
func TestRecordsAreTakenOut(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	page := x.get("/import").doc()
	page.want("the whole farm", tag("a"), with("href", "/export/farm.xlsx"))
	page.want("the jars", tag("a"), with("href", "/export/jars.csv"))
	jars := x.get("/export/jars.csv").status(http.StatusOK)
	if got := jars.Body.String(); !strings.HasPrefix(got, "\uFEFFbatch,jar,code,") || strings.Count(got, "\r\n") < 13 {
		t.Errorf("jars.csv is %.200q", got)
	}
	if d := jars.Header().Get("Content-Disposition"); d != `attachment; filename="jars.csv"` {
		t.Errorf("it is sent as %s", d)
	}
	farm := x.get("/export/farm.xlsx").status(http.StatusOK)
	book, err := workbook.Read(bytes.Clone(farm.Body.Bytes()))
	if err != nil || len(book.Sheets) != len(app.ExportNouns) {
		t.Errorf("farm.xlsx has %d sheets: %v", len(book.Sheets), err)
	}
	for _, path := range []string{"/export/money.csv", "/export/jars.pdf", "/export/farm.csv", "/export/..%2Fx.csv"} {
		x.get(path).status(http.StatusNotFound)
	}
}
