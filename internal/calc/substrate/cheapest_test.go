package substrate

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinset/internal/figure"
)

func TestCheapestByHand(t *testing.T) {
	// Two ingredients: nitrogen of dry matter 0.2 and 2.0 %. For 0.74 % the
	// rich one makes (0.74 - 0.2) / 1.8 = 30 %.
	in := CheapestInput{NLowPct: ptr(0.74), Ingredients: []Offer{
		{Ingredient: "sawdust", PricePerKg: 0.1, MoisturePct: ptr(20), NPctDry: ptr(0.2), CPctDry: ptr(49)},
		{Ingredient: "bran", PricePerKg: 0.4, MoisturePct: ptr(10), NPctDry: ptr(2), CPctDry: ptr(45)},
	}}
	a, err := Cheapest(in)
	if err != nil {
		t.Fatal(err)
	}
	r := a.Result
	within(t, "bran", &r.Lines[1].DryPct, 30, 1e-6)
	within(t, "bran as weighed", &r.Lines[1].Grams, 300/0.9, 1e-5)
	within(t, "cost", &r.Cost, 0.7*0.1/0.8+0.3*0.4/0.9, 1e-9)
	within(t, "N", &r.NPctDry, 0.74, 1e-9)
	within(t, "C:N", r.CN, (0.7*49+0.3*45)/0.74, 1e-6)
	if !slices.Equal(r.Binding, []string{"nitrogen at least 0.74 %"}) {
		t.Errorf("binding: %v", r.Binding)
	}
	in.Ingredients[1].MaxPct = ptr(25)
	_, err = Cheapest(in)
	fault(t, err, "")
	in.NLowPct = nil
	if a, err = Cheapest(in); err != nil || len(a.Result.Binding) != 0 || a.Result.Lines[0].DryPct < 99.999999 {
		t.Errorf("without bounds: %+v, %v", a.Result, err)
	}
}

func TestCheapestFaults(t *testing.T) {
	rye := Offer{Ingredient: "rye", PricePerKg: 1}
	for field, in := range map[string]CheapestInput{
		"ingredients":                 {},
		"ingredients[0]":              {Ingredients: []Offer{{Ingredient: "water"}}},
		"ingredients[0].price_per_kg": {Ingredients: []Offer{{Ingredient: "rye", PricePerKg: math.NaN()}}},
		"ingredients[0].min_pct":      {Ingredients: []Offer{{Ingredient: "rye", MinPct: 60, MaxPct: ptr(50)}}},
		"cn_low":                      {Ingredients: []Offer{rye}, CNLow: ptr(math.NaN())},
		"n_high_pct_of_dry":           {Ingredients: []Offer{rye}, NHighPct: ptr(-1)},
		"dry_g":                       {Ingredients: []Offer{rye}, DryG: ptr(0)},
	} {
		_, err := Cheapest(in)
		fault(t, err, field)
	}
}

// Against all vertices of the feasible set: the cheapest of them is the
// answer, and where there is none the bounds can not be met.
func TestCheapestAgainstVertices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 4).Draw(t, "n")
		in := CheapestInput{}
		for range n {
			in.Ingredients = append(in.Ingredients, Offer{
				Ingredient: "x", PricePerKg: rapid.Float64Range(0.05, 5).Draw(t, "price"), MaxPct: ptr(rapid.Float64Range(30, 100).Draw(t, "max")),
				MoisturePct: ptr(10), NPctDry: ptr(rapid.Float64Range(0.1, 8).Draw(t, "N")), CPctDry: ptr(rapid.Float64Range(40, 50).Draw(t, "C")),
			})
		}
		in.CNLow, in.CNHigh = ptr(rapid.Float64Range(5, 40).Draw(t, "low")), ptr(rapid.Float64Range(40, 200).Draw(t, "high"))
		best := cheapestVertex(in)
		a, err := Cheapest(in)
		var f *figure.Fault
		if errors.As(err, &f) {
			if best < math.Inf(1) {
				t.Fatalf("refused (%v), though a mix at %g exists", err, best)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(a.Result.Cost-best) > 1e-6*best {
			t.Fatalf("cost %g, the cheapest vertex has %g", a.Result.Cost, best)
		}
	})
}

// cheapestVertex tries every choice of n-1 bounds that hold as equations
// beside the sum of 1.
func cheapestVertex(in CheapestInput) float64 {
	n := len(in.Ingredients)
	each, _, err := in.offers()
	if err != nil {
		panic(err)
	}
	bounds, err := in.bounds(each)
	if err != nil {
		panic(err)
	}
	for i := range n {
		bounds = append(bounds, bound{"", unit(n, i, -1), 0})
	}
	best := math.Inf(1)
	var choose func(from int, rows []bound)
	choose = func(from int, rows []bound) {
		if len(rows) == n {
			x, ok := solveDense(rows)
			if !ok {
				return
			}
			cost := 0.0
			for i := range x {
				cost += x[i] * in.Ingredients[i].PricePerKg / 0.9
			}
			for _, b := range bounds {
				if dot(b.a, x) > b.limit+1e-9 {
					return
				}
			}
			best = math.Min(best, cost)
			return
		}
		for i := from; i < len(bounds); i++ {
			choose(i+1, append(rows[:len(rows):len(rows)], bounds[i]))
		}
	}
	ones := make([]float64, n)
	for i := range ones {
		ones[i] = 1
	}
	choose(0, []bound{{"", ones, 1}})
	return best
}

// solveDense solves the rows as equations by elimination with row pivots.
func solveDense(rows []bound) ([]float64, bool) {
	n := len(rows)
	m := make([][]float64, n)
	for i, r := range rows {
		m[i] = append(slices.Clone(r.a), r.limit)
	}
	for c := range n {
		p := c
		for i := c; i < n; i++ {
			if math.Abs(m[i][c]) > math.Abs(m[p][c]) {
				p = i
			}
		}
		if math.Abs(m[p][c]) < 1e-12 {
			return nil, false
		}
		m[c], m[p] = m[p], m[c]
		for i := range n {
			if i == c {
				continue
			}
			k := m[i][c] / m[c][c]
			for j := c; j <= n; j++ {
				m[i][j] -= k * m[c][j]
			}
		}
	}
	x := make([]float64, n)
	for i := range x {
		x[i] = m[i][n] / m[i][i]
	}
	return x, true
}

// Of bounds that can not be kept at once the Fault names two that fight
// wherever there are two, and says so where it takes more.
func TestCheapestNamesThePairThatFights(t *testing.T) {
	offer := func(name string, n float64, low, high *float64) Offer {
		o := Offer{Ingredient: name, PricePerKg: 1, MoisturePct: ptr(10), NPctDry: ptr(n), CPctDry: ptr(45), MaxPct: high}
		if low != nil {
			o.MinPct = *low
		}
		return o
	}
	in := CheapestInput{
		Ingredients: []Offer{offer("lean", 0.5, nil, ptr(50)), offer("rich", 5, nil, ptr(60)), offer("mid", 2, nil, ptr(90))},
		NLowPct:     ptr(3), NHighPct: ptr(1.5),
	}
	_, err := Cheapest(in)
	var f *figure.Fault
	if !errors.As(err, &f) || !strings.Contains(f.What, "nitrogen at least 3 %; nitrogen at most 1.5 %") || !strings.Contains(f.What, "these two bounds fight") {
		t.Errorf("two that fight: %v", err)
	}

	// Each two of these can be kept: lean + rich is 100 % without mid; all
	// three at most 30 % can not be.
	in = CheapestInput{Ingredients: []Offer{offer("lean", 0.5, nil, ptr(30)), offer("rich", 5, nil, ptr(30)), offer("mid", 2, nil, ptr(30))}}
	_, err = Cheapest(in)
	if !errors.As(err, &f) || !strings.Contains(f.What, "not these 3 at once: lean at most 30 %; rich at most 30 %; mid at most 30 %") {
		t.Errorf("three that fight: %v", err)
	}

	// One that no mix keeps alone.
	in = CheapestInput{Ingredients: []Offer{offer("lean", 0.5, nil, nil), offer("mid", 2, nil, ptr(80))}, NLowPct: ptr(3)}
	_, err = Cheapest(in)
	if !errors.As(err, &f) || !strings.Contains(f.What, "keeps this bound: nitrogen at least 3 %") {
		t.Errorf("one that can not be kept: %v", err)
	}
}
