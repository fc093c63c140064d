package stats

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

func TestMeansMatchDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, arm, block := layout(t, 3, 4)
		f, err := FitBlocks(y, arm, block, 3)
		if err != nil {
			t.Fatal(err)
		}
		d, err := f.Difference(0, 2, 0.95)
		if err != nil {
			return
		}
		mc, ma, vc, va, cov, err := f.PairMeans(0, 2)
		if err != nil {
			return
		}
		alike(t, "means", mc-ma, d.Value, 1e-9)
		alike(t, "variance", vc+va-2*cov, d.SE*d.SE, 1e-8)
		mean, all, err := f.Means()
		if err != nil {
			return
		}
		alike(t, "mean", mean[2], mc, 1e-12)
		alike(t, "cov", all[0][2], cov, 1e-12)
	})
}

// Without blocks the means are the plain means with their own variances.
func TestMeansWithoutBlocks(t *testing.T) {
	a, b := []float64{1, 4, 5, 9}, []float64{2, 2, 7}
	y, arm := together(a, b)
	f, err := FitBlocks(y, arm, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	mean, cov, err := f.Means()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean a", mean[0], Mean(a), 1e-14)
	near(t, "mean b", mean[1], Mean(b), 1e-14)
	near(t, "variance a", cov[0][0], Variance(a)/4, 1e-13)
	near(t, "variance b", cov[1][1], Variance(b)/3, 1e-13)
	within(t, "covariance", cov[0][1], 0, 1e-13)
}

// Means leave out a jar alone in its block too.
func TestMeansOfIdleJars(t *testing.T) {
	y, arm, block := trial(t, "trialA_balanced")
	f, err := FitBlocks(y, arm, block, 2)
	if err != nil {
		t.Fatal(err)
	}
	mean, cov, err := f.Means()
	if err != nil {
		t.Fatal(err)
	}
	f, err = FitBlocks(append(y, 500), append(arm, 1), append(block, 9), 2)
	if err != nil {
		t.Fatal(err)
	}
	again, more, err := f.Means()
	if err != nil {
		t.Fatal(err)
	}
	for g := range mean {
		near(t, "mean", again[g], mean[g], 1e-13)
		near(t, "variance", more[g][g], cov[g][g], 1e-12)
	}
	// Arms with nothing but such jars have no mean that could be told.
	f, err = FitBlocks([]float64{1, 2}, []int{0, 1}, []int{0, 1}, 2)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := f.Means(); !errors.Is(err, ErrFew) {
		t.Errorf("lone jars: %v", err)
	}
	if _, _, _, _, _, err := f.PairMeans(0, 1); !errors.Is(err, ErrAliased) {
		t.Errorf("lone jars, a pair: %v", err)
	}
}
