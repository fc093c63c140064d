package growth

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func grown(t *testing.T, rows []GrowRow) figure.Answer[GrowResult] {
	t.Helper()
	a, err := Grow(GrowInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func readings(days, covers []float64) []GrowRow {
	var rows []GrowRow
	for i, d := range days {
		rows = append(rows, GrowRow{Jar: "K", Arm: "A", Day: d, CoverPct: covers[i]})
	}
	return rows
}

func hasCode(cautions []figure.Caution, code string) bool {
	for _, c := range cautions {
		if c.Code == code {
			return true
		}
	}
	return false
}

// 95 % are covered ln 19/rate after half by the logistic, −ln(ln(1/0.95)/ln 2)/rate by
// Gompertz: 5.889 and 5.207 days at 0.5 a day. Readings are a tenth of a point off, so a
// twentieth of a day is left open.
func TestDayOf95Percent(t *testing.T) {
	const half, rate = 10.0, 0.5
	for name, c := range map[string]struct {
		curve func(day float64) float64
		want  float64
	}{
		"logistic": {func(d float64) float64 { return 100 / (1 + math.Exp(-rate*(d-half))) }, half + 5.88888},
		"gompertz": {func(d float64) float64 { return 100 * math.Exp2(-math.Exp(-rate*(d-half))) }, half + 5.20734},
	} {
		var days, covers []float64
		for d := 2.0; d <= 22; d++ {
			days = append(days, d)
			covers = append(covers, math.Max(0, math.Min(100, c.curve(d)+0.1*float64(1-2*(int(d)%2)))))
		}
		a := grown(t, readings(days, covers))
		if a.Result.Curve != name {
			t.Errorf("%s is fitted by %s", name, a.Result.Curve)
		}
		near(t, name, *a.Result.Jars[0].FullDay, c.want, 0.05/c.want)
	}
}

// Four readings from 10 to 90 % carry a curve, three are few.
func TestReadingsOnTheRise(t *testing.T) {
	for _, c := range []struct {
		covers []float64
		rising int
		few    bool
	}{
		{[]float64{0, 12, 30, 60, 88, 99}, 4, false},
		{[]float64{0, 12, 30, 60, 92, 99}, 3, true},
		{[]float64{0, 10, 35, 65, 90, 99}, 4, false},
		{[]float64{0, 9, 35, 65, 91, 99}, 2, true},
	} {
		a := grown(t, readings([]float64{4, 7, 9, 11, 14, 18}, c.covers))
		if a.Result.Jars[0].Rising != c.rising || hasCode(a.Cautions, "few_readings") != c.few {
			t.Errorf("%v: %d on the rise, %+v", c.covers, a.Result.Jars[0].Rising, a.Cautions)
		}
	}
}

// A cover that falls by more than 30 points is asked about.
func TestCoverThatFell(t *testing.T) {
	days := []float64{4, 7, 9, 11}
	grown(t, readings(days, []float64{5, 60, 32, 95}))
	if _, err := Grow(GrowInput{Rows: readings(days, []float64{5, 60, 28, 95})}); err == nil || !strings.Contains(err.Error(), "which is later") {
		t.Errorf("a fall of 32 points: %v", err)
	}
}

// A jar first seen above half has no curve.
func TestFirstSeenAboveHalf(t *testing.T) {
	a := grown(t, readings([]float64{4, 7, 9, 11}, []float64{55, 70, 85, 95}))
	if a.Result.Jars[0].HalfDay != nil || !hasCode(a.Cautions, "no_curve") {
		t.Errorf("%+v %+v", a.Result.Jars[0], a.Cautions)
	}
}
