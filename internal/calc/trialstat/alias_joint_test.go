package trialstat

import (
	"math"
	"strings"
	"testing"
)

// chained has A and B in each cook, and in a layer that both share, but their
// difference is the sum of the cook's and the layers': neither alone tells.
func chained() []CompareRow {
	var rows []CompareRow
	for _, at := range [][3]Label{{"A", "1", "1"}, {"B", "1", "2"}, {"A", "2", "2"}, {"B", "2", "3"}} {
		for range 3 {
			rows = append(rows, CompareRow{Arm: at[0], Cook: at[1], Layer: at[2], Jar: Label(whole(len(rows)))})
		}
	}
	return rows
}

func TestAliasTogether(t *testing.T) {
	got, err := Alias(AliasInput{Rows: chained()})
	if err != nil {
		t.Fatal(err)
	}
	if f := factorsOf(got.Full); f != "cook+layer" || got.Full[0].Efficiency != 0 {
		t.Fatalf("fully aliased %+v", got.Full)
	}
	// Layer alone: both arms in layer 2 only, 3 of 6 jars each: partly.
	if f := factorsOf(got.Partly); f != "layer" {
		t.Errorf("partly aliased %q", f)
	}
	if len(got.Pairs) != 1 || got.Pairs[0].Efficiency != 0 {
		t.Errorf("efficiency %+v, want 0 before any p-value", got.Pairs)
	}
	// With the same places under other names it is the same: any two factors.
	rows := chained()
	for i := range rows {
		rows[i].Shelf, rows[i].Person, rows[i].Cook, rows[i].Layer = rows[i].Cook, rows[i].Layer, "", ""
	}
	got, err = Alias(AliasInput{Rows: rows})
	if err != nil || factorsOf(got.Full) != "shelf+person" {
		t.Errorf("shelf and person: %+v, %v", got.Full, err)
	}
}

// The swaps that a repair of two factors names lift the efficiency to 0.75.
func TestAliasTogetherRepair(t *testing.T) {
	rows := chained()
	got, err := Alias(AliasInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	repair := got.Full[0].Repair
	if !strings.HasPrefix(repair, "swap ") || !strings.Contains(repair, "cook ") || !strings.Contains(repair, "layer ") {
		t.Fatalf("repair is %q", repair)
	}
	for _, step := range strings.Split(strings.TrimPrefix(repair, "swap "), " and ") {
		var n int
		w := strings.Fields(strings.NewReplacer(",", "").Replace(step))
		// "1 B jar of cook 1 layer 2 with 1 A jar of cook 2 layer 2"
		n = int(w[0][0] - '0')
		for range n {
			i, j := find(rows, w[1], w[5], w[7]), find(rows, w[10], w[14], w[16])
			if i < 0 || j < 0 {
				t.Fatalf("%q names jars that are not there", step)
			}
			rows[i].Arm, rows[j].Arm = rows[j].Arm, rows[i].Arm
		}
	}
	got, err = Alias(AliasInput{Rows: rows})
	if err != nil || !(got.Pairs[0].Efficiency >= 0.75) {
		t.Errorf("after %q the efficiency is %+v, %v", repair, got.Pairs, err)
	}
}

func find(rows []CompareRow, arm, cook, layer string) int {
	for i, r := range rows {
		if string(r.Arm) == arm && string(r.Cook) == cook && string(r.Layer) == layer {
			return i
		}
	}
	return -1
}

// Factors of which each leaves enough may leave less together: the design says so.
func TestAliasPartlyTogether(t *testing.T) {
	var rows []CompareRow
	for i := range 24 {
		r := CompareRow{Arm: Label("AB"[i%2 : i%2+1])}
		flip := func(every int) Label { // differs from the arm in one of every so many
			return Label(whole((i + map[bool]int{true: 1}[i/2%every == 0]) % 2))
		}
		r.Cook, r.Layer, r.Shelf = flip(3), flip(4), Label(whole(i/8))
		rows = append(rows, r)
	}
	got, err := Alias(AliasInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	// Cook alone leaves 8/9 and layer alone 3/4, by 1 - V² of their tables; 24/35
	// is what is left of both.
	if f := factorsOf(got.Partly); f != "cook+layer" || math.Abs(got.Partly[0].Efficiency-24.0/35) > 1e-12 {
		t.Errorf("partly aliased %+v", got.Partly)
	}
	if got.Pairs[0].Efficiency >= 0.75 || got.Pairs[0].Lost != 4 {
		t.Errorf("efficiency of the design %+v", got.Pairs)
	}
}

// A making of its own for each recipe is no reason not to look at the rest.
func TestAliasTogetherBesideOwnMakings(t *testing.T) {
	rows := chained()
	for i := range rows {
		rows[i].Recipe, rows[i].MixMade = rows[i].Arm, "making of "+rows[i].Arm
	}
	got, err := Alias(AliasInput{Rows: rows, ArmsDifferIn: []string{"recipe"}})
	if err != nil || factorsOf(got.Full) != "mix_made cook+layer" {
		t.Errorf("fully aliased %+v, %v", got.Full, err)
	}
}

// What is set on whole cooks is compared by cooks: they do not hide it, if each
// level has two. What moves with the level over the cooks still does.
func TestAliasUnits(t *testing.T) {
	rows := func(cooks int, day func(cook int) Label) []CompareRow {
		var out []CompareRow
		for c := range cooks {
			for k := range 4 {
				hold := []Label{"60", "90"}[c%2]
				out = append(out, CompareRow{
					Arm: hold + []Label{" malt", " potato"}[k%2], Cook: Label(whole(c)), Layer: Label(whole(k / 2)), Day: day(c),
					MixMade: Label(whole(c)) + []Label{" malt", " potato"}[k%2], Treatment: hold, Recipe: []Label{"malt", "potato"}[k%2],
				})
			}
		}
		return out
	}
	on := []SetOn{{Unit: "cook", Level: map[string]string{"60 malt": "60", "60 potato": "60", "90 malt": "90", "90 potato": "90"}}}
	differ := []string{"recipe", "treatment"}
	alone := func(c int) Label { return Label(whole(c)) }
	for _, c := range []struct {
		name string
		rows []CompareRow
		on   []SetOn
		want string
	}{
		{"four cooks", rows(4, alone), on, ""},
		{"four cooks, not said", rows(4, alone), nil, "cook day"},
		{"one cook each", rows(2, alone), on, "cook day"},
		{"a day to each level", rows(4, func(c int) Label { return []Label{"Mon", "Tue"}[c%2] }), on, "day"},
		{"two days, both levels", rows(4, func(c int) Label { return []Label{"Mon", "Mon", "Tue", "Tue"}[c] }), on, ""},
	} {
		got, err := Alias(AliasInput{Rows: c.rows, ArmsDifferIn: differ, On: c.on})
		if err != nil {
			t.Fatal(err)
		}
		names := map[string]bool{}
		var order []string
		for _, a := range got.Full {
			if a.Factor != "mix_made" && !names[a.Factor] {
				names[a.Factor] = true
				order = append(order, a.Factor)
			}
		}
		if f := strings.Join(order, " "); f != c.want {
			t.Errorf("%s: fully aliased %q, want %q", c.name, f, c.want)
		}
	}
	if _, err := Alias(AliasInput{Rows: rows(2, alone), On: []SetOn{{Unit: "barn"}}}); err == nil {
		t.Error("something was set on a barn")
	}
}
