package trialstat

import (
	"fmt"
	"testing"
)

// Within what jars are compared: cook and layer added up, or as much of it as leaves
// both arms something to stand on.
func TestCompareWithin(t *testing.T) {
	a := table(t, "trialA_balanced.csv")
	cases := map[string]struct {
		set     func(i int, r *CompareRow)
		within  string
		caution string // "" for none of not_within
	}{
		"layer":          {func(int, *CompareRow) {}, "[layer]", ""},
		"cook and layer": {func(i int, r *CompareRow) { r.Cook = Label(whole(i % 2)) }, "[cook layer]", ""},
		"turned about": {func(i int, r *CompareRow) { // each layer of a cook held one arm, the other in the second: their effects add up
			r.Cook = map[bool]Label{true: "1", false: "2"}[(r.Layer == "bottom") == (r.Arm == "A")]
		}, "[cook layer]", ""},
		"cook alone": {func(i int, r *CompareRow) {
			r.Cook = Label(whole(i % 2))
			if r.Arm == "A" {
				r.Layer = ""
			}
		}, "[cook]", "not_within"},
		"layer recorded for one arm": {func(i int, r *CompareRow) {
			if r.Arm == "A" {
				r.Layer = ""
			}
		}, "[]", "not_within"},
		"layer not recorded for one jar": {func(i int, r *CompareRow) {
			if i == 0 {
				r.Layer = ""
			}
		}, "[layer]", ""},
		"a cook for every jar": {func(i int, r *CompareRow) { r.Cook = Label(whole(i)) }, "[layer]", ""},
	}
	for name, c := range cases {
		rows := append([]CompareRow(nil), a...)
		for i := range rows {
			c.set(i, &rows[i])
		}
		ans, err := Compare(CompareInput{Rows: rows})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		r := ans.Result
		if fmt.Sprint(r.BlockBy) != c.within {
			t.Errorf("%s: compared within %v, want %s", name, r.BlockBy, c.within)
		}
		if got := hasCaution(ans.Cautions, "not_within"); got != (c.caution != "") {
			t.Errorf("%s: caution not_within is %t", name, got)
		}
		if r.Comparisons[0].Difference.Low == nil {
			t.Errorf("%s: no interval: %s", name, r.Sentence)
		}
	}
}

// One growing jar of any arm keeps the whole trial open.
func TestCompareRunningIsOfTheTrial(t *testing.T) {
	rows := table(t, "plantgrowth.csv")
	rows[len(rows)-1].Fate = "growing"
	r := compare(t, CompareInput{Rows: rows, Control: "ctrl"})
	for _, x := range r.Comparisons {
		if x.Ending != Running || x.Difference.PWelch != nil {
			t.Errorf("%v ends in %s", x.Arms, x.Ending)
		}
	}
}
