package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Reference: R 4.2.2, lm(yield ~ block + variety + nitrogen) on oats with HC2 and
// the plug-in Satterthwaite formula written out in 72 x 72 matrices.
func TestPlacesAgainstR(t *testing.T) {
	oats := data(t, "oats")
	f, err := FitPlaces(oats.floats(t, "yield"), codes(oats["nitrogen"]), [][]int{codes(oats["block"]), codes(oats["variety"])}, 4)
	if err != nil {
		t.Fatal(err)
	}
	e, err := f.Difference(0, 2, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", e.Value, 34.83333333333331, 1e-13)
	near(t, "standard error", e.SE, 5.06325601019865, 1e-12)
	near(t, "degrees of freedom", e.DF, 29.42544885832946, 1e-11)
}

// One factor of place is a block; none is Welch's comparison.
func TestOnePlaceIsABlock(t *testing.T) {
	for _, name := range []string{"trialA_balanced", "trialB_lostjars", "trialD_partly_aligned"} {
		y, arm, block := trial(t, name)
		for what, places := range map[string][][]int{"blocked": {block}, "twice the same": {block, block}, "no places": {}} {
			in := block
			if len(places) == 0 {
				in = nil
			}
			want, err := FitBlocks(y, arm, in, 2)
			if err != nil {
				t.Fatal(err)
			}
			got, err := FitPlaces(y, arm, places, 2)
			if err != nil {
				t.Fatal(err)
			}
			we, _ := want.Difference(0, 1, 0.95)
			ge, err := got.Difference(0, 1, 0.95)
			if err != nil {
				t.Fatalf("%s %s: %v", name, what, err)
			}
			near(t, name+" "+what+" value", ge.Value, we.Value, closed)
			near(t, name+" "+what+" se", ge.SE, we.SE, closed)
			near(t, name+" "+what+" df", ge.DF, we.DF, closed)
			near(t, name+" "+what+" efficiency", got.Efficiency(0, 1), want.Efficiency(0, 1), closed)
			wb, wa, wvb, wva, wcov, _ := want.PairMeans(0, 1)
			mb, ma, vb, va, cov, err := got.PairMeans(0, 1)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			for _, x := range [][2]float64{{mb, wb}, {ma, wa}, {vb, wvb}, {va, wva}} {
				near(t, name+" "+what+" mean or its variance", x[0], x[1], closed)
			}
			within(t, name+" "+what+" covariance", cov, wcov, 1e-9*(1+math.Abs(wcov)))
		}
	}
}

// Several factors of place against n×n matrices written from the formulas, with
// lost jars and levels of one jar.
func TestPlacesAgainstDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 40 {
		n := 12 + rng.IntN(20)
		y, arm, cook, layer := make([]float64, n), make([]int, n), make([]int, n), make([]int, n)
		for i := range y {
			arm[i], cook[i], layer[i] = i%3, rng.IntN(3), rng.IntN(4)
			y[i] = 50 + rng.NormFloat64()*float64(1+arm[i])
		}
		f, err := FitPlaces(y, arm, [][]int{cook, layer}, 3)
		if err != nil {
			t.Fatal(err)
		}
		e, err := f.Difference(0, 2, 0.95)
		if err != nil {
			continue // hangs on one jar
		}
		value, se, df := denseOf(y, arm, 3, 0, 2, cook, layer)
		near(t, "value", e.Value, value, 1e-8)
		near(t, "se", e.SE, se, 1e-8)
		near(t, "df", e.DF, df, 1e-7)
	}
}

// Cook and layer together explain what neither does alone.
func TestPlacesThatAliasTogether(t *testing.T) {
	arm := []int{0, 0, 1, 1, 1, 1, 0, 0}
	cook := []int{0, 0, 0, 0, 1, 1, 1, 1}
	f, err := FitPlaces([]float64{1, 2, 3, 4, 5, 6, 7, 9}, arm, [][]int{cook, {0, 0, 1, 1, 1, 1, 2, 2}}, 2)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Difference(0, 1, 0.95); !errors.Is(err, ErrAliased) {
		t.Errorf("arms that go with the layers: %v", err)
	}
	if e := f.Efficiency(0, 1); e != 0 {
		t.Errorf("efficiency %g", e)
	}
	if _, err := f.Contrast([]float64{1, 1}, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("weights that do not sum to 0: %v", err)
	}
	if _, err := f.Difference(0, 5, 0.95); !errors.Is(err, ErrRange) {
		t.Errorf("an arm that is not there: %v", err)
	}
	if _, err := FitPlaces([]float64{1, 2}, []int{0, 1}, [][]int{{0}}, 2); !errors.Is(err, ErrRange) {
		t.Errorf("codes too short: %v", err)
	}
	if _, err := FitPlaces(nil, nil, nil, 2); !errors.Is(err, ErrFew) {
		t.Errorf("no jars: %v", err)
	}
}

// Grams for kilograms, other names of levels and another order change nothing but
// the unit.
func TestPlacesAreInvariant(t *testing.T) {
	oats := data(t, "oats")
	y, arm := oats.floats(t, "yield"), codes(oats["nitrogen"])
	block, sort := codes(oats["block"]), codes(oats["variety"])
	of := func(y []float64, arm []int, places [][]int) Estimate {
		f, err := FitPlaces(y, arm, places, 4)
		if err != nil {
			t.Fatal(err)
		}
		e, err := f.Difference(0, 3, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	want := of(y, arm, [][]int{block, sort})
	kilos, named := make([]float64, len(y)), make([]int, len(y))
	back := len(y) - 1
	ry, ra, rb, rv := make([]float64, len(y)), make([]int, len(y)), make([]int, len(y)), make([]int, len(y))
	for i := range y {
		kilos[i], named[i] = y[i]/1000+7, 90-block[i]
		ry[i], ra[i], rb[i], rv[i] = y[back-i], arm[back-i], block[back-i], sort[back-i]
	}
	for what, got := range map[string]Estimate{"kilograms": of(kilos, arm, [][]int{sort, named}), "turned round": of(ry, ra, [][]int{rb, rv})} {
		scale := 1.0
		if what == "kilograms" {
			scale = 1000
		}
		near(t, what, got.Value*scale, want.Value, 1e-9)
		near(t, what+" se", got.SE*scale, want.SE, 1e-9)
		near(t, what+" df", got.DF, want.DF, 1e-9)
	}
}

func BenchmarkFitPlaces200(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	n := 200
	y, arm, cook, layer, shelf := make([]float64, n), make([]int, n), make([]int, n), make([]int, n), make([]int, n)
	for i := range y {
		y[i], arm[i], cook[i], layer[i], shelf[i] = rng.NormFloat64(), i%4, i/4%8, i/2%3, rng.IntN(5)
	}
	for b.Loop() {
		f, err := FitPlaces(y, arm, [][]int{cook, layer, shelf}, 4)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := f.Difference(0, 1, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
