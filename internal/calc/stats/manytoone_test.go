package stats

import (
	"errors"
	"math"
	"testing"
)

// The quantile of Dunnett's test on PlantGrowth, two treatments of 10 with a control
// of 10: 2.333411547 by two-dimensional quadrature in R 4.2.2. mvtnorm's own search
// says 2.33354, of fewer digits.
func TestManyToOneQuantile(t *testing.T) {
	load := math.Sqrt(0.5)
	if got := ManyToOneQuantile(0.95, []float64{load, load}, 27); math.Abs(got-2.333411547) > 1e-9 {
		t.Errorf("%.10f", got)
	}
	// Of one statistic it is Student's; of independent normals Šidák's.
	if got, want := ManyToOneQuantile(0.95, []float64{0.3}, 8), TQuantile(0.975, 8); math.Abs(got-want) > 1e-9 {
		t.Errorf("one: %v, want %v", got, want)
	}
	if got, want := ManyToOneQuantile(0.95, make([]float64, 5), math.Inf(1)), NormalQuantile((1+math.Pow(0.95, 0.2))/2); math.Abs(got-want) > 1e-9 {
		t.Errorf("independent: %v, want %v", got, want)
	}
	// More correlation, a narrower region.
	last := math.Inf(1)
	for _, l := range []float64{0, 0.3, 0.6, 0.9} {
		q := ManyToOneQuantile(0.95, []float64{l, l, l}, 10)
		if !(q < last) {
			t.Errorf("load %g: %v after %v", l, q, last)
		}
		last = q
	}
	for _, got := range []float64{
		ManyToOneQuantile(1, []float64{0.5}, 5), ManyToOneQuantile(0.95, nil, 5), ManyToOneQuantile(0.95, []float64{1}, 5),
		ManyToOneQuantile(0.95, []float64{math.NaN()}, 5), ManyToOneQuantile(0.95, []float64{0.5}, 0),
	} {
		if !math.IsNaN(got) {
			t.Errorf("out of range: %v", got)
		}
	}
}

// A difference is a contrast; a linear contrast of equally spaced arms without
// blocks has the Welch variance Σ w²s²/n.
func TestContrast(t *testing.T) {
	y := []float64{1, 2, 4, 3, 5, 9, 6, 10, 7}
	arm := []int{0, 0, 0, 1, 1, 1, 2, 2, 2}
	f, err := FitBlocks(y, arm, nil, 3)
	if err != nil {
		t.Fatal(err)
	}
	e, err := f.Contrast([]float64{-1, 0, 1}, 0.95)
	d, derr := f.Difference(0, 2, 0.95)
	if err != nil || derr != nil || e != d {
		t.Errorf("%v and %v (%v, %v)", e, d, err, derr)
	}
	e, err = f.Contrast([]float64{-1, -1, 2}, 0.95)
	want := math.Sqrt(Variance(y[:3])/3 + Variance(y[3:6])/3 + 4*Variance(y[6:])/3)
	if err != nil || math.Abs(e.SE-want) > 1e-12 || math.Abs(e.Value-(2*Mean(y[6:])-Mean(y[:3])-Mean(y[3:6]))) > 1e-12 {
		t.Errorf("%+v, want se %v (%v)", e, want, err)
	}
	for _, bad := range [][]float64{{1, -1}, {0, 0, 0}, {1, 1, 1}, {math.NaN(), 1, 0}, {math.Inf(1), -1, 0}} {
		if _, err := f.Contrast(bad, 0.95); !errors.Is(err, ErrRange) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	apart, _ := FitBlocks(y, arm, []int{0, 0, 0, 0, 0, 0, 1, 1, 1}, 3)
	if _, err := apart.Contrast([]float64{-1, 0, 1}, 0.95); !errors.Is(err, ErrAliased) {
		t.Errorf("arms that share no block: %v", err)
	}
}

// Arms of one size have loads of √½ where their spreads are alike; an arm without
// jars has none.
func TestLoads(t *testing.T) {
	y := []float64{1, 2, 4, 1, 2, 4, 1, 2, 4}
	f, err := FitBlocks(y, []int{0, 0, 0, 1, 1, 1, 2, 2, 2}, nil, 4)
	if err != nil {
		t.Fatal(err)
	}
	loads, err := f.Loads(0, []int{1, 2})
	if err != nil || math.Abs(loads[0]*loads[0]-0.5) > 1e-12 || math.Abs(loads[1]*loads[1]-0.5) > 1e-12 {
		t.Errorf("%v, %v", loads, err)
	}
	if _, err := f.Loads(0, []int{1, 3}); !errors.Is(err, ErrAliased) {
		t.Errorf("an arm without jars: %v", err)
	}
}
