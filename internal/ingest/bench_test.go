package ingest

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// BenchmarkReadJars reads 100 000 rows of 16 columns.
func BenchmarkReadJars(b *testing.B) {
	var text strings.Builder
	text.WriteString("batch,jar,arm,recipe,culture,cook,layer,made,inoculated,dose,covered,pins,harvest,flush 1 g,discarded,note\n")
	made := time.Date(2025, 1, 3, 0, 0, 0, 0, time.UTC)
	for i := range 100000 {
		day := made.AddDate(0, 0, i/250)
		fmt.Fprintf(&text, "lot %d,%d,%s,oats 1:1.4,LC-%d,%d,%s,%s,%s,2 mL,day %d,%s,%s,%d.%d g,,row %d\n", i/200, i%200+1, []string{"rolled", "whole"}[i%2], i%5+1, i/20,
			[]string{"bottom", "top"}[i/2%2], day.Format("2006-01-02"), day.AddDate(0, 0, 2).Format("2 Jan 2006"), 15+i%9,
			day.AddDate(0, 0, 35+i%9).Format("02/01/2006"), day.AddDate(0, 0, 70+i%5).Format("2006-01-02"), 10+i%20, i%10, i)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		s, err := ReadJars(strings.NewReader(text.String()), "bench.csv", Options{Now: midJune.AddDate(2, 0, 0)})
		if err != nil || len(s.Rows) != 100000 {
			b.Fatal(err, len(s.Rows), s.Refused[:1])
		}
	}
}
