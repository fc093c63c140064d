package app_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// sheet is 16 jars in two arms, two cooks and two layers; jar 16 is lost.
func sheet() app.JarSheet {
	day := func(m time.Month, d int) lab.When { return lab.OnDay(time.Date(2026, m, d, 0, 0, 0, 0, time.UTC)) }
	s := app.JarSheet{Source: "winter.csv"}
	for n := 1; n <= 16; n++ {
		row := app.SheetRow{
			Row: n + 1, Batch: "Winter", Number: n, Arm: []string{"rye", "barley"}[n%2], Cook: fmt.Sprint(1 + (n-1)/8),
			Layer: 1 + (n-1)/4%2, Culture: "LC-9", Inoculated: day(1, 5), Amount: "2 mL",
			Stages: []app.SheetStage{{Stage: lab.Cover, At: day(1, 20)}},
		}
		if n == 16 {
			row.Lost, row.Reason, row.LostAt = true, "fouled", day(1, 25)
		} else {
			row.Picks = []app.SheetPick{{Flush: 1, Grams: units.Gram(10 + n%4 + 5*(n%2)), At: day(3, 1)}}
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

func TestImportTwiceIsHarmless(t *testing.T) {
	onBoth(t, func(b *bench) {
		first := must(b.ImportJars(b.ctx, app.Act{}, sheet(), app.ImportOptions{ArmsDifferIn: []string{"recipe"}}))(b)
		if !first.Stored || first.Jars != 16 || len(first.Refused) != 0 {
			t.Fatalf("first import: %+v", first)
		}
		before := must(b.Verdict(b.ctx, "Winter"))(b)
		second := must(b.ImportJars(b.ctx, app.Act{}, sheet(), app.ImportOptions{ArmsDifferIn: []string{"recipe"}}))(b)
		if second.Stored || second.Jars != 0 || second.Known != 16 || second.Entries != 0 || second.Mended != 0 {
			t.Errorf("second import: %+v", second)
		}
		after := must(b.Verdict(b.ctx, "Winter"))(b)
		if before.Result.Sentence != after.Result.Sentence || after.Result.Ending != "supported" {
			t.Errorf("verdict before %q, after %q (%s)", before.Result.Sentence, after.Result.Sentence, after.Result.Ending)
		}
	})
}

func TestImportOfAMendedSheetCorrects(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.ImportJars(b.ctx, app.Act{}, sheet(), app.ImportOptions{}))(b)
		mended := sheet()
		mended.Rows[0].Picks[0].Grams = 99
		mended.Rows[1].Picks = append(mended.Rows[1].Picks, app.SheetPick{Flush: 2, Grams: 3})
		report := must(b.ImportJars(b.ctx, app.Act{}, mended, app.ImportOptions{}))(b)
		if report.Mended != 1 || report.Entries != 1 {
			t.Errorf("mended %d, new %d; want 1 and 1", report.Mended, report.Entries)
		}
		if g := must(b.JarView(b.ctx, "Winter·1"))(b).Row.Grams; g != 99 {
			t.Errorf("jar 1 gave %v after the mended sheet, want 99 g", g)
		}
		if g := must(b.JarView(b.ctx, "Winter·2"))(b).Row.Grams; g != 15 {
			t.Errorf("jar 2 gave %v with its second flush, want 15 g", g)
		}
	})
}

func TestImportIsAllOrNothing(t *testing.T) {
	onBoth(t, func(b *bench) {
		bad := sheet()
		bad.Refused = []app.RefusedRow{{Row: 18, Column: "picked", Value: "31 Feb", What: "31 Feb is not a day", Mend: "check the date"}}
		bad.Rows[3].Picks[0].Grams = -4
		report := must(b.ImportJars(b.ctx, app.Act{}, bad, app.ImportOptions{}))(b)
		if report.Stored || len(report.Refused) != 2 || report.Refused[0].Row != 5 {
			t.Fatalf("a sheet with two bad rows: stored %v, refused %+v", report.Stored, report.Refused)
		}
		if all := must(b.Batches(b.ctx))(b); len(all) != 0 {
			t.Fatalf("a refused sheet left %d batches", len(all))
		}
		dry := must(b.ImportJars(b.ctx, app.Act{}, sheet(), app.ImportOptions{DryRun: true}))(b)
		if dry.Stored || dry.Jars != 16 {
			t.Errorf("a dry run: %+v", dry)
		}
		if all := must(b.Batches(b.ctx))(b); len(all) != 0 {
			t.Fatalf("a dry run left %d batches", len(all))
		}
		good := must(b.ImportJars(b.ctx, app.Act{}, bad, app.ImportOptions{SkipBad: true}))(b)
		if !good.Stored || good.Jars != 16 {
			t.Errorf("taking in the good rows: %+v", good)
		}
	})
}

func TestImportedArmsAreTakenForATreatment(t *testing.T) {
	onBoth(t, func(b *bench) {
		report := must(b.ImportJars(b.ctx, app.Act{}, sheet(), app.ImportOptions{}))(b)
		said := false
		for _, c := range report.Cautions {
			said = said || c.Code == "treatment_assumed"
		}
		v := must(b.Verdict(b.ctx, "Winter"))(b)
		if !said || fmt.Sprint(v.Result.Differ) != "[treatment]" {
			t.Errorf("cautions %+v, arms differ in %v", report.Cautions, v.Result.Differ)
		}
		inVerdict := false
		for _, c := range v.Cautions {
			inVerdict = inVerdict || c.Code == "treatment_assumed"
		}
		if !inVerdict {
			t.Errorf("the verdict does not say that a treatment is assumed: %+v", v.Cautions)
		}
	})
}

// A long sheet tells how far it is, and a short one is quiet.
func TestALongSheetTellsHowFarItIs(t *testing.T) {
	onSQLite(t, func(b *bench) {
		told := func(rows int) (ticks []int) {
			sheet := app.JarSheet{Source: "long.csv"}
			for i := range rows {
				sheet.Rows = append(sheet.Rows, app.SheetRow{Row: i + 2, Batch: fmt.Sprintf("long %d", i/400), Number: i%400 + 1})
			}
			must(b.ImportJars(b.ctx, app.Act{}, sheet, app.ImportOptions{DryRun: true, Progress: func(done, total int) {
				if ticks = append(ticks, done); total != rows {
					t.Errorf("of %d rows, there are %d", total, rows)
				}
			}}))(b)
			return ticks
		}
		if got := told(12000); !slices.Equal(got, []int{5000, 10000}) {
			t.Errorf("12 000 rows tell at %v", got)
		}
		if got := told(40); got != nil {
			t.Errorf("40 rows tell at %v", got)
		}
	})
}
