package growth

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func lines(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return out[1:]
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

var rise = Curve{"rise", func(x float64, b, slope []float64) float64 {
	e := math.Exp(-b[1] * x)
	slope[0], slope[1] = 1-e, b[0]*x*e
	return b[0] * (1 - e)
}}

var rat42 = Curve{"rat42", func(x float64, b, slope []float64) float64 {
	e := math.Exp(b[1] - b[2]*x)
	y := b[0] / (1 + e)
	bend := -y * e / (1 + e)
	slope[0], slope[1], slope[2] = 1/(1+e), bend, -x*bend
	return y
}}

var rat43 = Curve{"rat43", func(x float64, b, slope []float64) float64 {
	e := math.Exp(b[1] - b[2]*x)
	y := b[0] * math.Pow(1+e, -1/b[3])
	bend := -y / b[3] * e / (1 + e)
	slope[0], slope[1], slope[2], slope[3] = y/b[0], bend, -x*bend, y*math.Log1p(e)/(b[3]*b[3])
	return y
}}

// Certified: NIST Statistical Reference Datasets, from both starts. Parameters
// to 1e-9, since eleven digits are given; standard errors to 1e-8.
func TestLeastNIST(t *testing.T) {
	for _, c := range []struct {
		file   string
		curve  Curve
		starts [2][]float64
		b, se  []float64
		rss    float64
	}{
		{"nist_Misra1a.csv", rise, [2][]float64{{500, 0.0001}, {250, 0.0005}}, []float64{238.94212918, 0.00055015643181}, []float64{2.7070075241, 7.2668688436e-06}, 0.12455138894},
		{"nist_BoxBOD.csv", rise, [2][]float64{{1, 1}, {100, 0.75}}, []float64{213.80940889, 0.54723748542}, []float64{12.354515176, 0.10455993237}, 1168.0088766},
		{"nist_Rat42.csv", rat42, [2][]float64{{100, 1, 0.1}, {75, 2.5, 0.07}}, []float64{72.462237576, 2.6180768402, 0.067359200066}, []float64{1.7340283401, 0.088295217536, 0.0034465663377}, 8.0565229338},
		{"nist_Rat43.csv", rat43, [2][]float64{{100, 10, 1, 1}, {700, 5, 0.75, 1.3}}, []float64{699.6415127, 5.2771253025, 0.75962938329, 1.2792483859}, []float64{16.302297817, 2.0828735829, 0.19566123451, 0.68761936385}, 8786.404908},
	} {
		var x, y []float64
		for _, line := range lines(t, c.file) {
			x, y = append(x, number(t, line[0])), append(y, number(t, line[1]))
		}
		for _, start := range c.starts {
			f, err := Least(c.curve, x, y, start)
			if err != nil {
				t.Errorf("%s from %v: %v", c.file, start, err)
				continue
			}
			for k := range c.b {
				near(t, c.file+" parameter", f.B[k], c.b[k], 1e-9)
				near(t, c.file+" standard error", f.SE[k], c.se[k], 1e-8)
			}
			near(t, c.file+" sum of squares", f.RSS, c.rss, 1e-9)
		}
	}
}

// Published: testdata/profile.R in R 4.2.2, and to three or four digits confint of
// nls there, which interpolates. Ends are looked for to 1e-9 of what Student's
// interval is wide.
func TestProfilePublished(t *testing.T) {
	for _, c := range []struct {
		file  string
		curve Curve
		start []float64
		ends  [][2]float64
	}{
		{"nist_Misra1a.csv", rise, []float64{250, 5e-4}, [][2]float64{{233.195307962, 245.017369243}, {0.000534318267929, 0.000566029897276}}},
		{"nist_BoxBOD.csv", rise, []float64{200, 0.5}, [][2]float64{{180.967004674, 258.567777107}, {0.302589622693, 1.07305320495}}},
		{"nist_Rat42.csv", rat42, []float64{75, 2.5, 0.07}, [][2]float64{{68.7647653352, 77.1891392908}, {2.41555201632, 2.84837539444}, {0.0594721828875, 0.076003572397}}},
		{"nist_Rat43.csv", rat43, []float64{700, 5, 0.75, 1.3}, [][2]float64{{668.101536645, 739.427994874}, {0.448242449528, 12.4921671494}, {0.453018175273, 1.49457199496}, {0.107754928033, 3.84363548759}}},
	} {
		var x, y []float64
		for _, line := range lines(t, c.file) {
			x, y = append(x, number(t, line[0])), append(y, number(t, line[1]))
		}
		f, err := Least(c.curve, x, y, c.start)
		if err != nil {
			t.Fatal(err)
		}
		for k, want := range c.ends {
			low, high := f.Profile(k, 0.95)
			near(t, c.file+" low", low, want[0], 1e-8)
			near(t, c.file+" high", high, want[1], 1e-8)
		}
	}
}

func rowsOf(t testing.TB) []GrowRow {
	t.Helper()
	var rows []GrowRow
	for _, line := range lines(t, "colonisation.csv") {
		rows = append(rows, GrowRow{figure.Label(line[0]), figure.Label(line[1]), number(t, line[2]), number(t, line[3])})
	}
	return rows
}

// Published: fits of R 4.2.2 on the same invented readings, then t.test. Taking
// readings for jars would give a standard error of 0.21 days in place of 0.57.
func TestGrow(t *testing.T) {
	a, err := Grow(GrowInput{Rows: rowsOf(t)})
	if err != nil {
		t.Fatal(err)
	}
	r := a.Result
	if r.Curve != "logistic" || len(r.Jars) != 12 {
		t.Fatalf("%s over %d jars", r.Curve, len(r.Jars))
	}
	near(t, "difference", r.Comparison[0].Difference.Value, -1.43736540391037, 1e-8)
	near(t, "low", *r.Comparison[0].Difference.Low, -2.71950874203302, 1e-8)
	near(t, "p", *r.Comparison[0].P, 0.0318028584476121, 1e-8)
	var left [2]float64
	for i, line := range lines(t, "jars.csv") {
		near(t, line[0]+" half day", r.Jars[i].HalfDay.Value, number(t, line[1]), 1e-9)
		near(t, line[0]+" rate", *r.Jars[i].Rate, number(t, line[2]), 1e-9)
		near(t, line[0]+" spread of readings about the curve", *r.Jars[i].RMSE, math.Sqrt(number(t, line[5])/float64(r.Jars[i].Readings-2)), 1e-9)
		left[0], left[1] = left[0]+number(t, line[5]), left[1]+number(t, line[8])
	}
	near(t, "left over, logistic", a.Working[0].Value.(float64), left[0], 1e-9)
	near(t, "left over, Gompertz", a.Working[1].Value.(float64), left[1], 1e-9)
	for i, want := range [][2]float64{{11.265342526, 12.1951525595}, {11.438629724, 12.4998276159}, {9.60371902069, 10.7176181563}} {
		near(t, "low end of a half day, profile.R", *r.Jars[i].HalfDay.Low, want[0], 1e-9)
		near(t, "high end", *r.Jars[i].HalfDay.High, want[1], 1e-9)
	}
	shown := ""
	for _, s := range a.Working {
		shown += fmt.Sprint(s.Value, "; ")
	}
	if !strings.Contains(shown, "-1.437 (-2.72 to ") {
		t.Errorf("the working shows %q, and not the difference with its interval", shown)
	}
	if none := (*Band)(nil).String(); none != "not known" {
		t.Errorf("no difference is shown as %q", none)
	}
}

// Published: the same fits of R, whose steps were run until below 1e-13.
func TestCurvesOfJars(t *testing.T) {
	rows := rowsOf(t)
	for _, line := range lines(t, "jars.csv") {
		var x, y []float64
		for _, row := range rows {
			if row.Jar == figure.Label(line[0]) {
				x, y = append(x, row.Day), append(y, row.CoverPct)
			}
		}
		for _, c := range []struct {
			curve     Curve
			half, rss int
		}{{Logistic, 1, 5}, {Gompertz, 6, 8}} {
			f, err := Least(c.curve, x, y, []float64{8, 0.5})
			if err != nil {
				t.Fatal(err)
			}
			near(t, line[0]+" half day, "+c.curve.Name, f.B[0], number(t, line[c.half]), 1e-9)
			near(t, line[0]+" rate, "+c.curve.Name, f.B[1], number(t, line[c.half+1]), 1e-9)
			near(t, line[0]+" left over, "+c.curve.Name, f.RSS, number(t, line[c.rss]), 1e-9)
			if c.half == 1 {
				near(t, line[0]+" error of the half day", f.SE[0], number(t, line[3]), 1e-9)
				near(t, line[0]+" error of the rate", f.SE[1], number(t, line[4]), 1e-9)
			}
		}
	}
}

func TestGrowEdges(t *testing.T) {
	a, err := Grow(GrowInput{Rows: []GrowRow{{Jar: "1", Day: 3, CoverPct: 20}}})
	if err != nil || a.Result.Jars[0].HalfDay != nil || len(a.Cautions) != 1 || a.Cautions[0].Code != "no_curve" {
		t.Errorf("one reading: %+v %v", a, err)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		field, what string
		rows        []GrowRow
	}{
		{"rows", "0 rows", nil},
		{"rows[1].day", "twice on day 3", []GrowRow{{Jar: "1", Day: 3}, {Jar: "1", Day: 3, CoverPct: 50}}},
		{"rows[0].cover_pct", "which is later", []GrowRow{{Jar: "1", Day: 9, CoverPct: 10}, {Jar: "1", Day: 3, CoverPct: 50}}},
		{"rows[0].cover_pct", "NaN", []GrowRow{{Jar: "1", CoverPct: math.NaN()}}},
		{"rows[0].day", "Inf", []GrowRow{{Jar: "1", Day: math.Inf(1)}}},
		{"rows[1].arm", "arm A and in arm B", []GrowRow{{Jar: "1", Arm: "A"}, {Jar: "1", Arm: "B", Day: 3}}},
	} {
		_, err := Grow(GrowInput{Rows: c.rows})
		var fault *figure.Fault
		if !errors.As(err, &fault) || fault.Field != c.field || !strings.Contains(fault.What, c.what) {
			t.Errorf("fault %+v, want %s at %s", err, c.what, c.field)
		}
	}
}

func FuzzGrow(f *testing.F) {
	f.Add([]byte(`{"rows":[{"jar":1,"day":3,"cover_pct":5},{"jar":1,"day":7,"cover_pct":30},{"jar":1,"day":12,"cover_pct":80},{"jar":1,"day":15,"cover_pct":100}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var in GrowInput
		if json.Unmarshal(raw, &in) != nil || len(in.Rows) > 20 {
			t.Skip()
		}
		a, err := Grow(in)
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
		for _, j := range a.Result.Jars {
			h := j.HalfDay
			if h != nil && (h.Low != nil && *h.Low > h.Value || h.High != nil && *h.High < h.Value || j.Rate == nil || *j.Rate <= 0) {
				t.Errorf("jar %+v, half day %+v", j, h)
			}
		}
	})
}

func BenchmarkGrow12Jars(b *testing.B) {
	rows := rowsOf(b)
	for b.Loop() {
		if _, err := Grow(GrowInput{Rows: rows}); err != nil {
			b.Fatal(err)
		}
	}
}

// The mean of an arm lies among the curves of its jars, and its interval is that
// of jars: more readings of the same jars do not narrow it.
func TestCourseIsOverJars(t *testing.T) {
	rows := func(step float64) (in GrowInput) {
		for i, half := range []float64{8, 10, 12} {
			for day := 1.0; day <= 20; day += step {
				y := 100/(1+math.Exp(-0.6*(day-half))) + 0.5*math.Sin(7*day+float64(i))
				in.Rows = append(in.Rows, GrowRow{Jar: figure.Label(strconv.Itoa(i)), Arm: "a", Day: day, CoverPct: math.Min(100, math.Max(0, y))})
			}
		}
		return in
	}
	var widths []float64
	for _, step := range []float64{1, 0.25} {
		a, err := Grow(rows(step))
		if err != nil {
			t.Fatal(err)
		}
		c := a.Result.Course(a.Result.Arms[0], []float64{10})
		if len(c) != 1 || !(c[0].Low < c[0].Value && c[0].Value < c[0].High) || math.Abs(c[0].Value-50) > 1 {
			t.Fatalf("on day 10, when the middle jar is half covered: %+v", c)
		}
		widths = append(widths, c[0].High-c[0].Low)
		if y, ok := a.Result.At(a.Result.Jars[0], 8); !ok || math.Abs(y-50) > 1 {
			t.Errorf("the first jar is covered to %g %% on its half day", y)
		}
	}
	if math.Abs(widths[0]-widths[1]) > 2 {
		t.Errorf("four times the readings change the interval from %.1f to %.1f points", widths[0], widths[1])
	}
	one := rows(1)
	one.Rows = one.Rows[:20]
	a, err := Grow(one)
	if err != nil || a.Result.Course(a.Result.Arms[0], []float64{10}) != nil {
		t.Errorf("one jar has an interval: %v", err)
	}
}
