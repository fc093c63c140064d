package trialstat

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
)

// jarsWith makes two arms of jars from what set writes into jar k of arm 0 or 1.
func jarsWith(n int, set func(arm, k int, r *CompareRow)) CompareInput {
	in := CompareInput{Control: "A"}
	for arm, name := range []Label{"A", "B"} {
		for k := range n {
			r := CompareRow{Jar: Label(fmt.Sprintf("%s%d", name, k)), Arm: name, Fate: "picked", Layer: Label(whole(k % 2)), Cook: "1"}
			set(arm, k, &r)
			in.Rows = append(in.Rows, r)
		}
	}
	return in
}

// Shares by Newcombe's interval, with Boschloo's p and Fisher's beside it. Reference:
// R 4.2.2 fisher.test and closed forms, 2 of 12 against 7 of 12: Newcombe -0.6701 to
// -0.0310, Fisher 0.08937945888, Boschloo 0.04193856921.
func TestSharesDecide(t *testing.T) {
	in := jarsWith(12, func(arm, k int, r *CompareRow) {
		v := 10.0
		r.Value = &v
		if arm == 1 && k >= 2 || arm == 0 && k >= 7 {
			r.Fate, r.Value = "barren", nil
		}
	})
	in.Primary = ByFruited
	x := compare(t, in).Comparisons[0]
	near(t, "difference", x.Difference.Value, 100*(2.0/12-7.0/12), 1e-12)
	near(t, "low", x.Difference.Low, -67.01205, 1e-6)
	near(t, "high", x.Difference.High, -3.096228607, 1e-8)
	near(t, "Boschloo", x.Fruited.PBoschloo, 0.04193856921, 1e-8)
	near(t, "Fisher", x.Fruited.PFisher, 0.08937945888, 1e-9)
	unsaid(t, "per cent", x.Difference.Pct)
	unsaid(t, "Welch's p", x.Difference.PWelch)
	if x.Ending != Supported || !strings.Contains(x.Sentence, "Fewer of B fruited than of A in this cook: 2 of 12 of B and 7 of 12 of A, and B − A has a 95 % interval of −67 to −3 points") {
		t.Errorf("%s: %s", x.Ending, x.Sentence)
	}
	in.Primary = ByClean
	if y := compare(t, in).Comparisons[0]; *y.Difference.Value != 0 || y.Ending != NotToldApart || !strings.Contains(y.Sentence, "12 of 12 of B and 12 of 12 of A") {
		t.Errorf("barren jars stayed clean: %+v: %s", y.Difference, y.Sentence)
	}
	many := jarsWith(200, func(_, k int, r *CompareRow) {
		if k < 20 {
			r.Fate = "lost"
		}
	})
	many.Primary = ByClean
	if y := compare(t, many); y.Ending != Alike || !strings.Contains(y.Sentence, "stayed clean alike to within 20 points") || y.JarsToSettle == nil {
		t.Errorf("%s: %s", y.Ending, y.Sentence)
	}
}

// Counts by their means within places, with the ratio of a log-linear model beside
// it that spreads as counts do.
func TestCountsDecide(t *testing.T) {
	in := jarsWith(8, func(arm, k int, r *CompareRow) {
		n := float64([]int{10, 14, 12, 16, 11, 15, 13, 17}[k] * (1 + arm))
		r.Count = &n
	})
	in.Primary = ByCount
	r := compare(t, in)
	x := r.Comparisons[0]
	near(t, "difference", x.Difference.Value, 13.5, 1e-12)
	near(t, "ratio", x.Counts.Value, 2, 1e-9)
	if x.Counts.Spread > 1 { // Poisson counts of mean 13.5 to 27 would spread wider
		t.Errorf("spread %g", x.Counts.Spread)
	}
	if x.Ending != Supported || !strings.Contains(x.Sentence, "B gave 13.50 (100 %) more counted per jar inoculated than A") || r.Unit != "counted per jar inoculated" {
		t.Errorf("%s: %s", r.Unit, x.Sentence)
	}
	in.Rows[0].Count = nil
	if y := compare(t, in).Comparisons[0]; y.Ending != NoComparison || !strings.Contains(y.Sentence, "was picked without a count; count it") {
		t.Errorf("not counted: %s", y.Sentence)
	}
	in.Rows[0].Fate = "lost"
	if y := compare(t, in).Arms[0]; *y.Mean != 98.0/8 {
		t.Errorf("a lost jar counts %g in the mean", *y.Mean)
	}
	for i := range in.Rows[:8] {
		zero := 0.0
		in.Rows[i].Count = &zero
	}
	if y := compare(t, in).Comparisons[0]; y.Counts != nil || y.Ending != Supported {
		t.Errorf("all of one arm at 0: %+v, %s", y.Counts, y.Sentence)
	}
}

// Scores by their order: any scores in the same order give the same.
func TestScoresDecide(t *testing.T) {
	scores := func(stretch func(float64) float64) CompareInput {
		in := jarsWith(8, func(arm, k int, r *CompareRow) {
			s := stretch(float64([]int{0, 1, 1, 2, 1, 0, 2, 1}[k] + 2*arm))
			r.Score = &s
		})
		in.Primary = ByScore
		return in
	}
	r := compare(t, scores(func(s float64) float64 { return s }))
	x := r.Comparisons[0]
	near(t, "above", x.Above.Value, 100*62.0/64, 1e-12) // 64 pairs, 4 of them ties
	unsaid(t, "difference", x.Difference.Value)
	if x.Ending != Supported || *x.Above.Low <= 50 || *x.Above.High > 100 || *x.Above.PExact > 0.01 || x.Above.JointLow != nil {
		t.Errorf("%+v: %s", x.Above, x.Sentence)
	}
	if !strings.Contains(x.Sentence, "B scored above A in this cook: in 97 of 100 pairs a jar of B scores above one of A, ties as half, with a 95 % interval of") {
		t.Errorf("says %q", x.Sentence)
	}
	y := compare(t, scores(func(s float64) float64 { return math.Exp(3 * s) })).Comparisons[0]
	if a, b := toJSON(t, x.Above), toJSON(t, y.Above); a != b {
		t.Errorf("stretched scores give %s, want %s", b, a)
	}
	same := scores(func(s float64) float64 { return 2 })
	if y := compare(t, same); y.Ending != NotToldApart || y.Comparisons[0].Above.P != nil {
		t.Errorf("all scores alike: %s %+v", y.Sentence, y.Comparisons[0].Above)
	}
	few := scores(func(s float64) float64 { return s })
	few.Rows = append(few.Rows[:3], few.Rows[8:]...)
	if y := compare(t, few).Comparisons[0]; y.Ending != NoComparison || y.Above.Low != nil || y.Above.PExact != nil || y.Above.Value == nil {
		t.Errorf("three scores: %+v %s", y.Above, y.Sentence)
	}
}

func toJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Shifts that no deal rules out are null, and words say so; where they are, they are
// those of the enumeration. Reference: script 02, trial A: 2.533333333 to 45.1.
func TestShiftByLot(t *testing.T) {
	in := CompareInput{Rows: noLayers(table(t, "trialA_balanced.csv")), Control: "A"}
	s := compare(t, in).Comparisons[0].Shift
	near(t, "low", s.Low, 2.533333333, 1e-9)
	near(t, "high", s.High, 45.1, 1e-9)
	if !strings.Contains(s.Sentence, "are not ruled out at 95 %") {
		t.Errorf("says %q", s.Sentence)
	}
	c := &comparing{sheet: &sheet{arm: []int{0, 0, 0, 1, 1, 1}}, main: scale{rows: []int{0, 1, 2, 3, 4, 5}, grams: []float64{1, 2, 3, 7, 8, 9}}, unit: aJar}
	none := c.shift([2]int{1, 0})
	if none == nil || none.Low != nil || none.High != nil || !strings.Contains(none.Sentence, "no shift can be ruled out") {
		t.Errorf("three against three: %+v", none)
	}
	if got := toJSON(t, none); !strings.HasPrefix(got, `{"low":null,"high":null,`) {
		t.Errorf("writes %s", got)
	}
	if within := compare(t, CompareInput{Rows: table(t, "trialA_balanced.csv"), Control: "A"}).Comparisons[0].Shift; within != nil {
		t.Errorf("within layers: %+v", within)
	}
}

// A resampled interval stands beside from 15 jars an arm on, never below.
func TestBootstrapNeedsJars(t *testing.T) {
	rows := noLayers(table(t, "trialL_2x30.csv"))
	x := compare(t, CompareInput{Rows: rows}).Comparisons[0]
	if b := x.Bootstrap; b == nil || !(*b.Low < *b.Value && *b.Value < *b.High) || *b.Value != *x.Difference.Value && math.Abs(*b.Value-*x.Difference.Value) > 1e-9 {
		t.Errorf("30 jars an arm: %+v", b)
	}
	if b := compare(t, CompareInput{Rows: noLayers(table(t, "trialA_balanced.csv"))}).Comparisons[0].Bootstrap; b != nil {
		t.Errorf("6 jars an arm: %+v", b)
	}
}

// How often Newcombe's interval leaves out a difference of 0 where two arms fruit
// alike, at the share that is worst, counted over all tables: from some 7 % at 4 jars
// an arm to 5 % at 20. Known answers: the same count in NumPy.
func TestSharesSeldomAccuse(t *testing.T) {
	for n, want := range map[int]float64{4: 0.0703, 6: 0.0675, 8: 0.0768, 12: 0.0640, 20: 0.0532} {
		accused := make([][]bool, n+1)
		for x := range accused {
			accused[x] = make([]bool, n+1)
			for y := range accused[x] {
				_, low, high, err := stats.Newcombe(x, n, y, n, confidence)
				if err != nil {
					t.Fatal(err)
				}
				accused[x][y] = low > 0 || high < 0
			}
		}
		worst := 0.0
		for k := 1; k < 50; k++ {
			p, wrong := 0.02*float64(k), 0.0
			for x := range accused {
				for y, is := range accused[x] {
					if is {
						wrong += binomial(n, x, p) * binomial(n, y, p)
					}
				}
			}
			worst = max(worst, wrong)
		}
		near(t, whole(n)+" jars an arm", &worst, want, 5e-5) // printed to four decimals
	}
}

func binomial(n, x int, p float64) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(x + 1))
	c, _ := math.Lgamma(float64(n - x + 1))
	return math.Exp(a - b - c + float64(x)*math.Log(p) + float64(n-x)*math.Log(1-p))
}
