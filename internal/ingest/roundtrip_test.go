package ingest

import (
	"bytes"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"pinset/internal/app"
	"pinset/internal/demo"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
	"pinset/internal/workbook"
)

func emptyFarm(t *testing.T) func(...app.Option) *app.Farm {
	t.Helper()
	db, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return func(o ...app.Option) *app.Farm { return app.New(db, o...) }
}

// The jars of a year, written to a spreadsheet and taken in by an empty farm,
// are the same jars: written again they are the same table, but for the codes
// that are never given twice. Taken in a second time nothing changes.
func TestJarsGoOutAndComeBack(t *testing.T) {
	now := time.Date(2026, 3, 20, 12, 0, 0, 0, time.UTC)
	at := app.WithClock(func() time.Time { return now })
	from := emptyFarm(t)
	if err := demo.Plant(t.Context(), from, now); err != nil {
		t.Fatal(err)
	}
	want, err := from(at).Export(t.Context(), "jars")
	if err != nil {
		t.Fatal(err)
	}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"csv":  func(b *bytes.Buffer) error { return workbook.WriteCSV(b, want) },
		"xlsx": func(b *bytes.Buffer) error { return workbook.WriteXLSX(b, want) },
	} {
		t.Run(name, func(t *testing.T) {
			var file bytes.Buffer
			if err := write(&file); err != nil {
				t.Fatal(err)
			}
			to := emptyFarm(t)(at)
			if err := to.SaveSettings(t.Context(), app.NewSettings{Zone: "UTC"}); err != nil {
				t.Fatal(err)
			}
			for round := range 2 {
				sheet, err := ReadJars(bytes.NewReader(file.Bytes()), "jars."+name, Options{})
				if err != nil {
					t.Fatal(err)
				}
				report, err := to.ImportJars(t.Context(), app.Act{}, sheet, app.ImportOptions{})
				if err != nil {
					t.Fatal(err)
				}
				if len(report.Refused) > 0 {
					t.Fatalf("refused: %+v", report.Refused[0])
				}
				if round == 1 && report.Jars+report.Entries+report.Mended > 0 {
					t.Errorf("the second time %d jars and %d entries are new, %d mended", report.Jars, report.Entries, report.Mended)
				}
			}
			got, err := to.Export(t.Context(), "jars")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(rowsBut(want, "code", "mark"), rowsBut(got, "code", "mark")); diff != "" {
				t.Errorf("-went out +came back:\n%s", diff)
			}
		})
	}
}

// rowsBut returns the cells of a table by heading, without some columns.
func rowsBut(t app.Table, without ...string) []map[string]any {
	var out []map[string]any
	for _, row := range t.Rows {
		cells := make(map[string]any)
		for i, h := range t.Head {
			cells[h] = row[i]
		}
		for _, h := range without {
			delete(cells, h)
		}
		out = append(out, cells)
	}
	return out
}
