package app

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinset/internal/lab"
	"pinset/internal/units"
)

// drawStock is a stock in which some of the ingredients have own figures and
// a lot with a price.
func drawStock(t *rapid.T, names []string) *stock {
	s := &stock{by: map[string]*StockRow{}, lots: map[lab.IngredientLotID]*LotRow{}}
	for i, name := range names {
		row := BookRow(name)
		row.ID = lab.IngredientID(fmt.Sprint(i))
		if rapid.Bool().Draw(t, "own figures") {
			wet := units.Fraction(rapid.Float64Range(0, 0.7).Draw(t, "moisture"))
			row.Figures.Moisture = &wet
		}
		if rapid.Bool().Draw(t, "a lot") {
			lot := &LotRow{IngredientLot: lab.IngredientLot{Lot: lab.IngredientLotID(fmt.Sprint("lot", i)), Number: i + 1, Price: lab.Price{Typed: "x", Minor: int64(rapid.IntRange(0, 9000).Draw(t, "price")), For: 1000}}, Name: name}
			row.Lots = []*LotRow{lot}
			s.lots[lot.Lot] = lot
		}
		s.rows, s.by[lab.NameKey(name)] = append(s.rows, row), row
	}
	return s
}

var lawNames = []string{"brown rice", "oats", "wheat bran", "soy flour, defatted", "gypsum", "dextrose monohydrate", "water", "sawdust"}

// drawRecipe is a dry mix and a broth of random lines.
func drawRecipe(t *rapid.T) (lab.Recipe, []float64) {
	r := lab.Recipe{Name: "drawn", Mixes: []lab.Mix{{Name: "dry"}}}
	var grams []float64
	total := 0.0
	for i := range rapid.IntRange(1, 8).Draw(t, "lines") {
		g := rapid.Float64Range(0.5, 500).Draw(t, "grams")
		grams = append(grams, g)
		total += g
		r.Mixes[0].Lines = append(r.Mixes[0].Lines, lab.RecipeLine{Ingredient: lawNames[i], Amount: gramText(g)})
	}
	r.Fills = []lab.Fill{{Mix: "dry", Amount: gramText(total)}}
	return r, grams
}

func gramText(g float64) string { return fmt.Sprintf("%.12g g", g) }

func closes(t *rapid.T, what string, a, b *float64) {
	switch {
	case (a == nil) != (b == nil):
		t.Fatalf("%s is known in one and not in the other: %v, %v", what, a, b)
	case a != nil && !(math.Abs(*a-*b) <= 1e-9*math.Max(1, math.Abs(*a))):
		t.Fatalf("%s: %.15g and %.15g", what, *a, *b)
	}
}

func sameJars(t *rapid.T, a, b SubstrateAnswer) {
	x, y := a.Result.PerJar, b.Result.PerJar
	closes(t, "mass", &x.WetG, &y.WetG)
	closes(t, "dry matter", x.DryG, y.DryG)
	closes(t, "nitrogen", x.NG, y.NG)
	closes(t, "carbon", x.CG, y.CG)
	closes(t, "ash", x.AshG, y.AshG)
	closes(t, "fat", x.FatG, y.FatG)
	closes(t, "cost", a.Result.CostPerJar, b.Result.CostPerJar)
}

// A jar is the same whatever the number of jars, the unit of its lines, and
// whether a line is written once or in two parts; own figures and lots come
// along.
func TestLawJarStaysTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStock(t, lawNames)
		r, grams := drawRecipe(t)
		one, err := weigh(r, 1, s)
		if err != nil {
			t.Fatal(err)
		}
		many, err := weigh(r, rapid.IntRange(2, 500).Draw(t, "jars"), s)
		if err != nil {
			t.Fatal(err)
		}
		sameJars(t, one, many)

		pounds := lab.Recipe{Name: r.Name, Mixes: []lab.Mix{{Name: "dry"}}, Fills: r.Fills}
		split := lab.Recipe{Name: r.Name, Mixes: []lab.Mix{{Name: "dry"}}, Fills: r.Fills}
		for i, l := range r.Mixes[0].Lines {
			pounds.Mixes[0].Lines = append(pounds.Mixes[0].Lines, lab.RecipeLine{Ingredient: l.Ingredient, Amount: fmt.Sprintf("%.13g oz", grams[i]/28.349523125)})
			part := grams[i] * rapid.Float64Range(0.1, 0.9).Draw(t, "part")
			split.Mixes[0].Lines = append(split.Mixes[0].Lines,
				lab.RecipeLine{Ingredient: l.Ingredient, Amount: gramText(part)}, lab.RecipeLine{Ingredient: l.Ingredient, Amount: gramText(grams[i] - part)})
		}
		for _, other := range []lab.Recipe{pounds, split} {
			b, err := weigh(other, 1, s)
			if err != nil {
				t.Fatal(err)
			}
			sameJars(t, one, b)
		}
	})
}

// The batch is as many jars as it has, to the last gram of every ingredient.
func TestLawBatchIsItsJars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStock(t, lawNames)
		r, grams := drawRecipe(t)
		jars := rapid.IntRange(1, 400).Draw(t, "jars")
		a, err := weigh(r, jars, s)
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range r.Mixes[0].Lines {
			got, want := a.Result.Batch["dry"][l.Ingredient], grams[i]*float64(jars)
			closes(t, l.Ingredient, &got, &want)
		}
	})
}

func BenchmarkWeigh(b *testing.B) {
	r := lab.Recipe{Name: "x", Mixes: []lab.Mix{{Name: "dry"}}, Fills: []lab.Fill{{Mix: "dry", Amount: "100 g"}}}
	s := &stock{by: map[string]*StockRow{}}
	for i := range 30 {
		name := lawNames[i%len(lawNames)]
		r.Mixes[0].Lines = append(r.Mixes[0].Lines, lab.RecipeLine{Ingredient: name, Amount: "1/2 lb"})
		s.by[lab.NameKey(name)] = BookRow(name)
	}
	for b.Loop() {
		if _, err := weigh(r, 500, s); err != nil {
			b.Fatal(err)
		}
	}
}
