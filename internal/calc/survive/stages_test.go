package survive

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func rowsOf(t testing.TB) []StageRow {
	t.Helper()
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	var rows []StageRow
	for i, s := range spans {
		row := StageRow{Jar: figure.Label("K" + string(rune('A'+i))), Arm: figure.Label([]string{"A", "B"}[arm[i]]), From: s.After}
		if s.seen() {
			row.To = &s.By
		}
		rows = append(rows, row)
	}
	return rows
}

func codes(cautions []figure.Caution) string {
	var out []string
	for _, c := range cautions {
		out = append(out, c.Code)
	}
	return strings.Join(out, " ")
}

// Published: survreg of R on the same rows, as in TestRatioPublished.
func TestStages(t *testing.T) {
	a, err := Stages(StagesInput{Rows: rowsOf(t)})
	if err != nil {
		t.Fatal(err)
	}
	r := a.Result
	near(t, "ratio", r.Comparison[0].Ratio.Value, 0.858176520152324, 1e-8)
	near(t, "median of A", r.Arms[0].Median.Value, 17.5338296652997, 1e-8)
	if *r.Shape != Weibull || r.Comparison[0].Worst != nil {
		t.Errorf("shape %s, worst %v", *r.Shape, r.Comparison[0].Worst)
	}
	if p := r.Comparison[0].P; p == nil || !(*p < 0.05) {
		t.Errorf("p is %v", p)
	}
	if want := "B takes 0.86 times as long as A (95 % interval 0.78 to 0.94)."; r.Sentence != want {
		t.Errorf("sentence %q, want %q", r.Sentence, want)
	}
	last := 0.0
	for _, s := range r.Arms[0].ShareByDay {
		if !(s.Low >= last && s.High >= s.Low && s.High <= 1) {
			t.Errorf("share %+v after %g", s, last)
		}
		last = s.Low
	}
	shown := ""
	for _, s := range a.Working {
		shown += fmt.Sprint(s.Value, "; ")
	}
	if band := fmt.Sprintf("0.8582 (%.4g to %.4g)", *r.Comparison[0].Ratio.Low, *r.Comparison[0].Ratio.High); !strings.Contains(shown, band) {
		t.Errorf("the working shows %q, and not the ratio as %q", shown, band)
	}
	if none := (*Band)(nil).String(); none != "not known" {
		t.Errorf("no ratio is shown as %q", none)
	}
}

func TestStagesLost(t *testing.T) {
	rows := rowsOf(t)
	for _, i := range []int{0, 1, 2, 3, 4, 5, 6, 7} {
		rows[i].To, rows[i].Lost, rows[i].From = nil, true, 6
	}
	a, err := Stages(StagesInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	c := a.Result.Comparison[0]
	if c.Worst == nil || c.Worst.Low == nil || c.Worst.High == nil || !(*c.Worst.Low < c.Ratio.Value && *c.Worst.High > c.Ratio.Value) {
		t.Errorf("ratio %v, worst %+v", c.Ratio, c.Worst)
	}
	if a.Result.Arms[0].Lost != 8 || !strings.Contains(codes(a.Cautions), "lost_jars losses_differ") {
		t.Errorf("arm %+v, cautions %s", a.Result.Arms[0], codes(a.Cautions))
	}
}

func TestStagesEdges(t *testing.T) {
	to := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		name, code string
		rows       []StageRow
	}{
		{"all waiting", "nothing_seen", []StageRow{{Jar: "1", From: 5}, {Jar: "2", From: 7}}},
		{"all lost", "nothing_seen", []StageRow{{Jar: "1", From: 5, Lost: true}}},
		{"one jar", "visit_more_often", []StageRow{{Jar: "1", From: 5, To: to(7)}}},
		{"same visits", "visit_more_often", []StageRow{{Jar: "1", From: 5, To: to(7)}, {Jar: "2", From: 5, To: to(7)}}},
		{"half came by the only visit", "visit_more_often", []StageRow{{Jar: "1", To: to(7)}, {Jar: "2", To: to(7)}, {Jar: "3", From: 7}, {Jar: "4", From: 7}}},
		{"years between visits", "visit_more_often", []StageRow{{Jar: "1", To: to(1999)}, {Jar: "2", From: 1, To: to(1000)}, {Jar: "3", From: 100, To: to(1500)}}},
		{"all had come by the first visit", "nothing_before", []StageRow{{Jar: "1", To: to(7)}, {Jar: "2", To: to(9)}}},
		{"one jar an arm", "few_jars", []StageRow{{Jar: "1", Arm: "A", From: 5, To: to(7)}, {Jar: "2", Arm: "B", From: 9, To: to(12)}}},
		{"one arm not seen", "arm_not_seen", []StageRow{
			{Jar: "1", Arm: "A", From: 5, To: to(7)}, {Jar: "2", Arm: "A", From: 9, To: to(11)}, {Jar: "3", Arm: "A", From: 13, To: to(15)}, {Jar: "4", Arm: "B", From: 12},
		}},
	} {
		a, err := Stages(StagesInput{Rows: c.rows})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if !strings.Contains(codes(a.Cautions), c.code) {
			t.Errorf("%s: cautions %s, want %s", c.name, codes(a.Cautions), c.code)
		}
		if _, err := json.Marshal(a); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// An arm of which every jar had come by its first visit has no level of its own, and
// takes nothing from the other arms: they come out as without it.
func TestArmSeenLate(t *testing.T) {
	rows := rowsOf(t)
	var alone []StageRow
	for _, row := range rows {
		if row.Arm == "A" {
			alone = append(alone, row)
		}
	}
	want, err := Stages(StagesInput{Rows: alone})
	if err != nil {
		t.Fatal(err)
	}
	for i := range rows {
		if rows[i].Arm == "B" {
			by := 9 + float64(i%3)
			rows[i].From, rows[i].To = 0, &by
		}
	}
	a, err := Stages(StagesInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	r := a.Result
	if r.Arms[1].Median != nil || r.Comparison[0].Ratio != nil || !strings.Contains(codes(a.Cautions), "arm_seen_late") || strings.Contains(codes(a.Cautions), "arm_not_seen") {
		t.Errorf("%+v, %+v, %s", r.Arms[1], r.Comparison[0], codes(a.Cautions))
	}
	near(t, "median of the other arm", r.Arms[0].Median.Value, want.Result.Arms[0].Median.Value, 1e-12)
	if p := r.Comparison[0].P; p == nil || *p > 1e-4 {
		t.Errorf("the lots do not tell the arms apart: %v", p)
	}
}

func TestStagesFaults(t *testing.T) {
	to := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		field, what string
		in          StagesInput
	}{
		{"rows", "0 rows", StagesInput{}},
		{"rows[0].to", "which is later", StagesInput{Rows: []StageRow{{Jar: "1", From: 9, To: to(7)}}}},
		{"rows[0].to", "did and did not", StagesInput{Rows: []StageRow{{Jar: "1", From: 9, To: to(9)}}}},
		{"rows[1].jar", "in row 1 and in row 2", StagesInput{Rows: []StageRow{{Jar: "1", From: 9}, {Jar: "1", From: 7}}}},
		{"rows[0].from", "NaN", StagesInput{Rows: []StageRow{{Jar: "1", From: math.NaN()}}}},
		{"rows[0].to", "+Inf", StagesInput{Rows: []StageRow{{Jar: "1", From: 1, To: to(math.Inf(1))}}}},
		{"rows[0].lost", "lost before", StagesInput{Rows: []StageRow{{Jar: "1", From: 1, To: to(4), Lost: true}}}},
		{"control", "no jar is in arm C", StagesInput{Control: "C", Rows: []StageRow{{Jar: "1", Arm: "A", From: 1}}}},
		{"at", "after day 5", StagesInput{At: to(5), Rows: []StageRow{{Jar: "1", From: 9}}}},
	} {
		_, err := Stages(c.in)
		var fault *figure.Fault
		if !errors.As(err, &fault) || fault.Field != c.field || !strings.Contains(fault.What, c.what) || fault.Mend == "" {
			t.Errorf("fault %+v, want %s at %s", err, c.what, c.field)
		}
	}
}

func FuzzStages(f *testing.F) {
	f.Add([]byte(`{"rows":[{"jar":1,"arm":"A","from":5,"to":7},{"jar":2,"arm":"B","from":7,"to":9},{"jar":3,"arm":"B","from":9,"lost":true}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var in StagesInput
		if json.Unmarshal(raw, &in) != nil || len(in.Rows) > 12 {
			t.Skip()
		}
		a, err := Stages(in)
		if err != nil {
			var fault *figure.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no Fault", err)
			}
			return
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
		ordered := func(what string, b *Band) {
			if b != nil && (b.Low != nil && *b.Low > b.Value || b.High != nil && *b.High < b.Value || !(b.Value > 0)) {
				t.Errorf("%s %g within %v", what, b.Value, b)
			}
		}
		for _, arm := range a.Result.Arms {
			ordered("median", arm.Median)
			last := ShareByDay{}
			for _, s := range arm.ShareByDay {
				if !(s.Low >= last.Low && s.High >= last.High && s.High >= s.Low && s.High <= 1) {
					t.Errorf("share %+v after %+v", s, last)
				}
				last = s
			}
		}
		for _, c := range a.Result.Comparison {
			ordered("ratio", c.Ratio)
			if c.P != nil && !(*c.P > 0 && *c.P <= 1) {
				t.Errorf("p %g", *c.P)
			}
		}
	})
}
