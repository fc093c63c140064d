package ingest

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"pinset/internal/lab"
)

const guide = "../../doc/guide/"

// table returns the rows of the table in the guide whose first heading is head.
func table(t *testing.T, head string) [][]string {
	t.Helper()
	text, err := os.ReadFile(guide + "import.md")
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	within := false
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		switch {
		case !strings.HasPrefix(line, "|"):
			within = false
		case strings.TrimSpace(cells[0]) == head:
			within = true
		case within && !strings.HasPrefix(line, "|-"):
			rows = append(rows, cells)
		}
	}
	return rows
}

var codeSpan = regexp.MustCompile("`([^`]+)`")

// Every heading in the guide is understood, and those of one row alike.
func TestGuideHeadings(t *testing.T) {
	rows := table(t, "what")
	if len(rows) < 30 {
		t.Fatalf("%d rows of headings in the guide", len(rows))
	}
	seen := make(map[meaning]bool)
	for _, row := range rows {
		var first column
		for i, m := range codeSpan.FindAllStringSubmatch(row[1], -1) {
			c := readHeader(m[1])
			if i == 0 {
				first = c
			}
			if c.means == forNote || c.means != first.means || c.stage != first.stage {
				t.Errorf("%s: %q is taken for %s, the first for %s", strings.TrimSpace(row[0]), m[1], c.says(), first.says())
			}
		}
		seen[first.means] = true
	}
	for m := isNote; m <= isBlank; m++ {
		if !seen[m] && m != isAnyDay {
			t.Errorf("the guide does not name the headings of %s", (&column{means: m}).says())
		}
	}
}

// Every day in the guide is read as the guide says.
func TestGuideDays(t *testing.T) {
	rows := table(t, "written")
	if len(rows) < 8 {
		t.Fatalf("%d days in the guide", len(rows))
	}
	for _, row := range rows {
		typed, want := codeSpan.FindStringSubmatch(row[0])[1], strings.TrimSpace(row[1])
		got, f := asUsual.when(readDay(typed), typed, orderOpen, lab.When{})
		if f != nil || got.Show(asUsual.zone()) != want {
			t.Errorf("%q is read as %s %v, the guide says %s", typed, got.Show(asUsual.zone()), f, want)
		}
	}
}

// The sheet that the guide offers for a try has no fault, and all that makes
// a comparison: 24 jars, two arms in every cook and layer, lost jars and zeros.
func TestGuideExample(t *testing.T) {
	f, err := os.Open(guide + "example-jars.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := ReadJars(f, "example-jars.csv", asUsual)
	if err != nil || len(s.Refused) > 0 {
		t.Fatal(err, s.Refused)
	}
	cells, counts := make(map[string]int), make(map[string]int)
	for _, r := range s.Rows {
		cells[r.Arm+" "+r.Cook+" "+number(r.Layer)]++
		switch {
		case r.Lost:
			counts["lost"]++
		case r.Barren:
			counts["barren"]++
		case len(r.Picks) == 1 && r.Picks[0].Grams > 0:
			counts["picked"]++
		}
	}
	if len(s.Rows) != 24 || len(cells) != 8 || counts["lost"] != 3 || counts["barren"] != 2 || counts["picked"] != 19 {
		t.Errorf("%d rows, cells %v, %v", len(s.Rows), cells, counts)
	}
	for cell, n := range cells {
		if n != 3 {
			t.Errorf("%s: %d jars, want 3", cell, n)
		}
	}
	for _, c := range s.Columns {
		if strings.HasPrefix(c.Means, "goes to the note") {
			t.Errorf("%s %s", c.Header, c.Means)
		}
	}
}
