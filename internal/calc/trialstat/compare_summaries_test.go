package trialstat

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
)

// Means and spreads give Welch's answer and no more; the table of jars gives the same
// difference. Reference: R 4.2.2 t.test, PlantGrowth, trt1 less ctrl.
func TestCompareFigures(t *testing.T) {
	var in CompareInput
	of := map[Label][]float64{}
	for _, r := range table(t, "plantgrowth.csv") {
		of[r.Arm] = append(of[r.Arm], *r.Value)
	}
	for _, name := range []Label{"trt1", "ctrl"} {
		mean, sd := stats.Mean(of[name]), math.Sqrt(stats.Variance(of[name]))
		in.Arms = append(in.Arms, ArmFigures{Name: name, N: len(of[name]), Mean: &mean, SD: &sd})
	}
	in.Control = "ctrl"
	a, err := Compare(in)
	if err != nil {
		t.Fatal(err)
	}
	x := a.Result.Comparisons[0]
	near(t, "low", x.Difference.Low, -1.029516221, 1e-8)
	near(t, "high", x.Difference.High, 0.2875162213, 1e-8)
	near(t, "p", x.Difference.PWelch, 0.2503825086, 1e-9)
	if x.Ending != NotToldApart || !a.Result.Figures || !strings.HasPrefix(x.Sentence, "From figures only: trt1 and ctrl could not be told apart") || !hasCaution(a.Cautions, "figures_only") {
		t.Errorf("%s: %s", x.Ending, x.Sentence)
	}
	unsaid(t, "p by lot", x.Difference.PRandomisation)
	if x.Fruited != nil || x.Shift != nil || x.Also != nil {
		t.Errorf("says more than the figures: %+v", x)
	}
}

// What figures can not carry is refused in a sentence: totals, few jars, no spread.
func TestCompareFiguresRefuses(t *testing.T) {
	g := func(x float64) *float64 { return &x }
	for name, c := range map[string]struct {
		arms []ArmFigures
		want string
	}{
		"totals":     {[]ArmFigures{{Name: "A", N: 6, Total: g(617.3)}, {Name: "B", N: 6, Total: g(760)}}, "the same totals fit jars that differ clearly and jars that do not"},
		"three jars": {[]ArmFigures{{Name: "A", N: 3, Mean: g(34.7), SD: g(4.6)}, {Name: "B", N: 3, Mean: g(46), SD: g(8)}}, "has 3 jars, and a verdict needs 4 in each arm"},
		"no spread":  {[]ArmFigures{{Name: "A", N: 5, Mean: g(10), SD: g(0)}, {Name: "B", N: 5, Mean: g(12), SD: g(0)}}, "no spread is given but 0"},
	} {
		r := compare(t, CompareInput{Arms: c.arms, Control: "A"})
		if r.Ending != NoComparison || !strings.Contains(r.Sentence, c.want) || r.Comparisons[0].Difference.Low != nil || r.Comparisons[0].Difference.Value == nil {
			t.Errorf("%s: %s: %s", name, r.Ending, r.Sentence)
		}
	}
	ok := ArmFigures{Name: "A", N: 5, Mean: g(10), SD: g(1)}
	for name, c := range map[string]struct {
		in   CompareInput
		want string
	}{
		"one arm":       {CompareInput{Arms: []ArmFigures{ok}}, "the figures of 1 arm are given"},
		"twice a name":  {CompareInput{Arms: []ArmFigures{ok, ok}}, `two arms are called "A"`},
		"jars too":      {CompareInput{Arms: []ArmFigures{ok, ok}, Rows: table(t, "plantgrowth.csv")}, "the input has 30 jars and the figures of 2 arms"},
		"SD below 0":    {CompareInput{Arms: []ArmFigures{ok, {Name: "B", N: 4, Mean: g(1), SD: g(-1)}}}, "B has a spread of −1 g"},
		"NaN":           {CompareInput{Arms: []ArmFigures{ok, {Name: "B", N: 4, Mean: g(math.NaN())}}}, "B has no mean and no total"},
		"no jars":       {CompareInput{Arms: []ArmFigures{ok, {Name: "B", Mean: g(1)}}}, "B is of 0 jars"},
		"no such arm":   {CompareInput{Arms: []ArmFigures{ok, {Name: "B", N: 4, Mean: g(1)}}, Control: "C"}, `no figures are of arm "C"`},
		"shares decide": {CompareInput{Arms: []ArmFigures{ok, {Name: "B", N: 4, Mean: g(1)}}, Primary: ByFruited}, "shares and scores can not be judged from means and spreads"},
	} {
		if _, err := Compare(c.in); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

// Seven arms, five jars each: Baysal and others (2003), Table 1, yield. F from the
// printed means and SD is 93.810.
func TestCompareManyFigures(t *testing.T) {
	in := CompareInput{Control: "paper"}
	for _, a := range []struct {
		name     Label
		mean, sd float64
	}{{"paper", 212.8, 24.87}, {"peat 10", 197.6, 17.15}, {"peat 20", 165.6, 19.62}, {"manure 10", 90.2, 10.89}, {"manure 20", 61.4, 11.97}, {"husk 10", 270.8, 27.63}, {"husk 20", 350.2, 37.37}} {
		in.Arms = append(in.Arms, ArmFigures{Name: a.name, N: 5, Mean: &a.mean, SD: &a.sd})
	}
	a, err := Compare(in)
	if err != nil {
		t.Fatal(err)
	}
	ends := map[string]Ending{}
	for _, x := range a.Result.Comparisons {
		ends[x.Arms[0]] = x.Ending
	}
	if len(ends) != 6 || ends["husk 20"] != Supported || ends["manure 20"] != Supported || ends["peat 10"] != NotToldApart {
		t.Errorf("ends in %v", ends)
	}
	found := false
	for _, s := range a.Working {
		if f, ok := s.Value.(float64); ok && s.Step == "F of all arms, one spread" {
			found = math.Abs(f-93.810) < 5e-4
		}
	}
	if !found {
		t.Errorf("the working does not hold F of 93.810: %+v", a.Working)
	}
}
