package trialstat

import (
	"encoding/json"
	"strings"
	"testing"
)

// Twenty thousand rows are answered for every outcome, for ladders and crossings, without a
// figure that is none.
func TestCompareManyRows(t *testing.T) {
	const n = 20_000
	rows := make([]CompareRow, n)
	for i := range rows {
		v, count, score := float64(50+i%7+i%3), float64(i%11), float64(i%5)
		rows[i] = CompareRow{Arm: Label([]string{"A", "B", "C"}[i%3]), Fate: []string{"picked", "picked", "lost", "picked", "barren"}[i%5], Value: &v, Count: &count, Score: &score, Cook: Label(whole(i / 3 % 4)), Layer: Label(whole(i / 12 % 3))}
	}
	check := func(what string, in CompareInput) {
		t.Helper()
		a, err := Compare(in)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		b, err := json.Marshal(a)
		if err != nil || strings.Contains(a.Result.Sentence, "NaN") || strings.Contains(a.Result.Sentence, "Inf") {
			t.Errorf("%s: %v: %.200s: %s", what, err, b, a.Result.Sentence)
		}
	}
	for _, primary := range Primaries {
		check(primary, CompareInput{Rows: rows, Control: "A", Primary: primary})
	}
	for i := range rows {
		dose := float64(10 * (i % 3))
		rows[i].Dose = &dose
	}
	check("ladder", CompareInput{Rows: rows})
	for i := range rows {
		rows[i].Dose, rows[i].Arm = nil, ""
		rows[i].Level1, rows[i].Level2 = Label([]string{"malt", "wort"}[i%2]), Label([]string{"fine", "coarse", "whole"}[i%3])
	}
	check("crossing", CompareInput{Rows: rows})
}
