package substrate

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

func TestFaults(t *testing.T) {
	cake := func(change func(in *SubstrateInput)) SubstrateInput {
		in := SubstrateInput{Jars: 12, Recipe: Recipe{Mixes: []Mix{
			{Name: "grain", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}}},
			{Name: "broth", MakeUpTo: "1 L", Lines: []Line{{Ingredient: "sugar", Amount: "20 g"}}},
		}, Fill: map[string]string{"grain": "50 g", "broth": "60 mL"}}}
		change(&in)
		return in
	}
	rice := func(in *SubstrateInput) *Line { return &in.Recipe.Mixes[0].Lines[0] }
	const amount = "recipe.mixes[0].lines[0].amount"
	for _, c := range []struct {
		what   string
		field  string
		change func(in *SubstrateInput)
	}{
		{"negative", amount, func(in *SubstrateInput) { rice(in).Amount = "-5 g" }},
		{"zero", amount, func(in *SubstrateInput) { rice(in).Amount = "0 g" }},
		{"not a number", amount, func(in *SubstrateInput) { rice(in).Amount = "NaN" }},
		{"a million kilograms", amount, func(in *SubstrateInput) { rice(in).Amount = "1000000 kg" }},
		{"a pinch", amount, func(in *SubstrateInput) { rice(in).Amount = "a pinch" }},
		{"mixed signs", amount, func(in *SubstrateInput) { rice(in).Amount = "1.024,5 g" }},
		{"thousands or decimal", amount, func(in *SubstrateInput) { rice(in).Amount = "1,500 g" }},
		{"no unit", amount, func(in *SubstrateInput) { rice(in).Amount = "50" }},
		{"empty", amount, func(in *SubstrateInput) { rice(in).Amount = "" }},
		{"a temperature", amount, func(in *SubstrateInput) { rice(in).Amount = "50 °C" }},
		{"more than all", amount, func(in *SubstrateInput) { rice(in).Amount = "130 %" }},
		{"too many eggs", amount, func(in *SubstrateInput) { rice(in).Ingredient, rice(in).Amount = "egg", "900000000 large" }},
		{"eggs without size", amount, func(in *SubstrateInput) { rice(in).Ingredient, rice(in).Amount = "egg", "2" }},
		{"eggs by the egg", amount, func(in *SubstrateInput) { rice(in).Ingredient, rice(in).Amount = "egg", "2 eggs" }},
		{"a cup of what is not known", amount, func(in *SubstrateInput) { rice(in).Ingredient, rice(in).Amount = "sawdust", "1 cup" }},
		{"moisture 130", "recipe.mixes[0].lines[0].moisture_pct", func(in *SubstrateInput) { rice(in).MoisturePct = ptr(130) }},
		{"moisture NaN", "recipe.mixes[0].lines[0].moisture_pct", func(in *SubstrateInput) { rice(in).MoisturePct = ptr(math.NaN()) }},
		{"moisture negative", "recipe.mixes[0].lines[0].moisture_pct", func(in *SubstrateInput) { rice(in).MoisturePct = ptr(-1) }},
		{"nitrogen 130", "recipe.mixes[0].lines[0].n_pct_of_dry", func(in *SubstrateInput) { rice(in).NPctDry = ptr(130) }},
		{"density 0", "recipe.mixes[0].lines[0].density_g_ml", func(in *SubstrateInput) { rice(in).DensityGML = ptr(0) }},
		{"price negative", "recipe.mixes[0].lines[0].price_per_kg", func(in *SubstrateInput) { rice(in).PricePerKg = ptr(-1) }},
		{"no ingredient", "recipe.mixes[0].lines[0].ingredient", func(in *SubstrateInput) { rice(in).Ingredient = " " }},
		{"long ingredient", "recipe.mixes[0].lines[0].ingredient", func(in *SubstrateInput) { rice(in).Ingredient = strings.Repeat("x", 201) }},
		{"a mix within itself", "recipe.mixes[0].lines[0].ingredient", func(in *SubstrateInput) { rice(in).Ingredient = "Grain" }},
		{"a ring of mixes", "recipe.mixes[1].lines[0].ingredient", func(in *SubstrateInput) {
			rice(in).Ingredient = "broth"
			in.Recipe.Mixes[1].Lines[0].Ingredient = "grain"
		}},
		{"10 000 lines", "recipe.mixes[0].lines", func(in *SubstrateInput) { in.Recipe.Mixes[0].Lines = make([]Line, 10000) }},
		{"1000 mixes", "recipe.mixes", func(in *SubstrateInput) { in.Recipe.Mixes = make([]Mix, 1000) }},
		{"no mixes", "recipe.mixes", func(in *SubstrateInput) { in.Recipe.Mixes = nil }},
		{"no lines", "recipe.mixes[0].lines", func(in *SubstrateInput) { in.Recipe.Mixes[0].Lines = nil }},
		{"no name", "recipe.mixes[0].name", func(in *SubstrateInput) { in.Recipe.Mixes[0].Name = "" }},
		{"one name twice", "recipe.mixes[1].name", func(in *SubstrateInput) { in.Recipe.Mixes[1].Name = " GRAIN " }},
		{"percent of what", "recipe.mixes[0].percent_of", func(in *SubstrateInput) { in.Recipe.Mixes[0].PercentOf = "volume" }},
		{"a rest of nothing", "recipe.mixes[0].lines", func(in *SubstrateInput) {
			in.Recipe.Mixes[0].Lines = append(in.Recipe.Mixes[0].Lines, Line{Ingredient: "water", Amount: "rest"})
		}},
		{"two rests", "recipe.mixes[0].lines[1].amount", func(in *SubstrateInput) {
			in.Recipe.Mixes[0].Lines = []Line{{Ingredient: "rye", Amount: "rest"}, {Ingredient: "water", Amount: "rest"}}
		}},
		{"98 %", "recipe.mixes[0].lines", func(in *SubstrateInput) {
			in.Recipe.Mixes[0].Lines = []Line{{Ingredient: "rye", Amount: "50 %"}, {Ingredient: "oats", Amount: "48 %"}}
		}},
		{"102 %", "recipe.mixes[0].lines", func(in *SubstrateInput) {
			in.Recipe.Mixes[0].Lines = []Line{{Ingredient: "rye", Amount: "54 %"}, {Ingredient: "oats", Amount: "48 %"}}
		}},
		{"dry share of unknown moisture", "recipe.mixes[0].lines[0].moisture_pct", func(in *SubstrateInput) {
			in.Recipe.Mixes[0].PercentOf = "dry"
			in.Recipe.Mixes[0].Lines = []Line{{Ingredient: "sawdust", Amount: "80 %"}, {Ingredient: "rye", Amount: "rest"}}
		}},
		{"overfull", "recipe.mixes[1].make_up_to", func(in *SubstrateInput) { in.Recipe.Mixes[1].Lines[0].Amount = "3 kg" }},
		{"made up to a length", "recipe.mixes[1].make_up_to", func(in *SubstrateInput) { in.Recipe.Mixes[1].MakeUpTo = "1 m" }},
		{"made up to words", "recipe.mixes[1].make_up_to", func(in *SubstrateInput) { in.Recipe.Mixes[1].MakeUpTo = "full" }},
		{"made up to nothing", "recipe.mixes[1].make_up_to", func(in *SubstrateInput) { in.Recipe.Mixes[1].MakeUpTo = "0 L" }},
		{"fill of no mix", "recipe.fill.sauce", func(in *SubstrateInput) { in.Recipe.Fill["sauce"] = "1 g" }},
		{"fill zero", "recipe.fill.grain", func(in *SubstrateInput) { in.Recipe.Fill["grain"] = "0 g" }},
		{"fill in words", "recipe.fill.grain", func(in *SubstrateInput) { in.Recipe.Fill["grain"] = "some" }},
		{"fill in degrees", "recipe.fill.grain", func(in *SubstrateInput) { in.Recipe.Fill["grain"] = "5 °C" }},
		{"fill left out", "recipe.fill", func(in *SubstrateInput) { delete(in.Recipe.Fill, "broth") }},
		{"fill by volume without density", "recipe.fill.grain", func(in *SubstrateInput) {
			rice(in).Ingredient = "straw"
			in.Recipe.Fill["grain"] = "1 cup"
		}},
		{"shares without fill", "recipe.fill", func(in *SubstrateInput) {
			in.Recipe.Fill = nil
			rice(in).Amount = "100 %"
		}},
		{"no jars", "jars", func(in *SubstrateInput) { in.Jars = 0 }},
		{"negative jars", "jars", func(in *SubstrateInput) { in.Jars = -3 }},
		{"too many jars", "jars", func(in *SubstrateInput) { in.Jars = 1_000_001 }},
		{"too much in all", "jars", func(in *SubstrateInput) { in.Jars, in.Recipe.Fill["grain"] = 1_000_000, "10 kg" }},
		{"reserve negative", "reserve_pct", func(in *SubstrateInput) { in.ReservePct = &Reserve{All: ptr(-1)} }},
		{"reserve NaN", "reserve_pct", func(in *SubstrateInput) { in.ReservePct = &Reserve{All: ptr(math.NaN())} }},
		{"reserve of no mix", "reserve_pct.sauce", func(in *SubstrateInput) { in.ReservePct = &Reserve{By: map[string]float64{"sauce": 1}} }},
		{"target 100", "target_moisture_pct", func(in *SubstrateInput) { in.TargetMoisturePct = ptr(100) }},
		{"target NaN", "target_moisture_pct", func(in *SubstrateInput) { in.TargetMoisturePct = ptr(math.NaN()) }},
		{"bore 0", "container.bore_mm", func(in *SubstrateInput) { in.Container = &Container{} }},
		{"height NaN", "container.height_mm", func(in *SubstrateInput) { in.Container = &Container{BoreMM: 80, HeightMM: math.NaN()} }},
		{"shape", "container.shape", func(in *SubstrateInput) { in.Container = &Container{BoreMM: 80, Shape: "star"} }},
	} {
		in := cake(c.change)
		_, err := Substrate(in)
		t.Run(c.what, func(t *testing.T) { fault(t, err, c.field) })
	}
}

// A chain in which every mix holds the one before twice has 2^49 paths; it
// must be worked out mix by mix.
func TestManyPathsOfMixes(t *testing.T) {
	r := Recipe{Mixes: []Mix{{Name: "m0", Lines: []Line{{Ingredient: "KH2PO4", Amount: "1 g"}, {Ingredient: "water", Amount: "99 g"}}}}}
	for i := 1; i < maxMixes; i++ {
		before := fmt.Sprintf("m%d", i-1)
		r.Mixes = append(r.Mixes, Mix{Name: fmt.Sprintf("m%d", i), Lines: []Line{{Ingredient: before, Amount: "50 g"}, {Ingredient: before, Amount: "50 g"}}})
	}
	a := batchOf(t, SubstrateInput{Recipe: r, Jars: 3})
	within(t, "dry", a.Result.PerJar.DryG, 1, 1e-9)
	within(t, "total", &a.Result.TotalG, 300, 1e-6)
	if _, err := Solve(SolveInput{Recipe: r, Jars: 3, Change: "KH2PO4", For: "moisture_pct", Target: 90}); err != nil {
		t.Error(err)
	}
}

func FuzzSubstrate(f *testing.F) {
	seed, err := json.Marshal(SubstrateInput{Recipe: riceAndBroth(), Jars: 12, ReservePct: &Reserve{All: ptr(10)}, Container: &Container{BoreMM: 80}, TargetMoisturePct: ptr(60)})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(seed))
	f.Add(`{"recipe":{"mixes":[{"name":"b","percent_of":"dry","lines":[{"ingredient":"straw","amount":"80 %"},{"ingredient":"bran","amount":"rest"}]}],"fill":{"b":"1 kg"}},"jars":2}`)
	f.Add(`{"recipe":{"mixes":[{"name":"a","lines":[{"ingredient":"b","amount":"1 g"}]},{"name":"b","lines":[{"ingredient":"a","amount":"1 cup"}]}]},"jars":1}`)
	f.Add(`{"recipe":{"mixes":[{"name":"a","make_up_to":"1 L","lines":[{"ingredient":"water","amount":"2 parts"},{"ingredient":"egg","amount":"2 large"}]}]},"jars":1,"reserve_pct":{"a":3}}`)
	f.Fuzz(func(t *testing.T, text string) {
		var in SubstrateInput
		if json.Unmarshal([]byte(text), &in) != nil {
			return
		}
		a, err := Substrate(in)
		if err != nil {
			var fault *figure.Fault
			if !errors.As(err, &fault) || fault.What == "" || fault.Mend == "" || fault.Field == "" {
				t.Fatalf("%s: %#v is no full Fault", text, err)
			}
			return
		}
		if _, err := json.Marshal(a); err != nil { // NaN and infinity have no JSON
			t.Fatalf("%s: %v", text, err)
		}
		p := a.Result.PerJar
		if p.MoisturePct != nil && !(*p.MoisturePct >= -1e-6 && *p.MoisturePct <= 100+1e-6) || !(p.WetG > 0) {
			t.Fatalf("%s: %g g at %v %%", text, p.WetG, *p.MoisturePct)
		}
	})
}
