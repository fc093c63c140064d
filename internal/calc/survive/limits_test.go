package survive

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// visited are 20 jars at evenly spaced quantiles of lognormal days, 20 days in the middle,
// seen on visits so many days apart.
func visited(spread, gap float64) []StageRow {
	var rows []StageRow
	for i := range 20 {
		day := 20 * math.Exp(spread*stats.NormalQuantile((float64(i)+0.5)/20))
		by := math.Ceil(day/gap) * gap
		rows = append(rows, StageRow{Jar: figure.Label(rune('a' + i)), Arm: "A", From: by - gap, To: &by})
	}
	return rows
}

// Visits further apart than a third of the days within which 9 of 10 jars come are asked
// to be closer: of a spread of 0.2 on logarithms these are 20·(e^0.329 − e^−0.329), 13.4
// days, so that 3.5 days pass and 5.5 do not.
func TestVisitMoreOften(t *testing.T) {
	for _, c := range []struct {
		spread, gap float64
		asked       bool
	}{{0.2, 3.5, false}, {0.2, 5.5, true}, {0.03, 0.2, false}} {
		a, err := Stages(StagesInput{Rows: visited(c.spread, c.gap)})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(codes(a.Cautions), "visit_more_often"); got != c.asked || a.Result.Arms[0].Median == nil {
			t.Errorf("visits %g days apart, spread %g: asked %v, %+v", c.gap, c.spread, got, a.Result.Arms[0].Median)
		}
	}
}

// The intervals are of 95 %: those of the fit itself.
func TestStagesIntervalsAre95(t *testing.T) {
	a, err := Stages(StagesInput{Rows: rowsOf(t)})
	if err != nil {
		t.Fatal(err)
	}
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	f, err := FitAFT(Weibull, spans, arm, 2)
	if err != nil {
		t.Fatal(err)
	}
	r := f.Ratio(1, 0, 0.95)
	got := a.Result.Comparison[0].Ratio
	near(t, "low", *got.Low, r.Low, 1e-9)
	near(t, "high", *got.High, r.High, 1e-9)
	_, low, high := f.Quantile(0, 0.5, 0.95)
	near(t, "median, low", *a.Result.Arms[0].Median.Low, low, 1e-9)
	near(t, "median, high", *a.Result.Arms[0].Median.High, high, 1e-9)
}

// The worst that lost jars could do: they came within a day of their last good visit in
// one arm, and not by the last visit of all in the other.
func TestWorstCaseOfLostJars(t *testing.T) {
	rows := rowsOf(t)
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	last := 0.0
	for i, s := range spans {
		last = math.Max(last, s.After)
		if i%7 == 3 {
			rows[i].To, rows[i].Lost = nil, true
			spans[i].By = math.Inf(1)
		} else if s.seen() {
			last = math.Max(last, s.By)
		}
	}
	a, err := Stages(StagesInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	bound := func(early int) float64 {
		worst := slices.Clone(spans)
		for i := range worst {
			switch {
			case !rows[i].Lost:
			case arm[i] == early:
				worst[i].By = worst[i].After + 1
			default:
				worst[i].After = last
			}
		}
		f, err := FitAFT(*a.Result.Shape, worst, arm, 2)
		if err != nil {
			t.Fatal(err)
		}
		return math.Exp(f.Level[1] - f.Level[0])
	}
	w := a.Result.Comparison[0].Worst
	near(t, "B came at once", *w.Low, bound(1), 1e-9)
	near(t, "A came at once", *w.High, bound(0), 1e-9)
	if !strings.Contains(codes(a.Cautions), "lost_jars") {
		t.Error(codes(a.Cautions))
	}
}

// Three jars are described, four are not said to be few.
func TestFewJars(t *testing.T) {
	for n, few := range map[int]bool{3: true, 4: false} {
		a, err := Stages(StagesInput{Rows: visited(0.2, 2)[:n]})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(codes(a.Cautions), "few_jars"); got != few {
			t.Errorf("%d jars: few %v", n, got)
		}
	}
}

// One lost jar is one.
func TestLostJarsAreCounted(t *testing.T) {
	rows := visited(0.2, 2)
	for n, want := range map[int]string{1: "1 lost jar counts", 2: "2 lost jars count"} {
		for i := range n {
			rows[i].To, rows[i].Lost = nil, true
		}
		a, err := Stages(StagesInput{Rows: rows})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(a.Cautions, func(c figure.Caution) bool { return strings.HasPrefix(c.Text, want) }) {
			t.Errorf("%d lost: %+v", n, a.Cautions)
		}
		rows = visited(0.2, 2)
	}
}
