package ingest

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"pinset/internal/app"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/workbook"
)

// takeIn reads a sheet and takes it in.
func takeIn(t *testing.T, f *app.Farm, noun, text string, o app.ImportOptions) app.ImportReport {
	t.Helper()
	sheet, err := ReadRecords(strings.NewReader(text), noun+".csv", noun, Options{Now: f.Now()})
	if err != nil {
		t.Fatal(err)
	}
	report, err := f.ImportRecords(t.Context(), app.Act{By: "IV"}, sheet, o)
	if err != nil {
		t.Fatal(err)
	}
	return report
}

func exported(t *testing.T, f *app.Farm, noun string) app.Table {
	t.Helper()
	table, err := f.Export(t.Context(), noun)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// What a grower keeps besides jars goes out, comes into an empty farm, and is
// the same when it is taken out again; a second time nothing is new. Figures
// that follow from other records, and who entered what when, are left out.
func TestRecordsGoOutAndComeBack(t *testing.T) {
	now := time.Date(2026, 3, 20, 12, 0, 0, 0, time.UTC)
	at := app.WithClock(func() time.Time { return now })
	planted := emptyFarm(t)
	if err := demo.Plant(t.Context(), planted, now); err != nil {
		t.Fatal(err)
	}
	from, to := planted(at), emptyFarm(t)(at)
	stockUp(t, from)
	if err := to.SaveSettings(t.Context(), app.NewSettings{Zone: "UTC"}); err != nil {
		t.Fatal(err)
	}
	for _, noun := range []string{"ingredients", "containers", "lots", "recipes", "cultures", "jars", "seen", "picks"} {
		want := exported(t, from, noun)
		if len(want.Rows) == 0 {
			t.Errorf("there are no %s to take out", noun)
		}
		var file bytes.Buffer
		if err := workbook.WriteXLSX(&file, exported(t, from, "batches"), want); err != nil {
			t.Fatal(err)
		}
		if noun == "jars" { // without what the sheets of entries say
			if err := bringJars(t.Context(), to, want); err != nil {
				t.Fatal(err)
			}
			continue
		}
		for round := range 2 {
			sheet, err := ReadRecords(bytes.NewReader(file.Bytes()), "farm.xlsx", noun, Options{})
			if err != nil {
				t.Fatal(noun, err)
			}
			report, err := to.ImportRecords(t.Context(), app.Act{}, sheet, app.ImportOptions{})
			if err != nil {
				t.Fatal(noun, err)
			}
			if len(report.Refused) > 0 {
				t.Fatalf("%s refused: %+v", noun, report.Refused[0])
			}
			if round == 1 && report.Entries > 0 {
				t.Errorf("the second time %d %s are new", report.Entries, noun)
			}
		}
		got := exported(t, to, noun)
		derived := []string{"entered", "code", "by", "as typed", "left mL", "jars", "picked", "lost", "fouled", "grams", "drawn g", "left g"}
		if noun == "picks" {
			derived = slices.DeleteFunc(derived, func(h string) bool { return h == "grams" })
		}
		if diff := cmp.Diff(rowsBut(want, derived...), rowsBut(got, derived...)); diff != "" {
			t.Errorf("%s: -went out +came back:\n%s", noun, diff[:min(len(diff), 3000)])
		}
	}
}

// stockUp adds to the farm what its year lacks.
func stockUp(t *testing.T, f *app.Farm) {
	t.Helper()
	for _, err := range []error{
		third(f.AddLot(t.Context(), app.Act{}, app.NewLot{Ingredient: "millet", Supplier: "mill", SupplierCode: "M-7", Received: "2026-01-05", BestBefore: "2027-01-01", Moisture: "12.5 %", Bought: "2 x 25 kg", Price: "49.80 EUR", Note: "dusty"})),
		second(f.SetFigures(t.Context(), app.Act{}, app.NewFigures{Ingredient: "millet", Moisture: "11 %", Nitrogen: "1.9 %", Cup: "200 g", Allergens: "none"})),
		second(f.KeepCulture(t.Context(), app.Act{}, app.NewKeeping{Culture: firstCulture(t, f), Kept: "tested", Finding: "clean", At: "2026-01-09"})),
		second(f.KeepCulture(t.Context(), app.Act{}, app.NewKeeping{Culture: firstCulture(t, f), Kept: "stored", Storage: "fridge", At: "2026-01-10"})),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

func second[A any](_ A, err error) error        { return err }
func third[A, B any](_ A, _ B, err error) error { return err }

func firstCulture(t *testing.T, f *app.Farm) string {
	t.Helper()
	rows, err := f.Cultures(t.Context())
	if err != nil || len(rows) == 0 {
		t.Fatal(err, "no culture")
	}
	return rows[len(rows)-1].Name
}

// bringJars takes in what a sheet of jars says of the jars themselves.
func bringJars(ctx context.Context, to *app.Farm, all app.Table) error {
	bare := app.Table{Noun: all.Noun}
	var columns []int
	for i, h := range all.Head {
		if slices.Contains([]string{"batch", "jar", "blank", "arm", "recipe", "culture", "container", "inoculated", "amount"}, h) {
			bare.Head, columns = append(bare.Head, h), append(columns, i)
		}
	}
	for _, row := range all.Rows {
		var cells []any
		for _, i := range columns {
			cells = append(cells, row[i])
		}
		bare.Rows = append(bare.Rows, cells)
	}
	var file bytes.Buffer
	if err := workbook.WriteCSV(&file, bare); err != nil {
		return err
	}
	sheet, err := ReadJars(&file, "jars.csv", Options{})
	if err != nil {
		return err
	}
	_, err = to.ImportJars(ctx, app.Act{}, sheet, app.ImportOptions{})
	return err
}

// A grower's own list of cultures: days in two orders settled by one row,
// units in the heading, words of its own; the child stands below its parent.
func TestOwnListOfCultures(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	f := emptyFarm(t)(app.WithClock(func() time.Time { return now }))
	const list = "My cultures,,,,,,\nID,Kind,Strain,Taken from,Made on,Holds (L),Test,colour of lid\n" +
		"M-1,slant,K7,,3/4/2026,,clean,red\nLC-1,LC,,M-1,13/4/2026,0.6,clean,\n"
	report := takeIn(t, f, "cultures", list, app.ImportOptions{})
	if !report.Stored || report.Entries != 2 {
		t.Fatalf("%+v", report)
	}
	if c := report.Columns[7]; !strings.Contains(c.Means, "left out") {
		t.Errorf("the lid's colour is taken for %q", c.Means)
	}
	rows := rowsBut(exported(t, f, "cultures"))
	if lc := rows[1]; lc["parent"] != "M-1" || lc["strain"] != "K7" || lc["volume mL"] != 600.0 || lc["tested"] != "clean" {
		t.Errorf("LC-1 came in as %v", lc)
	}
	if m := rows[0]; m["made"] != (lab.Day{Time: time.Date(2026, 4, 3, 0, 0, 0, 0, time.UTC)}) {
		t.Errorf("M-1 was made %v", m["made"])
	}
}

// One bad row keeps the sheet out, and is listed; without it the others come
// in, but not those that rest on it.
func TestRowsAreRefusedWithReason(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	f := emptyFarm(t)(app.WithClock(func() time.Time { return now }))
	const list = "culture,form,parent,made\nM-1,slant,,2026-04-03\nM-2,cake,,2026-04-03\nLC-2,LC,M-2,2026-04-13\nLC-1,LC,M-1,2026-04-13\n"
	report := takeIn(t, f, "cultures", list, app.ImportOptions{})
	if report.Stored || len(report.Refused) != 2 || report.Refused[0].Row != 3 || !strings.Contains(report.Refused[0].What, "cake") {
		t.Fatalf("%+v", report)
	}
	if n := len(exported(t, f, "cultures").Rows); n != 0 {
		t.Errorf("%d cultures were kept all the same", n)
	}
	report = takeIn(t, f, "cultures", list, app.ImportOptions{SkipBad: true})
	if !report.Stored || report.Entries != 2 || len(report.Refused) != 2 {
		t.Fatalf("%+v", report)
	}
	if got := rowsBut(exported(t, f, "cultures")); len(got) != 2 || got[1]["culture"] != "LC-1" {
		t.Errorf("came in: %v", got)
	}
	if dry := takeIn(t, f, "containers", "container,bore mm\nhalf litre,76\n", app.ImportOptions{DryRun: true}); dry.Stored || dry.Entries != 1 || len(exported(t, f, "containers").Rows) != 0 {
		t.Errorf("a dry run: %+v", dry)
	}
}

// Deliveries are told apart by what came and when, not by the numbers that
// another farm gave them; two sacks of one day stay two.
func TestDeliveriesOfAnotherFarm(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	f := emptyFarm(t)(app.WithClock(func() time.Time { return now }))
	takeIn(t, f, "ingredients", "ingredient,moisture %\nmillet,11\n", app.ImportOptions{})
	const list = "lot,ingredient,received,bought\nI8,millet,2026-04-02,25 kg\nI9,millet,2026-04-02,25 kg\nI3,millet,2026-03-01,10 kg\n"
	if report := takeIn(t, f, "lots", list, app.ImportOptions{}); report.Entries != 3 {
		t.Fatalf("%+v", report)
	}
	if report := takeIn(t, f, "lots", list, app.ImportOptions{}); report.Entries != 0 || len(report.Refused) != 0 {
		t.Errorf("the second time: %+v", report)
	}
	other := takeIn(t, f, "lots", "lot,ingredient,received,bought\nI1,millet,2025-12-24,40 kg\n", app.ImportOptions{})
	if other.Stored || len(other.Refused) != 1 || !strings.Contains(other.Refused[0].What, "I1 is another delivery of millet here: 25 kg, received") {
		t.Errorf("a lot of the same number: %+v", other)
	}
}

func TestSheetsThatAreNone(t *testing.T) {
	for _, c := range []struct{ noun, text, says string }{
		{"cultures", "Dear diary\ntoday it rained\n", "reads as the header"},
		{"cultures", "culture,form\n", "nothing"},
		{"boats", "boat\nx\n", "can not be read"},
		{"picks", "", "reads as the header"},
	} {
		if _, err := ReadRecords(strings.NewReader(c.text), "a.csv", c.noun, Options{}); !lab.IsKind(err, lab.Invalid) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %q: %v", c.noun, c.text, err)
		}
	}
	got, err := ReadRecords(strings.NewReader("jar,batch,picked,grams\n1,B1,3/4/2026,#REF!\n2,B1,3/4/2026,5\n"), "a.csv", "picks", Options{})
	if err != nil || len(got.Refused) != 2 || !strings.Contains(got.Refused[0].What+got.Refused[1].What, "which") {
		t.Errorf("%+v, %v", got.Refused, err)
	}
}

func FuzzReadRecords(f *testing.F) {
	for _, s := range []string{"culture,form\nM-1,slant\n", "jar;batch;grams\n1;B1;2,5\n", "\"", "lot,bought (kg)\nI1,5\n", "ingredient,%\nmillet,1\n"} {
		for i := range RecordNouns {
			f.Add(i, s)
		}
	}
	f.Fuzz(func(t *testing.T, i int, text string) {
		noun := RecordNouns[(i%len(RecordNouns)+len(RecordNouns))%len(RecordNouns)]
		sheet, err := ReadRecords(strings.NewReader(text), "a.csv", noun, Options{})
		if err != nil && !lab.IsKind(err, lab.Invalid) {
			t.Error(err)
		}
		if err == nil && len(sheet.Rows)+len(sheet.Refused) == 0 {
			t.Error("rows vanished")
		}
	})
}
