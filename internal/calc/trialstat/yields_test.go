package trialstat

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func yields(t *testing.T, in YieldsInput) figure.Answer[YieldsResult] {
	t.Helper()
	a, err := Yields(in)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func g(v float64) *float64 { return &v }

// Published: Hericium on ten straw formulas, Horticulturae 2025, 11(10):1220,
// mean fresh mass and biological efficiency in per cent. All ten rows are of 275
// g dry substrate. Printed with two decimals, so half of the last.
func TestYieldsPublishedEfficiency(t *testing.T) {
	for _, c := range []struct {
		name      string
		be, fresh float64
	}{
		{"CK", 90.91, 250.00},
		{"1", 92.31, 253.85},
		{"2", 87.56, 240.79},
		{"3", 70.47, 193.79},
		{"4", 91.64, 252.01},
		{"5", 88.89, 244.45},
		{"6", 79.79, 219.42},
		{"7", 90.89, 249.95},
		{"8", 87.69, 241.15},
		{"9", 76.46, 210.27},
	} {
		a := yields(t, YieldsInput{Arms: []YieldArm{{Name: Label(c.name), Inoculated: 1, Picked: 1, FreshG: &c.fresh, DrySubstrateG: g(275)}}})
		if got := a.Result.Arms[0].BEPct; got == nil || math.Abs(*got-c.be) > 0.005+1e-9 {
			t.Errorf("formula %s: biological efficiency is %v, want %g", c.name, got, c.be)
		}
	}
}

// Two arms of six jars, known by 51.0 and 49.3 g fresh, support no verdict.
func TestYieldsTotalsSupportNothing(t *testing.T) {
	a := yields(t, YieldsInput{Arms: []YieldArm{
		{Name: "A", Inoculated: 6, Picked: 6, FreshG: g(51.0)}, {Name: "B", Inoculated: 6, Picked: 6, FreshG: g(49.3)},
	}})
	r := a.Result
	if r.Ending != NoComparison || !strings.Contains(r.Sentence, "Totals can not show whether B and A (49.3 g and 51 g) differ") {
		t.Errorf("%s: %s", r.Ending, r.Sentence)
	}
	near(t, "ratio", r.GramRatio, 49.3/51, 1e-12)
	near(t, "per jar", r.Arms[0].GPerInoculated, 8.5, 1e-12)
	if !hasCaution(a.Cautions, "totals_only") {
		t.Errorf("cautions: %v", a.Cautions)
	}
	// And why: jars that agree and jars that do not have these very totals.
	for _, c := range []struct {
		a, b []float64
		want Ending
	}{
		{[]float64{8.4, 8.5, 8.6, 8.5, 8.4, 8.6}, []float64{8.2, 8.2, 8.3, 8.2, 8.2, 8.2}, Supported},
		{[]float64{2, 15, 6, 12, 9, 7}, []float64{4, 14, 1.3, 11, 9, 10}, NotToldApart},
	} {
		var rows []CompareRow
		sums := [2]float64{}
		for k, arm := range [][]float64{c.a, c.b} {
			for _, v := range arm {
				rows = append(rows, CompareRow{Arm: Label(rune('A' + k)), Fate: "picked", Value: g(v)})
				sums[k] += v
			}
		}
		if math.Abs(sums[0]-51) > 1e-9 || math.Abs(sums[1]-49.3) > 1e-9 {
			t.Fatalf("totals are %v", sums)
		}
		if r := compare(t, CompareInput{Rows: rows}); r.Ending != c.want {
			t.Errorf("jars %v: %s", c, r.Sentence)
		}
	}
}

// The same two totals, 617.3 g and 760.0 g, as jars that agree and as jars that
// do not: R 4.2.2, t.test(b, a).
func TestTotalsProveNothing(t *testing.T) {
	for _, c := range []struct {
		a, b []float64
		p    float64
	}{
		{[]float64{101, 104, 103, 102, 105, 102.3}, []float64{126, 127, 128, 125, 127, 127}, 9.9028417036335e-11},
		{[]float64{20, 180, 60, 150, 90, 117.3}, []float64{30, 240, 90, 200, 100, 100}, 0.564643195036273},
	} {
		var rows []CompareRow
		for k, arm := range [][]float64{c.a, c.b} {
			for _, v := range arm {
				rows = append(rows, CompareRow{Arm: Label(rune('A' + k)), Fate: "picked", Value: g(v)})
			}
		}
		x := compare(t, CompareInput{Rows: rows}).Comparisons[0]
		if math.Abs(*x.Difference.PWelch/c.p-1) > 1e-8 {
			t.Errorf("p is %.12g, want %.12g", *x.Difference.PWelch, c.p)
		}
	}
}

// Wilson: closed form in R 4.2.2 (0/6, 7/12); Newcombe (1998), method 10, 56/70
// against 48/80 as in its table II.
func TestYieldsShares(t *testing.T) {
	a := yields(t, YieldsInput{Arms: []YieldArm{
		{Name: "A", Inoculated: 80, Picked: 40, Spent: 8, Discarded: 32}, {Name: "B", Inoculated: 70, Picked: 56, Barren: 14}, {Name: "C", Inoculated: 6, Discarded: 6}, {Name: "D", Inoculated: 12, Picked: 7, Barren: 5},
	}}).Result
	near(t, "difference", a.ShareDifference.Value, 0.2, 1e-12)
	near(t, "low", a.ShareDifference.Low, 0.0524314724, 1e-8)
	near(t, "high", a.ShareDifference.High, 0.333872654, 1e-8)
	near(t, "0 of 6, high", a.Arms[2].PickedShare.High, 0.3903342879, 1e-9)
	near(t, "7 of 12, low", a.Arms[3].PickedShare.Low, 0.3195113125, 1e-9)
	near(t, "7 of 12, high", a.Arms[3].PickedShare.High, 0.8067396863, 1e-9)
	if len(a.Pairs) != 3 || a.Of[0] != "B" || a.Of[1] != "A" {
		t.Errorf("pairs %v of %v", a.Pairs, a.Of)
	}
	unsaid(t, "ratio without grams", a.GramRatio)
}

func TestYieldsCautionsAndFaults(t *testing.T) {
	for code, arm := range map[string]YieldArm{
		"still_growing": {Name: "A", Inoculated: 6, Picked: 3, Growing: 3},
		"unaccounted":   {Name: "A", Inoculated: 6, Picked: 3},
		"be_high":       {Name: "A", Inoculated: 6, Picked: 6, FreshG: g(900), DrySubstrateG: g(300)},
	} {
		if a := yields(t, YieldsInput{Arms: []YieldArm{arm}}); !hasCaution(a.Cautions, code) {
			t.Errorf("no caution %s: %v", code, a.Cautions)
		}
	}
	if a := yields(t, YieldsInput{Arms: []YieldArm{{Name: "A", Inoculated: 6, Picked: 6, FreshG: g(600), DrySubstrateG: g(300)}}}); hasCaution(a.Cautions, "be_high") {
		t.Error("200 % is called very high")
	}
	ok := YieldArm{Name: "A", Inoculated: 6, Picked: 6}
	for field, arms := range map[string][]YieldArm{
		"arms":                    {},
		"arms[0].inoculated":      {{Name: "A"}},
		"arms[0].picked":          {{Name: "A", Inoculated: 6, Discarded: 2, Picked: 5}},
		"arms[0].barren":          {{Name: "A", Inoculated: 6, Barren: -1}},
		"arms[0].growing":         {{Name: "A", Inoculated: math.MaxInt, Picked: math.MaxInt, Growing: 1}},
		"arms[0].fresh_g":         {{Name: "A", Inoculated: 6, Barren: 6, FreshG: g(3)}},
		"arms[0].dry_substrate_g": {{Name: "A", Inoculated: 6, Picked: 6, DrySubstrateG: g(math.NaN())}},
		"arms[1].name":            {ok, ok},
		"arms[1].fresh_g":         {ok, {Name: "B", Inoculated: 6, Picked: 6, FreshG: g(-1)}},
	} {
		_, err := Yields(YieldsInput{Arms: arms})
		var f *figure.Fault
		if !errors.As(err, &f) || f.Field != field || f.Mend == "" {
			t.Errorf("%s: error is %v", field, err)
		}
	}
	zero := yields(t, YieldsInput{Arms: []YieldArm{{Name: "A", Inoculated: 6, Barren: 6, FreshG: g(0), DrySubstrateG: g(0)}, {Inoculated: 6, Barren: 6, FreshG: g(0)}}}).Result
	unsaid(t, "0 g of 0 jars", zero.Arms[0].GPerPicked)
	unsaid(t, "efficiency of no substrate", zero.Arms[0].BEPct)
	unsaid(t, "ratio to 0 g", zero.GramRatio)
}
