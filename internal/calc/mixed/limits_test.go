package mixed

import (
	"errors"
	"math"
	"testing"
)

// laid returns jars of cooks, each jar by its arm and place.
func laid(cooks int, stand ...[2]int) []Jar {
	var jars []Jar
	for c := range cooks {
		for i, s := range stand {
			jars = append(jars, Jar{Y: math.Mod(float64(7*c+3*i)*0.618, 1), Arm: s[0], Cook: c, Mixing: c, Place: s[1]})
		}
	}
	return jars
}

// Places are a term of their own only where a cook has several, one of them holds two
// arms, and one arm stands in two.
func TestPlacesOfTheirOwn(t *testing.T) {
	for name, c := range map[string]struct {
		jars []Jar
		want bool
	}{
		"both arms in both places":            {laid(3, [2]int{0, 0}, [2]int{1, 0}, [2]int{0, 1}, [2]int{1, 1}), true},
		"one place for each cook":             {laid(3, [2]int{0, 0}, [2]int{1, 0}, [2]int{0, 0}, [2]int{1, 0}), false},
		"two places for each arm":             {laid(3, [2]int{0, 0}, [2]int{0, 1}, [2]int{1, 2}, [2]int{1, 3}), false},
		"two arms in one place, one in other": {laid(3, [2]int{0, 0}, [2]int{1, 0}, [2]int{2, 1}, [2]int{2, 1}), false},
	} {
		f := &CooksFit{column: map[int]int{0: 0, 1: 1, 2: 2}}
		f.modelOf(c.jars)
		if f.Places != c.want {
			t.Errorf("%s: a term is %t", name, f.Places)
		}
	}
}

// A contrast has a weight for each arm and no more.
func TestContrastOfThreeArms(t *testing.T) {
	jars := laid(4, [2]int{0, 0}, [2]int{1, 0}, [2]int{2, 0}, [2]int{2, 0}, [2]int{0, 0}, [2]int{1, 0})
	f, err := FitCooks(jars)
	if err != nil {
		t.Fatal(err)
	}
	of := func(weights ...float64) float64 {
		e, err := f.Contrast(weights)
		if err != nil {
			t.Fatal(err)
		}
		return e.Value
	}
	d, err := f.Difference(2, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", d.Value, of(0, -1, 1), 1e-12)
	near(t, "difference by way of the first arm", of(-1, 0, 1)-of(-1, 1, 0), of(0, -1, 1), 1e-9)
	near(t, "the mean of two against the first", of(-1, 0.5, 0.5), (of(-1, 1, 0)+of(-1, 0, 1))/2, 1e-9)
	if e, err := f.Contrast([]float64{-1, 1, 0, 0}); err != nil || math.Abs(e.Value-of(-1, 1)) > 1e-12 {
		t.Errorf("a weight of 0 for an arm that has no jar: %+v, %v", e, err)
	}
}

// What is fitted has limits: rows, fixed columns, levels beside those of the largest term.
func TestModelLimits(t *testing.T) {
	columns := func(n, k int) [][]float64 {
		row := make([]float64, k)
		out := make([][]float64, n)
		for i := range out {
			out[i] = row
		}
		return out
	}
	ring := func(n, of int) []int {
		out := make([]int, n)
		for i := range out {
			out[i] = i % of
		}
		return out
	}
	for name, c := range map[string]struct {
		m    Model
		want error
	}{
		"100000 rows":            {Model{make([]float64, 100000), columns(100000, 1), nil}, nil},
		"100001 rows":            {Model{make([]float64, 100001), columns(100001, 1), nil}, ErrRange},
		"60 columns":             {Model{make([]float64, 61), columns(61, 60), nil}, nil},
		"61 columns":             {Model{make([]float64, 62), columns(62, 61), nil}, ErrRange},
		"as many rows":           {Model{make([]float64, 3), columns(3, 3), nil}, ErrFew},
		"no column":              {Model{make([]float64, 3), columns(3, 0), nil}, ErrRange},
		"500 levels beside 700":  {Model{make([]float64, 700), columns(700, 1), [][]int{ring(700, 500), ring(700, 700)}}, nil},
		"501 levels beside 700":  {Model{make([]float64, 700), columns(700, 1), [][]int{ring(700, 700), ring(700, 501)}}, ErrRange},
		"levels of three terms":  {Model{make([]float64, 700), columns(700, 1), [][]int{ring(700, 250), ring(700, 700), ring(700, 250)}}, nil},
		"a figure of 1e100":      {Model{[]float64{1, 2, 1e100}, columns(3, 1), nil}, ErrRange},
		"a figure of -1e99":      {Model{[]float64{1, 2, -1e99}, columns(3, 1), nil}, nil},
		"an infinite fixed":      {Model{[]float64{1, 2, 3}, [][]float64{{1}, {math.Inf(1)}, {1}}, nil}, ErrRange},
		"a level as many as row": {Model{make([]float64, 3), columns(3, 1), [][]int{{0, 1, 2}}}, nil},
	} {
		if _, err := sumsOf(c.m); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

// A single term may have as many levels as it likes; of crossed terms 3000 in all, with
// which a contrast takes a matrix of 9 million.
func TestMostCrossed(t *testing.T) {
	one := Model{Terms: [][]int{nil}}
	for i := range 6200 {
		one.Y = append(one.Y, math.Mod(float64(i)*0.754877666, 1)+math.Mod(float64(i/2)*0.618, 1))
		one.Fixed = append(one.Fixed, []float64{1, float64(i % 2)})
		one.Terms[0] = append(one.Terms[0], i/2)
	}
	f, err := one.Fit()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.KenwardRoger([]float64{0, 1}); err != nil {
		t.Errorf("3100 levels of one term: %v", err)
	}
	two := one
	two.Terms = [][]int{one.Terms[0], make([]int, 6200)}
	for i := range two.Terms[1] {
		two.Terms[1][i] = i % 3
	}
	if f, err = two.Fit(); err != nil {
		t.Fatal(err)
	}
	if _, err := f.KenwardRoger([]float64{0, 1}); !errors.Is(err, ErrRange) {
		t.Errorf("3103 levels of two terms: %v", err)
	}
}
