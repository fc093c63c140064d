package trialstat

import (
	"math"
	"testing"

	"pinset/internal/calc/stats"
)

// All pairs of three arms that no place divides: the joint interval is that of
// Games and Howell, which leaves 0 out just where their p is under 0.05 (R 4.2.2,
// ptukey: 0.4745549222, 0.1128891769, 0.02370345474), and is narrower than
// Bonferroni's.
func TestJointIntervalOfAllPairs(t *testing.T) {
	rows := table(t, "plantgrowth.csv")
	r := compare(t, CompareInput{Rows: rows})
	var groups [][]float64
	for _, name := range []Label{"ctrl", "trt1", "trt2"} {
		var g []float64
		for _, row := range rows {
			if row.Arm == name {
				g = append(g, *row.Value)
			}
		}
		groups = append(groups, g)
	}
	want, err := stats.GamesHowell(groups, confidence)
	if err != nil {
		t.Fatal(err)
	}
	published := map[[2]int]float64{{0, 1}: 0.4745549222, {0, 2}: 0.1128891769, {1, 2}: 0.02370345474}
	names := []string{"ctrl", "trt1", "trt2"}
	met := 0
	for _, w := range want {
		if p := published[[2]int{w.A, w.B}]; !(math.Abs(w.P-p) <= 1e-8) { // the digits printed
			t.Fatalf("p of %d and %d is %v, want %v", w.A, w.B, w.P, p)
		}
		for _, c := range r.Comparisons {
			low, high := w.Low, w.High
			switch {
			case c.Arms[0] == names[w.B] && c.Arms[1] == names[w.A]:
			case c.Arms[0] == names[w.A] && c.Arms[1] == names[w.B]:
				low, high = -w.High, -w.Low
			default:
				continue
			}
			met++
			// Both find the quantile by search, to 1e-9 or so.
			if d := c.Difference; math.Abs(*d.JointLow-low) > 1e-6 || math.Abs(*d.JointHigh-high) > 1e-6 {
				t.Errorf("%v: joint interval %v to %v, want %v to %v", c.Arms, *d.JointLow, *d.JointHigh, low, high)
			}
			if (c.Ending == Supported) != (w.P < 0.05) {
				t.Errorf("%v: %s, p %v", c.Arms, c.Ending, w.P)
			}
		}
	}
	if met != 3 {
		t.Errorf("%d pairs were compared", met)
	}
}

// Against a control each arm keeps its own spread, with the correlation that the
// variances give, and the interval is narrower than Bonferroni's. Beside it stands
// Dunnett's with one spread: its p on PlantGrowth by two-dimensional quadrature in R
// 4.2.2, checked there with mvtnorm: 0.3226956858, 0.1534858615.
func TestJointIntervalAgainstControl(t *testing.T) {
	rows := table(t, "plantgrowth.csv")
	r := compare(t, CompareInput{Rows: rows, Control: "ctrl"})
	groups := map[string][]float64{}
	for _, row := range rows {
		groups[string(row.Arm)] = append(groups[string(row.Arm)], *row.Value)
	}
	v := func(arm string) float64 { return stats.Variance(groups[arm]) / float64(len(groups[arm])) }
	loads := []float64{}
	for range 2 { // both as large as the one correlation has it
		rho := v("ctrl") / math.Sqrt((v("ctrl")+v("trt1"))*(v("ctrl")+v("trt2")))
		loads = append(loads, math.Sqrt(rho))
	}
	published := []float64{0.3226956858, 0.1534858615}
	for k, c := range r.Comparisons {
		bonferroni, err := stats.Welch(groups["ctrl"], groups[c.Arms[0]], 1-0.05/2)
		if err != nil {
			t.Fatal(err)
		}
		half := stats.ManyToOneQuantile(confidence, loads, bonferroni.DF) * bonferroni.SE
		if math.Abs(*c.Difference.JointLow-(bonferroni.Value-half)) > 1e-7 || math.Abs(*c.Difference.JointHigh-(bonferroni.Value+half)) > 1e-7 {
			t.Errorf("%v: %v to %v, want %v ± %v", c.Arms, *c.Difference.JointLow, *c.Difference.JointHigh, bonferroni.Value, half)
		}
		if !(*c.Difference.JointLow > bonferroni.Low && *c.Difference.JointLow < *c.Difference.Low) {
			t.Errorf("%v: low %v is not between the plain %v and Bonferroni's %v", c.Arms, *c.Difference.JointLow, *c.Difference.Low, bonferroni.Low)
		}
		if c.CommonSpread == nil || math.Abs(c.CommonSpread.P-published[k]) > 1e-8 { // the digits of the reference
			t.Errorf("%v: common spread %+v, want p %v", c.Arms, c.CommonSpread, published[k])
		}
	}
}

// With fewer than 6 jars in an arm it is Bonferroni's, and nothing stands beside it.
func TestJointIntervalOfFewJars(t *testing.T) {
	rows := table(t, "plantgrowth.csv")
	var fewer []CompareRow
	for i, row := range rows {
		if i%2 == 0 {
			fewer = append(fewer, row)
		}
	}
	groups := map[string][]float64{}
	for _, row := range fewer {
		groups[string(row.Arm)] = append(groups[string(row.Arm)], *row.Value)
	}
	for _, c := range compare(t, CompareInput{Rows: fewer, Control: "ctrl"}).Comparisons {
		want, err := stats.Welch(groups["ctrl"], groups[c.Arms[0]], 1-0.05/2)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(*c.Difference.JointLow-want.Low) > 1e-9 || math.Abs(*c.Difference.JointHigh-want.High) > 1e-9 {
			t.Errorf("%v: %v to %v, want %v to %v", c.Arms, *c.Difference.JointLow, *c.Difference.JointHigh, want.Low, want.High)
		}
		if c.CommonSpread != nil {
			t.Errorf("%v: %+v", c.Arms, c.CommonSpread)
		}
	}
}

// Shares beside the grams: 2 of 12 against 7 of 12 by R 4.2.2 (fisher.test
// 0.08937945888) and exact arithmetic (Boschloo 0.04193856921, Newcombe -0.6701205156
// to -0.03096228607), to the digits of the reference; Boschloo to 1e-6.
func TestSharesApart(t *testing.T) {
	s := sharesApart(2, 12, 7, 12)
	for _, x := range []struct {
		name      string
		got       *float64
		want, tol float64
	}{
		{"Fisher", s.PFisher, 0.08937945888, 1e-10},
		{"Boschloo", s.PBoschloo, 0.04193856921, 1e-6},
		{"low", s.Difference.Low, -0.6701205156, 1e-9},
		{"high", s.Difference.High, -0.03096228607, 1e-9},
		{"Wilson, low", s.Control.Low, 0.3195113125, 1e-9},
		{"Wilson, high", s.Control.High, 0.8067396863, 1e-9},
	} {
		if x.got == nil || !(math.Abs(*x.got-x.want) <= x.tol) {
			t.Errorf("%s: %v, want %v", x.name, x.got, x.want)
		}
	}
	if sharesApart(0, 0, 1, 2) != nil {
		t.Error("a share of no jars was told")
	}
}

// The quantile by secants is that of the search, for all numbers of arms.
func TestRangeQuantile(t *testing.T) {
	for _, k := range []int{3, 4, 7, 12} {
		for _, df := range []float64{5, 9.3, 40} {
			pairs := float64(k * (k - 1) / 2)
			got := rangeQuantile(k, df, math.Sqrt2*stats.TQuantile(1-0.025/pairs, df))
			if want := stats.StudentizedRangeQuantile(0.05, k, df); !(math.Abs(got-want) <= 1e-6) {
				t.Errorf("%d arms, %v degrees of freedom: %v, want %v", k, df, got, want)
			}
		}
	}
}
