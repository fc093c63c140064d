package survive

import (
	"errors"
	"fmt"
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
// to be closer, whatever the days: those are 2·1.645 spreads of log days wide. Gaps go
// up by 0.05 days, so that the edge is met to one in a hundred.
func TestVisitMoreOften(t *testing.T) {
	asked, left := 0, 0
	for gap := 3.0; gap < 6; gap += 0.05 {
		rows := visited(0.2, gap)
		a, err := Stages(StagesInput{Rows: rows})
		if err != nil {
			t.Fatal(err)
		}
		var spans []Span
		for _, row := range rows {
			spans = append(spans, Span{row.From, *row.To})
		}
		f, err := FitAFT(*a.Result.Shape, spans, make([]int, 20), 1)
		if err != nil {
			t.Fatal(err)
		}
		early, _, _ := f.Quantile(0, 0.05, 0.95)
		late, _, _ := f.Quantile(0, 0.95, 0.95)
		want := gap > (late-early)/3
		if want {
			asked++
		} else {
			left++
		}
		if got := strings.Contains(codes(a.Cautions), "visit_more_often"); got != want {
			t.Errorf("visits %g days apart, 9 of 10 come within %g: asked %v", gap, late-early, got)
		}
		said := fmt.Sprintf("%.1f days apart, and 9 of 10 jars come within %.1f days", gap, late-early)
		if want && !strings.Contains(a.Cautions[0].Text, said) {
			t.Errorf("%q does not say %q", a.Cautions[0].Text, said)
		}
	}
	if asked < 10 || left < 10 {
		t.Errorf("%d asked, %d not", asked, left)
	}
	a, err := Stages(StagesInput{Rows: visited(0.03, 0.2)})
	if err != nil || len(a.Cautions) != 0 {
		t.Errorf("visits five times a day: %+v, %v", a.Cautions, err)
	}
}

// The permutation p of Sun's scores: 0.007622 by the normal distribution (Fay and Shaw
// 2010), 0.00743 by a hundred thousand deals in R. Ours, where deals can not all be
// counted, are as many: three standard errors of either are 0.0011.
func TestPermutationPublished(t *testing.T) {
	spans, arm := table(t, "cosmesis.csv", "group", "RT", "RCT")
	in := StagesInput{Control: "RT"}
	for i, s := range spans {
		row := StageRow{Jar: figure.Label(fmt.Sprint(i)), Arm: []figure.Label{"RT", "RCT"}[arm[i]], From: s.After}
		if s.seen() {
			row.To = &spans[i].By
		}
		in.Rows = append(in.Rows, row)
	}
	deal := func(seed *uint64) float64 {
		in.Seed = seed
		a, err := Stages(in)
		if err != nil {
			t.Fatal(err)
		}
		c := a.Result.Comparison[0]
		if c.P == nil || c.Counted || math.Abs(*c.P-0.00743) > 1.1e-3 {
			t.Fatalf("%+v", c)
		}
		if n := *c.P * 100000; math.Abs(n-math.Round(n)) > 1e-6 {
			t.Errorf("p %g is not one of 99999 deals and the one that was dealt", *c.P)
		}
		return *c.P
	}
	one, two := uint64(1), uint64(2)
	if p := deal(nil); p != deal(&one) || p == deal(&two) {
		t.Error("the deals do not follow the seed, 1 if left out")
	}
}

// Published: predict(type = "uquantile", se.fit = TRUE) of survreg in R 4.2.2, its interval
// on log days. 1e-7 as R's standard errors are.
func TestQuantilePublished(t *testing.T) {
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	for _, c := range []struct {
		shape          Shape
		arm            int
		share          float64
		day, low, high float64
	}{
		{Weibull, 0, 0.05, 11.4771861346, 10.0096036357, 13.1599418282},
		{Weibull, 1, 0.5, 15.0471209271, 14.0673451391, 16.0951370679},
		{Weibull, 1, 0.9, 18.2942240664, 17.1056241414, 19.5654149435},
		{Lognormal, 0, 0.05, 11.851471655, 10.6849082568, 13.1453988198},
		{Lognormal, 0, 0.5, 16.6313536677, 15.385003435, 17.9786716323},
		{Lognormal, 1, 0.9, 19.2117397456, 17.5018597454, 21.0886699713},
	} {
		f, err := FitAFT(c.shape, spans, arm, 2)
		if err != nil {
			t.Fatal(err)
		}
		day, low, high := f.Quantile(c.arm, c.share, 0.95)
		near(t, "day", day, c.day, 1e-8)
		near(t, "low", low, c.low, 1e-7)
		near(t, "high", high, c.high, 1e-7)
	}
}

// 10000 rows, 12 arms and day 2000 are the last that are taken; a day of the last look may
// be that of a visit.
func TestStagesLimits(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	arms := func(n int) (rows []StageRow) {
		for i := range n {
			rows = append(rows, StageRow{Jar: figure.Label(fmt.Sprint(i)), Arm: figure.Label(rune('A' + i)), From: 3})
		}
		return rows
	}
	many := make([]StageRow, 10001)
	for i := range many {
		many[i] = StageRow{Jar: figure.Label(fmt.Sprint(i)), From: 3}
	}
	for _, c := range []struct {
		field string
		in    StagesInput
	}{
		{"", StagesInput{Rows: arms(12)}},
		{"rows", StagesInput{Rows: arms(13)}},
		{"", StagesInput{Rows: many[:10000]}},
		{"rows", StagesInput{Rows: many}},
		{"", StagesInput{Rows: []StageRow{{Jar: "1", From: 2000}, {Jar: "2", From: 1, To: at(2000)}}}},
		{"rows[0].from", StagesInput{Rows: []StageRow{{Jar: "1", From: 2000.1}}}},
		{"rows[0].from", StagesInput{Rows: []StageRow{{Jar: "1", From: -0.1}}}},
		{"rows[0].to", StagesInput{Rows: []StageRow{{Jar: "1", To: at(2000.1)}}}},
		{"rows[0].to", StagesInput{Rows: []StageRow{{Jar: "1", To: at(0)}}}},
		{"", StagesInput{Rows: []StageRow{{Jar: "1", To: at(0.01)}}}},
		{"", StagesInput{At: at(9), Rows: []StageRow{{Jar: "1", From: 9}, {Jar: "2", From: 8, To: at(9)}}}},
		{"rows[0].to", StagesInput{At: at(9), Rows: []StageRow{{Jar: "1", From: 8, To: at(9.1)}}}},
		{"at", StagesInput{At: at(8.9), Rows: []StageRow{{Jar: "1", From: 9}}}},
		{"at", StagesInput{At: at(2001), Rows: []StageRow{{Jar: "1", From: 9}}}},
	} {
		_, err := Stages(c.in)
		var fault *figure.Fault
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%d rows: %v", len(c.in.Rows), err)
		case c.field != "" && (!errors.As(err, &fault) || fault.Field != c.field):
			t.Errorf("%v, want a fault at %s", err, c.field)
		}
	}
}

// A ratio whose interval holds 1 is not distinguishable; losses differ by more than a
// fifth, or not; a control in which nothing came is compared with by lot alone.
func TestStagesWords(t *testing.T) {
	rows := rowsOf(t)
	for i := range rows { // arms that do not differ
		rows[i].Arm = figure.Label(rune('A' + i%2))
	}
	a, err := Stages(StagesInput{Rows: rows})
	if err != nil || !strings.HasSuffix(a.Result.Sentence, ": not distinguishable.") {
		t.Errorf("%q, %v", a.Result.Sentence, err)
	}
	for lost, differ := range map[int]bool{1: false, 2: false, 3: true} { // of 10 in one arm: a tenth, a fifth, more
		var some []StageRow
		for i := range 20 {
			by := 10 + float64(i/2)
			row := StageRow{Jar: figure.Label(fmt.Sprint(i)), Arm: figure.Label(rune('A' + i%2)), From: by - 1, To: &by}
			if i%2 == 0 && i/2 < lost {
				row.To, row.Lost = nil, true
			}
			some = append(some, row)
		}
		a, err := Stages(StagesInput{Rows: some})
		if err != nil || strings.Contains(codes(a.Cautions), "losses_differ") != differ {
			t.Errorf("%d of 10 lost: %s, %v", lost, codes(a.Cautions), err)
		}
	}
	for i := range rows { // five of 30 lost in one arm, four in the other
		rows[i].Lost = i < 9
		if rows[i].Lost {
			rows[i].To = nil
		}
	}
	if a, err = Stages(StagesInput{Rows: rows}); err != nil || codes(a.Cautions) != "lost_jars" {
		t.Errorf("%s, %v", codes(a.Cautions), err)
	}
	for i := range rows[:10] {
		rows[i].Arm = "C"
	}
	if a, err = Stages(StagesInput{Rows: rows}); err != nil || !strings.HasSuffix(codes(a.Cautions), "several_comparisons") {
		t.Errorf("%s, %v", codes(a.Cautions), err)
	}
	rows = rowsOf(t)
	for i := range rows {
		if rows[i].Arm == "A" {
			rows[i].To = nil
		}
	}
	if a, err = Stages(StagesInput{Rows: rows}); err != nil || a.Result.Comparison[0].Ratio != nil || a.Result.Comparison[0].P == nil || a.Result.Arms[1].Median == nil {
		t.Errorf("%+v, %v", a.Result, err)
	}
}

// Jars that all came between the same visits have no p, for no lot tells them apart.
func TestStagesAllAlike(t *testing.T) {
	by := 10.0
	row := func(jar, arm figure.Label) StageRow { return StageRow{Jar: jar, Arm: arm, From: 7, To: &by} }
	a, err := Stages(StagesInput{Rows: []StageRow{row("1", "A"), row("2", "A"), row("3", "B"), row("4", "B")}})
	if err != nil || a.Result.Comparison[0].P != nil || a.Result.Comparison[0].Ratio != nil {
		t.Errorf("%+v, %v", a.Result.Comparison, err)
	}
}

// By a day that is known what came on it has come, and not before.
func TestBetweenKnownDays(t *testing.T) {
	got, err := FitTurnbull([]Span{{4, 4}, {6, 6}, {6, 6}, {9, math.Inf(1)}})
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[float64]float64{3.9: 0, 4: 0.25, 5.9: 0.25, 6: 0.75, 9: 0.75} {
		if low, high := got.Between(day); math.Abs(low-want) > 1e-9 || math.Abs(high-want) > 1e-9 {
			t.Errorf("by day %g at least %g and at most %g, want %g", day, low, high, want)
		}
	}
	if low, high := got.Between(10); math.Abs(low-0.75) > 1e-9 || math.Abs(high-1) > 1e-9 {
		t.Errorf("after the last visit at least %g and at most %g", low, high)
	}
}

// Spans and columns that do not fit are refused.
func TestRefused(t *testing.T) {
	for _, s := range []Span{{0, 0}, {-1, 3}, {3, math.NaN()}, {math.Inf(1), math.Inf(1)}} {
		if _, err := FitTurnbull([]Span{s, {1, 2}}); !errors.Is(err, ErrRange) {
			t.Errorf("%v: %v", s, err)
		}
	}
	if _, err := FitAFT(Weibull, []Span{{1, 2}, {2, 3}}, []int{0}, 1); !errors.Is(err, ErrRange) {
		t.Errorf("two spans of one arm: %v", err)
	}
	for _, a := range []int{-1, 1} {
		if _, err := FitAFT(Weibull, []Span{{1, 2}, {2, 3}}, []int{0, a}, 1); !errors.Is(err, ErrRange) {
			t.Errorf("arm %d of 1: %v", a, err)
		}
	}
	days, seen, group := []float64{1, 2, 3}, []bool{true, true, true}, []int{0, 1, 0}
	for name, c := range map[string]struct {
		days   []float64
		seen   []bool
		group  []int
		groups int
		want   error
	}{
		"short seen":     {days, seen[:2], group, 2, ErrRange},
		"short group":    {days, seen, group[:2], 2, ErrRange},
		"a day below 0":  {[]float64{1, -2, 3}, seen, group, 2, ErrRange},
		"no such group":  {days, seen, []int{0, 2, 0}, 2, ErrRange},
		"a group below":  {days, seen, []int{0, -1, 0}, 2, ErrRange},
		"one group":      {days, seen, []int{0, 0, 0}, 1, ErrFew},
		"an empty group": {days, seen, []int{0, 0, 0}, 2, ErrFew},
		"nothing seen":   {days, make([]bool, 3), group, 2, ErrFew},
	} {
		if _, _, err := LogRank(c.days, c.seen, c.group, c.groups); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
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
