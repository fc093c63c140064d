package substrate

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/figure"
)

var brothRecipe = Recipe{
	Mixes: []Mix{
		{Name: "rice", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}}},
		{Name: "broth", MakeUpTo: "1 gal", Lines: []Line{{Ingredient: "dextrose monohydrate", Amount: "75 g"}, {Ingredient: "KH2PO4", Amount: "4 g"}, {Ingredient: "soy peptone", Amount: "19 g"}}},
	},
	Fill: map[string]string{"rice": "50 g", "broth": "60 mL"},
}

// 100 g of NDB 20036 hold 3.20 g of fat and 1.21 g of ash: USDA SR28.
func TestAshAndFat(t *testing.T) {
	a, err := Substrate(SubstrateInput{Jars: 4, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{
		{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}, {Ingredient: "KH2PO4", Amount: "1 g"}, {Ingredient: "gypsum", Amount: "1 g"},
	}}}}})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "fat of a jar", a.Result.PerJar.FatG, 1.6, 1e-9)
	within(t, "ash of a jar", a.Result.PerJar.AshG, 0.605+1+0.7907, 1e-4) // gypsum is 20.93 % crystal water
	within(t, "ash of the batch", a.Result.Total.AshG, 4*(0.605+1+0.7907), 4e-4)
	within(t, "water over dry", a.Result.PerJar.MoisturePctDry, 100*(112-*a.Result.PerJar.DryG)/(*a.Result.PerJar.DryG), 1e-9)
	own := 10.0
	a, err = Substrate(SubstrateInput{Jars: 1, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{
		{Ingredient: "straw", Amount: "100 g", AshPctDry: &own}, {Ingredient: "ammonium sulfate", Amount: "1 g"},
	}}}}})
	if err != nil {
		t.Fatal(err)
	}
	if a.Result.PerJar.AshG != nil || a.Result.PerJar.FatG != nil {
		t.Errorf("ash %v and fat %v of straw with a salt of ammonium are said, want unknown", a.Result.PerJar.AshG, a.Result.PerJar.FatG)
	}
}

// The batch is the sum of its mixes, and of its jars where there is no reserve.
func TestBalanceCloses(t *testing.T) {
	a, err := Substrate(SubstrateInput{Jars: 37, Recipe: brothRecipe})
	if err != nil {
		t.Fatal(err)
	}
	r := a.Result
	sum := *r.Mixes["rice"].DryG + *r.Mixes["broth"].DryG
	within(t, "dry matter of the batch", r.Total.DryG, sum, 1e-9*sum)
	within(t, "dry matter of the batch", r.Total.DryG, 37**r.PerJar.DryG, 1e-9*sum)
	within(t, "nitrogen of the batch", r.Total.NG, 37**r.PerJar.NG, 1e-9)
}

// By hand: 65.9 g water and 44.1 g dry, (4.2×65.9 + 1.55×44.1) J/K × 21 K over
// 2256.4 J/g are 3.212 g.
func TestSteamOffByHand(t *testing.T) {
	a, err := Substrate(SubstrateInput{Jars: 1, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}}}})
	if err != nil {
		t.Fatal(err)
	}
	s := a.Result.SteamOff
	if s == nil || math.Abs(s.AtMostG-3.212) > 0.002 {
		t.Fatalf("steam off is %+v, want 3.212 g at most", s)
	}
	within(t, "moisture after", &s.MoisturePct, 100*(65.9-s.AtMostG)/(110-s.AtMostG), 1e-9)
}

func TestStandsFor(t *testing.T) {
	in := SubstrateInput{Jars: 1, Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "ammonium citrate", Amount: "1 g"}}}}}}
	asks := func() bool {
		a, err := Substrate(in)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := a.Result.Batch["m"]["ammonium citrate"]; !ok {
			t.Errorf("the batch names %v, want the name as typed", a.Result.Batch["m"])
		}
		return slices.ContainsFunc(a.Cautions, func(c figure.Caution) bool { return c.Code == "which_one" })
	}
	if !asks() {
		t.Error("ammonium citrate is not asked about")
	}
	in.Recipe.Mixes[0].Lines[0].StandsFor = "triammonium citrate"
	if asks() {
		t.Error("it is asked about though it was said")
	}
	a, _ := Substrate(in)
	within(t, "nitrogen of triammonium citrate", a.Result.PerJar.NG, 0.1728, 5e-5) // N 17.28 %
	in.Recipe.Mixes[0].Lines[0].StandsFor = "moon dust"
	var f *figure.Fault
	if _, err := Substrate(in); !errors.As(err, &f) || !strings.HasSuffix(f.Field, "stands_for") {
		t.Errorf("a row that is not there: %v", err)
	}
}

func TestCheapestNamesWhatCosts(t *testing.T) {
	low, high, most := 30.0, 40.0, 5.0
	in := CheapestInput{
		Ingredients: []Offer{{Ingredient: "hardwood pellets", PricePerKg: 0.3}, {Ingredient: "soybean hulls", PricePerKg: 0.6}, {Ingredient: "wheat bran", PricePerKg: 0.4, MaxPct: &most}},
		CNLow:       &low, CNHigh: &high,
	}
	a, err := Cheapest(in)
	if err != nil {
		t.Fatal(err)
	}
	c := a.Result.Costs
	if c == nil || c.Bound != "C:N at most 40" || !(c.Saves > 0) {
		t.Fatalf("the dearest bound is %+v, want C:N at most 40", c)
	}
	in.CNHigh = nil
	freed, err := Cheapest(in)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "what leaving it out saves", &c.Saves, a.Result.Cost-freed.Result.Cost, 1e-9)
}

// Of many bounds the two that fight are named, and no others.
func TestCheapestNamesTheFight(t *testing.T) {
	high, nHigh := 20.0, 0.5
	in := CheapestInput{
		Ingredients: []Offer{{Ingredient: "hardwood pellets", PricePerKg: 0.3, MinPct: 1}, {Ingredient: "soybean hulls", PricePerKg: 0.6, MinPct: 2}, {Ingredient: "soybean meal", PricePerKg: 1}},
		CNHigh:      &high, NHighPct: &nHigh,
	}
	_, err := Cheapest(in)
	var f *figure.Fault
	if !errors.As(err, &f) {
		t.Fatalf("%v, want a Fault", err)
	}
	for _, want := range []string{"C:N at most 20", "nitrogen at most 0.5 %"} {
		if !strings.Contains(f.What, want) {
			t.Errorf("%q does not name %s", f.What, want)
		}
	}
	if strings.Contains(f.What, "at least") {
		t.Errorf("%q names bounds that have no part in it", f.What)
	}
}

// Scaling by the gallon and then per jar is scaling per jar.
func TestScale(t *testing.T) {
	gallon := 3785.411784
	a, err := Scale(ScaleInput{Recipe: brothRecipe, VolumeML: map[string]float64{"broth": gallon}})
	if err != nil {
		t.Fatal(err)
	}
	if a.Result.Jars != 63 || a.Result.Limits != "broth" {
		t.Errorf("a gallon at 60 mL fills %+v, want 63 jars", a.Result)
	}
	within(t, "mL left", a.Result.LeftML, gallon-63*60, 1e-6)
	reserve := 10.0
	for _, c := range []struct {
		in     ScaleInput
		jars   int
		limits string
	}{
		{ScaleInput{Have: map[string]float64{"Brown rice": 600}}, 12, "Brown rice"},
		{ScaleInput{Have: map[string]float64{"brown rice": 600, "soy peptone": 1}}, 3, "soy peptone"},
		{ScaleInput{VolumeML: map[string]float64{"broth": 660}, ReservePct: &Reserve{All: &reserve}}, 10, "broth"},
	} {
		c.in.Recipe = brothRecipe
		a, err := Scale(c.in)
		if err != nil {
			t.Errorf("%+v: %v", c.in, err)
		} else if a.Result.Jars != c.jars || a.Result.Limits != c.limits {
			t.Errorf("%v %v: %d jars limited by %s, want %d by %s", c.in.Have, c.in.VolumeML, a.Result.Jars, a.Result.Limits, c.jars, c.limits)
		}
	}
	for name, in := range map[string]ScaleInput{
		"nothing at hand": {},
		"not in it":       {Have: map[string]float64{"moon dust": 5}},
		"NaN":             {Have: map[string]float64{"brown rice": math.NaN()}},
		"no such mix":     {VolumeML: map[string]float64{"soup": 5}},
		"a dry mix":       {VolumeML: map[string]float64{"rice": -1}},
	} {
		in.Recipe = brothRecipe
		var f *figure.Fault
		if _, err := Scale(in); !errors.As(err, &f) || f.Field == "" || f.Mend == "" {
			t.Errorf("%s: %v, want a Fault at a field", name, err)
		}
	}
}

func TestTargets(t *testing.T) {
	for name, want := range map[string]float64{"Cordyceps militaris": 62, "oyster": 65, "Lion’s Mane": 0, "Auricularia polytricha": 60, "Auricularia cornea": 60, "shiitake": 56} {
		got, ok := TargetOf(name)
		if ok != (want > 0) || got.Moisture.High != want {
			t.Errorf("TargetOf(%q) = %+v, %v; want moisture up to %g", name, got.Moisture, ok, want)
		}
	}
	for _, x := range Targets() {
		for _, b := range []Band{x.Moisture, x.CN, x.Fresh} {
			if b.Known() && (b.Source == "" || !(b.Low > 0 && b.Low <= b.High)) {
				t.Errorf("%s: %+v is no range with a source", x.Species, b)
			}
		}
	}
}

func TestAllergens(t *testing.T) {
	for label, want := range map[string]string{
		"wheat berries": "gluten cereals", "buckwheat": "", "brown rice": "", "pupae": "insects", "soy peptone": "soy", "2 eggs": "eggs",
		"malt extract": "gluten cereals", "lactose": "milk", "peanut flour": "peanuts", "gypsum": "",
	} {
		if got := strings.Join(Allergens(label), ","); got != want {
			t.Errorf("Allergens(%q) = %q, want %q", label, got, want)
		}
	}
}

func TestMoistureRange(t *testing.T) {
	for label, want := range map[string][2]float64{"brown rice": {0.118, 0.118}, "oak sawdust": {0.08, 0.6}, "moon dust": {0, 0.8}, "spent coffee": {0.07, 0.65}} {
		low, high, source := MoistureRange(label)
		if math.Abs(low-want[0]) > 1e-9 || math.Abs(high-want[1]) > 1e-9 || source == "" {
			t.Errorf("MoistureRange(%q) = %g, %g, %q; want %v", label, low, high, source, want)
		}
	}
}

// BenchmarkBalance500Jars is 30 lines for 500 jars.
func BenchmarkBalance500Jars(b *testing.B) {
	in := SubstrateInput{Jars: 500, Recipe: Recipe{Mixes: []Mix{{Name: "dry"}, {Name: "broth", MakeUpTo: "1 L"}}, Fill: map[string]string{"dry": "50 g", "broth": "60 mL"}}}
	dry := []string{"brown rice", "oats", "rye", "wheat bran", "millet", "soy flour, defatted", "gypsum", "corn", "sorghum", "barley, hulled", "spelt", "quinoa", "teff", "amaranth", "wheat germ"}
	wet := []string{"dextrose monohydrate", "KH2PO4", "K2HPO4", "MgSO4·7H2O", "soy peptone", "yeast extract", "malt extract, dry", "urea", "NaCl", "KCl", "thiamine", "citric acid", "glycine", "mannitol", "sucrose"}
	for i := range dry {
		in.Recipe.Mixes[0].Lines = append(in.Recipe.Mixes[0].Lines, Line{Ingredient: dry[i], Amount: "1/2 cup"})
		in.Recipe.Mixes[1].Lines = append(in.Recipe.Mixes[1].Lines, Line{Ingredient: wet[i], Amount: "1.5 g"})
	}
	in.Recipe.Mixes[0].Lines[6].Amount = "2 tsp"
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Substrate(in); err != nil {
			b.Fatal(err)
		}
	}
}

// The label of brown rice as the table prints it gives the table's row again
// (NDB 20036: N 1.27 %, C 40.3 % as is, of 11.80 % water).
func TestLabelGivesTheRow(t *testing.T) {
	share := func(x float64) *float64 { return ptr(x / 100) }
	l := Label{Water: share(11.80), Protein: share(7.54), Fat: share(3.20), Ash: share(1.21), Carbohydrate: share(76.25), Factor: ptr(5.95)}
	dry := l.OfDry()
	within(t, "nitrogen of dry", dry.N, 0.0144, 5e-5)
	within(t, "carbon of dry", dry.C, 0.457, 7e-4) // the row takes off a little for sugars
	within(t, "ash of dry", dry.Ash, 0.0121/0.882, 1e-12)
	l.Carbohydrate = nil
	within(t, "carbon with the carbohydrate by difference", l.OfDry().C, *dry.C, 1e-4)
	if got := (Label{Protein: share(7)}).OfDry(); got.N != nil {
		t.Errorf("nitrogen of dry matter is said to be %g where the water is unknown", *got.N)
	}
	if got := (Label{Water: share(10), Protein: share(7)}).OfDry(); got.C != nil || got.Fat != nil {
		t.Error("carbon is said where the label gives protein alone")
	}
}

// By hand, of a label without water: 20 % protein and 40 % fat of 6.25 and
// 0.765, 30 % carbohydrate of which 10 % are sugars.
func TestLabelByHand(t *testing.T) {
	l := Label{Water: ptr(0), Protein: ptr(0.2), Fat: ptr(0.4), Carbohydrate: ptr(0.3), Sugars: ptr(0.1), Ash: ptr(0.1)}
	within(t, "nitrogen", l.OfDry().N, 0.032, 1e-12)
	within(t, "carbon", l.OfDry().C, 0.53*0.2+0.765*0.4+0.444*0.2+0.42*0.1, 1e-12)
}
