package substrate

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// grams prints x g so that it is read back as x.
func grams(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) + " g" }

// drawRecipe is a grain mix and a broth of random rows and amounts.
func drawRecipe(t *rapid.T) Recipe {
	rows := Ingredients()
	line := func(label string) Line {
		row := rows[rapid.IntRange(0, len(rows)-1).Draw(t, label)]
		l := Line{Ingredient: row.ID, Amount: grams(rapid.Float64Range(0.01, 500).Draw(t, label+" g"))}
		if row.Moisture == nil || rapid.Bool().Draw(t, label+" measured") {
			l.MoisturePct = ptr(rapid.Float64Range(0, 95).Draw(t, label+" moisture"))
		}
		if row.N == nil {
			l.NPctDry, l.CPctDry = ptr(1), ptr(45)
		}
		return l
	}
	r := Recipe{Mixes: []Mix{{Name: "mix one"}, {Name: "mix two", MakeUpTo: "200 L"}}, Fill: map[string]string{}}
	for i := range r.Mixes {
		for j := range rapid.IntRange(1, 6).Draw(t, fmt.Sprint("lines", i)) {
			r.Mixes[i].Lines = append(r.Mixes[i].Lines, line(fmt.Sprintf("%d.%d", i, j)))
		}
	}
	r.Fill["mix one"] = grams(rapid.Float64Range(1, 5000).Draw(t, "fill one"))
	r.Fill["mix two"] = strconv.FormatFloat(rapid.Float64Range(1, 5000).Draw(t, "fill two"), 'f', -1, 64) + " mL"
	return r
}

func must(t *rapid.T, r Recipe, jars int) SubstrateResult {
	a, err := Substrate(SubstrateInput{Recipe: r, Jars: jars})
	if err != nil {
		t.Fatal(err)
	}
	return a.Result
}

// closes fails unless a and b agree to 1e-9 of their size: all steps are a
// few hundred sums and products in float64.
func closes(t *rapid.T, what string, a, b float64) {
	if !(math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b))+1e-12) {
		t.Fatalf("%s: %.15g and %.15g", what, a, b)
	}
}

func sameJar(t *rapid.T, what string, a, b PerJar) {
	closes(t, what+", wet", a.WetG, b.WetG)
	for _, x := range []struct {
		name string
		a, b *float64
	}{{"dry", a.DryG, b.DryG}, {"N", a.NG, b.NG}, {"C", a.CG, b.CG}} {
		if x.a == nil || x.b == nil {
			t.Fatalf("%s, %s: unknown", what, x.name)
		}
		closes(t, what+", "+x.name, *x.a, *x.b)
	}
}

// Mass: what is weighed in is what the jars hold.
func TestLawMassCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecipe(t)
		jars := rapid.IntRange(1, 500).Draw(t, "jars")
		a := must(t, r, jars)
		sum := 0.0
		for i := range r.Mixes {
			m := a.Batch[r.Mixes[i].Name]
			seen := map[string]bool{}
			for _, l := range append([]Line{{Ingredient: "water"}}, r.Mixes[i].Lines...) {
				if !seen[l.Ingredient] {
					sum += m[l.Ingredient]
				}
				seen[l.Ingredient] = true
			}
		}
		closes(t, "weighed in", sum, a.TotalG)
		closes(t, "jars", a.PerJar.WetG*float64(jars), a.TotalG)
		closes(t, "water and dry", (*a.PerJar.DryG)*float64(jars)+*a.WaterTotalG, a.TotalG)
	})
}

// Scaling a mix, and what it is made up to, changes no jar.
func TestLawScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecipe(t)
		a := must(t, r, 1)
		k := rapid.Float64Range(0.1, 10).Draw(t, "k")
		for i := range r.Mixes {
			for j := range r.Mixes[i].Lines {
				l := &r.Mixes[i].Lines[j]
				g, _ := strconv.ParseFloat(l.Amount[:len(l.Amount)-2], 64)
				l.Amount = grams(g * k)
			}
		}
		r.Mixes[1].MakeUpTo = strconv.FormatFloat(200*k, 'f', -1, 64) + " L"
		sameJar(t, "scaled", a.PerJar, must(t, r, 1).PerJar)
	})
}

// A line split in two, or typed in another unit, changes no jar.
func TestLawSplittingAndUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecipe(t)
		a := must(t, r, 1)
		m := &r.Mixes[rapid.IntRange(0, 1).Draw(t, "mix")]
		j := rapid.IntRange(0, len(m.Lines)-1).Draw(t, "line")
		whole := m.Lines[j]
		g, _ := strconv.ParseFloat(whole.Amount[:len(whole.Amount)-2], 64)
		share := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		one, two := whole, whole
		one.Amount = grams(g * share)
		two.Amount = strconv.FormatFloat(g*(1-share)/453.59237, 'f', -1, 64) + " lb"
		m.Lines = append(append(append([]Line{}, m.Lines[:j]...), two), append(m.Lines[j+1:], one)...)
		if r.Mixes[1].MakeUpTo == "200 L" && whole.Ingredient == "water" {
			t.Skip("water fills up: one of its lines is the rest")
		}
		sameJar(t, "split", a.PerJar, must(t, r, 1).PerJar)
	})
}

// Jars are alike: n jars hold n times one.
func TestLawJars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecipe(t)
		n := rapid.IntRange(1, 1000).Draw(t, "n")
		one, many := must(t, r, 1), must(t, r, n)
		sameJar(t, "one of many", one.PerJar, many.PerJar)
		closes(t, "total", one.TotalG*float64(n), many.TotalG)
	})
}

// A solved amount, put into the recipe, gives the target.
func TestLawSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Recipe{Mixes: []Mix{{Name: "m", Lines: []Line{
			{Ingredient: "brown rice", Amount: grams(rapid.Float64Range(10, 100).Draw(t, "rice"))},
			{Ingredient: "soy flour, defatted", Amount: grams(rapid.Float64Range(0.1, 10).Draw(t, "soy"))},
			{Ingredient: "water", Amount: grams(rapid.Float64Range(10, 100).Draw(t, "water"))},
		}}}}
		ask := []SolveInput{
			{Change: "water", For: "moisture_pct", Target: rapid.Float64Range(20, 90).Draw(t, "moisture")},
			{Change: "soy flour, defatted", For: "cn", Target: rapid.Float64Range(8, 31).Draw(t, "C:N")},
			{Change: "soy flour, defatted", For: "n_pct_of_dry", Target: rapid.Float64Range(1.5, 8).Draw(t, "N")},
		}[rapid.IntRange(0, 2).Draw(t, "ask")]
		ask.Recipe, ask.Jars = r, 7
		a, err := Solve(ask)
		if err != nil {
			t.Fatal(err)
		}
		for j := range r.Mixes[0].Lines {
			if l := &r.Mixes[0].Lines[j]; l.Ingredient == ask.Change {
				l.Amount = grams(math.Max(a.Result.PerJarG, 1e-9))
			}
		}
		p := must(t, r, 1).PerJar
		got := map[string]*float64{"moisture_pct": p.MoisturePct, "cn": p.CN, "n_pct_of_dry": p.NPctDry}[ask.For]
		if math.Abs(*got-ask.Target) > 1e-6*ask.Target {
			t.Fatalf("%s is %g, want %g", ask.For, *got, ask.Target)
		}
	})
}

// What is added is never lost: more of a row raises N and C by its own.
func TestLawMoistureInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(0, 0.5).Draw(t, "grain")
		s := rapid.Float64Range(0, 0.3).Draw(t, "solids")
		r := rapid.Float64Range(0, 5).Draw(t, "ratio")
		mixed, err := Moisture(m, r, s)
		if err != nil {
			t.Fatal(err)
		}
		if m >= 1-s {
			return
		}
		back, err := LiquidForMoisture(m, math.Max(m, mixed), s)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(back-r) > 1e-9*(1+r)/(1-s-mixed) {
			t.Fatalf("%g comes back as %g", r, back)
		}
	})
}

func BenchmarkSubstrate(b *testing.B) {
	rows := Ingredients()
	r := Recipe{Mixes: []Mix{{Name: "dry mix"}, {Name: "broth", MakeUpTo: "40 L"}}, Fill: map[string]string{"dry mix": "50 g", "broth": "60 mL"}}
	for i := range 30 {
		m := &r.Mixes[i%2]
		m.Lines = append(m.Lines, Line{Ingredient: rows[i].Name, Amount: "25 g"})
	}
	in := SubstrateInput{Recipe: r, Jars: 500, ReservePct: &Reserve{All: ptr(10)}, TargetMoisturePct: ptr(60), Container: &Container{BoreMM: 80}}
	if _, err := Substrate(in); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Substrate(in); err != nil {
			b.Fatal(err)
		}
	}
}
