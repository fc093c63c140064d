package lab

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/units"
)

// Everything that a grower types badly is answered with what is wrong and
// what to do.
func TestChecksRefuse(t *testing.T) {
	wet := units.Fraction(1.3)
	nan := units.Fraction(math.NaN())
	line := []RecipeLine{{"oats", "50 g"}}
	good := Trial{Name: "t", Arms: []Arm{{Name: "A"}, {Name: "B"}}}
	with := func(change func(*Trial)) Trial {
		x := good
		x.Arms = append([]Arm(nil), good.Arms...)
		change(&x)
		return x
	}
	for name, check := range map[string]func() error{
		"no name":               func() error { _, err := (Culture{Form: LC}).Check(); return err },
		"control characters":    func() error { _, err := Name("culture", "a\x00b"); return err },
		"a name of 201 letters": func() error { _, err := Name("culture", strings.Repeat("ö", 201)); return err },
		"unknown form":          func() error { _, err := (Culture{Name: "x", Form: "soup"}).Check(); return err },
		"own parent":            func() error { _, err := (Culture{ID: "1", Parent: "1", Name: "x", Form: LC}).Check(); return err },
		"130 % water":           func() error { _, err := (Ingredient{Name: "x", Moisture: &wet}).Check(); return err },
		"NaN water":             func() error { _, err := (Ingredient{Name: "x", Moisture: &nan}).Check(); return err },
		"NaN bore": func() error {
			_, err := (Container{Name: "x", Kind: "jar", Bore: units.Millimetre(math.NaN())}).Check()
			return err
		},
		"empty recipe": func() error { _, err := (Recipe{Name: "x"}).Check(); return err },
		"fill of no mix": func() error {
			_, err := (Recipe{Name: "x", Mixes: []Mix{{Name: "dry", Lines: line}}, Fills: []Fill{{"broth", "1 mL"}}}).Check()
			return err
		},
		"two mixes of one name": func() error {
			_, err := (Recipe{Name: "x", Mixes: []Mix{{Name: "dry", Lines: line}, {Name: "Dry", Lines: line}}, Fills: []Fill{{"dry", "1 g"}}}).Check()
			return err
		},
		"a loss without reason":    func() error { _, err := (Seen{Fate: Lost}).Check(); return err },
		"pins half covered":        func() error { _, err := (Seen{Stage: Pins, Covered: 50}).Check(); return err },
		"full at half":             func() error { _, err := (Seen{Stage: Cover, Covered: 50}).Check(); return err },
		"covered to 101 %":         func() error { _, err := (Seen{Covered: 101}).Check(); return err },
		"nothing seen":             func() error { _, err := (Seen{}).Check(); return err },
		"a pick by eye":            func() error { _, err := (Seen{Fate: Picked}).Check(); return err },
		"a pick of −1 g":           func() error { _, err := (Pick{Grams: -1, Flush: 1}).Check(); return err },
		"a pick of NaN":            func() error { _, err := (Pick{Grams: units.Gram(math.NaN()), Flush: 1}).Check(); return err },
		"flush 0":                  func() error { _, err := (Pick{Grams: 1}).Check(); return err },
		"a hold of two days":       func() error { _, err := (Cook{Hold: 2880}).Check(); return err },
		"one arm":                  func() error { _, err := with(func(t *Trial) { t.Arms = t.Arms[:1] }).Check(); return err },
		"two arms of one name":     func() error { _, err := with(func(t *Trial) { t.Arms[1].Name = " a" }).Check(); return err },
		"a control that is none":   func() error { _, err := with(func(t *Trial) { t.Control = "C" }).Check(); return err },
		"an unknown factor":        func() error { _, err := with(func(t *Trial) { t.Differ = []Factor{"moon"} }).Check(); return err },
		"a margin below nothing":   func() error { _, err := with(func(t *Trial) { t.Matters = -5 }).Check(); return err },
		"an id that is not ours":   func() error { _, err := ParseID[JarID]("1; DROP"); return err },
		"a note of 10 001 letters": func() error { _, err := Text("note", strings.Repeat("x", 10001)); return err },
	} {
		t.Run(name, func(t *testing.T) {
			p, ok := AsProblem(check())
			if !ok || p.Kind != Invalid {
				t.Fatalf("want an Invalid Problem, have %v", p)
			}
			if p.What == "" || p.Mend == "" {
				t.Errorf("what %q, mend %q: both must be said", p.What, p.Mend)
			}
		})
	}
}

func TestTrialDefaults(t *testing.T) {
	got, err := Trial{Name: " Which  oats? ", Arms: []Arm{{Name: "A", Treatment: "x"}, {Name: "B"}}}.Check()
	if err != nil {
		t.Fatal(err)
	}
	if got.Name != "Which oats?" || got.Matters != DefaultMatters || got.Primary != PerInoculated || got.Differ[0] != ByTreatment {
		t.Errorf("defaults are not set: %+v", got)
	}
	if d := got.Differing(); len(d) != 1 || d[0] != ByTreatment {
		t.Errorf("the arms differ in %v, want treatment", d)
	}
}

func TestParseFactorsKeepsTheirOrder(t *testing.T) {
	got, err := ParseFactors([]string{"Culture", "recipe", "culture", ""})
	if err != nil || len(got) != 2 || got[0] != ByRecipe || got[1] != ByCulture {
		t.Errorf("ParseFactors = %v, %v", got, err)
	}
}
