package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Reference: SciPy 1.10.1 brunnermunzel and mannwhitneyu; the interval by brentq on
// Newcombe's equation, and Brunner and Munzel's from the statistic.
func TestSuperiorAgainstSciPy(t *testing.T) {
	arms := twoArms(t)
	pins, insects := arms["pincounts_ties"], arms["insect_C_D"] // second sample is the control
	s, err := Superior(pins[1], pins[0], 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pins: above", s.Value, 33.0/42, 1e-15)
	near(t, "pins: p", s.P, 0.06226189883146138, closed)
	s, err = Superior(insects[0], insects[1], 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "insects: above", s.Value, 20.0/144, 1e-15)
	near(t, "insects: p", s.P, 0.0006122712007768696, closed)
	low, high := superiorInterval(20.0/144, 12, 12, 0.95)
	near(t, "Newcombe's low end", low, 0.04768533821011132, 1e-12)
	near(t, "Newcombe's high end", high, 0.364102995656967, 1e-12)
	// |θ̂ - 0.5|/4.327872293566512 is the standard error of Brunner and Munzel.
	half := TQuantile(0.975, s.DF) * (0.5 - 20.0/144) / 4.327872293566512
	near(t, "low end", s.Low, math.Max(0, math.Min(low, 20.0/144-half)), closed)
	near(t, "high end", s.High, math.Max(high, 20.0/144+half), closed)
}

// Two samples that do not overlap: no test, but an interval. Other units and the
// other way round change nothing.
func TestSuperiorAtTheEdge(t *testing.T) {
	s, err := Superior([]float64{0, 0, 1, 1}, []float64{3, 3, 4, 4}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if s.Value != 1 || s.High != 1 || !(s.Low > 0.5 && s.Low < 0.8) || !math.IsNaN(s.P) {
		t.Errorf("all above: %+v", s)
	}
	same, err := Superior([]float64{2, 2, 2, 2}, []float64{2, 2, 2, 2}, 0.95)
	if err != nil || same.Value != 0.5 || !(same.Low < 0.5 && same.High > 0.5) {
		t.Errorf("all alike: %+v, %v", same, err)
	}
	a, b := []float64{0, 1, 1, 2, 3}, []float64{1, 2, 2, 4}
	there, _ := Superior(a, b, 0.95)
	back, _ := Superior(b, a, 0.95)
	near(t, "the other way round", 1-back.Value, there.Value, 1e-14)
	near(t, "its low end", 1-back.High, there.Low, 1e-9)
	tenfold, _ := Superior([]float64{0, 10, 10, 20, 30}, []float64{10, 20, 20, 40}, 0.95)
	if tenfold != there {
		t.Errorf("ten times the scores: %+v, want %+v", tenfold, there)
	}
	for name, c := range map[string]struct {
		a, b []float64
		want error
	}{
		"one value":    {[]float64{1}, []float64{1, 2}, ErrFew},
		"not a number": {[]float64{1, math.NaN()}, []float64{1, 2}, ErrRange},
	} {
		if _, err := Superior(c.a, c.b, 0.95); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

// Five scores, drawn from known shares: the interval covers what it says, for like
// and unlike spreads and far from a half. 90 % is three standard errors of 400
// trials under the 94 % that the worst of these has in 4000.
func TestSuperiorCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for name, p := range map[string][2][5]float64{
		"alike":         {{.1, .2, .4, .2, .1}, {.1, .2, .4, .2, .1}},
		"twice as wide": {{0, .2, .6, .2, 0}, {.35, .1, .1, .1, .35}},
		"shifted":       {{.3, .4, .2, .1, 0}, {.05, .15, .3, .3, .2}},
		"far apart":     {{.7, .2, .1, 0, 0}, {0, 0, .1, .3, .6}},
	} {
		truth := 0.0
		for i, x := range p[0] {
			for j, y := range p[1] {
				truth += x * y * (1 + float64(min(1, max(-1, j-i)))) / 2
			}
		}
		held := 0
		for range 400 {
			s, err := Superior(scores(rng, p[0], 6), scores(rng, p[1], 6), 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if s.Low <= truth && truth <= s.High {
				held++
			}
		}
		if held < 360 {
			t.Errorf("%s: %d of 400 intervals hold %g", name, held, truth)
		}
	}
}

func scores(rng *rand.Rand, p [5]float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		u := rng.Float64()
		for k, q := range p {
			if out[i] = float64(k); u < q {
				break
			}
			u -= q
		}
	}
	return out
}

// Reference: R 4.2.2 glm, family quasipoisson, epsilon 1e-14, of InsectSprays and of
// warpbreaks with tension as the place.
func TestQuasiPoissonAgainstR(t *testing.T) {
	insects, warp := data(t, "insectsprays"), data(t, "warpbreaks")
	got, err := QuasiPoisson(insects.floats(t, "count"), codes(insects["spray"]), nil, 6, 0, 1, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "insects", got.Value, 0.0558804583944575, 1e-12)
	near(t, "se", got.SE, 0.1298426150772992, 1e-11)
	near(t, "dispersion", got.Spread, 1.5077125579849628, 1e-11)
	near(t, "p", got.P, 0.6683281141611196, 1e-11)
	got, err = QuasiPoisson(warp.floats(t, "breaks"), codes(warp["wool"]), [][]int{codes(warp["tension"])}, 2, 0, 1, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "breaks", got.Value, -0.2059884426386210, 1e-11)
	near(t, "se", got.SE, 0.1064608572316997, 1e-11)
	near(t, "dispersion", got.Spread, 4.2615218839989186, 1e-11)
}

func TestQuasiPoissonRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		y     []float64
		arm   []int
		place []int
		want  error
	}{
		"zeros only":       {[]float64{0, 0, 3, 4}, []int{0, 0, 1, 1}, nil, ErrFlat},
		"a place of zeros": {[]float64{0, 0, 3, 4, 0, 0, 5, 6}, []int{0, 1, 0, 1, 0, 1, 0, 1}, []int{0, 0, 1, 1, 0, 0, 1, 1}, nil},
		"aliased":          {[]float64{1, 2, 3, 4}, []int{0, 0, 1, 1}, []int{0, 0, 1, 1}, ErrAliased},
		"too few":          {[]float64{1, 2}, []int{0, 1}, nil, ErrFew},
		"below zero":       {[]float64{-1, 2, 3, 4}, []int{0, 0, 1, 1}, nil, ErrRange},
		"no spread":        {[]float64{2, 2, 2, 2}, []int{0, 0, 1, 1}, nil, ErrFlat},
	} {
		var places [][]int
		if c.place != nil {
			places = [][]int{c.place}
		}
		got, err := QuasiPoisson(c.y, c.arm, places, 2, 0, 1, 0.95)
		if c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
		if err == nil && (math.IsNaN(got.Value) || math.IsInf(got.SE, 0)) {
			t.Errorf("%s: %+v", name, got)
		}
	}
}
