package substrate

import (
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

// one is the answer to a single jar of the given mixes.
func one(t *testing.T, mixes []Mix, fill map[string]string) SubstrateResult {
	t.Helper()
	return batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: mixes, Fill: fill}, Jars: 1}).Result
}

func batchOf(t *testing.T, in SubstrateInput) figure.Answer[SubstrateResult] {
	t.Helper()
	a, err := Substrate(in)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// within fails unless got is want, give or take tol.
func within(t *testing.T, what string, got *float64, want, tol float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s can not be said, want %g", what, want)
	} else if !(math.Abs(*got-want) <= tol) {
		t.Errorf("%s = %.6g, want %g ± %g", what, *got, want, tol)
	}
}

func fault(t *testing.T, err error, field string) {
	t.Helper()
	var f *figure.Fault
	if !errors.As(err, &f) {
		t.Errorf("want a Fault at %s, got %v", field, err)
	} else if f.Field != field || f.What == "" || f.Mend == "" {
		t.Errorf("Fault %+v, want one at %s that says what to do", *f, field)
	}
}

func has(cautions []figure.Caution, code string) bool {
	for _, c := range cautions {
		if c.Code == code {
			return true
		}
	}
	return false
}

func TestMediumA(t *testing.T) {
	r := one(t, []Mix{{Name: "cake", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}}, nil)
	p := r.PerJar
	within(t, "wet", &p.WetG, 110, 0.005)
	within(t, "dry", p.DryG, 44.100, 0.0005)
	within(t, "moisture", p.MoisturePct, 59.91, 0.005)
	within(t, "N", p.NG, 0.6336, 0.00005)
	within(t, "N of dry", p.NPctDry, 1.437, 0.0005)
	within(t, "C", p.CG, 20.150, 0.0005)
	within(t, "C:N", p.CN, 31.80, 0.005)
	within(t, "mL per g", p.MLPerG, 1.2, 1e-9)
}

func mediumB(water string, more ...Line) []Mix {
	return []Mix{{Name: "cake", Lines: append([]Line{
		{Ingredient: "brown rice", Amount: "50 g"},
		{Ingredient: "water", Amount: water},
		{Ingredient: "dextrose monohydrate", Amount: "1.2 g"},
		{Ingredient: "soy peptone", Amount: "0.3 g"},
		{Ingredient: "yeast extract", Amount: "0.15 g"},
		{Ingredient: "KH2PO4", Amount: "60 mg"},
		{Ingredient: "MgSO4·7H2O", Amount: "30 mg"},
		{Ingredient: "diammonium citrate", Amount: "60 mg"},
	}, more...)}}
}

func TestMediumB(t *testing.T) {
	p := one(t, mediumB("60 g"), nil).PerJar
	within(t, "wet", &p.WetG, 111.800, 0.0005)
	within(t, "dry", p.DryG, 45.753, 0.0005)
	within(t, "moisture", p.MoisturePct, 59.08, 0.005)
	within(t, "N", p.NG, 0.6815, 0.00005)
	within(t, "N of dry", p.NPctDry, 1.490, 0.0005)
	within(t, "C", p.CG, 20.792, 0.0005)
	within(t, "C:N", p.CN, 30.51, 0.005)
}

func TestMediumC(t *testing.T) {
	p := one(t, mediumB("54 g", Line{Ingredient: "egg, whole", Amount: "6 g"}), nil).PerJar
	within(t, "dry", p.DryG, 47.184, 0.0005)
	within(t, "moisture", p.MoisturePct, 57.80, 0.005)
	within(t, "N", p.NG, 0.8021, 0.00005)
	within(t, "N of dry", p.NPctDry, 1.700, 0.0005)
	within(t, "C:N", p.CN, 26.98, 0.005)
}
