package trialstat

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"pinset/internal/figure"
)

func TestCompareFaults(t *testing.T) {
	ok := table(t, "trialA_balanced.csv")
	set := func(i int, change func(r *CompareRow)) []CompareRow {
		out := append([]CompareRow(nil), ok...)
		change(&out[i])
		return out
	}
	grams := func(v float64) *float64 { return &v }
	cases := map[string]struct {
		in    CompareInput
		field string
		what  string
	}{
		"none":         {CompareInput{}, "rows", "there are no rows"},
		"negative":     {CompareInput{Rows: set(4, func(r *CompareRow) { r.Value = grams(-3) })}, "rows[4].value", "jar J05 has −3 g"},
		"not a number": {CompareInput{Rows: set(4, func(r *CompareRow) { r.Value = grams(math.NaN()) })}, "rows[4].value", "jar J05 has NaN g"},
		"infinite":     {CompareInput{Rows: set(4, func(r *CompareRow) { r.Value = grams(math.Inf(1)) })}, "rows[4].value", "jar J05 has +Inf g"},
		"twice":        {CompareInput{Rows: set(4, func(r *CompareRow) { r.Jar = "J01" })}, "rows[4].jar", "jar J01 is in rows 1 and 5"},
		"no arm":       {CompareInput{Rows: set(4, func(r *CompareRow) { r.Arm = " " })}, "rows[4].arm", "jar J05 has no arm"},
		"no name":      {CompareInput{Rows: set(4, func(r *CompareRow) { r.Jar, r.Arm = "", "" })}, "rows[4].arm", "the jar in row 5 has no arm"},
		"fate":         {CompareInput{Rows: set(4, func(r *CompareRow) { r.Fate = "eaten" })}, "rows[4].fate", `the fate of jar J05 is "eaten"`},
		"one arm":      {CompareInput{Rows: ok[:6]}, "rows", "all jars are of arm A"},
		"control":      {CompareInput{Rows: ok, Control: "C"}, "control", `no jar is of arm "C"`},
		"matters":      {CompareInput{Rows: ok, MattersPct: grams(0)}, "matters_pct", "0 % is not between 0 and 1000 %"},
		"primary":      {CompareInput{Rows: ok, Primary: "best"}, "primary", `jars can not be judged by "best"`},
		"differ":       {CompareInput{Rows: ok, ArmsDifferIn: []string{"layer"}}, "arms_differ_in", `arms can not be said to differ in "layer"`},
		"thirteen":     {CompareInput{Rows: manyArms(13, 4)}, "rows", "there are more than 12 arms"},
	}
	for name, c := range cases {
		_, err := Compare(c.in)
		var f *figure.Fault
		if !errors.As(err, &f) {
			t.Errorf("%s: error is %v, want a fault", name, err)
			continue
		}
		if f.Field != c.field || f.What != c.what || f.Mend == "" {
			t.Errorf("%s: fault is %q: %q; %q", name, f.Field, f.What, f.Mend)
		}
	}
}

// manyArms invents a table of arms in two layers of one cook.
func manyArms(arms, jars int) []CompareRow {
	r := rand.New(rand.NewPCG(3, uint64(arms*jars)))
	var rows []CompareRow
	for a := range arms {
		for j := range jars {
			v := max(0, math.Round(10*(100+25*r.NormFloat64()))/10)
			rows = append(rows, CompareRow{
				Jar: Label(fmt.Sprintf("%c%d", 'A'+a, j)), Arm: Label(rune('A' + a)), Fate: "picked", Value: &v,
				Cook: "1", Layer: []Label{"bottom", "top"}[j%2],
			})
		}
	}
	return rows
}

// The input is not changed, and a second run gives the same.
func TestCompareIsPure(t *testing.T) {
	rows := table(t, "trialB_lostjars.csv")
	before := fmt.Sprint(rows)
	a, _ := Compare(CompareInput{Rows: rows})
	b, _ := Compare(CompareInput{Rows: rows})
	if !reflect.DeepEqual(a, b) {
		t.Error("two runs differ")
	}
	if fmt.Sprint(rows) != before {
		t.Error("the rows were changed")
	}
}
