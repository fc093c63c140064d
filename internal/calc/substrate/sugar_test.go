package substrate

import (
	"math"
	"testing"

	"pinset/internal/figure"
)

// The sugars of the SR28 rows are from memory. The carbon of the rows was
// worked out from the release's sugars and is printed to 0.1 g per 100 g, so
// each must give it back: 0.053 is half of that digit and the rounding of the
// other columns. A carbohydrate of 20 % taken for sugar is off by 0.48.
func TestSugarsAgreeWithPrintedCarbon(t *testing.T) {
	n := 0
	for _, r := range Ingredients() {
		if r.Source != "SR28" || r.Sugars == nil || r.C == nil || r.Protein == nil || r.Carbs == nil || r.Fat == nil || r.Formula != "" || r.Kind == "egg" && r.Number == "" {
			continue
		}
		if r.ID == "egg-in-shell" {
			continue // its carbon is per egg with the shell
		}
		n++
		dry := 1 - *r.Moisture
		c := 100 * dry * (0.53**r.Protein + 0.765**r.Fat + 0.444*(*r.Carbs-*r.Sugars) + 0.42**r.Sugars)
		if got := 100 * dry * *r.C; math.Abs(got-c) > 0.053 {
			t.Errorf("%s: carbon %.2f by its sugars, the table has %.1f", r.Name, c, got)
		}
	}
	if n < 35 {
		t.Errorf("%d rows have sugars, want 35 or more", n)
	}
}

// 20 g/L of dextrose monohydrate are 18.18 g/L of anhydrous sugar (molar
// masses 198.171 and 180.156); potatoes bring 0.82 % of theirs; the sugars of
// malt extract are not known, so there may be more.
func TestSugarsOfABroth(t *testing.T) {
	broth := func(lines ...Line) Solution {
		a := answered(t, Recipe{Mixes: []Mix{{Name: "broth", MakeUpTo: "1 L", Lines: lines}}, Fill: map[string]string{"broth": "20 mL"}})
		return a.Broth["broth"]
	}
	s := broth(Line{Ingredient: "dextrose monohydrate", Amount: "20 g"}, Line{Ingredient: "potatoes, raw", Amount: "200 g"})
	if want := 20*180.156/198.171 + 1.64; s.SugarsAtLeast || math.Abs(*s.SugarsGL-want) > 1e-3 {
		t.Errorf("sugars %v g/L, at least %v; want %.3f", *s.SugarsGL, s.SugarsAtLeast, want)
	}
	s = broth(Line{Ingredient: "sucrose", Amount: "10 g"}, Line{Ingredient: "malt extract, dry", Amount: "20 g"})
	if !s.SugarsAtLeast || math.Abs(*s.SugarsGL-10) > 1e-9 {
		t.Errorf("sugars %v g/L, at least %v; want at least 10", *s.SugarsGL, s.SugarsAtLeast)
	}
	if s = broth(Line{Ingredient: "malt extract, dry", Amount: "20 g"}); s.SugarsGL != nil {
		t.Errorf("sugars %g g/L of what is not known", *s.SugarsGL)
	}
	own := 60.0
	if s = broth(Line{Ingredient: "malt extract, dry", Amount: "20 g", SugarsPctDry: &own}); s.SugarsAtLeast || math.Abs(*s.SugarsGL-0.6*0.95*20) > 1e-9 {
		t.Errorf("sugars %+v, want 11.4 g/L as analysed", s)
	}
}

// A litre of agar fills 50 plates of 20 mL, also through a mix within a mix.
func TestAgarPlates(t *testing.T) {
	a := answered(t, Recipe{
		Mixes: []Mix{
			{Name: "powder", Lines: []Line{{Ingredient: "agar", Amount: "2 parts"}, {Ingredient: "sucrose", Amount: "1 part"}}},
			{Name: "agar medium", MakeUpTo: "2 L", Lines: []Line{{Ingredient: "powder", Amount: "60 g"}}},
		},
		Fill: map[string]string{"agar medium": "20 mL"},
	})
	s := a.Broth["agar medium"]
	if s.AgarGL == nil || math.Abs(*s.AgarGL-20) > 1e-9 || math.Abs(*s.JarsPerL-50) > 1e-9 || math.Abs(*s.SugarsGL-10) > 1e-9 {
		t.Errorf("the medium is %+v, want 20 g of agar and 10 g of sugar a litre, 50 plates", s)
	}
}

func answered(t *testing.T, r Recipe) SubstrateResult {
	t.Helper()
	a, err := Substrate(SubstrateInput{Recipe: r, Jars: 10})
	if err != nil {
		t.Fatal(err)
	}
	return a.Result
}

// What is not known stays so in the working: a nitrogen of 0 would be a figure
// that nobody has.
func TestWorkingSaysWhatIsUnknown(t *testing.T) {
	a, err := Substrate(SubstrateInput{Jars: 1, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "moon dust", Amount: "10 g"}}}}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range a.Working {
		switch step.Step {
		case "nitrogen of the jar", "carbon of the jar", "one jar, dry", "C:N", "moisture of the jar":
			if step.Value != nil {
				t.Errorf("the working says %q is %v", step.Step, step.Value)
			}
		}
	}
}

// The bound is in proportion to the drop: 24.2 °C instead of 21.
func TestSteamOffByDrop(t *testing.T) {
	in := SubstrateInput{Jars: 1, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}}}}
	sea, err := Substrate(in)
	if err != nil {
		t.Fatal(err)
	}
	in.CookDropC = ptr(24.2)
	high, err := Substrate(in)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := high.Result.SteamOff.AtMostG/sea.Result.SteamOff.AtMostG, 24.2/21; math.Abs(got-want) > 1e-12 || high.Result.SteamOff.DropC != 24.2 {
		t.Errorf("the bound grew by %g, want %g", got, want)
	}
	for _, bad := range []float64{0, -1, 61, math.NaN(), math.Inf(1)} {
		in.CookDropC = &bad
		if _, err := Substrate(in); err == nil || err.(*figure.Fault).Field != "cook_drop_c" {
			t.Errorf("a drop of %g: %v", bad, err)
		}
	}
}
