package substrate

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/figure"
	"pinset/internal/units"
)

func riceAndBroth() Recipe {
	return Recipe{
		Mixes: []Mix{
			{Name: "grain", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}}},
			{Name: "broth", MakeUpTo: "1 L", Lines: []Line{
				{Ingredient: "dextrose monohydrate", Amount: "20 g"},
				{Ingredient: "soy peptone", Amount: "5 g"},
				{Ingredient: "yeast extract", Amount: "2.5 g"},
				{Ingredient: "KH2PO4", Amount: "1 g"},
				{Ingredient: "MgSO4·7H2O", Amount: "0.5 g"},
				{Ingredient: "diammonium citrate", Amount: "1 g"},
			}},
		},
		Fill: map[string]string{"grain": "50 g", "broth": "60 mL"},
	}
}

// A litre of broth holds a litre: what the parts displace, at the densities
// of their components, is not water.
func TestMadeUpToVolume(t *testing.T) {
	r := batchOf(t, SubstrateInput{Recipe: riceAndBroth(), Jars: 1}).Result
	// By hand, mL: dextrose 18.182/1.5929 + 1.818, peptone 4.75/1.5 + 0.25,
	// extract 2.375/1.5 + 0.125, phosphate 1/2.4182, sulfate 0.2442/2.4182 +
	// 0.2558, citrate 1/2.4182.
	displaced := 18.182/1.5929 + 1.818 + 4.75/1.5 + 0.25 + 2.375/1.5 + 0.125 + 1/2.4182 + 0.2442/2.4182 + 0.2558 + 1/2.4182
	water := 0.06 * (1000 - displaced)
	got := r.Batch["broth"]["water"]
	within(t, "water in 60 mL", &got, water, 0.001)
	within(t, "broth volume", r.VolumeML["broth"], 60, 1e-9)
	within(t, "wet", &r.PerJar.WetG, 50+water+0.06*30, 0.001)
	// Phosphate, sulfate and citrate in mmol/L, by their molar masses.
	salts := r.Broth["broth"].SaltsMM
	for formula, want := range map[string]float64{"KH2PO4": 1000 / 136.084, "MgSO4·7H2O": 500 / 246.466, "C6H14N2O7": 1000 / 226.185} {
		x := salts[formula]
		within(t, formula, &x, want, 0.001)
	}
	within(t, "sugars", r.Broth["broth"].SugarsGL, 20*180.156/198.171, 0.001)
	osm := 1000*20/198.171 + 2*salts["KH2PO4"] + 2*salts["MgSO4·7H2O"] + 3*salts["C6H14N2O7"]
	within(t, "osmolarity", r.Broth["broth"].OsmolarityMM, osm, 0.01)
	if !r.Broth["broth"].AtLeast {
		t.Error("peptone has no formula, yet the osmotic figures are not called lower bounds")
	}
}

// 20 % sucrose weighs 1.081 g/mL at 20 °C (sugar tables, from memory): the
// sum of component volumes comes to it within 0.1 %.
func TestSugarSolutionDensity(t *testing.T) {
	r := one(t, []Mix{{Name: "syrup", Lines: []Line{{Ingredient: "sucrose", Amount: "20 g"}, {Ingredient: "water", Amount: "80 g"}}}}, nil)
	v := r.VolumeML["syrup"]
	if v == nil || math.Abs(100 / *v - 1.081) > 0.0011 {
		t.Errorf("volume %v mL of 100 g", *v)
	}
}

// van 't Hoff: 0.1 mol/L at 25 °C is 247.9 kPa; 0.154 mol/L of NaCl, 9 g/L,
// is twice that of its molarity. Raoult: 1 mol of particles in a kilogram of
// water leaves an activity of 0.98230.
func TestOsmotic(t *testing.T) {
	if p, ok := OsmoticPressure(0.1); !ok || math.Abs(p-247.896) > 0.001 {
		t.Errorf("0.1 mol/L: %g kPa", p)
	}
	for _, bad := range []float64{math.NaN(), -1} {
		if _, ok := OsmoticPressure(bad); ok {
			t.Errorf("%g mol/L has a pressure", bad)
		}
	}
	r := one(t, []Mix{{Name: "brine", MakeUpTo: "1 L", Lines: []Line{{Ingredient: "NaCl", Amount: "9 g"}}}}, nil).Broth["brine"]
	within(t, "saline", r.OsmoticKPa, 2*9/58.44*2478.957, 0.5)
	r = one(t, []Mix{{Name: "b", Lines: []Line{{Ingredient: "glucose, anhydrous", Amount: "180.156 g"}, {Ingredient: "water", Amount: "1 kg"}}}}, nil).Broth["b"]
	within(t, "water activity", r.WaterActivity, 0.98230, 0.00001)
	if r.AtLeast {
		t.Error("glucose alone is called a lower bound")
	}
}

func TestAmounts(t *testing.T) {
	for _, c := range []struct {
		ingredient, amount string
		grams              float64
	}{
		{"brown rice", "1 cup", 185},
		{"brown rice", "3 3/4 cups", 693.75},
		{"brown rice", "2 tbsp", 185.0 / 8},
		{"rye", "½ cup", 84.5},
		{"sugar", "1 tsp", 4.2},
		{"sugar", "1 cup", 200},
		{"sugar", "2 packets", 5.6},
		{"malt syrup", "1 tbsp", 21},
		{"dry yeast", "1 packet", 7.2},
		{"gypsum", "2 tsp", 9},
		{"water", "1 qt", 946.352946},
		{"water", "250 mL", 250},
		{"coconut water", "1 cup", 240},
		{"egg yolk", "2 large", 34},
		{"potato", "1 large", 369},
		{"brown rice", "1 lb", 453.59237},
		{"brown rice", "1,5 kg", 1500},
	} {
		r := one(t, []Mix{{Name: "m", Lines: []Line{{Ingredient: c.ingredient, Amount: c.amount}}}}, nil)
		within(t, c.amount+" of "+c.ingredient, &r.PerJar.WetG, c.grams, 1e-6)
	}
	r := one(t, []Mix{{Name: "m", Lines: []Line{{Ingredient: "sawdust", Amount: "1 L", DensityGML: ptr(0.2)}}}}, nil)
	within(t, "a litre at a given density", &r.PerJar.WetG, 200, 1e-9)
}

func TestSharesPartsAndRest(t *testing.T) {
	block := func(amounts ...string) []Mix {
		return []Mix{{Name: "block", Lines: []Line{
			{Ingredient: "sawdust", Amount: amounts[0], MoisturePct: ptr(10)},
			{Ingredient: "wheat bran", Amount: amounts[1]},
			{Ingredient: "sugar", Amount: amounts[2]},
			{Ingredient: "gypsum", Amount: amounts[3]},
		}}}
	}
	for _, amounts := range [][]string{
		{"78 %", "20 %", "1 %", "1 %"}, {"78 %", "20 %", "1 %", "rest"}, {"78 parts", "20 parts", "1 part", "1 part"}, {"39 parts", "10 parts", "0.5 parts", "1/2 part"},
	} {
		r := one(t, block(amounts...), map[string]string{"block": "1 kg"})
		for label, want := range map[string]float64{"sawdust": 780, "wheat bran": 200, "sugar": 10, "gypsum": 10} {
			got := r.Batch["block"][label]
			within(t, strings.Join(amounts, " ")+" "+label, &got, want, 1e-9)
		}
	}
	// Weighed lines beside shares: the shares are of the whole.
	r := one(t, block("780 g", "20 %", "1 %", "1 %"), nil)
	within(t, "whole", &r.PerJar.WetG, 1000, 1e-9)
	// Made up to a mass, the rest is water.
	r = one(t, []Mix{{Name: "m", MakeUpTo: "1 kg", Lines: []Line{{Ingredient: "brown rice", Amount: "40 %"}}}}, nil)
	got := r.Batch["m"]["water"]
	within(t, "water to a kilogram", &got, 600, 1e-9)
	// A share of a volume is grams per 100 mL.
	r = one(t, []Mix{{Name: "m", MakeUpTo: "500 mL", Lines: []Line{{Ingredient: "sucrose", Amount: "4 %"}}}}, nil)
	got = r.Batch["m"]["sucrose"]
	within(t, "4 % of 500 mL", &got, 20, 1e-9)
}

// Published blocks, % of dry mass, with wood 48.79 % C and 0.16 % N, bran
// 44.5 and 2.73, sugar 42.1: PMC8020957 (CS series); C:N from these figures.
// Our bran and sugar differ in the third digit, so 0.5 %.
func TestBlocksByDryShare(t *testing.T) {
	for _, c := range []struct {
		wood, bran string
		n, cn      float64
	}{{"78 %", "20 %", 0.671, 70.6}, {"83 %", "15 %", 0.542, 87.8}, {"88 %", "10 %", 0.414, 115.5}, {"93 %", "5 %", 0.285, 168.3}} {
		r := one(t, []Mix{{Name: "block", PercentOf: "dry", Lines: []Line{
			{Ingredient: "wood chip", Amount: c.wood, MoisturePct: ptr(35)},
			{Ingredient: "wheat bran", Amount: c.bran},
			{Ingredient: "sugar", Amount: "1 %"},
			{Ingredient: "gypsum", Amount: "1 %"},
		}}}, map[string]string{"block": "1 kg"})
		within(t, "N of "+c.wood, r.PerJar.NPctDry, c.n, 0.005*c.n)
		within(t, "C:N of "+c.wood, r.PerJar.CN, c.cn, 0.005*c.cn)
	}
}

func TestReserve(t *testing.T) {
	in := SubstrateInput{Recipe: riceAndBroth(), Jars: 12, ReservePct: &Reserve{All: ptr(10)}}
	r := batchOf(t, in).Result
	within(t, "broth with reserve", r.VolumeML["broth"], 792, 1e-9)
	rice := r.Batch["grain"]["brown rice"]
	within(t, "grain without", &rice, 600, 1e-9)
	in.ReservePct = &Reserve{By: map[string]float64{"Grain": 5}}
	r = batchOf(t, in).Result
	rice = r.Batch["grain"]["brown rice"]
	within(t, "grain with reserve", &rice, 630, 1e-9)
	within(t, "broth without", r.VolumeML["broth"], 720, 1e-9)
	sum := 0.0
	for _, m := range []string{"grain", "broth"} {
		for _, g := range r.Batch[m] {
			sum += g
		}
	}
	within(t, "total", &r.TotalG, sum, 1e-9)
}

func TestReserveWithoutMakeUp(t *testing.T) {
	in := SubstrateInput{Recipe: riceCake(), Jars: 12, ReservePct: &Reserve{All: ptr(10)}}
	a := batchOf(t, in)
	within(t, "total", &a.Result.TotalG, 12*110, 1e-9)
	if !has(a.Cautions, "reserve_unused") {
		t.Error("a reserve that goes nowhere passes without a word")
	}
}

// By the gallon and then per jar is the same as per jar.
func TestByTheGallon(t *testing.T) {
	small := batchOf(t, SubstrateInput{Recipe: riceAndBroth(), Jars: 1}).Result
	big := riceAndBroth()
	big.Mixes[1].MakeUpTo = "1 gal"
	for i := range big.Mixes[1].Lines {
		l := &big.Mixes[1].Lines[i]
		l.Amount = gramsTimes(t, l.Amount, 3.785411784)
	}
	big.Fill["broth"] = "60 cc"
	other := batchOf(t, SubstrateInput{Recipe: big, Jars: 1}).Result
	within(t, "wet", &other.PerJar.WetG, small.PerJar.WetG, 1e-9*small.PerJar.WetG)
	within(t, "dry", other.PerJar.DryG, *small.PerJar.DryG, 1e-9**small.PerJar.DryG)
	within(t, "N", other.PerJar.NG, *small.PerJar.NG, 1e-9)
	within(t, "C:N", other.PerJar.CN, *small.PerJar.CN, 1e-9**small.PerJar.CN)
}

// gramsTimes is a typed mass in grams, k times as much.
func gramsTimes(t *testing.T, typed string, k float64) string {
	t.Helper()
	g, err := units.ParseMass(typed)
	if err != nil {
		t.Fatal(err)
	}
	return strconv.FormatFloat(float64(g)*k, 'f', -1, 64) + " g"
}

func TestMixInAMix(t *testing.T) {
	r := Recipe{Mixes: []Mix{
		{Name: "stock", MakeUpTo: "1 L", Lines: []Line{{Ingredient: "KH2PO4", Amount: "100 g"}}},
		{Name: "broth", MakeUpTo: "1 L", Lines: []Line{{Ingredient: "Stock", Amount: "10 mL"}, {Ingredient: "sucrose", Amount: "20 g"}}},
	}, Fill: map[string]string{"broth": "60 mL"}}
	a := batchOf(t, SubstrateInput{Recipe: r, Jars: 100, ReservePct: &Reserve{By: map[string]float64{"broth": 10, "stock": 50}}})
	within(t, "broth", a.Result.VolumeML["broth"], 6600, 1e-9)
	within(t, "stock", a.Result.VolumeML["stock"], 99, 1e-9)
	phosphate := a.Result.Batch["stock"]["KH2PO4"]
	within(t, "phosphate", &phosphate, 9.9, 1e-9)
	mm := a.Result.Broth["broth"].SaltsMM["KH2PO4"]
	within(t, "mmol/L", &mm, 1000/136.084, 1e-3)
	// All that is weighed in: the broth's own parts and all of the stock.
	sum := a.Result.Batch["broth"]["sucrose"] + a.Result.Batch["broth"]["water"] + phosphate + a.Result.Batch["stock"]["water"]
	within(t, "total", &a.Result.TotalG, sum, 1e-9*sum)
}

func TestTarget(t *testing.T) {
	dry := Recipe{Mixes: []Mix{{Name: "dust", Lines: []Line{{Ingredient: "sawdust", Amount: "1000 g", MoisturePct: ptr(10)}}}}}
	r := batchOf(t, SubstrateInput{Recipe: dry, Jars: 2, TargetMoisturePct: ptr(60)}).Result
	within(t, "to add", r.WaterToAddG, 2500, 1e-6)
	within(t, "all water", r.WaterTotalG, 2700, 1e-6)
	within(t, "total", &r.TotalG, 4500, 1e-6)
	within(t, "moisture", r.PerJar.MoisturePct, 60, 1e-9)
	within(t, "as written", r.AsWritten.MoisturePct, 10, 1e-9)

	cake := Recipe{Mixes: []Mix{{Name: "cake", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}}}
	wetter := batchOf(t, SubstrateInput{Recipe: cake, Jars: 1, TargetMoisturePct: ptr(65)})
	within(t, "to add", wetter.Result.WaterToAddG, 44.1/0.35-50, 1e-9)
	within(t, "beyond", wetter.Result.WaterBeyondG, 44.1/0.35-110, 1e-9)
	drier := batchOf(t, SubstrateInput{Recipe: cake, Jars: 1, TargetMoisturePct: ptr(55)})
	within(t, "left out", drier.Result.WaterBeyondG, 44.1/0.45-110, 1e-9)
	if !has(drier.Cautions, "wetter_than_target") {
		t.Error("nothing says that the recipe is wetter than the target")
	}
	never := batchOf(t, SubstrateInput{Recipe: cake, Jars: 1, TargetMoisturePct: ptr(5)})
	if never.Result.WaterToAddG != nil || !has(never.Cautions, "target_too_dry") {
		t.Errorf("5 %% from rice at 11.8 %%: %v", never.Result.WaterToAddG)
	}
	within(t, "jar as written", never.Result.PerJar.MoisturePct, 59.91, 0.005)
}

func TestDepth(t *testing.T) {
	in := SubstrateInput{Recipe: riceAndBroth(), Jars: 1, Container: &Container{BoreMM: 80, HeightMM: 150}}
	r := batchOf(t, in).Result
	// Rice by its components, broth 60 mL, over π/4 × 8 cm squared.
	rice := 50 * (0.118 + 0.0754/1.3195 + 0.0320/0.91724 + 0.7625/1.5929 + 0.0121/2.4182)
	within(t, "depth", r.PerJar.DepthMM, (rice+60)*10/(math.Pi/4*64), 0.02)
	within(t, "headspace", r.HeadspaceMM, 150-*r.PerJar.DepthMM, 1e-9)
	// Dry grain lies as scooped: a cup fills a cup.
	cup := SubstrateInput{Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "rye", Amount: "1 cup"}}}}}, Jars: 1, Container: &Container{BoreMM: 100, Shape: "block"}}
	within(t, "a cup of rye on 100 cm2", batchOf(t, cup).Result.PerJar.DepthMM, 23.65882365, 1e-6)
	in.Container = &Container{BoreMM: 30, HeightMM: 50}
	if a := batchOf(t, in); !has(a.Cautions, "too_full") {
		t.Error("nothing says that the jar is too small")
	}
}

func TestCost(t *testing.T) {
	r := riceAndBroth()
	r.Mixes = []Mix{{Name: "cake", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g", PricePerKg: ptr(2)}, {Ingredient: "sugar", Amount: "10 g", PricePerKg: ptr(1.5)}, {Ingredient: "water", Amount: "60 g"}}}}
	r.Fill = nil
	a := batchOf(t, SubstrateInput{Recipe: r, Jars: 10}).Result
	within(t, "per jar", a.CostPerJar, 0.115, 1e-12)
	within(t, "total", a.CostTotal, 1.15, 1e-12)
	r.Mixes[0].Lines[1].PricePerKg = nil
	if a = batchOf(t, SubstrateInput{Recipe: r, Jars: 10}).Result; a.CostTotal != nil {
		t.Error("a cost is said although one price is missing")
	}
}

func TestUnknownStaysUnknown(t *testing.T) {
	cake := []Mix{{Name: "cake", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "grandmother's meal", Amount: "5 g"}, {Ingredient: "water", Amount: "60 g"}}}}
	a := batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: cake}, Jars: 1})
	p := a.Result.PerJar
	if p.DryG != nil || p.MoisturePct != nil || p.NG != nil || p.CG != nil || p.CN != nil || a.Result.WaterTotalG != nil || p.WetG != 115 {
		t.Errorf("an unknown ingredient gives %+v", p)
	}
	if !has(a.Cautions, "unknown_ingredient") {
		t.Error("nothing says that an ingredient is unknown")
	}
	cake[0].Lines[1].MoisturePct = ptr(8)
	a = batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: cake}, Jars: 1})
	within(t, "dry with measured moisture", a.Result.PerJar.DryG, 44.1+4.6, 1e-9)
	if a.Result.PerJar.NG != nil || !has(a.Cautions, "cn_unknown") {
		t.Error("nitrogen is said of an unknown ingredient")
	}
	cake[0].Lines[1].NPctDry, cake[0].Lines[1].CPctDry = ptr(5), ptr(45)
	a = batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: cake}, Jars: 1})
	within(t, "N as analysed", a.Result.PerJar.NG, 0.6336+4.6*0.05, 0.00005)
	if has(a.Cautions, "unknown_ingredient") {
		t.Error("all is measured, and it is still called unknown")
	}
	// Sawdust has no book moisture.
	a = batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: "sawdust", Amount: "1 kg"}}}}}, Jars: 1})
	if a.Result.PerJar.DryG != nil || !has(a.Cautions, "moisture_unknown") {
		t.Error("sawdust of unknown moisture has a dry mass")
	}
}

func TestCautions(t *testing.T) {
	line := func(ingredient, amount string) []figure.Caution {
		return batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{{Ingredient: ingredient, Amount: amount}}}}, Fill: map[string]string{"m": "10 g"}}, Jars: 1}).Cautions
	}
	for _, c := range []struct{ ingredient, amount, code string }{
		{"ammonium citrate", "1 g", "which_one"},
		{"dextrose", "1 g", "which_one"},
		{"brown rice", "1 cup", "by_measure"},
		{"straw", "1 g", "from_memory"},
		{"soybeans", "1 g", "nitrogen_factor"},
		{"soy flour, defatted", "1 g", "nitrogen_factor"},
		{"CaCO3", "1 g", "carbonate"},
		{"egg", "1 large", "raw_egg"},
		{"silkworm pupae", "1 g", "allergen"},
		{"hydrated lime", "1 g", "caustic"},
		{"brown rice", "3 parts", "parts_by_weight"},
		{"agar", "1 g", "figures_unknown"},
	} {
		if !has(line(c.ingredient, c.amount), c.code) {
			t.Errorf("%s of %s carries no caution %s", c.amount, c.ingredient, c.code)
		}
	}
	if c := line("rye", "1 g"); len(c) != 0 {
		t.Errorf("rye by weight carries %v", c)
	}
	a := batchOf(t, SubstrateInput{Recipe: Recipe{Mixes: []Mix{{Name: "m", MakeUpTo: "1 L", Lines: []Line{{Ingredient: "water", Amount: "1 L"}, {Ingredient: "sugar", Amount: "40 g"}}}}}, Jars: 1})
	if !has(a.Cautions, "water_fills_up") {
		t.Error("a litre of water made up to a litre with sugar in it passes without a word")
	}
	within(t, "volume", a.Result.VolumeML["m"], 1000, 1e-9)
}

// The keys of the contract.
func TestKeys(t *testing.T) {
	text, err := json.Marshal(batchOf(t, SubstrateInput{Recipe: riceAndBroth(), Jars: 2, Container: &Container{BoreMM: 80}}))
	if err != nil {
		t.Fatal(err)
	}
	var a struct {
		Result   map[string]json.RawMessage `json:"result"`
		Cautions []figure.Caution           `json:"cautions"`
		Working  []figure.Step              `json:"working"`
	}
	if err := json.Unmarshal(text, &a); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"per_jar", "batch", "volume_ml", "water_total_g", "water_to_add_g", "total_g"} {
		if a.Result[key] == nil {
			t.Errorf("the result has no %s", key)
		}
	}
	var jar map[string]any
	if err := json.Unmarshal(a.Result["per_jar"], &jar); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"wet_g", "dry_g", "moisture_pct", "n_g", "c_g", "cn", "ml_per_g", "depth_mm"} {
		if jar[key] == nil {
			t.Errorf("a jar has no %s", key)
		}
	}
	if a.Cautions == nil || len(a.Working) < 10 {
		t.Errorf("cautions %v, %d steps of working", a.Cautions, len(a.Working))
	}
	for _, s := range a.Working {
		if s.Step == "" || s.Formula == "" || s.Source == "" {
			t.Errorf("a step of working is not complete: %+v", s)
		}
	}
	var in SubstrateInput
	for text, want := range map[string]string{`{"reserve_pct": 10}`: `10`, `{"reserve_pct": {"broth": 5}}`: `{"broth":5}`} {
		if err := json.Unmarshal([]byte(text), &in); err != nil {
			t.Fatal(err)
		}
		if out, _ := json.Marshal(in.ReservePct); string(out) != want {
			t.Errorf("%s comes back as %s", text, out)
		}
	}
	fault(t, in.ReservePct.UnmarshalJSON([]byte(`"much"`)), "reserve_pct")
}
