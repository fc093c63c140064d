package trialstat

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"pinset/internal/calc/stats"
)

// table reads a file of testdata; see README there for its origin. It maps its
// columns to rows: broth, arm or group is the arm; run is the cook.
func table(t testing.TB, name string) []CompareRow {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []CompareRow
	for _, line := range lines[1:] {
		r := CompareRow{Fate: "picked"}
		for k, key := range lines[0] {
			switch text := line[k]; key {
			case "jar":
				r.Jar = Label(text)
			case "broth", "arm", "group":
				r.Arm = Label(text)
			case "layer":
				r.Layer = Label(text)
			case "run":
				r.Cook = Label(text)
			case "contaminated":
				if text == "1" {
					r.Fate = "lost"
				}
			case "yield_g", "weight":
				if v, err := strconv.ParseFloat(text, 64); err == nil {
					r.Value = &v
				}
			}
		}
		rows = append(rows, r)
	}
	return rows
}

func compare(t testing.TB, in CompareInput) CompareResult {
	t.Helper()
	a, err := Compare(in)
	if err != nil {
		t.Fatal(err)
	}
	return a.Result
}

func tQuantile975(df float64) float64 { return stats.TQuantile(0.975, df) }
