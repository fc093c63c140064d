package trialstat

import (
	"math"
	"testing"

	"pinset/internal/calc/stats"
)

// drawnRows makes rows for a layout, with grams that depend on the layer and on
// the arm.
func drawnRows(l Layout, effect float64, seed uint64) []CompareRow {
	c := newChance(seed, 1)
	var rows []CompareRow
	for i, s := range l.Slots {
		if s.Arm == None {
			continue
		}
		v := 100 + 20*float64(s.Layer) + effect*float64(s.Arm) + 10*c.share()
		rows = append(rows, CompareRow{
			Jar: Label(whole(i + 1)), Arm: Label(rune('A' + s.Arm)), Fate: "picked", Value: &v,
			Cook: Label(whole(s.Cook)), Layer: Label(whole(s.Layer)),
		})
	}
	return rows
}

// With the draw at hand, the randomisation p asks what the draw itself could
// have given. Within whole layers of even arms that is the same as dealing anew
// in each layer, so the two p agree to the chance of the redraws.
func TestCompareWithRedraw(t *testing.T) {
	d := Design{Arms: []int{6, 6}, Blanks: []int{1}, Cells: []Place{{0, 0, 7}, {0, 1, 6}}}
	l, err := Allot(d, 11)
	if err != nil {
		t.Fatal(err)
	}
	rows := drawnRows(l, 4, 1)
	redraw, err := Redraw(d, 11)
	if err != nil {
		t.Fatal(err)
	}
	with, err := CompareWith(CompareInput{Rows: rows}, redraw)
	if err != nil {
		t.Fatal(err)
	}
	plain := compare(t, CompareInput{Rows: rows})
	got, want := *with.Result.Comparisons[0].Difference.PRandomisation, *plain.Comparisons[0].Difference.PRandomisation
	// Five standard errors of a share of 4999 draws, and the 1 that is added.
	tol := 5*math.Sqrt(want*(1-want)/maxDraws) + 1.0/maxDraws
	if math.Abs(got-want) > tol || want == 1 {
		t.Errorf("p is %.4f over the redraws and %.4f over all deals; tolerance %.4f", got, want, tol)
	}
	near(t, "p of Welch", with.Result.Comparisons[0].Difference.PWelch, *plain.Comparisons[0].Difference.PWelch, 1e-15)
}

// The statistic of the redraws is the least-squares difference. NumPy: trial A
// without jars 4, 5 and 9, grams on layer and arm.
func TestContrastIsLeastSquares(t *testing.T) {
	var y []float64
	var arm, layer []int
	layers := []int{0, 0, 0, 1, 1, 1, 0, 0, 0, 1, 1, 1}
	for i, r := range table(t, "trialA_balanced.csv") {
		if i == 3 || i == 4 || i == 8 {
			continue
		}
		y, arm, layer = append(y, *r.Value), append(arm, i/6), append(layer, layers[i])
	}
	places := stats.NewPlaces([][]int{layer}, len(y))
	got := places.Apart(places.Left(y), arm)
	near(t, "contrast", &got, 15.264102564102586, 1e-12)
	alone := stats.NewPlaces([][]int{{0, 1}}, 2)
	if apart := alone.Apart(alone.Left([]float64{1, 2}), []int{0, 1}); !math.IsNaN(apart) {
		t.Errorf("the difference of arms in places of their own is %g", apart)
	}
}

// A jar that is still growing is in no redraw, and a draw of another table is
// refused with a caution.
func TestCompareWithRedrawOfAnotherTable(t *testing.T) {
	rows := table(t, "trialA_balanced.csv")
	a, err := CompareWith(CompareInput{Rows: rows}, func(int) []int { return []int{0, 1} })
	if err != nil {
		t.Fatal(err)
	}
	unsaid(t, "randomisation p", a.Result.Comparisons[0].Difference.PRandomisation)
	if !hasCaution(a.Cautions, "draw_unlike") {
		t.Errorf("no caution: %v", a.Cautions)
	}
	if a.Result.Ending != Supported {
		t.Errorf("ends in %s", a.Result.Ending)
	}
}

// Several arms: a pair is dealt out with the third arm held where it is, so the
// third arm can not blur it. With 3 jars of each in both layers and arms wholly
// apart the p is the smallest there is, 2 of 400.
func TestCompareWithRedrawOfSeveralArms(t *testing.T) {
	d := Design{Arms: []int{6, 6, 6}, Cells: cooker(1, 9, 9)}
	l, _ := Allot(d, 4)
	redraw, _ := Redraw(d, 4)
	a, err := CompareWith(CompareInput{Rows: drawnRows(l, 30, 2), Control: "A"}, redraw)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range a.Result.Comparisons {
		near(t, x.Arms[0]+" randomisation p", x.Difference.PRandomisation, 2.0/400, 1e-12)
	}
}

// Where all deals are too many to count, seeded ones come close to them.
func TestCompareBySeededDeals(t *testing.T) {
	rows := manyArms(2, 70)
	got := compare(t, CompareInput{Rows: rows}).Comparisons[0].Difference.PRandomisation
	var y []float64
	var arm, layer []int
	for i, r := range rows {
		y, arm, layer = append(y, *r.Value), append(arm, i/70), append(layer, i%2)
	}
	want, _, err := stats.PermutationBlocked(y, arm, layer)
	if err != nil {
		t.Fatal(err)
	}
	if d := math.Abs(*got - want); d == 0 || d > 5*math.Sqrt(want*(1-want)/maxDraws) {
		t.Errorf("p is %g by seeded deals, %g by all", *got, want)
	}
}
