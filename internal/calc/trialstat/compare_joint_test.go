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

// With a control, with places, or with few jars, it is Bonferroni's.
func TestJointIntervalElsewhere(t *testing.T) {
	rows := table(t, "plantgrowth.csv")
	level := 1 - 0.05/2
	for _, c := range compare(t, CompareInput{Rows: rows, Control: "ctrl"}).Comparisons {
		var of [2][]float64
		for _, row := range rows {
			for k, name := range c.Arms {
				if string(row.Arm) == name {
					of[1-k] = append(of[1-k], *row.Value)
				}
			}
		}
		want, err := stats.Welch(of[0], of[1], level)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(*c.Difference.JointLow-want.Low) > 1e-9 || math.Abs(*c.Difference.JointHigh-want.High) > 1e-9 {
			t.Errorf("%v: %v to %v, want %v to %v", c.Arms, *c.Difference.JointLow, *c.Difference.JointHigh, want.Low, want.High)
		}
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
