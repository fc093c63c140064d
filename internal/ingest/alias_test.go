package ingest

import (
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Every word that a column can be told to be is understood as a heading.
func TestEveryHeadingIsUnderstood(t *testing.T) {
	for _, h := range HeadingsOf(Jars) {
		if c := readHeader(h); c.means == forNote {
			t.Errorf("%q is understood as nothing", h)
		}
	}
}

// A sheet in another language is read once its headings were told; the unit
// in the heading stays.
func TestHeadingsAreTold(t *testing.T) {
	const sheet = "Glas,Ertrag (kg),Anmerkung,Regal\n1,0.5,trocken,3\n2,0.25,,4\n"
	if _, err := ReadJars(strings.NewReader(sheet), "ernte.csv", Options{}); !lab.IsKind(err, lab.Invalid) {
		t.Fatalf("untold it is read: %v", err)
	}
	told, err := ParseAliases(Jars, map[string]string{" GLAS ": "jar", "Ertrag  (kg)": "Flush 1 weight", "Regal": "shelf", "Anmerkung": ""})
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadJars(strings.NewReader(sheet), "ernte.csv", Options{Headings: told})
	if err != nil {
		t.Fatal(err)
	}
	first := got.Rows[0]
	if first.Number != 1 || first.Shelf != "3" || len(first.Picks) != 1 || first.Picks[0].Grams != 500 || first.Picks[0].Flush != 1 {
		t.Errorf("the first row is %+v", first)
	}
	if !strings.Contains(first.Note, "trocken") {
		t.Errorf("what was not told goes to %q", first.Note)
	}
	if i := slices.IndexFunc(got.Columns, func(c app.SheetColumn) bool { return c.As == "flush 1 weight" }); i != 1 || !strings.Contains(got.Columns[i].Means, "as you said") {
		t.Errorf("the columns are %+v", got.Columns)
	}
	for _, bad := range []map[string]string{{"Glas": "pot of gold"}, {" ": "jar"}} {
		if _, err := ParseAliases(Jars, bad); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

// What was told goes before what the words say.
func TestToldGoesFirst(t *testing.T) {
	told, _ := ParseAliases(Jars, map[string]string{"what": "note"})
	got, err := ReadJars(strings.NewReader("jar,what\n1,left of the door\n"), "a.csv", Options{Headings: told})
	if err != nil || got.Rows[0].Arm != "" || !strings.Contains(got.Rows[0].Note, "left of the door") {
		t.Errorf("%+v, %v", got.Rows, err)
	}
}
