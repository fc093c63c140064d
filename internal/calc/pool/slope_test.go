package pool

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

var tired = []Reading{
	{0, 2.75, 0.05, 1},
	{1, 2.72, 0.06, 1},
	{2, 2.55, 0.05, 2},
	{3, 2.51, 0.07, 2},
	{3, 2.40, 0.06, 3},
	{4, 2.22, 0.08, 4},
}

// dense is the same posterior by whole matrices, with a vague prior in place
// of the unknown mean: another road to the same mean and deviation.
func dense(prior Prior, readings []Reading) (mean, sd float64) {
	n := len(readings)
	total, first, second := 0.0, 0.0, 0.0
	for k := range 600 {
		tau := 7 * prior.Between * (float64(k) + 0.5) / 600 // beyond lies 1e-12 of the prior
		v := mat.NewSymDense(n, nil)
		y, x := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
		for i, a := range readings {
			y.SetVec(i, a.Estimate)
			x.SetVec(i, a.X)
			for j, b := range readings[:i+1] {
				c := 1e6 + prior.Mean*prior.Mean*a.X*b.X
				if a.Batch == b.Batch {
					c += tau * tau / 2
				}
				if i == j {
					c += a.SE*a.SE + tau*tau/2
				}
				v.SetSym(i, j, c)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(v) {
			panic("not positive definite")
		}
		var solved mat.VecDense
		if err := chol.SolveVecTo(&solved, y); err != nil {
			panic(err)
		}
		var solvedX mat.VecDense
		if err := chol.SolveVecTo(&solvedX, x); err != nil {
			panic(err)
		}
		s2 := prior.Mean * prior.Mean
		b := s2 * mat.Dot(x, &solved)
		variance := s2 - s2*s2*mat.Dot(x, &solvedX)
		w := math.Exp(-tau*tau/(2*prior.Between*prior.Between) - 0.5*chol.LogDet() - 0.5*mat.Dot(y, &solved) + 20)
		total, first, second = total+w, first+w*b, second+w*(variance+b*b)
	}
	mean = first / total
	return mean, math.Sqrt(second/total - mean*mean)
}

func moments(b Belief) (mean, sd float64) {
	mean = b.Mean()
	second := 0.0
	for _, p := range b.parts {
		second += p.weight * (p.sd*p.sd + p.mean*p.mean)
	}
	return mean, math.Sqrt(second - mean*mean)
}

func TestSlopeByWholeMatrices(t *testing.T) {
	for _, prior := range []Prior{{0.15, 0.2}, {0.5, 0.05}, {1, 1}} {
		got, err := Slope(prior, tired)
		if err != nil {
			t.Fatal(err)
		}
		mean, sd := moments(got.Step())
		wantMean, wantSD := dense(prior, tired)
		// The vague prior of the check has a variance of 1e6, and its rule has
		// half as many nodes: each is good to about 1e-6.
		if math.Abs(mean-wantMean) > 1e-5 || math.Abs(sd-wantSD) > 1e-5 {
			t.Errorf("prior %v: slope %.7f ± %.7f, want %.7f ± %.7f", prior, mean, sd, wantMean, wantSD)
		}
	}
}

// Another unit of the outcome or another year to count from changes nothing;
// what shares a batch with nothing else than its like says nothing of a slope.
func TestSlopeLaws(t *testing.T) {
	base, err := Slope(Prior{0.15, 0.2}, tired)
	if err != nil {
		t.Fatal(err)
	}
	want, wantSD := moments(base.Step())
	shifted := make([]Reading, len(tired))
	for i, r := range tired {
		shifted[i] = Reading{r.X + 2020, r.Estimate + 6.9, r.SE, 100 - r.Batch}
	}
	moved, err := Slope(Prior{0.15, 0.2}, shifted)
	if err != nil {
		t.Fatal(err)
	}
	// Sums of squares of years about 2020 lose seven digits.
	if got, sd := moments(moved.Step()); math.Abs(got-want) > 1e-6 || math.Abs(sd-wantSD) > 1e-6 {
		t.Errorf("after a shift the slope is %g ± %g, not %g ± %g", got, sd, want, wantSD)
	}
	flipped := make([]Reading, len(tired))
	for i, r := range tired {
		flipped[i] = Reading{-r.X, r.Estimate, r.SE, r.Batch}
	}
	mirror, err := Slope(Prior{0.15, 0.2}, flipped)
	if err != nil {
		t.Fatal(err)
	}
	if got := mirror.Step().Mean(); math.Abs(got+want) > 1e-12 {
		t.Errorf("mirrored it is %g, not %g", got, -want)
	}
	if want >= 0 || base.Step().Above(0) > 0.05 {
		t.Errorf("readings that fall give %g, above 0 with %g", want, base.Step().Above(0))
	}
}

func TestSlopeNeedsThree(t *testing.T) {
	for _, c := range []struct {
		readings []Reading
		want     error
	}{
		{tired[:2], ErrFew},
		{[]Reading{{0, 1, 0.1, 1}, {0, 1.1, 0.1, 2}, {1, 0.4, 0.1, 3}, {1, 0.5, 0.1, 4}}, ErrFew},
		{[]Reading{{0, 1, 0, 1}, {1, 1, 1, 1}, {2, 1, 1, 1}}, ErrRange},
		{[]Reading{{0, math.NaN(), 1, 1}, {1, 1, 1, 1}, {2, 1, 1, 1}}, ErrRange},
		{[]Reading{{math.Inf(1), 1, 1, 1}, {1, 1, 1, 1}, {2, 1, 1, 1}}, ErrRange},
	} {
		if _, err := Slope(Prior{0.15, 0.2}, c.readings); !errors.Is(err, c.want) {
			t.Errorf("%v: %v, want %v", c.readings, err, c.want)
		}
	}
	if _, err := Slope(Prior{0.15, 0.2}, tired[1:4]); err != nil {
		t.Errorf("three readings at three X: %v", err)
	}
}

// Where slopes and spreads are as the prior says, intervals of 95 % hold the
// true slope 95 times of 100: 1000 lines, Monte Carlo error 0.7 %.
func TestSlopeCovers(t *testing.T) {
	prior := Prior{0.15, 0.2}
	r := rand.New(rand.NewPCG(7, 2026))
	held := 0
	const lines = 1000
	for range lines {
		b, tau := prior.Mean*r.NormFloat64(), math.Abs(prior.Between*r.NormFloat64())
		var readings []Reading
		for batch := range 4 {
			u := tau / math.Sqrt2 * r.NormFloat64()
			for k := range 2 {
				x, se := float64(batch+k), 0.05+0.1*r.Float64()
				readings = append(readings, Reading{x, 2.5 + b*x + u + tau/math.Sqrt2*r.NormFloat64() + se*r.NormFloat64(), se, batch})
			}
		}
		got, err := Slope(prior, readings)
		if err != nil {
			t.Fatal(err)
		}
		if low, high := got.Step().Interval(0.95); low <= b && b <= high {
			held++
		}
	}
	if share := float64(held) / lines; math.Abs(share-0.95) > 3*0.007 {
		t.Errorf("%g of the intervals hold the slope", share)
	}
}

func BenchmarkSlope40(b *testing.B) {
	var readings []Reading
	for i := range 40 {
		readings = append(readings, Reading{float64(i % 6), 2.5 - 0.05*float64(i%6) + 0.01*float64(i%7), 0.08, i / 3})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Slope(Prior{0.15, 0.2}, readings); err != nil {
			b.Fatal(err)
		}
	}
}
