package survive

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"pinset/internal/calc/stats"
)

// table reads left, right and group of a file of testdata; arms are numbered as
// in names.
func table(t testing.TB, file, column string, names ...string) (spans []Span, arm []int) {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range lines[1:] {
		s := Span{By: math.Inf(1)}
		for k, key := range lines[0] {
			x, err := strconv.ParseFloat(line[k], 64)
			switch {
			case key == "left" && err == nil:
				s.After = x
			case key == "right" && err == nil:
				s.By = x
			case key == column:
				for a, name := range names {
					if line[k] == name {
						arm = append(arm, a)
					}
				}
			}
		}
		spans = append(spans, s)
	}
	if len(arm) != len(spans) {
		t.Fatalf("%d arms for %d spans", len(arm), len(spans))
	}
	return spans, arm
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

// Published: survreg of R's survival 3.5-3, type interval2, on Finkelstein and
// Wolfe (1985) and on invented jars. 1e-8: R stops near there.
func TestFitAFTPublished(t *testing.T) {
	for _, c := range []struct {
		file, column string
		names        []string
		shape        Shape
		base, diff   float64
		scale, log   float64
		se, seLog    float64 // of the difference and of log scale
	}{
		{"cosmesis.csv", "group", []string{"RCT", "RT"}, Weibull, 3.33172569380998, 0.567550536563053, 0.619339705211414, -143.320827109903, 0.175729563322277, 0.11989198204415},
		{"cosmesis.csv", "group", []string{"RCT", "RT"}, Lognormal, 3.12687442418221, 0.421000456373987, 0.882141427852249, -146.622331968317, 0.203190046898505, 0.109490111762374},
		{"fullcolon_interval.csv", "arm", []string{"A", "B"}, Weibull, 2.92378515542824, -0.152945466211335, 0.162758291718197, -84.5740311245135, 0.0460899663279913, 0.113625537302926},
		{"fullcolon_interval.csv", "arm", []string{"A", "B"}, Lognormal, 2.8112896890302, -0.119766053734295, 0.205998657459171, -88.4866222485195, 0.0560766945789349, 0.102161889414924},
	} {
		spans, arm := table(t, c.file, c.column, c.names...)
		f, err := FitAFT(c.shape, spans, arm, 2)
		if err != nil {
			t.Fatal(err)
		}
		what := c.file + " " + string(c.shape)
		near(t, what+" base", f.Level[0], c.base, 1e-8)
		near(t, what+" difference", f.Level[1]-f.Level[0], c.diff, 1e-8)
		near(t, what+" scale", f.Scale, c.scale, 1e-8)
		near(t, what+" log likelihood", f.LogLik, c.log, 1e-10)
		v := f.Variance
		near(t, what+" standard error", math.Sqrt(v[0][0]+v[1][1]-2*v[0][1]), c.se, 1e-7)
		near(t, what+" standard error of log scale", math.Sqrt(v[2][2]), c.seLog, 1e-7)
	}
}

// Published: the time ratio of survreg on invented jars with its Wald interval
// and likelihood ratio p; the profile interval holds the same 95 %.
func TestRatioPublished(t *testing.T) {
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	f, err := FitAFT(Weibull, spans, arm, 2)
	if err != nil {
		t.Fatal(err)
	}
	r := f.Ratio(1, 0, 0.95)
	near(t, "ratio", r.Value, 0.858176520152324, 1e-8)
	near(t, "Wald low", r.WaldLow, 0.784051838514912, 1e-8)
	near(t, "Wald high", r.WaldHigh, 0.939308988976683, 1e-8)
	near(t, "p", r.P, 0.0019187870263161, 1e-6)
	for _, end := range []float64{r.Low, r.High} {
		near(t, "drop at the profile's end", 2*(f.LogLik-f.profile(1, 0, math.Log(end))), 3.841458820694124, 1e-6)
	}
	day, _, _ := f.Quantile(0, 0.5, 0.95)
	near(t, "median of A", day, 17.5338296652997, 1e-8)
}

// Published: survreg on known and censored days, Miller (1997).
func TestFitAFTKnownDays(t *testing.T) {
	spans, arm, _, _ := aml(t)
	f, err := FitAFT(Weibull, spans, arm, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "base", f.Level[0], 4.10905505126211, 1e-8)
	near(t, "difference", f.Level[1]-f.Level[0], -0.929341611365572, 1e-8)
	near(t, "log likelihood", f.LogLik, -80.5216452034027, 1e-10)
	near(t, "standard error", math.Sqrt(f.Variance[0][0]), 0.299889655030538, 1e-7)
	near(t, "standard error of log scale", math.Sqrt(f.Variance[2][2]), 0.178224506459034, 1e-7)
	if f, err = FitAFT(Lognormal, spans, arm, 2); err != nil {
		t.Fatal(err)
	}
	near(t, "lognormal scale", f.Scale, 0.86470193191605, 1e-8)
	near(t, "lognormal log likelihood", f.LogLik, -78.927612450323, 1e-10)
	near(t, "lognormal standard error", math.Sqrt(f.Variance[0][0]), 0.284686280873715, 1e-7)
	near(t, "lognormal standard error of log scale", math.Sqrt(f.Variance[2][2]), 0.169505926133836, 1e-7)
}

func aml(t *testing.T) (spans []Span, arm []int, days []float64, seen []bool) {
	t.Helper()
	days, seen, arm = known(t, "aml.csv", "Maintained", "Nonmaintained")
	for i, day := range days {
		s := Span{day, math.Inf(1)}
		if seen[i] {
			s.By = day
		}
		spans = append(spans, s)
	}
	return spans, arm, days, seen
}

// known reads days that are known or censored; groups are numbered as in names.
func known(t *testing.T, file string, names ...string) (days []float64, seen []bool, group []int) {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := func(name string) int { return slices.Index(lines[0], name) }
	for _, line := range lines[1:] {
		day, err := strconv.ParseFloat(line[column("time")], 64)
		if err != nil {
			t.Fatal(err)
		}
		days, seen = append(days, day), append(seen, line[column("status")] == "1")
		group = append(group, slices.Index(names, line[column("group")]))
	}
	return days, seen, group
}

// Published: survdiff of R on Miller (1997), on Loprinzi et al. (1994) by sex, and on
// four groups of Kalbfleisch and Prentice (1980).
func TestLogRankPublished(t *testing.T) {
	for _, c := range []struct {
		file   string
		names  []string
		chi, p float64
	}{
		{"aml.csv", []string{"Maintained", "Nonmaintained"}, 3.3963886989776, 0.0653393220405051},
		{"lung.csv", []string{"1", "2"}, 10.3267419548856, 0.00131116452035549},
		{"veteran.csv", []string{"squamous", "smallcell", "adeno", "large"}, 25.4037003457854, 1.2712459390061e-05},
	} {
		days, seen, group := known(t, c.file, c.names...)
		chi, p, err := LogRank(days, seen, group, len(c.names))
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.file+" chi squared", chi, c.chi, 1e-11)
		near(t, c.file+" p", p, c.p, 1e-9)
	}
}

// only keeps the spans of one arm.
func only(spans []Span, arm []int, a int) []Span {
	var out []Span
	for i, s := range spans {
		if arm[i] == a {
			out = append(out, s)
		}
	}
	return out
}

// Published: npsurv 0.5-0 and an expectation run to 1e-14 in R; both sides stop where the
// likelihood is flat to 1e-9.
func TestTurnbullPublished(t *testing.T) {
	months, treated := table(t, "cosmesis.csv", "group", "RCT", "RT")
	jars, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	for name, c := range map[string]struct {
		spans      []Span
		log        float64
		left, mass []float64
	}{
		"RT": {
			only(months, treated, 1), -58.0600219539914,
			[]float64{4, 6, 7, 11, 24, 33, 38, 46},
			[]float64{0.0463467739928942, 0.0333633709346422, 0.0886673680627082, 0.0707529217923642, 0.0926458365850131, 0.0817857649025472, 0.120879827353835, 0.465558136375996},
		},
		"RCT": {
			only(months, treated, 0), -65.6369649076862,
			[]float64{4, 5, 11, 16, 18, 19, 24, 30, 35, 44, 48},
			[]float64{0.0432826277003544, 0.0432826277003546, 0.069205583356884, 0.145397715251815, 0.141094897746788, 0.115745925713892, 0.0998653107399416, 0.0708813765447713, 0.160831107449818, 0.0552064138976904, 0.0552064138976903},
		},
		"A": {
			only(jars, arm, 0), -42.3995324931956,
			[]float64{8, 12, 14, 15, 17, 18, 21},
			[]float64{0.0666666666666667, 0.133574375152846, 0.153048100513509, 0.0655700797415014, 0.221052395924968, 0.143311237833248, 0.216777144167261},
		},
		"B": {
			only(jars, arm, 1), -34.5554407562348,
			[]float64{9, 12, 14, 15, 17},
			[]float64{0.133333333333327, 0.152941176470548, 0.172058823529504, 0.2357843137254, 0.305882352941198},
		},
	} {
		got, err := FitTurnbull(c.spans)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" log likelihood", got.LogLik, c.log, 1e-12)
		if len(got.Masses) != len(c.left) || got.Excess > 1e-8 {
			t.Fatalf("%s: conditions are missed by %g, masses are %v", name, got.Excess, got.Masses)
		}
		for j, m := range got.Masses {
			near(t, name+" left", m.After, c.left[j], 0)
			near(t, name+" mass", m.Share, c.mass[j], 1e-8)
		}
	}
	all, err := FitTurnbull(months)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pooled log likelihood", all.LogLik, -136.963803873852, 1e-12)
}

// Published: Fay and Shaw (2010), Z 2.6684, p 0.007622; digits beyond from R.
func TestSunScoresPublished(t *testing.T) {
	spans, arm := table(t, "cosmesis.csv", "group", "RT", "RCT")
	scores, err := SunScores(spans)
	if err != nil {
		t.Fatal(err)
	}
	sum, n1, n := 0.0, 0.0, float64(len(scores))
	for i, s := range scores {
		if arm[i] == 1 {
			sum, n1 = sum+s, n1+1
		}
	}
	// Sign: early is below 0 here, above 0 in the source.
	near(t, "U", -sum, 9.14184616934762, 1e-8)
	v := n1 * (n - n1) / n * stats.Variance(scores)
	near(t, "V", v, 11.7373521936462, 1e-8)
	near(t, "Z", -sum/math.Sqrt(v), 2.66838715225168, 1e-8)
}

// Laws: what does not depend on the unit of days or the names of arms does not
// change with them.
func TestFitAFTLaws(t *testing.T) {
	spans, arm := table(t, "fullcolon_interval.csv", "arm", "A", "B")
	f, _ := FitAFT(Lognormal, spans, arm, 2)
	hours, swapped := make([]Span, len(spans)), make([]int, len(arm))
	for i, s := range spans {
		hours[i], swapped[i] = Span{24 * s.After, 24 * s.By}, 1-arm[i]
	}
	g, err := FitAFT(Lognormal, hours, swapped, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio in hours, arms swapped", g.Ratio(0, 1, 0.95).Low, f.Ratio(1, 0, 0.95).Low, 1e-8)
	near(t, "scale", g.Scale, f.Scale, 1e-9)
}

// Edges: all lost, visits that fit any spread, no number.
func TestEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		spans []Span
		want  error
	}{
		{[]Span{{3, inf}, {5, inf}}, ErrFew},
		{[]Span{{7, 9}, {7, 9}, {7, 9}, {7, 9}}, ErrWide},
		{[]Span{{math.NaN(), 9}}, ErrRange},
		{[]Span{{9, 7}}, ErrRange},
		{[]Span{{inf, inf}}, ErrRange},
		{[]Span{}, ErrFew},
	} {
		for _, shape := range []Shape{Weibull, Lognormal} {
			if _, err := FitAFT(shape, c.spans, make([]int, len(c.spans)), 1); !errors.Is(err, c.want) {
				t.Errorf("%s of %v: %v, want %v", shape, c.spans, err, c.want)
			}
		}
	}
	got, err := FitTurnbull([]Span{{3, inf}, {5, inf}})
	if err != nil || len(got.Masses) != 1 || got.Masses[0].After != 5 || got.Masses[0].Share != 1 {
		t.Errorf("all lost: %v %v", got, err)
	}
	if got, err = FitTurnbull([]Span{{4, 4}, {4, 6}, {2, 4}}); err != nil || len(got.Masses) != 2 {
		t.Errorf("a known day at the open end of a span: %v %v", got, err)
	}
	if low, high := got.Between(5); math.Abs(low-2.0/3) > 1e-9 || math.Abs(high-1) > 1e-9 {
		t.Errorf("between %g and %g by day 5", low, high)
	}
}

// thousand returns the spans that bench/days/survreg.R fits too.
func thousand() (spans []Span, arm []int) {
	for i := range 1000 {
		u, a := (float64(i%500)+0.5)/500, i/500
		day := 18 * math.Exp(-0.15*float64(a)) * math.Pow(-math.Log(u), 0.2)
		s := Span{math.Floor(day/3) * 3, math.Floor(day/3)*3 + 3}
		if i%10 == 0 {
			s.By = math.Inf(1)
		}
		spans, arm = append(spans, s), append(arm, a)
	}
	return spans, arm
}

// Published: survreg of R's survival 3.5-3 by bench/days/survreg.R.
func TestFitAFT1000(t *testing.T) {
	spans, arm := thousand()
	f, err := FitAFT(Weibull, spans, arm, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "level", f.Level[0], 2.9063440659, 1e-8)
	near(t, "difference", f.Level[1]-f.Level[0], -0.1504354681, 1e-8)
	near(t, "scale", f.Scale, 0.1971007864, 1e-8)
	near(t, "log likelihood", f.LogLik, -1504.17844187, 1e-9)
}

func BenchmarkFitAFT1000(b *testing.B) {
	spans, arm := thousand()
	for b.Loop() {
		if _, err := FitAFT(Weibull, spans, arm, 2); err != nil {
			b.Fatal(err)
		}
	}
}
