package thermal

import (
	"math"
	"testing"
)

// The series solutions of a slab and a long cylinder with a film, for the
// tests of the finite volumes: zeta tan zeta = Bi, and zeta J1/J0 = Bi.

// roots returns the first n roots of f, which grows through zero once in
// each interval that begin gives.
func roots(n int, f func(z float64) float64, begin func(i int) (lo, hi float64)) []float64 {
	out := []float64{}
	for i := range n {
		lo, hi := begin(i)
		for range 200 {
			mid := (lo + hi) / 2
			if f(mid) > 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
		out = append(out, (lo+hi)/2)
	}
	return out
}

func slabRoots(bi float64, n int) []float64 {
	return roots(n, func(z float64) float64 {
		s := z*math.Sin(z) - bi*math.Cos(z) // the sign turns with each branch
		if int(math.Floor(z/math.Pi+1e-12))%2 == 1 {
			return -s
		}
		return s
	}, func(i int) (float64, float64) { return math.Pi * float64(i), math.Pi * (float64(i) + 0.5) })
}

func cylinderRoots(bi float64, n int) []float64 {
	f := func(z float64) float64 { return z*math.J1(z) - bi*math.J0(z) }
	out := []float64{}
	last := f(1e-9)
	for z := 0.001; len(out) < n; z += 0.01 {
		now := f(z)
		if (now > 0) != (last > 0) {
			lo, hi := z-0.01, z
			for range 100 {
				mid := (lo + hi) / 2
				if (f(mid) > 0) == (last > 0) {
					lo = mid
				} else {
					hi = mid
				}
			}
			out = append(out, (lo+hi)/2)
		}
		last = now
	}
	return out
}

// slabTheta is the dimensionless excess at x/L.
func slabTheta(bi, fo, x float64) float64 {
	sum := 0.0
	for _, z := range slabRoots(bi, 30) {
		sum += 4 * math.Sin(z) / (2*z + math.Sin(2*z)) * math.Exp(-z*z*fo) * math.Cos(z*x)
	}
	return sum
}

// cylinderTheta is the dimensionless excess at r/R.
func cylinderTheta(bi, fo, r float64) float64 {
	sum := 0.0
	for _, z := range cylinderRoots(bi, 30) {
		j0, j1 := math.J0(z), math.J1(z)
		sum += 2 * j1 / (z * (j0*j0 + j1*j1)) * math.Exp(-z*z*fo) * math.J0(z*r)
	}
	return sum
}

// Published: textbook tables of the first root print four digits; computed by
// other hands to six.
func TestSeriesRoots(t *testing.T) {
	for i, want := range []float64{1.428870, 4.305801, 7.228110, 10.200263, 13.214186, 16.259361} {
		near(t, "slab root", slabRoots(10, 6)[i], want, 1e-6)
	}
	for i, want := range []float64{2.179497, 5.033212, 7.956883, 10.936330, 13.958030, 17.009878} {
		near(t, "cylinder root", cylinderRoots(10, 6)[i], want, 1e-6)
	}
	for _, c := range []struct{ bi, slab, cylinder float64 }{{0.1, 0.311053, 0.441682}, {1, 0.860334, 1.255784}, {100, 1.555245, 2.380902}} {
		near(t, "slab", slabRoots(c.bi, 1)[0], c.slab, 1e-6)
		near(t, "cylinder", cylinderRoots(c.bi, 1)[0], c.cylinder, 1e-6)
	}
}
