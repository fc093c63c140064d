package trialstat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pinset/internal/calc/stats"
)

// One difference for each cook: by hand, 10, 20 and 60 g give a mean of 30 and
// a half width of 4.30265273 · √(700/3) (t(0.975, 2), any table). Jar by jar the arms lie
// apart; from cook to cook they do not, and that decides.
func TestCompareByCook(t *testing.T) {
	var rows []CompareRow
	for cook, effect := range []float64{10, 20, 60} {
		for j := range 4 {
			for arm, add := range []float64{0, effect} {
				v := 100 + float64(j) + add
				rows = append(rows, CompareRow{Arm: Label(rune('A' + arm)), Fate: "picked", Value: &v, Cook: Label(whole(cook))})
			}
		}
	}
	a, err := Compare(CompareInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	x := a.Result.Comparisons[0]
	if x.ByCook == nil || x.ByCook.Cooks != 3 || x.ByCook.Method != PerCook || x.ByCook.Spread != nil || x.ByCook.Other != nil {
		t.Fatalf("by cook: %+v", x.ByCook)
	}
	half := 4.30265272974946 * math.Sqrt(700.0/3)
	near(t, "mean over cooks", x.ByCook.Value, 30, 1e-12)
	near(t, "low over cooks", x.ByCook.Low, 30-half, 1e-9)
	near(t, "high over cooks", x.ByCook.High, 30+half, 1e-9)
	near(t, "low in per cent of 101.5 g", x.ByCook.Percent.Low, 100*(30-half)/101.5, 1e-9)
	if x.Ending != NotToldApart || !(*x.Difference.Low > 0) || !hasCaution(a.Cautions, "cook_to_cook") {
		t.Errorf("ends in %s with %v", x.Ending, a.Cautions)
	}
	if d := x.Decides(); *d.Low != *x.ByCook.Low || *d.Value != *x.ByCook.Value {
		t.Errorf("decided by %+v", d)
	}
	for _, want := range []string{"from cook to cook", "fits these cooks", "in these cooks alone", "cooks with as many jars"} {
		if !strings.Contains(x.Sentence, want) {
			t.Errorf("no %q in %s", want, x.Sentence)
		}
	}
}

// Two cooks are judged jar by jar, and the sentence holds for these two.
func TestCompareTwoCooks(t *testing.T) {
	rows := cooksApart(rand.New(rand.NewPCG(1, 1)), 2, 6, 2, 20, 0)
	a, err := Compare(CompareInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	if x := a.Result.Comparisons[0]; x.ByCook != nil || !strings.Contains(x.Sentence, "in these 2 cooks") || !hasCaution(a.Cautions, "two_cooks") {
		t.Errorf("%+v %s %v", x.ByCook, x.Sentence, a.Cautions)
	}
}

// cooksApart are cooks of so many jars an arm. Arms lie effect grams apart, give or
// take tau from cook to cook; jars 10.
func cooksApart(r *rand.Rand, cooks, jars, arms int, effect, tau float64) []CompareRow {
	var rows []CompareRow
	for cook := range cooks {
		level := 100 + 10*r.NormFloat64()
		for arm := range arms {
			mean := level + effect*float64(arm) + tau*r.NormFloat64()
			for range jars {
				v := mean + 10*r.NormFloat64()
				rows = append(rows, CompareRow{Arm: Label(rune('A' + arm)), Fate: "picked", Value: &v, Cook: Label(whole(cook))})
			}
		}
	}
	return rows
}

// Published: lmer with (1 | run) + (1 | run:broth), Kenward and Roger by pbkrtest 0.5.2,
// and t.test of one difference for each run, of R 4.2.2, on the logarithms of ten
// invented cooks. lme4 leaves some 1e-7 of a variance open.
func TestCompareOverCooksAgainstLme4(t *testing.T) {
	rows := without(table(t, "trialsE_tenruns.csv"), func(r *CompareRow) {
		v := math.Log(*r.Value)
		r.Value = &v
	})
	x := compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons[0].ByCook
	if x == nil || x.Method != PerCook || x.Cooks != 10 {
		t.Fatalf("%+v", x)
	}
	near(t, "one difference for each cook", x.Value, 0.118760357730091, 1e-12)
	near(t, "its low end", x.Low, 0.0568469767193897, 1e-10)
	near(t, "its high end", x.High, 0.180673738740793, 1e-10)
	near(t, "its p", x.P, 0.00187965773804532, 1e-10)
	near(t, "its degrees of freedom", x.DF, 9, 0)
	half := stats.TQuantile(0.975, 8.22012386902825) * 0.0339991927052285
	near(t, "by the model", x.Other.Value, 0.114636456341967, 1e-8)
	near(t, "its low end", x.Other.Low, 0.114636456341967-half, 1e-6)
	near(t, "its high end", x.Other.High, 0.114636456341967+half, 1e-6)
	near(t, "spread between cooks", x.Spread.Cook, math.Sqrt(0.0530215442220958), 1e-7)
	near(t, "spread between jars", x.Spread.Jar, math.Sqrt(0.0312018917924122), 1e-7)
	if *x.Spread.CookByArm != 0 || x.Spread.Mixing != nil || x.Spread.Place != nil {
		t.Errorf("spreads %+v", x.Spread)
	}
}

// Published: the stratum of whole plots of aov, of R 4.2.2, on the split plot of Yates
// (1935): three varieties over six blocks, here arms over cooks, error 601.331 on 10
// degrees of freedom. Where every block holds as many plots of every variety the model
// comes to the same. Plots of one block and variety that had other nitrogen are its jars.
func TestCompareModelAgainstYates(t *testing.T) {
	rows := make([]CompareRow, 0, 72)
	for _, r := range oats(t).Rows {
		rows = append(rows, CompareRow{Arm: r.Level1, Fate: "picked", Value: r.Value, Cook: r.Shelf})
	}
	for _, x := range compare(t, CompareInput{Rows: rows, Control: "Golden.rain"}).Comparisons {
		if x.ByCook == nil || x.ByCook.Method != MixedModel || x.ByCook.Cooks != 6 {
			t.Fatalf("%+v", x.ByCook)
		}
		near(t, "standard error", x.ByCook.SE, math.Sqrt(2*601.330555555556/24), 1e-6)
		near(t, "degrees of freedom", x.ByCook.DF, 10, 1e-5)
	}
}

// Which way is taken follows from cooks and arms, not from what jars weigh.
func TestCompareWayOverCooks(t *testing.T) {
	for _, c := range []struct {
		cooks, arms int
		way         string
	}{{3, 2, PerCook}, {9, 2, PerCook}, {3, 3, PerCook}, {4, 3, MixedModel}, {3, 4, MixedModel}, {90, 3, PerCook}} {
		for seed := range uint64(3) {
			rows := cooksApart(rand.New(rand.NewPCG(seed, 2)), c.cooks, 4, c.arms, 5, 5*float64(seed))
			for _, x := range compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons {
				if x.ByCook == nil || x.ByCook.Method != c.way {
					t.Errorf("%d cooks, %d arms: %+v", c.cooks, c.arms, x.ByCook)
				}
			}
		}
	}
}

// Where cooks hold as many jars of either arm, and arms differ from cook to cook, the two
// ways agree.
func TestCompareWaysAgree(t *testing.T) {
	rows := cooksApart(rand.New(rand.NewPCG(5, 2)), 8, 5, 2, 10, 8)
	x := compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons[0].ByCook
	if !(*x.Spread.Cook > 0 && *x.Spread.CookByArm > 0) {
		t.Fatalf("spreads %+v: take other jars", x.Spread)
	}
	near(t, "difference", x.Value, *x.Other.Value, 1e-9)
	near(t, "low", x.Low, *x.Other.Low, 1e-5)
	near(t, "high", x.High, *x.Other.High, 1e-5)
}

// A mixing that served two cooks of two arms asks for the model; one that served all
// cooks is but the arm.
func TestCompareSharedMixings(t *testing.T) {
	rows := cooksApart(rand.New(rand.NewPCG(6, 2)), 8, 4, 2, 10, 5)
	for i := range rows {
		rows[i].MixMade = rows[i].Arm + Label(whole(int(rows[i].Cook[0]-'0')/2))
	}
	x := compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons[0].ByCook
	if x.Method != MixedModel || x.Spread.Mixing == nil || !strings.Contains(x.Why, "a mixing served several cooks") {
		t.Errorf("%+v", x)
	}
	for i := range rows {
		rows[i].MixMade = rows[i].Arm
	}
	if x := compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons[0].ByCook; x.Method != PerCook || x.Spread.Mixing != nil {
		t.Errorf("one mixing an arm: %+v", x)
	}
}

// Layers within cooks are taken out of each cook's difference: they change nothing where
// they only add to its jars.
func TestCompareOverCooksWithinLayers(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 2))
	rows := cooksApart(r, 4, 6, 2, 10, 5)
	for i := range rows {
		rows[i].Layer = Label(whole(i % 2))
	}
	plain := compare(t, CompareInput{Rows: rows, Control: "A"}).Comparisons[0].ByCook
	moved := compare(t, CompareInput{Rows: without(rows, func(row *CompareRow) {
		if row.Layer == "1" && row.Cook != "2" {
			v := *row.Value + 30
			row.Value = &v
		}
	}), Control: "A"}).Comparisons[0].ByCook
	near(t, "value", moved.Value, *plain.Value, 1e-9)
	near(t, "low", moved.Low, *plain.Low, 1e-9)
}

// A ladder over cooks is judged by its line in each, and a crossing factor by factor.
func TestCompareLadderAndCrossingOverCooks(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	rows := cooksApart(r, 4, 4, 3, 8, 2)
	for i := range rows {
		d := float64(strings.Index("ABC", string(rows[i].Arm)))
		rows[i].Dose = &d
	}
	a := compare(t, CompareInput{Rows: rows})
	if x := a.Trends[0]; x.ByCook == nil || x.ByCook.Method != MixedModel || !strings.Contains(x.Sentence, "from cook to cook") || x.Ending != a.Ending {
		t.Errorf("the ladder: %+v %s", x.ByCook, x.Sentence)
	}
	for i := range rows {
		rows[i].Dose, rows[i].Arm = nil, ""
		rows[i].Level1, rows[i].Level2 = Label([]string{"malt", "none"}[i%2]), Label([]string{"60", "90"}[i/2%2])
	}
	a = compare(t, CompareInput{Rows: rows})
	for _, x := range a.Comparisons {
		if x.ByCook == nil || x.ByCook.Cooks != 4 {
			t.Errorf("%s: %+v", x.Factor, x.ByCook)
		}
	}
}

// The share of trials whose interval leaves 0 out, where no arm differs but from cook to
// cook, stays at what is said; jar by jar it would be far above. Of 2000 trials the
// sampling error of 5 % is 0.5 points.
func TestCompareFalseSupportedOverCooks(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 2))
	for _, cooks := range []int{3, 6} {
		wrong, byJar := 0, 0
		for range 2000 {
			c, err := newComparing(CompareInput{Rows: cooksApart(r, cooks, 4, 2, 0, 10), Control: "A"}, nil)
			if err != nil {
				t.Fatal(err)
			}
			c.alias()
			c.fit()
			fit, err := c.fitted(c.main, c.blockBy)
			if err != nil {
				t.Fatal(err)
			}
			e, err := fit.Contrast(c.against([2]int{1, 0}), confidence)
			if err != nil {
				t.Fatal(err)
			}
			wrong += yes(clear0(c.overCooks(c.against([2]int{1, 0}), 100, 1).Decides()))
			byJar += yes(e.Low > 0 || e.High < 0)
		}
		if wrong > 130 || wrong < 50 || byJar < 400 {
			t.Errorf("%d cooks: %d of 2000 leave 0 out, %d jar by jar", cooks, wrong, byJar)
		}
	}
}

func TestCompareOverCooksRefusals(t *testing.T) {
	same := make([]CompareRow, 0, 24)
	for i := range 24 {
		v := 100.0 + 5*float64(i%2) + float64(i/8)
		same = append(same, CompareRow{Arm: Label(rune('A' + i%2)), Fate: "picked", Value: &v, Cook: Label(whole(i / 8))})
	}
	if x := compare(t, CompareInput{Rows: same}).Comparisons[0]; x.ByCook != nil {
		t.Errorf("the same difference in each cook: %+v", x.ByCook)
	}
	rows := cooksApart(rand.New(rand.NewPCG(3, 2)), 4, 4, 2, 5, 5)
	rows[0].Fate, rows[0].Value = "growing", nil
	if x := compare(t, CompareInput{Rows: rows}).Comparisons[0]; x.ByCook != nil || x.Ending != Running {
		t.Errorf("a growing jar: %+v", x.ByCook)
	}
	for i := range rows {
		rows[i].Fate, rows[i].Value = "picked", new(float64)
		*rows[i].Value = float64(i % 7)
	}
	if x := compare(t, CompareInput{Rows: rows, Primary: ByFruited}).Comparisons[0]; x.ByCook != nil {
		t.Errorf("shares: %+v", x.ByCook)
	}
}

func ExampleCompare_cooks() {
	var rows []CompareRow
	for cook, apart := range []float64{14, 22, 9, 17, 20} {
		for jar := range 4 {
			for arm, name := range []Label{"plain broth", "malt broth"} {
				v := 90 + 3*float64(cook) + 5*float64(jar) + float64(arm)*apart
				rows = append(rows, CompareRow{Arm: name, Fate: "picked", Value: &v, Cook: Label(whole(cook))})
			}
		}
	}
	a, err := Compare(CompareInput{Rows: rows, Control: "plain broth"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Result.Sentence)
	fmt.Println(a.Result.Comparisons[0].ByCook.Why)
	// Output:
	// malt broth gave 16.4 g (16 %) more per jar inoculated than plain broth over 5 cooks, and malt broth − plain broth has a 95 % interval of 10.0 to 22.8 g (10 to 22 %) from cook to cook.
	// Taken as one difference for each of 5 cooks: with two arms a model of the cooks says no more.
}
