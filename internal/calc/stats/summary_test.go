package stats

import (
	"errors"
	"math"
	"testing"
)

func summaries(n int, meanSD ...float64) []Summary {
	var out []Summary
	for i := 0; i < len(meanSD); i += 2 {
		out = append(out, Summary{n, meanSD[i], meanSD[i+1]})
	}
	return out
}

// Published tables of means and standard deviations; F and p worked out from them to
// 20 digits and rounded as written here.
//
// Straw with pruning residue, n = 3: Scientifica 2020, 3950357, Table 2. Waste paper,
// n = 5: Baysal and others (2003), Table 1. Four treatments, n = 3: Int. J. Agronomy
// 2023, 8013491, Table 5.
func TestANOVAOfPublishedTables(t *testing.T) {
	for name, c := range map[string]struct {
		of    []Summary
		f, p  float64
		welch float64 // F, 0 if not worked out
		df2   float64
	}{
		"first harvest":    {summaries(3, 34.7, 4.6, 46.0, 8.0, 31.0, 1.0), 6.3785, 0.03273, 4.861, 2.826},
		"mean mushroom":    {summaries(3, 13.1, 2.8, 12.2, 2.4, 13.2, 3.5), 0.1056, 0.9014, 0, 0},
		"biological yield": {summaries(3, 910.1, 236.3, 624.9, 222.1, 406.8, 11.6), 5.4447, 0.04484, 6.5787, 2.680},
		"efficiency":       {summaries(3, 105.0, 27.2, 80.3, 28.5, 54.1, 1.5), 3.7514, 0.08774, 0, 0},
		"economic yield":   {summaries(3, 871.4, 238.4, 590.0, 231.63, 388.4, 11.82), 4.7880, 0.05716, 0, 0},
		"paper, yield":     {summaries(5, 212.8, 24.87, 197.6, 17.15, 165.6, 19.62, 90.2, 10.89, 61.4, 11.97, 270.8, 27.63, 350.2, 37.37), 93.810, 3.2e-17, 0, 0},
		"paper, spawn run": {summaries(5, 18, 1.22, 22.6, 1.94, 28.6, 2.19, 32.6, 2.50, 37.6, 2.12, 17.2, 1.30, 15.8, 0.83), 107.938, 4.9e-18, 94.485, 12.207},
		"diameter, 1":      {summaries(3, 5.26, 1.48, 5.70, 0.69, 10.63, 1.00, 8.70, 1.47), 13.3668, 0.00175, 14.640, 4.235},
		"diameter, 2":      {summaries(3, 5.63, 0.70, 4.06, 0.05, 7.83, 3.92, 7.20, 1.31), 1.9482, 0.20048, 8.319, 3.348},
		"thickness, 3":     {summaries(3, 3.10, 0.10, 4.33, 0.57, 4.10, 1.32, 5.33, 4.04), 0.5463, 0.66435, 0, 0},
	} {
		a, err := ANOVAOf(c.of)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" F", a.F, c.f, 5e-4) // four digits are written
		near(t, name+" p", a.P, c.p, 2e-2) // two digits of the smallest
		if c.welch > 0 {
			w, err := WelchANOVAOf(c.of)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			near(t, name+" Welch's F", w.F, c.welch, 2e-4)
			near(t, name+" its degrees of freedom", w.DF2, c.df2, 3e-4)
		}
	}
}

// Whole days that give the printed means and SD of the paper table, an invented set:
// F(6, 28), Kruskal and Wallis' H and Brown and Forsythe's F.
func TestANOVAOfWholeDays(t *testing.T) {
	spawn := [][]float64{{16, 18, 18, 19, 19}, {20, 21, 24, 24, 24}, {27, 27, 27, 31, 31}, {30, 30, 33, 35, 35}, {34, 38, 38, 39, 39}, {15, 17, 18, 18, 18}, {15, 15, 16, 16, 17}}
	pins := [][]float64{{24, 25, 25, 26, 27}, {27, 30, 31, 32, 32}, {33, 38, 38, 38, 39}, {40, 41, 41, 45, 45}, {45, 49, 49, 50, 50}, {20, 24, 24, 24, 24}, {20, 21, 22, 22, 23}}
	fruit := [][]float64{{28, 28, 30, 33, 33}, {32, 33, 35, 36, 36}, {39, 40, 44, 46, 46}, {44, 47, 50, 51, 51}, {48, 51, 56, 58, 58}, {25, 25, 27, 29, 29}, {24, 24, 25, 27, 27}}
	for name, c := range map[string]struct {
		groups   [][]float64
		f, h, bf float64
	}{"spawn": {spawn, 108.27128, 31.76942, 0.57204}, "pins": {pins, 143.96139, 32.79583, 0.27027}, "fruit": {fruit, 77.46690, 31.72028, 0.86441}} {
		a, err := ANOVA(c.groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" F", a.F, c.f, 1e-7) // seven digits are written
		var of []Summary
		for _, g := range c.groups {
			of = append(of, Summary{len(g), Mean(g), math.Sqrt(Variance(g))})
		}
		s, err := ANOVAOf(of)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" F from summaries", s.F, a.F, closed)
		k, err := KruskalWallis(c.groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" H", k.Statistic, c.h, 2e-7)
		b, err := BrownForsythe(c.groups)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" Brown-Forsythe", b.F, c.bf, 1e-5) // five digits are written
	}
}

// From summaries as from the values; and what can not be.
func TestWelchOf(t *testing.T) {
	d := data(t, "plantgrowth")
	a, b := d.where(t, "weight", "group", "ctrl"), d.where(t, "weight", "group", "trt1")
	want, err := Welch(a, b, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	of := func(x []float64) Summary { return Summary{len(x), Mean(x), math.Sqrt(Variance(x))} }
	got, err := WelchOf(of(a), of(b), 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "t", got.T, want.T, closed)
	near(t, "df", got.DF, want.DF, closed)
	near(t, "low", got.Low, want.Low, closed)
	for name, c := range map[string]struct {
		a, b Summary
		want error
	}{
		"one value":  {Summary{1, 2, 0}, Summary{3, 4, 1}, ErrFew},
		"no spread":  {Summary{3, 2, 0}, Summary{3, 4, 0}, ErrFlat},
		"SD below 0": {Summary{3, 2, -1}, Summary{3, 4, 0}, ErrRange},
		"NaN":        {Summary{3, math.NaN(), 1}, Summary{3, 4, 0}, ErrRange},
	} {
		if _, err := WelchOf(c.a, c.b, 0.95); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}
