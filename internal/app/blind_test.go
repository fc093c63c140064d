package app_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
)

// No export and no count of fouled jars tells an arm of a blind trial, whatever
// its arms differ in, until the key is opened.
func TestBlindInExportsAndCounts(t *testing.T) {
	byCulture := blind()
	byCulture.Differ = []string{"culture"}
	byCulture.Arms = []app.PlanArm{{Name: "plain ration", Culture: "LC-1"}, {Name: "golden ration", Culture: "LC-3"}}
	byCulture.Recipe = "oats"
	for name, tc := range map[string]struct {
		plan app.PlanInput
		told []string // what tells the arms, in a row of a jar
	}{
		"recipe":  {blind(), []string{"plain ration", "golden ration", "millet", "oats"}},
		"culture": {byCulture, []string{"plain ration", "golden ration", "LC-1", "LC-3"}},
	} {
		t.Run(name, func(t *testing.T) {
			onBoth(t, func(b *bench) {
				b.supplies()
				must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-3", Form: "LC", Strain: "A1", Made: "2026-02-10"}))(b)
				k := b.inoculated(tc.plan)
				b.blindExports(tc.told)
				b.fouledByLetter(k, tc.told)
				must(b.OpenKey(b.ctx, app.Act{}, "hidden"))(b)
				jars := must(b.Export(b.ctx, "jars"))(b)
				if said := fmt.Sprint(jars.Rows); !strings.Contains(said, tc.told[0]) || !strings.Contains(said, tc.told[2]) {
					t.Error("the key is open, but the export does not name the arms")
				}
			})
		})
	}
}

func (b *bench) blindExports(told []string) {
	b.t.Helper()
	for _, noun := range []string{"jars", "seen", "picks", "batches", "cooks"} {
		table := must(b.Export(b.ctx, noun))(b)
		for _, row := range table.Rows {
			for _, word := range told {
				if strings.Contains(fmt.Sprint(row...), word) {
					b.t.Errorf("the export of %s tells %q: %v", noun, word, row)
				}
			}
		}
		if at := slices.Index(table.Head, "arm"); noun == "jars" && !slices.ContainsFunc(table.Rows, func(r []any) bool { return r[at] == "A" }) {
			b.t.Error("no jar of the export goes by its letter")
		}
	}
	for _, culture := range []string{"LC-1", "LC-3"} {
		for _, of := range must(b.CultureView(b.ctx, culture))(b).Made {
			if told[2] == "LC-1" && len(of.Numbers) > 0 {
				b.t.Errorf("the page of %s numbers the jars of one arm: %s", culture, of)
			}
		}
	}
}

func (b *bench) fouledByLetter(k app.Kept, told []string) {
	b.t.Helper()
	b.clock.days(6)
	for n := 1; n <= 6; n++ {
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: fmt.Sprintf("%s·%d", k.Batch, n), Fate: "lost", Reason: "fouled"}))(b)
	}
	v := must(b.Fouled(b.ctx, app.FouledInput{}))(b)
	for _, f := range v.Answer.Result.Factors {
		for _, l := range f.Levels {
			if slices.ContainsFunc(told, func(w string) bool { return strings.Contains(l.Level, w) }) {
				b.t.Errorf("fouled jars are counted by %s %s of a blind trial", f.Name, l.Level)
			}
		}
	}
	if !strings.Contains(codes(v.Answer.Cautions), "blind") {
		b.t.Error("nothing says what the counts leave out")
	}
}
