package growth

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// Published: t.test of R 4.2.2 over the curves of the six jars of an arm, and mean and
// sd of their half days, jars.csv. To 1e-9 as the fits are.
func TestCoursePublished(t *testing.T) {
	a := grown(t, rowsOf(t))
	r := a.Result
	for _, c := range []struct {
		arm              int
		day              float64
		value, low, high float64
	}{
		{0, 8, 22.7912325227, 17.6822221744, 27.9002428709},
		{0, 14, 72.6503254016, 65.0438042001, 80.2568466031},
		{1, 10, 50.5381227061, 39.2874416247, 61.7888037875},
	} {
		got := r.Course(r.Arms[c.arm], []float64{c.day})
		near(t, "cover", got[0].Value, c.value, 1e-8)
		near(t, "low", got[0].Low, c.low, 1e-8)
		near(t, "high", got[0].High, c.high, 1e-8)
	}
	near(t, "half day of A", *r.Arms[0].HalfDay, 11.3510298197, 1e-9)
	near(t, "spread of A", *r.Arms[0].SD, 0.840721186783, 1e-8)
	near(t, "spread of B", *r.Arms[1].SD, 1.11345940054, 1e-8)
	two := grown(t, rowsOf(t)[:18]).Result
	got := two.Course(two.Arms[0], []float64{10, 0, 60})
	near(t, "low end over two jars", got[0].Low, 29.5396489239, 1e-8)
	if got[1].Low != 0 || got[2].High > 100 {
		t.Errorf("a band leaves 0 to 100 %%: %+v", got)
	}
}

// The derivatives are those of the curve: differences over 2e-6 leave 1e-8 of them.
func TestSlopesOfCurves(t *testing.T) {
	const h = 1e-6
	for _, curve := range curves {
		for _, x := range []float64{2, 9, 11, 20} {
			b, slope, none := []float64{10, 0.4}, make([]float64, 2), make([]float64, 2)
			curve.At(x, b, slope)
			for k := range b {
				up, down := []float64{b[0], b[1]}, []float64{b[0], b[1]}
				up[k], down[k] = b[k]+h, b[k]-h
				want := (curve.At(x, up, none) - curve.At(x, down, none)) / (2 * h)
				if math.Abs(slope[k]-want) > 1e-7*(1+math.Abs(want)) {
					t.Errorf("%s at %g: slope %d is %.9g, want %.9g", curve.Name, x, k, slope[k], want)
				}
			}
		}
		slope := make([]float64, 2)
		if y := curve.At(-1e6, []float64{10, 0.4}, slope); y != 0 || slope[0] != 0 || slope[1] != 0 {
			t.Errorf("%s a million days before: %g, slopes %v", curve.Name, y, slope)
		}
	}
}

func TestLeastErrors(t *testing.T) {
	x := []float64{1, 2, 3, 4}
	twice := Curve{"twice", func(x float64, b, slope []float64) float64 {
		slope[0], slope[1] = x, 2*x
		return (b[0] + 2*b[1]) * x
	}}
	nowhere := Curve{"nowhere", func(float64, []float64, []float64) float64 { return math.NaN() }}
	for _, c := range []struct {
		curve Curve
		y     []float64
		want  error
	}{
		{rise, []float64{1, 2}, ErrFew},
		{rise, []float64{1, math.NaN(), 3, 4}, ErrRange},
		{rise, []float64{1, math.Inf(-1), 3, 4}, ErrRange},
		{twice, []float64{1, 2, 3, 5}, ErrSettle},
		{nowhere, []float64{1, 2, 3, 4}, ErrSettle},
		{rise, []float64{1, 4, 9, 16}, ErrSettle}, // ever steeper: it bends the other way at any rate
	} {
		if _, err := Least(c.curve, x[:len(c.y)], c.y, []float64{5, 0.5}); !errors.Is(err, c.want) {
			t.Errorf("%s of %v: %v, want %v", c.curve.Name, c.y, err, c.want)
		}
	}
	for _, sign := range []int{-1, 1} {
		if _, err := Least(rise, []float64{1, math.Inf(1), 3}, []float64{1, math.Inf(sign), 3}, []float64{5, 0.5}); !errors.Is(err, ErrRange) {
			t.Errorf("an infinite day and reading: %v", err)
		}
	}
	if _, err := Least(rise, x[:2], x[:2], []float64{5, 0.5}); !errors.Is(err, ErrFew) {
		t.Errorf("as many readings as parameters: %v", err)
	}
}

// Readings that hold two curves give the better one. Of 15, 34, 20 and 66 % it is half
// covered on day 31, beyond them, and so there is none, though one through the last
// two visits is nearly as good; of the others it lies within. The least over a grid
// of both parameters: day 14.35 and 19.95.
func TestBetterOfTwoCurves(t *testing.T) {
	if j := grown(t, readings([]float64{9, 13, 27, 28}, []float64{15, 34, 20, 66})).Result.Jars[0]; j.HalfDay != nil {
		t.Errorf("half covered on day %g", j.HalfDay.Value)
	}
	for _, c := range []struct {
		days, covers []float64
		half         float64
	}{
		{[]float64{14, 15, 28}, []float64{37, 72, 77}, 14.35}, {[]float64{4, 18, 21}, []float64{33, 13, 73}, 19.95},
	} {
		in := GrowInput{Rows: readings(c.days, c.covers)}
		jars, err := in.read()
		if err != nil {
			t.Fatal(err)
		}
		jars[0].fit()
		if f := jars[0].fits[0]; f == nil || math.Abs(f.B[0]-c.half) > 0.05 {
			t.Errorf("%v: %+v, want day %g", c.covers, f, c.half)
		}
	}
}

// A jar whose readings hold one of the curves only has it: over all jars the choice is
// made by those that hold both, and if none does by what more jars hold. Days and rates
// are the least over a grid of both parameters.
func TestJarsWithOneCurve(t *testing.T) {
	logistic := readings([]float64{4, 10, 22, 24}, []float64{4, 35, 100, 100})
	gompertz := readings([]float64{3, 4, 13, 23, 24, 27, 29}, []float64{0, 60, 94, 86, 91, 87, 100})
	for i := range gompertz {
		gompertz[i].Jar = "G"
	}
	r := grown(t, logistic).Result
	if r.Curve != "logistic" || r.Jars[0].HalfDay == nil || math.Abs(r.Jars[0].HalfDay.Value-11.37) > 0.05 {
		t.Errorf("%s, %+v", r.Curve, r.Jars[0].HalfDay)
	}
	if r = grown(t, gompertz).Result; r.Curve != "gompertz" || r.Jars[0].HalfDay == nil || math.Abs(r.Jars[0].HalfDay.Value-3.91) > 0.05 {
		t.Errorf("%s, %+v", r.Curve, r.Jars[0].HalfDay)
	}
	if r = grown(t, append(logistic, rowsOf(t)...)).Result; r.Curve != "logistic" || r.Jars[0].HalfDay == nil || r.Arms[0].Fitted != 7 {
		t.Errorf("%s, %+v", r.Curve, r.Arms[0])
	}
	if r = grown(t, append(gompertz, rowsOf(t)...)).Result; r.Curve != "logistic" || r.Jars[0].HalfDay != nil || r.Arms[0].Fitted != 6 {
		t.Errorf("%s, %+v", r.Curve, r.Arms[0])
	}
	slow := grown(t, readings([]float64{1, 25, 29}, []float64{34, 92, 100})).Result
	if slow.Curve != "logistic" || math.Abs(slow.Jars[0].HalfDay.Value-5.62) > 0.05 {
		t.Errorf("%+v", slow)
	}
}

// What the readings leave open is null; three readings are the least that hold a curve.
func TestOpenEnds(t *testing.T) {
	a := grown(t, readings([]float64{5, 10, 15}, []float64{20, 45, 90}))
	if j := a.Result.Jars[0]; j.HalfDay == nil || j.HalfDay.Low != nil && j.HalfDay.High != nil {
		t.Errorf("three readings have a closed interval: %+v", j.HalfDay)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
	if j := grown(t, readings([]float64{5, 15}, []float64{20, 90})).Result.Jars[0]; j.HalfDay != nil {
		t.Errorf("two readings have a curve: %+v", j.HalfDay)
	}
}

// Covers that fall, but never by more than 30 points, hold no rising curve.
func TestFallingCover(t *testing.T) {
	if j := grown(t, readings([]float64{0, 1, 2, 3, 4, 30}, []float64{49, 49, 40, 30, 20, 51})).Result.Jars[0]; j.HalfDay != nil {
		t.Errorf("%+v", j.HalfDay)
	}
	days := []float64{4, 7, 9, 11}
	grown(t, readings(days, []float64{5, 60, 30, 95})) // 30 points are not more than 30
}

// An arm of jars without a curve has no middle, one of a single curve no spread, and
// what a sentence says of two arms is not said of three.
func TestArmsWithoutCurves(t *testing.T) {
	rows := rowsOf(t)[:9] // one jar of arm A
	for day := 2.0; day < 12; day += 3 {
		rows = append(rows, GrowRow{Jar: "Z", Arm: "none", Day: day})
	}
	r := grown(t, rows).Result
	if r.Arms[0].HalfDay == nil || r.Arms[0].SD != nil || r.Arms[1].HalfDay != nil || r.Comparison[0].Difference != nil || !strings.HasPrefix(r.Sentence, "Half covered on day 11.3, over 1 jar") {
		t.Errorf("%+v", r)
	}
	rows = rowsOf(t)
	whole := grown(t, rows)
	if want := "B is half covered 1.4 days sooner than A (95 % interval 0.2 to 2.7 days sooner)."; whole.Result.Sentence != want || hasCode(whole.Cautions, "no_curve") {
		t.Errorf("%q, want %q", whole.Result.Sentence, want)
	}
	turned, err := Grow(GrowInput{Rows: rows, Control: "B"})
	if want := "A is half covered 1.4 days later than B (95 % interval 0.2 to 2.7 days later)."; err != nil || turned.Result.Sentence != want {
		t.Errorf("%q, %v, want %q", turned.Result.Sentence, err, want)
	}
	if few, want := grown(t, append(rows[:18:18], rows[54:72]...)).Result.Sentence, " days later): not distinguishable."; !strings.HasSuffix(few, want) || !strings.Contains(few, " days sooner to ") {
		t.Errorf("two jars against two: %q", few)
	}
	for i := range rows[:18] {
		rows[i].Arm = "C"
	}
	if r := grown(t, rows).Result; len(r.Comparison) != 2 || strings.Contains(r.Sentence, "sooner") {
		t.Errorf("of three arms: %q", r.Sentence)
	}
}

// 20000 readings and day 2000 are the last that are taken.
func TestMostReadings(t *testing.T) {
	if _, err := Grow(GrowInput{Rows: []GrowRow{{Jar: "1", Day: 2000, CoverPct: 100}}}); err != nil {
		t.Error(err)
	}
	rows := make([]GrowRow, 20001)
	for i := range rows {
		rows[i] = GrowRow{Jar: figure.Label(rune('A' + i/1500)), Day: float64(i%1500) + 0.1, CoverPct: 50}
	}
	if _, err := Grow(GrowInput{Rows: rows[:20000]}); err != nil {
		t.Error(err)
	}
	for field, in := range map[string]GrowInput{
		"rows": {Rows: rows}, "rows[0].day": {Rows: []GrowRow{{Jar: "1", Day: 2000.1}}}, "rows[0].cover_pct": {Rows: []GrowRow{{Jar: "1", CoverPct: 100.1}}},
	} {
		_, err := Grow(in)
		if fault := (*figure.Fault)(nil); !errors.As(err, &fault) || fault.Field != field {
			t.Errorf("%v, want a fault at %s", err, field)
		}
	}
}
