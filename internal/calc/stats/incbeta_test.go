package stats

import (
	"math"
	"math/big"
	"testing"
)

// Reference: the definition, with the factorial exact. The last coefficient of the
// series, 1/1188, is below what this can feel.
func TestStirling(t *testing.T) {
	for _, z := range []int64{1, 5, 15, 16, 17, 20, 40, 170} {
		f, _ := new(big.Float).SetInt(new(big.Int).MulRange(1, z)).Float64()
		x := float64(z)
		want := math.Log(f) - (x+0.5)*math.Log(x) + x - math.Log(2*math.Pi)/2
		within(t, "log z! less Stirling", stirling(x), want, 3e-16*math.Log(f)+1e-15)
	}
	// Where the two ways meet they agree.
	v, _ := math.Lgamma(17)
	within(t, "series at 16", stirling(16), v-16.5*math.Log(16)+16-math.Log(2*math.Pi)/2, 2e-14)
}

// Reference: the Taylor series of (1+u)log(1+u) - u.
func TestDeviance(t *testing.T) {
	for _, u := range []float64{1e-9, -1e-6, 1e-3, -0.02, 0.05} {
		var want, power float64 = 0, u
		for k := 2.0; k < 40; k++ {
			power *= -u
			want -= power / (k * (k - 1))
		}
		near(t, "deviance", deviance(1+u, 1), want, 1e-7*1e-7/math.Abs(u)+4e-15) // 1+u is rounded
		near(t, "scaled", deviance(1e6*(1+u), 1e6), 1e6*want, 1e-7*1e-7/math.Abs(u)+4e-15)
	}
	near(t, "far", deviance(5, 1), 5*math.Log(5)-4, 1e-14)
}

// Closed forms: I_x(1, b) = 1-(1-x)^b, I_x(a, 1) = x^a; DLMF 8.17.
func TestIncBeta(t *testing.T) {
	for _, x := range []float64{1e-12, 0.01, 0.3, 0.5, 0.9, 1 - 1e-9} {
		for _, c := range []float64{0.5, 1, 3, 40} {
			near(t, "a = 1", incBeta(1, c, x, 1-x), -math.Expm1(c*math.Log1p(-x)), 1e-12)
			near(t, "b = 1", incBeta(c, 1, x, 1-x), math.Pow(x, c), 1e-12)
		}
		near(t, "halves", incBeta(0.5, 0.5, x, 1-x), 2/math.Pi*math.Atan2(math.Sqrt(x), math.Sqrt(1-x)), 1e-12)
		within(t, "mirror", incBeta(7, 2.5, x, 1-x), 1-incBeta(2.5, 7, 1-x, x), 1e-14)
	}
	if incBeta(2, 3, 0, 1) != 0 || incBeta(2, 3, 1, 0) != 1 {
		t.Error("ends of the incomplete beta")
	}
}
