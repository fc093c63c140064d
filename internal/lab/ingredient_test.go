package lab

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/units"
)

func TestParsePrice(t *testing.T) {
	const sack = 25000 // g bought
	for _, c := range []struct {
		typed    string
		minor    int64
		currency string
		grams    float64
	}{
		{"24.90 EUR", 2490, "EUR", sack},
		{"€24.90", 2490, "€", sack},
		{"24,90 €/25 kg", 2490, "€", 25000},
		{"eur 24.90 for 50 lb", 2490, "EUR", 22679.6185},
		{"1.20 per kg", 120, "", 1000},
		{"$ 1.20 / lb", 120, "$", 453.59237},
		{"0", 0, "", sack},
		{"", 0, "", 0},
	} {
		p, err := ParsePrice(c.typed, sack)
		if err != nil {
			t.Errorf("ParsePrice(%q): %v", c.typed, err)
			continue
		}
		if p.Minor != c.minor || p.Currency != c.currency || math.Abs(float64(p.For)-c.grams) > 1e-6 {
			t.Errorf("ParsePrice(%q) = %+v, want %d %q for %g g", c.typed, p, c.minor, c.currency, c.grams)
		}
	}
	p, _ := ParsePrice("24.90 EUR", sack)
	if got, ok := p.PerKg(); !ok || math.Abs(got-0.996) > 1e-12 {
		t.Errorf("24.90 for 25 kg is %g a kilogram (%v), want 0.996", got, ok)
	}
	if _, ok := (Price{Typed: "3", Minor: 300}).PerKg(); ok {
		t.Error("a price for nobody knows how much has a price per kilogram")
	}
	for _, bad := range []string{"cheap", "-3 EUR", "3 EUR per sack", "3 per", "1e400", "3 for 0 kg", "NaN"} {
		if p, err := ParsePrice(bad, sack); err == nil {
			t.Errorf("ParsePrice(%q) = %+v, want a Problem", bad, p)
		} else if q, ok := AsProblem(err); !ok || q.Field != "price" || q.Mend == "" {
			t.Errorf("ParsePrice(%q): %v does not say at the price what to do", bad, err)
		}
	}
}

func FuzzParsePrice(f *testing.F) {
	for _, s := range []string{"24.90 EUR", "€1,5 / lb", "3 per", "$", "1e9 per 1e9 kg", "12 per 1/2 lb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePrice(s, 1000)
		if err != nil {
			if _, ok := AsProblem(err); !ok {
				t.Fatalf("ParsePrice(%q): %v can not be mended", s, err)
			}
			return
		}
		if p.Minor < 0 || !(p.For >= 0 && p.For <= maxBought) {
			t.Fatalf("ParsePrice(%q) = %+v", s, p)
		}
	})
}

func TestFiguresRefuse(t *testing.T) {
	share := func(x float64) *units.Fraction { f := units.Fraction(x); return &f }
	factor := func(x float64) *float64 { return &x }
	for name, c := range map[string]struct {
		f     Figures
		field string
	}{
		"130 % water":               {Figures{Moisture: share(1.3)}, "moisture"},
		"all water":                 {Figures{Moisture: share(1)}, "moisture"},
		"NaN nitrogen":              {Figures{Nitrogen: share(math.NaN())}, "nitrogen"},
		"less than no ash":          {Figures{Ash: share(-0.1)}, "ash"},
		"a label beyond 100 %":      {Figures{Moisture: share(0.1), Protein: share(0.5), Carbohydrate: share(0.6)}, "carbohydrate"},
		"sugars above carbohydrate": {Figures{Carbohydrate: share(0.2), Sugars: share(0.4)}, "carbohydrate"},
		"a factor of 62.5":          {Figures{Factor: factor(62.5)}, "factor"},
		"a cup of lead":             {Figures{Cup: 9000}, "cup"},
		"a cup of NaN":              {Figures{Cup: units.Gram(math.NaN())}, "cup"},
		"31 allergens":              {Figures{Allergens: strings.Split(strings.Repeat("a ", 31), " ")}, "allergens"},
	} {
		_, err := c.f.Check()
		if p, ok := AsProblem(err); !ok || p.Field != c.field || p.Mend == "" {
			t.Errorf("%s: %v, want a Problem at %s", name, err, c.field)
		}
	}
	got, err := (Figures{Allergens: []string{" gluten", "Gluten ", "", "soy"}, StandsFor: " dextrose  monohydrate"}).Check()
	if err != nil || strings.Join(got.Allergens, ",") != "gluten,soy" || got.StandsFor != "dextrose monohydrate" {
		t.Errorf("Check gives %+v, %v", got, err)
	}
}

func TestIngredientLotRefuses(t *testing.T) {
	came := At(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	wet := units.Fraction(1)
	for name, l := range map[string]IngredientLot{
		"all water":                 {Moisture: &wet},
		"a million tonnes":          {Bought: 1e12},
		"NaN bought":                {Bought: units.Gram(math.NaN())},
		"best before 1926":          {Entry: Entry{At: came}, BestBefore: Day{time.Date(1926, 3, 2, 0, 0, 0, 0, time.UTC)}},
		"a supplier of 201 runes":   {Supplier: strings.Repeat("x", 201)},
		"a price below nothing":     {Price: Price{Typed: "x", Minor: -1}},
		"a price for less than 0 g": {Price: Price{Typed: "x", For: -1}},
	} {
		if _, err := l.Check(); !IsKind(err, Invalid) {
			t.Errorf("%s: %v, want a Problem", name, err)
		}
	}
}

// Newest takes the last entry that holds: an entry that was taken back gives
// way to the one before.
func TestNewestFigures(t *testing.T) {
	a := IngredientFigures{Entry: Entry{ID: "1"}, Ingredient: "x", Figures: Figures{Cup: 100}}
	b := IngredientFigures{Entry: Entry{ID: "2"}, Ingredient: "x", Figures: Figures{Cup: 120}}
	gone := IngredientFigures{Entry: Entry{ID: "3", Corrects: "2", Withdrawn: true}, Ingredient: "x"}
	if got := Newest([]IngredientFigures{a, b})["x"].Cup; got != 120 {
		t.Errorf("the newest cup weighs %g g, want 120", float64(got))
	}
	if got := Newest([]IngredientFigures{a, b, gone})["x"].Cup; got != 100 {
		t.Errorf("after it is taken back the cup weighs %g g, want 100", float64(got))
	}
}
