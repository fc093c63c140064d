package trialstat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// closed is the tolerance for closed forms in float64 against references that
// were computed with 15 digits.
const closed = 1e-9

func near(t *testing.T, what string, got *float64, want, tol float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is not said, want %.12g", what, want)
		return
	}
	if d := math.Abs(*got - want); !(d <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.12g, want %.12g", what, *got, want)
	}
}

func unsaid(t *testing.T, what string, got *float64) {
	t.Helper()
	if got != nil {
		t.Errorf("%s = %g, want it not said", what, *got)
	}
}

func without(rows []CompareRow, take func(*CompareRow)) []CompareRow {
	out := append([]CompareRow(nil), rows...)
	for i := range out {
		take(&out[i])
	}
	return out
}

func noLayers(rows []CompareRow) []CompareRow {
	return without(rows, func(r *CompareRow) { r.Layer = "" })
}

// The blocked figures are from NumPy (HC2 variance and plug-in Satterthwaite
// degrees of freedom by their matrix formula; set names as there), the
// permutation p from full enumeration in R 4.2.2: 400 deals for trial A, 120 for
// the picked jars of trial B.
func TestCompareBlockedAgainstNumPy(t *testing.T) {
	cases := []struct {
		file, primary    string
		value, se, df, p float64
		logRatio, logP   float64
		randomisation    float64 // 0: no reference
		efficiency       float64
	}{
		{"trialA_balanced.csv", "", 23.78333333333333, 9.200645777120725, 7.52049986525826, 0.034067607532773034, 0.2059058225413395, 0.024814855001692088, 0.025, 1},
		{"trialB_lostjars.csv", "picked", 23.720000000000027, 10.722890227227682, 5.604128143689162, 0.07209901246747567, 0.20569035943796798, 0.05424781345283088, 0.0666666666666667, 1},
		{"trialD_partly_aligned.csv", "", 22.150000000000034, 14.243837550437954, 1.4210735667584333, 0.30633500563451055, 0.20047072147912104, 0.28499650072828686, 0, 0.555555555555556},
	}
	for _, c := range cases {
		r := compare(t, CompareInput{ArmsDifferIn: []string{"recipe"}, Rows: table(t, c.file), Primary: c.primary})
		x := r.Comparisons[0]
		near(t, c.file+" difference", x.Difference.Value, c.value, closed)
		near(t, c.file+" p", x.Difference.PWelch, c.p, closed)
		half := (*x.Difference.High - *x.Difference.Low) / 2
		if got := half / c.se; math.Abs(got-tQuantile975(c.df)) > 1e-8*got {
			t.Errorf("%s: interval reaches %.10g standard errors, want t(0.975, %.6g) = %.10g", c.file, got, c.df, tQuantile975(c.df))
		}
		near(t, c.file+" ratio", x.Ratio.Value, math.Exp(c.logRatio), closed)
		near(t, c.file+" ratio p", x.Ratio.P, c.logP, closed)
		if c.randomisation > 0 {
			near(t, c.file+" randomisation p", x.Difference.PRandomisation, c.randomisation, 1e-12)
		}
		near(t, c.file+" efficiency", &r.Efficiency, c.efficiency, closed)
		if c.efficiency == 1 && r.Efficiency != 1 {
			t.Errorf("%s: efficiency is 1 less %g of rounding", c.file, 1-r.Efficiency)
		}
		if !reflect.DeepEqual(r.BlockBy, []string{"layer"}) {
			t.Errorf("%s: compared within %v", c.file, r.BlockBy)
		}
	}
}

// Without places the comparison is Welch's. R 4.2.2: t.test(b, a), t.test on
// logarithms, Fieller's interval with the same degrees of freedom, and the
// permutation p by enumeration of 924 deals (shift algorithm for trial L).
func TestCompareUnblockedAgainstR(t *testing.T) {
	type want struct{ value, low, high, p, perm float64 }
	cases := []struct {
		file, primary string
		difference    want
		ratio         *want
		percent       *want
	}{
		{
			"trialA_balanced.csv", "",
			want{126.666666666667 - 102.883333333333, 2.32654044186703, 45.2401262247997, 0.0334571888844589, 0.0238095238095238},
			&want{1.22863748859022, 1.03255442843213, 1.46195690687359, 0.0248590430158926, 0},
			&want{23.116798963227, 2.114047197546, 47.724558381824, 0, 0},
		},
		{
			"trialB_lostjars.csv", "picked",
			want{126.22 - 102.5, -3.54744207224958, 50.9874420722496, 0.0789266179943531, 0.0714285714285714},
			&want{1.2283727910613, 0.98621667205857, 1.52998804073161, 0.0627130490017135, 0},
			&want{23.141463414634, -3.183304872177, 55.380768986211, 0, 0},
		},
		{
			"trialB_lostjars.csv", "inoculated", // lost jars as 0 g
			want{105.183333333333 - 85.4166666666667, -44.6113952553657, 84.144728588699, 0.507458351630701, 0.471861471861472},
			&want{1.2283727910613, 0.98621667205857, 1.52998804073161, 0.0627130490017135, 0}, nil,
		},
		{
			"trialL_2x30.csv", "",
			want{130.1 - 115.986666666667, 1.71326551418435, 26.5134011524823, 0.0264796357993852, 0.0257780022991119},
			nil, nil,
		},
	}
	for _, c := range cases {
		what := c.file + " " + c.primary + " "
		r := compare(t, CompareInput{Rows: noLayers(table(t, c.file)), Primary: c.primary})
		x := r.Comparisons[0]
		near(t, what+"difference", x.Difference.Value, c.difference.value, closed)
		near(t, what+"low", x.Difference.Low, c.difference.low, closed)
		near(t, what+"high", x.Difference.High, c.difference.high, closed)
		near(t, what+"p", x.Difference.PWelch, c.difference.p, closed)
		near(t, what+"randomisation p", x.Difference.PRandomisation, c.difference.perm, closed)
		if c.ratio != nil {
			near(t, what+"ratio", x.Ratio.Value, c.ratio.value, closed)
			near(t, what+"ratio low", x.Ratio.Low, c.ratio.low, closed)
			near(t, what+"ratio high", x.Ratio.High, c.ratio.high, closed)
			near(t, what+"ratio p", x.Ratio.P, c.ratio.p, closed)
		}
		if c.percent != nil {
			near(t, what+"per cent", x.Percent.Value, c.percent.value, closed)
			near(t, what+"per cent low", x.Percent.Low, c.percent.low, closed)
			near(t, what+"per cent high", x.Percent.High, c.percent.high, closed)
			near(t, what+"pct", x.Difference.Pct, c.percent.value, closed)
		}
	}
}

// PlantGrowth against its control: R 4.2.2, t.test(trt, ctrl). The third arm
// changes nothing of a plain interval; the joint one is wider.
func TestCompareWithControl(t *testing.T) {
	r := compare(t, CompareInput{Rows: table(t, "plantgrowth.csv"), Control: "ctrl"})
	if len(r.Comparisons) != 2 {
		t.Fatalf("%d comparisons, want 2", len(r.Comparisons))
	}
	for k, want := range []struct {
		arm               string
		low, high, p      float64
		holm, perm, ratio float64
	}{
		{"trt1", -1.02951622134681, 0.28751622134681, 0.250382508587548, 0.250382508587548, 0.247926995605014, 0.920152916352465},
		{"trt2", 0.00512786996464084, 0.982872130035359, 0.0478992556019693, 2 * 0.0478992556019693, 0.0483340189222542, 1.10167170483766},
	} {
		x := r.Comparisons[k]
		if !reflect.DeepEqual(x.Arms, []string{want.arm, "ctrl"}) {
			t.Errorf("comparison %d is of %v", k, x.Arms)
		}
		near(t, want.arm+" low", x.Difference.Low, want.low, closed)
		near(t, want.arm+" high", x.Difference.High, want.high, closed)
		near(t, want.arm+" p", x.Difference.PWelch, want.p, closed)
		near(t, want.arm+" Holm p", x.Difference.PHolm, want.holm, closed)
		near(t, want.arm+" randomisation p", x.Difference.PRandomisation, want.perm, closed)
		near(t, want.arm+" ratio", x.Ratio.Value, want.ratio, closed)
		if !(*x.Difference.JointLow < *x.Difference.Low && *x.Difference.JointHigh > *x.Difference.High) {
			t.Errorf("%s: joint interval is not wider", want.arm)
		}
	}
	// The plain interval of trt2 leaves 0 out, the joint one does not: with two
	// comparisons no winner is named.
	if x := r.Comparisons[1]; x.Ending != NotToldApart {
		t.Errorf("trt2 ends in %s: %s", x.Ending, x.Sentence)
	}
	if all := compare(t, CompareInput{Rows: table(t, "plantgrowth.csv")}); len(all.Comparisons) != 3 {
		t.Errorf("%d comparisons of three arms without a control, want 3", len(all.Comparisons))
	}
}

// The rules of what may be said, each on a table that calls for it.
func TestCompareEndings(t *testing.T) {
	a := table(t, "trialA_balanced.csv")
	set := func(change func(i int, r *CompareRow)) []CompareRow {
		out := append([]CompareRow(nil), a...)
		for i := range out {
			change(i, &out[i])
		}
		return out
	}
	grams := func(v float64) *float64 { return &v }
	cases := map[string]struct {
		rows    []CompareRow
		ending  Ending
		says    []string
		aliased []string
		caution string
	}{
		"supported": {a, Supported, []string{"B gave 23.8 g (23 %) more per jar inoculated than A", "2.3 to 45.2 g (2 to 47 %)"}, nil, ""},
		"less": {
			set(func(i int, r *CompareRow) { r.Arm = map[Label]Label{"A": "B", "B": "A"}[r.Arm] }), Supported,
			[]string{"B gave 23.8 g (19 %) less per jar inoculated than A", "−45.2 to −2.3 g"},
			nil, "",
		},
		"running": {set(func(i int, r *CompareRow) {
			if i < 2 {
				r.Fate, r.Value = "growing", nil
			}
		}), Running, []string{"2 of 12 jars are still growing"}, nil, ""},
		"layer is arm": {
			table(t, "trialC_confounded.csv"), NoComparison,
			[]string{"the layer changed with the arms (A: bottom; B: top)", "swap 3 B jars of the top layer with 3 A jars of the bottom layer"},
			[]string{"layer"},
			"",
		},
		"layer partly": {table(t, "trialD_partly_aligned.csv"), NotToldApart, []string{"could not be told apart", "spread evenly"}, nil, "partly_aliased"},
		"three jars":   {append(append([]CompareRow(nil), a[:3]...), a[6:]...), NoComparison, []string{"A has 3 jars inoculated, and a verdict needs 4"}, nil, ""},
		"four jars":    {append(append([]CompareRow(nil), a[1:5]...), a[6:]...), NotToldApart, nil, nil, ""},
		"lost whole": {set(func(i int, r *CompareRow) {
			if r.Arm == "A" {
				r.Fate, r.Value = "lost", nil
			}
		}), Supported, []string{"B gave 126.7 g more", "all 6 jars of A were lost and count 0 g"}, nil, "arm_all_lost"},
		"no weight": {set(func(i int, r *CompareRow) {
			if i == 4 {
				r.Value = nil
			}
		}), NoComparison, []string{"jar J05 was picked without a weight"}, nil, ""},
		"all zero":  {set(func(i int, r *CompareRow) { r.Fate, r.Value = "barren", nil }), NoComparison, []string{"no jar of either gave anything"}, nil, ""},
		"all equal": {set(func(i int, r *CompareRow) { r.Value = grams(51) }), NoComparison, []string{"leaves no spread to judge by"}, nil, ""},
		"no spread, far apart": {
			set(func(i int, r *CompareRow) { r.Value = grams(50 + 50*float64(i/6)) }), NoComparison,
			[]string{"within each arm every jar has the same weight"},
			nil, "",
		},
		"alike": {
			set(func(i int, r *CompareRow) { r.Value = grams(100 + float64(i%3)) }), Alike,
			[]string{"gave the same to within 20 %", "lies inside ±20."},
			nil, "",
		},
		"supported, but small": {
			set(func(i int, r *CompareRow) { r.Value = grams(100 + float64(i%3) + 4*float64(i/6)) }), Supported,
			[]string{"that is less than the 20 % that matter to you"},
			nil, "",
		},
		"lower, but not clear of what matters": {set(func(i int, r *CompareRow) {
			r.Value = grams([]float64{100, 110, 90, 105, 95, 100, 88, 98, 78, 110, 70, 84}[i])
		}), NotToldApart, []string{"B − A was −12.0 g (−12 %)"}, nil, ""},
		"one cook": {set(func(i int, r *CompareRow) { r.Cook = "C7" }), Supported, []string{"than A in this cook"}, nil, "one_cook"},
		"cooks and mixings": {set(func(i int, r *CompareRow) {
			r.Cook = []Label{"C1", "C2"}[i%2]
			r.MixMade = r.Arm + r.Cook
		}), Supported, []string{"in these 2 cooks and 4 mixings"}, nil, ""},
		"cook is arm":   {set(func(i int, r *CompareRow) { r.Cook = r.Arm + "1" }), NoComparison, []string{"the cook changed with the arms (A: A1; B: B1)"}, []string{"cook"}, ""},
		"shelf is arm":  {set(func(i int, r *CompareRow) { r.Shelf = "S" + r.Arm }), NoComparison, []string{"the shelf changed with the arms"}, []string{"shelf"}, ""},
		"making is arm": {set(func(i int, r *CompareRow) { r.MixMade = "mix " + r.Arm }), Supported, nil, []string{"mix_made"}, "one_making"},
		"culture is arm": {
			set(func(i int, r *CompareRow) { r.Culture = "strain " + r.Arm }), Supported,
			[]string{"recipe and culture changed together", "two packages"},
			[]string{"culture"},
			"package",
		},
		"spent is picked": {set(func(i int, r *CompareRow) { r.Fate = "spent" }), Supported, nil, nil, ""},
		"losses": {set(func(i int, r *CompareRow) {
			if i%6 < 3 && r.Arm == "A" {
				r.Fate, r.Value = "lost", nil
			}
		}), Supported, nil, nil, "losses"},
		"weight of a lost jar": {set(func(i int, r *CompareRow) {
			if i == 0 {
				r.Fate = "lost"
			}
		}), NotToldApart, nil, nil, "weight_not_counted"},
	}
	for name, c := range cases {
		ans, err := Compare(CompareInput{ArmsDifferIn: []string{"recipe"}, Rows: c.rows})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := ans.Result
		if r.Ending != c.ending {
			t.Errorf("%s: ends in %s, want %s: %s", name, r.Ending, c.ending, r.Sentence)
		}
		for _, s := range c.says {
			if !strings.Contains(r.Sentence, s) {
				t.Errorf("%s: sentence does not say %q: %s", name, s, r.Sentence)
			}
		}
		if fmt.Sprint(r.Aliased) != fmt.Sprint(c.aliased) {
			t.Errorf("%s: aliased is %v, want %v", name, r.Aliased, c.aliased)
		}
		if c.caution != "" && !hasCaution(ans.Cautions, c.caution) {
			t.Errorf("%s: no caution %s among %v", name, c.caution, ans.Cautions)
		}
		checkTold(t, name, r)
	}
}

func hasCaution(all []figure.Caution, code string) bool {
	for _, c := range all {
		if c.Code == code {
			return true
		}
	}
	return false
}

// checkTold holds every result to what an ending may say.
func checkTold(t *testing.T, name string, r CompareResult) {
	t.Helper()
	for _, x := range r.Comparisons {
		d := x.Difference
		low, high := d.Low, d.High
		if d.JointLow != nil {
			low, high = d.JointLow, d.JointHigh
		}
		outside := low != nil && (*low > 0 || *high < 0)
		switch x.Ending {
		case Supported:
			if !outside {
				t.Errorf("%s: supported with an interval that holds 0", name)
			}
		case Alike, NotToldApart:
			if low == nil || outside {
				t.Errorf("%s: %s with an interval that leaves 0 out, or none", name, x.Ending)
			}
		case Running, NoComparison:
			if d.PWelch != nil || d.PRandomisation != nil {
				t.Errorf("%s: %s shows a p", name, x.Ending)
			}
		}
		if strings.Count(x.Sentence, ". ") > 0 || !strings.HasSuffix(x.Sentence, ".") || strings.Contains(x.Sentence, "-") && !strings.ContainsAny(name, "-") {
			t.Errorf("%s: not one plain sentence: %s", name, x.Sentence)
		}
		if strings.Contains(x.Sentence, "block") {
			t.Errorf("%s: a grower's block is a bag of sawdust: %s", name, x.Sentence)
		}
	}
}

// Nothing is shown that a layer could have done.
func TestCompareAliasedShowsNoFigure(t *testing.T) {
	r := compare(t, CompareInput{ArmsDifferIn: []string{"recipe"}, Rows: table(t, "trialC_confounded.csv")})
	x := r.Comparisons[0]
	for what, v := range map[string]*float64{
		"difference": x.Difference.Value, "low": x.Difference.Low, "high": x.Difference.High, "pct": x.Difference.Pct,
		"p": x.Difference.PWelch, "randomisation p": x.Difference.PRandomisation, "per cent": x.Percent.Value,
	} {
		unsaid(t, what, v)
	}
	if x.Ratio != nil || x.Also != nil || r.Efficiency != 0 {
		t.Errorf("ratio %v, also %v, efficiency %g", x.Ratio, x.Also, r.Efficiency)
	}
	if r.Arms[0].MeanInoculated == nil {
		t.Error("the arm means are not shown")
	}
}

// A zero among picked jars leaves no ratio, but the difference stands.
func TestCompareRatioNeedsPositive(t *testing.T) {
	rows := table(t, "trialA_balanced.csv")
	zero := 0.0
	rows[3].Value = &zero
	r := compare(t, CompareInput{Rows: rows})
	if x := r.Comparisons[0]; x.Ratio != nil || x.Difference.Low == nil {
		t.Errorf("ratio %v, difference %v", x.Ratio, x.Difference)
	}
}

// Estimates follow a change of unit; endings, shares and p do not change.
func TestCompareFollowsUnits(t *testing.T) {
	for _, file := range []string{"trialA_balanced.csv", "trialB_lostjars.csv", "trialD_partly_aligned.csv", "trialsE_tenruns.csv", "plantgrowth.csv"} {
		rows := table(t, file)
		grams := compare(t, CompareInput{Rows: rows})
		kilos := compare(t, CompareInput{Rows: without(rows, func(r *CompareRow) {
			if r.Value != nil {
				v := *r.Value / 1000
				r.Value = &v
			}
		})})
		for k, g := range grams.Comparisons {
			x := kilos.Comparisons[k]
			near(t, file+" value", x.Difference.Value, *g.Difference.Value/1000, 1e-11)
			near(t, file+" low", x.Difference.Low, *g.Difference.Low/1000, 1e-11)
			near(t, file+" p", x.Difference.PWelch, *g.Difference.PWelch, 1e-9)
			near(t, file+" per cent", x.Percent.Low, *g.Percent.Low, 1e-8)
			near(t, file+" randomisation p", x.Difference.PRandomisation, *g.Difference.PRandomisation, 1e-9)
			near(t, file+" ratio", x.Ratio.High, *g.Ratio.High, 1e-9)
			if x.Ending != g.Ending {
				t.Errorf("%s: %s in kilograms, %s in grams", file, x.Ending, g.Ending)
			}
		}
		if *grams.JarsToSettle != *kilos.JarsToSettle {
			t.Errorf("%s: %d jars to settle in kilograms, %d in grams", file, *kilos.JarsToSettle, *grams.JarsToSettle)
		}
	}
}

// The order of rows and the names of levels and jars change nothing; swapping
// the names of the arms turns the difference about.
func TestCompareFollowsNames(t *testing.T) {
	rows := table(t, "trialD_partly_aligned.csv")
	was := compare(t, CompareInput{Rows: rows}).Comparisons[0]
	mixed := without(rows, func(r *CompareRow) {
		r.Jar = "버섯 " + r.Jar
		r.Layer = map[Label]Label{"bottom": "2", "top": "1"}[r.Layer]
	})
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	now := compare(t, CompareInput{Rows: mixed}).Comparisons[0]
	near(t, "value", now.Difference.Value, *was.Difference.Value, 1e-12)
	near(t, "low", now.Difference.Low, *was.Difference.Low, 1e-12)
	near(t, "p", now.Difference.PWelch, *was.Difference.PWelch, 1e-12)
	turned := compare(t, CompareInput{Rows: rows, Control: "B"}).Comparisons[0]
	near(t, "turned value", turned.Difference.Value, -*was.Difference.Value, 1e-12)
	near(t, "turned low", turned.Difference.Low, -*was.Difference.High, 1e-12)
	near(t, "turned ratio", turned.Ratio.Value, 1 / *was.Ratio.Value, 1e-12)
	near(t, "turned p", turned.Difference.PRandomisation, *was.Difference.PRandomisation, 1e-12)
}

func TestCompareLongNames(t *testing.T) {
	long := Label(strings.Repeat("버섯", 150))
	rows := without(table(t, "trialA_balanced.csv"), func(r *CompareRow) {
		r.Arm = map[Label]Label{"A": long + "1", "B": long + "2\n"}[r.Arm]
	})
	r := compare(t, CompareInput{Rows: rows})
	if r.Ending != Supported || len([]rune(r.Sentence)) > 400 || strings.Contains(r.Sentence, "\n") {
		t.Errorf("%s: %s", r.Ending, r.Sentence)
	}
	if r.Arms[0].Name != string(long)+"1" {
		t.Errorf("the name of an arm was cut: %s", r.Arms[0].Name)
	}
}
