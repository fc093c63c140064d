package substrate

import (
	"math"
	"strings"
	"testing"
)

func TestTableIsRead(t *testing.T) {
	rows := Ingredients()
	if len(rows) < 120 {
		t.Fatalf("the table has %d rows, want 120 or more", len(rows))
	}
	usda := 0
	for _, r := range rows {
		if r.Name == "" || r.Kind == "" || r.Source == "" {
			t.Errorf("row %q lacks its name, kind or source", r.ID)
		}
		for what, x := range map[string]*float64{"moisture": r.Moisture, "N": r.N, "C": r.C} {
			if x != nil && !(*x >= 0 && *x <= 1) {
				t.Errorf("%s of %s is %g", what, r.Name, *x)
			}
		}
		if !(r.dryVolume > 0.2 && r.dryVolume < 1.2) {
			t.Errorf("a gram of dry %s takes %g mL", r.Name, r.dryVolume)
		}
		if r.Source == "SR28" {
			usda++
			if r.Number == "" || r.Moisture == nil || r.N == nil || r.C == nil {
				t.Errorf("USDA row %s lacks a figure", r.Name)
			}
		}
		if len(Find(r.ID)) == 0 || len(Find(r.Name)) == 0 || Find(r.Name)[0].ID != r.ID {
			t.Errorf("%s does not find itself", r.Name)
		}
	}
	if usda < 50 {
		t.Errorf("%d USDA rows, want 50 or more", usda)
	}
}

// Water, protein, fat, ash and carbohydrate of SR28 add up to 100 g, since
// carbohydrate is by difference; 0.11 g is the rounding of five figures, and
// SR28 counts caffeine and the like apart in no row here.
func TestProximateSumsClose(t *testing.T) {
	lines := strings.Split(tableText, "\n")
	n := 0
	for _, line := range lines {
		cells := strings.Split(line, "\t")
		if len(cells) < 11 || cells[3] != "SR28" {
			continue
		}
		r := rowReader{row: map[string]string{"w": cells[5], "p": cells[6], "f": cells[7], "a": cells[8], "c": cells[9]}}
		sum := 0.0
		for _, k := range []string{"w", "p", "f", "a", "c"} {
			sum += *r.number(k)
		}
		n++
		known := map[string]float64{"19177": 100, "16122": 100.27, "18374": 99.2} // as the release has them
		want, off := 100.0, 0.11
		if w, ok := known[cells[4]]; ok {
			want = w
		}
		if math.Abs(sum-want) > off {
			t.Errorf("%s: the parts add up to %.2f g in 100 g", cells[1], sum)
		}
	}
	if n < 50 {
		t.Errorf("%d rows checked", n)
	}
}

// N % and C:N of SR28 rows as derived from the release by hand: N to 0.01 %
// of dry, C:N to 0.1. C is kept to 0.1 % as is, so that of the dry matter is
// off by half of that over the dry share, and by its own last digit.
func TestDerivedComposition(t *testing.T) {
	for _, c := range []struct {
		ndb    string
		n, cDM float64
		cn     float64
	}{
		{"20036", 1.44, 45.7, 31.8},
		{"20072", 2.49, 45.4, 18.2},
		{"20062", 1.98, 45.2, 22.8},
		{"20038", 3.16, 47.6, 15.1},
		{"20031", 2.07, 45.3, 21.9},
		{"20077", 2.73, 44.5, 16.3},
		{"20060", 2.39, 48.0, 20.1},
		{"16108", 6.99, 52.3, 7.5},
		{"16117", 8.88, 46.2, 5.2},
		{"18375", 6.82, 48.0, 7.0},
		{"01123", 8.43, 59.7, 7.1},
		{"19352", 1.26, 42.1, 33.5},
		{"11413", 1.18, 43.6, 36.9},
		{"19177", 17.73, 52.2, 2.9},
		{"12036", 4.12, 62.1, 15.1},
	} {
		r := Find(c.ndb)[0]
		tol := 0.05/(1-*r.Moisture) + 0.0501
		if math.Abs(100**r.N-c.n) > 0.0051 || math.Abs(100**r.C-c.cDM) > tol || math.Abs(*r.C / *r.N - c.cn) > 0.11 {
			t.Errorf("%s: N %.3f, C %.2f, C:N %.2f; want %.2f, %.1f, %.1f", r.Name, 100**r.N, 100**r.C, *r.C / *r.N, c.n, c.cDM, c.cn)
		}
	}
}

// Molar masses and mass fractions from standard atomic weights, as tables
// print them, to half of their last digit; those of chlorides and of the trace metals from
// memory of labels, to 0.01 g/mol.
func TestFormulas(t *testing.T) {
	for _, c := range []struct {
		formula          string
		molar            float64
		water, n, carbon float64 // % with crystal water
	}{
		{"KH2PO4", 136.084, 0, 0, 0},
		{"K2HPO4", 174.174, 0, 0, 0},
		{"MgSO4·7H2O", 246.466, 51.17, 0, 0},
		{"C6H14N2O7", 226.185, 0, 12.39, 31.86},
		{"C6H17N3O7", 243.216, 0, 17.28, 29.63},
		{"CaCO3", 100.086, 0, 0, 12.00},
		{"CaSO4·2H2O", 172.164, 20.93, 0, 0},
		{"C6H12O6", 180.156, 0, 0, 40.00},
		{"C6H12O6·H2O", 198.171, 9.09, 0, 36.37},
		{"C12H22O11", 342.297, 0, 0, 42.11},
		{"CH4N2O", 60.056, 0, 46.65, 20.00},
		{"C10H13N5O4", 267.245, 0, 26.21, 44.94},
		{"NaCl", 58.44, 0, 0, 0},
		{"MnSO4·H2O", 169.01, 10.66, 0, 0},
		{"FeSO4·7H2O", 278.01, 45.36, 0, 0},
		{"CuSO4·5H2O", 249.68, 36.08, 0, 0},
		{"ZnSO4·7H2O", 287.54, 43.86, 0, 0},
		{"CaCl2·2H2O", 147.01, 24.51, 0, 0},
		{"C6H10O5", 162.141, 0, 0, 44.45},
		{"(NH4)2SO4", 132.134, 0, 21.20, 0},
		{"CaSO4·0.5H2O", 145.1415, 6.21, 0, 0},
	} {
		got, err := parseFormula(c.formula)
		tol := 0.0015 // three digits; some tables round the weights first
		if math.Abs(100*c.molar-math.Round(100*c.molar)) < 1e-9 {
			tol = 0.0051 // two digits
		}
		if err != nil || math.Abs(got.molar-c.molar) > tol {
			t.Errorf("%s weighs %.4f g/mol, %v; want %.3f", c.formula, got.molar, err, c.molar)
		}
		for _, x := range [][2]float64{{got.water, c.water}, {got.n, c.n}, {got.c, c.carbon}} {
			if math.Abs(100*x[0]/got.molar-x[1]) > 0.0051 {
				t.Errorf("%s: %.4f %%, want %.2f", c.formula, 100*x[0]/got.molar, x[1])
			}
		}
	}
	for _, bad := range []string{"Xx2", "Ca(OH", "MgSO4·xH2O", "K)", "((N))"} {
		if _, err := parseFormula(bad); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

func TestCarbonateCarbonIsLeftOut(t *testing.T) {
	for _, label := range []string{"CaCO3", "limestone", "baking soda", "egg shell", "gypsum"} {
		if r := Find(label); len(r) == 0 || *r[0].C != 0 {
			t.Errorf("%s brings carbon", label)
		}
	}
}

func TestFind(t *testing.T) {
	for label, id := range map[string]string{
		"Brown Rice": "ndb20036", "NDB 20036": "", "20036": "ndb20036", "rye berries": "ndb20062", "BRF": "ndb20090", "eggs": "ndb01123",
		"Oat": "ndb20038", "brown rice (organic)": "ndb20036", "MgSO4.7H2O": "MgSO4·7H2O", "mgso4 7h2o": "MgSO4·7H2O", "MgSO₄·7H₂O": "MgSO4·7H2O",
		"Epsom salt": "MgSO4·7H2O", "H2O": "water", "soy hulls": "soybean-hull", "sugar": "ndb19335", "table salt": "NaCl", "(NH4)2SO4": "(NH4)2SO4",
		"grandmother's mix": "", "": "", "()": "",
	} {
		got := ""
		if r := Find(label); len(r) > 0 {
			got = r[0].ID
		}
		if got != id {
			t.Errorf("%q finds %q, want %q", label, got, id)
		}
	}
	for label, first := range map[string]string{
		"ammonium citrate": "C6H14N2O7", "dextrose": "C6H12O6·H2O", "glucose": "C6H12O6", "magnesium sulphate": "MgSO4·7H2O",
		"malt extract": "malt-extract", "potassium phosphate": "KH2PO4", "peptone": "soy-peptone", "lime": "CaCO3",
	} {
		if r := Find(label); len(r) < 2 || r[0].ID != first {
			t.Errorf("%q finds %d rows, first %v; want several, first %s", label, len(r), r, first)
		}
	}
}

// US egg classes: edible mass of SR28; one large egg holds 50 × 0.1256 / 6.25
// = 1.005 g of nitrogen and 38.1 g of water.
func TestEggs(t *testing.T) {
	for size, want := range map[string]float64{"small": 38, "medium": 44, "large": 50, "extra large": 56, "xl": 56, "jumbo": 63} {
		r := one(t, []Mix{{Name: "egg mix", Lines: []Line{{Ingredient: "egg", Amount: "1 " + size}}}}, nil)
		within(t, size, &r.PerJar.WetG, want, 1e-9)
	}
	r := one(t, []Mix{{Name: "eggs", Lines: []Line{{Ingredient: "egg", Amount: "1 large egg"}}}}, nil)
	within(t, "N", r.PerJar.NG, 1.005, 0.0005)
	water := r.PerJar.WetG - *r.PerJar.DryG
	within(t, "water", &water, 38.1, 0.05)
	for part, want := range map[string]float64{"egg white": 33, "egg yolk": 17} {
		r := one(t, []Mix{{Name: "m", Lines: []Line{{Ingredient: part, Amount: "1 large"}}}}, nil)
		within(t, part, &r.PerJar.WetG, want, 1e-9)
	}
	// In shell: the least dozen of the class over 12, in ounces; shell 12 %.
	for size, oz := range map[string]float64{"small": 18, "medium": 21, "large": 24, "extra large": 27, "jumbo": 30} {
		r := one(t, []Mix{{Name: "m", Lines: []Line{{Ingredient: "egg, in shell", Amount: "1 " + size}}}}, nil)
		within(t, size+" in shell", &r.PerJar.WetG, oz/12*28.349523125, 0.05)
	}
	shell := one(t, []Mix{{Name: "m", Lines: []Line{{Ingredient: "egg, in shell", Amount: "1 large"}}}}, nil)
	within(t, "N in shell", shell.PerJar.NG, 1.005, 0.005) // 12 % refuse against 11.8 % by class
}

// Fat is the component that lies lightest: a gram of dry sunflower kernels,
// by hand from its parts at 20 °C.
func TestDryVolume(t *testing.T) {
	r := Find("12036")[0]
	want := (0.2078/1.3195 + 0.5146/0.91724 + 0.2000/1.5929 + 0.0302/2.4182) / (1 - 0.0473)
	if math.Abs(r.dryVolume-want) > 1e-4 {
		t.Errorf("%g mL/g, want %g", r.dryVolume, want)
	}
}
