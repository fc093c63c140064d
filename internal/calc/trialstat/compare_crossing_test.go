package trialstat

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// oats is the split plot of Yates (1935) as a crossing: a variety is set on a whole
// plot (the cook), nitrogen on a part of it (the jar), three plots in each of six
// blocks (the shelves).
func oats(t testing.TB) CompareInput {
	t.Helper()
	f, err := os.Open("testdata/oats.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	in := CompareInput{
		Factors: []CompareFactor{{Name: "variety", On: "cook"}, {Name: "nitrogen", Unit: "cwt"}}, Within: []string{"cook", "shelf"},
		Control: "Golden.rain, 0.0",
	}
	for i, l := range lines[1:] {
		var v float64
		if _, err := fmt.Sscan(l[3], &v); err != nil {
			t.Fatal(err)
		}
		in.Rows = append(in.Rows, CompareRow{
			Jar: Label(whole(i + 1)), Level1: Label(l[1]), Level2: Label(strings.TrimSuffix(l[2], "cwt")), Fate: "picked", Value: &v,
			Cook: Label(l[0] + l[1]), Shelf: Label(l[0]),
		})
	}
	return in
}

// Reference: R 4.2.2. Variety by lm(yield ~ block + variety) on the 18 means with HC2
// and plug-in Satterthwaite in 18 x 18 matrices; nitrogen by lm(yield ~ plot +
// nitrogen); the interaction from the means of the cells.
func TestWholeUnitsAgainstR(t *testing.T) {
	r := compare(t, oats(t))
	victory := comparisonOf(t, r, "variety Victory", "variety Golden.rain")
	near(t, "variety", victory.Difference.Value, -6.875, 1e-12)
	half := (*victory.Difference.JointHigh - *victory.Difference.JointLow) / 2
	half95 := (*victory.Difference.High - *victory.Difference.Low) / 2
	near(t, "half width of variety", &half95, tQuantile975(9.06321226742288)*6.18320324062008, 1e-9)
	if !(half > half95) {
		t.Errorf("the interval of two comparisons is ±%g, of one ±%g", half, half95)
	}
	if r.Counted == nil || r.Counted.Units != 18 || r.Counted.Jars != 72 || !strings.Contains(victory.Sentence, "the cook is the unit: 18 cooks, not 72 jars") {
		t.Errorf("counted %+v: %s", r.Counted, victory.Sentence)
	}
	if len(r.Trends) != 1 {
		t.Fatalf("%d ladders", len(r.Trends))
	}
	near(t, "rise for one cwt", r.Trends[0].PerUnit.Value, 73.6666666666666, 1e-12)
	near(t, "rise over all doses", r.Trends[0].Over.Value, 0.6*73.6666666666666, 1e-12)
	if r.Trends[0].Ending != Supported || *r.Trends[0].PRandomisation > 0.001 || !strings.Contains(r.Trends[0].Sentence, "from 0 to 0.6 cwt") {
		t.Errorf("the ladder: %+v", r.Trends[0])
	}
	found := false
	for _, x := range r.Interactions {
		if strings.Join(x.Levels, "|") == "Victory|Golden.rain|0.6 cwt|0.0 cwt" || strings.Join(x.Levels, "|") == "Victory|Golden.rain|0.6|0.0" {
			found = true
			near(t, "interaction", x.Value, 2.16666666666667, 1e-12)
			if x.Ending != NotToldApart || !strings.Contains(x.Sentence, "could not be told") {
				t.Errorf("interaction: %+v", x)
			}
		}
	}
	if !found || len(r.Interactions) != 6 {
		t.Errorf("%d interactions: %+v", len(r.Interactions), r.Interactions)
	}
}

func comparisonOf(t *testing.T, r CompareResult, b, a string) Comparison {
	t.Helper()
	for _, x := range r.Comparisons {
		if x.Arms[0] == b && x.Arms[1] == a {
			return x
		}
	}
	t.Fatalf("no comparison of %s and %s", b, a)
	return Comparison{}
}

// crossed makes jars of two factors of two levels; grams follow from a table of cell
// means with noise that sums to 0 in each cell.
func crossed(cells [2][2]float64) CompareInput {
	var in CompareInput
	for i, a := range []Label{"malt", "wort"} {
		for j, b := range []Label{"fine", "coarse"} {
			for k, e := range []float64{-2, 2, 1, -1} {
				v := cells[i][j] + e
				in.Rows = append(in.Rows, CompareRow{Level1: a, Level2: b, Fate: "picked", Value: &v, Cook: "1", Layer: Label(whole(k % 2))})
			}
		}
	}
	in.Factors = []CompareFactor{{Name: "broth"}, {Name: "grind"}}
	return in
}

// Main effects are over all levels of the other factor; where they depend on each
// other, it is said.
func TestMainEffects(t *testing.T) {
	add := compare(t, crossed([2][2]float64{{40, 50}, {60, 70}}))
	near(t, "broth", comparisonOf(t, add, "broth wort", "broth malt").Difference.Value, 20, 1e-12)
	near(t, "grind", comparisonOf(t, add, "grind fine", "grind coarse").Difference.Value, -10, 1e-12)
	near(t, "interaction", add.Interactions[0].Value, 0, 1e-12)
	if add.Ending != Supported || add.Interactions[0].Ending != NotToldApart || len(add.Arms) != 4 || add.Counted != nil {
		t.Errorf("ends in %s, %s, %d arms", add.Ending, add.Interactions[0].Ending, len(add.Arms))
	}
	with := compare(t, crossed([2][2]float64{{40, 60}, {60, 40}}))
	x := with.Interactions[0]
	near(t, "interaction", x.Value, 40, 1e-12)
	if x.Ending != Supported || !strings.Contains(x.Sentence, "depend on each other") || !strings.Contains(x.Sentence, "read each level of one beside those of the other") {
		t.Errorf("%+v", x)
	}
	near(t, "broth where levels turn about", comparisonOf(t, with, "broth wort", "broth malt").Difference.Value, 0, 1e-12)
	// Without a few jars of one combination it can not be told.
	gap := crossed([2][2]float64{{40, 50}, {60, 70}})
	gap.Rows = gap.Rows[3:]
	if x := compare(t, gap).Interactions[0]; x.Value != nil || x.Ending != NoComparison || !strings.Contains(x.Sentence, "fewer than 2 jars") {
		t.Errorf("one jar of a combination: %+v", x)
	}
}

func TestCrossingFaults(t *testing.T) {
	four := crossed([2][2]float64{{40, 50}, {60, 70}})
	four.Factors = append(four.Factors, CompareFactor{Name: "third"}, CompareFactor{Name: "fourth"})
	hole := crossed([2][2]float64{{40, 50}, {60, 70}})
	hole.Rows[5].Level2 = ""
	unit := crossed([2][2]float64{{40, 50}, {60, 70}})
	unit.Factors[0].On = "kettle"
	mixed := crossed([2][2]float64{{40, 50}, {60, 70}})
	mixed.Factors[0].On = "cook"
	for name, c := range map[string]struct {
		in   CompareInput
		want string
	}{
		"four things":          {four, "4 factors are given"},
		"a level left out":     {hole, "row 6 has no level of grind"},
		"an unknown unit":      {unit, `arms can not be set on a "kettle"`},
		"two levels in a cook": {mixed, "the cook 1 holds jars of broth malt and of broth wort"},
	} {
		_, err := Compare(c.in)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

// A ladder in two places with a step between them: the slope is that of the line,
// the step is not in it, and other units, order and names change nothing.
func TestLadder(t *testing.T) {
	ladder := func(scale float64) CompareInput {
		var in CompareInput
		for d := range 4 {
			for k, e := range []float64{-1, 1, 2, -2} {
				dose, v := float64(10*d), scale*(50+20*float64(d)+30*float64(k%2)+e)
				in.Rows = append(in.Rows, CompareRow{Dose: &dose, Fate: "picked", Value: &v, Layer: Label(whole(k % 2))})
			}
		}
		return in
	}
	r := compare(t, ladder(1))
	near(t, "rise", r.Trends[0].PerUnit.Value, 2, 1e-12)
	near(t, "rise over all doses", r.Trends[0].Over.Value, 60, 1e-12)
	if half := (*r.Trends[0].PerUnit.High - *r.Trends[0].PerUnit.Low) / 2; half > 0.2 {
		t.Errorf("the step between places is in the interval: ±%g", half)
	}
	if r.Ending != Supported || !strings.Contains(r.Sentence, "Grams rose with the dose in a line by 60.00 g per jar inoculated from 0 to 30") || !strings.Contains(r.Sentence, "6 comparisons of two doses are listed") {
		t.Errorf("%s: %s", r.Ending, r.Sentence)
	}
	if p := *r.Trends[0].PRandomisation; p > 2.0/minDraws {
		t.Errorf("by lot p is %g", p)
	}
	kilos := compare(t, ladder(0.001))
	near(t, "rise in kilograms", kilos.Trends[0].PerUnit.Low, *r.Trends[0].PerUnit.Low/1000, 1e-10)
	back := ladder(1)
	for i, j := 0, len(back.Rows)-1; i < j; i, j = i+1, j-1 {
		back.Rows[i], back.Rows[j] = back.Rows[j], back.Rows[i]
	}
	near(t, "turned round", compare(t, back).Trends[0].PerUnit.Low, *r.Trends[0].PerUnit.Low, 1e-12)
	short := ladder(1)
	short.Rows = short.Rows[1:]
	if s := compare(t, short); s.Ending != NoComparison || s.Trends[0].P != nil || !strings.Contains(s.Sentence, "has 3 jars inoculated") {
		t.Errorf("three jars of a dose: %s: %s", s.Ending, s.Sentence)
	}
	growing := ladder(1)
	growing.Rows[0].Fate, growing.Rows[0].Value = "growing", nil
	if s := compare(t, growing); s.Ending != Running || s.Trends[0].Over.Value != nil {
		t.Errorf("a jar grows: %s: %s", s.Ending, s.Sentence)
	}
	two := ladder(1)
	two.Rows = two.Rows[:8]
	if s := compare(t, two); len(s.Trends) != 0 {
		t.Errorf("two doses make a ladder: %+v", s.Trends)
	}
	flat := ladder(1)
	for i := range flat.Rows {
		v := 100 + []float64{-1, 1, 2, -2}[i%4]
		flat.Rows[i].Value = &v
	}
	if s := compare(t, flat); s.Ending != Alike || !strings.Contains(s.Sentence, "No rise or fall that matters") {
		t.Errorf("a flat ladder: %s: %s", s.Ending, s.Sentence)
	}
	wrong := ladder(1)
	wrong.Rows[1].Arm, wrong.Rows[0].Arm = "A", "A"
	other := 99.0
	wrong.Rows[1].Dose = &other
	if _, err := Compare(wrong); err == nil || !strings.Contains(err.Error(), "has the dose 99") {
		t.Errorf("two doses of one arm: %v", err)
	}
	minus := -1.0
	wrong.Rows[1].Dose = &minus
	if _, err := Compare(wrong); err == nil {
		t.Error("a dose below 0 was taken")
	}
}

// An arm that is set on whole cooks is compared by their means: as many jars as
// there are make no more cooks.
func TestTheCookIsTheUnit(t *testing.T) {
	rows := func(jars int) CompareInput {
		var in CompareInput
		for cook := range 8 {
			for k := range jars {
				v := 100 + 10*float64(cook%2) + []float64{-9, 6, 8, -4, 3, 1, -6, 5}[cook] + float64(k%2)
				in.Rows = append(in.Rows, CompareRow{Arm: Label([]string{"60 min", "90 min"}[cook%2]), Fate: "picked", Value: &v, Cook: Label(whole(cook + 1))})
			}
		}
		return in
	}
	few, many := compare(t, rows(4)), compare(t, rows(40))
	for _, r := range []CompareResult{few, many} {
		x := r.Comparisons[0]
		near(t, "difference", x.Difference.Value, 10+(6-4+1+5+9-8-3+6)/4.0, 1e-12)
		if !strings.Contains(x.Sentence, "over 8 cooks") || !strings.Contains(x.Sentence, "the cook is the unit: 8 cooks, not") {
			t.Errorf("says %q", x.Sentence)
		}
	}
	near(t, "low end of ten times the jars", many.Comparisons[0].Difference.Low, *few.Comparisons[0].Difference.Low, 1e-9)
	if few.Counted.Said || few.Arms[0].Inoculated != 16 {
		t.Errorf("counted %+v, arms %+v", few.Counted, few.Arms[0])
	}
	// Welch on the 4 means of each.
	want := math.Sqrt(variance(6.5, -3.5, 1.5, 5.5)/4 + variance(-8.5, 8.5, 3.5, -5.5)/4)
	half := (*few.Comparisons[0].Difference.High - *few.Comparisons[0].Difference.Low) / 2
	if !(half > 2.4*want && half < 2.8*want) { // t of some 5.7 degrees of freedom
		t.Errorf("half width %g, standard error %g", half, want)
	}
	three := rows(4)
	three.Rows = three.Rows[:24]
	if r := compare(t, three); r.Ending != NoComparison || !strings.Contains(r.Sentence, "has 3 cooks, and a verdict needs 4 in each arm; the cook is the unit: 6 cooks, not 24 jars") {
		t.Errorf("three cooks: %s", r.Sentence)
	}
	said := rows(4)
	said.Unit = "jar"
	if r := compare(t, said); r.Ending != NoComparison || !strings.Contains(r.Sentence, "the cook changed with the arms") {
		t.Errorf("set on jars: %s", r.Sentence)
	}
	bare := rows(4)
	bare.Unit = "cook"
	bare.Rows[3].Cook = ""
	if _, err := Compare(bare); err == nil || !strings.Contains(err.Error(), "has no cook, though the arms are set on cooks") {
		t.Errorf("a jar without a cook: %v", err)
	}
}

func variance(x ...float64) float64 {
	mean, out := 0.0, 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		out += (v - mean) * (v - mean) / float64(len(x)-1)
	}
	return out
}
