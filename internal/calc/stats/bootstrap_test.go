package stats

import (
	"errors"
	"math"
	"testing"
)

// Reference: R 4.2.2 boot, five runs of 40000 on the invented set of 30 and 30: mean of
// the limits 2.6390 and 26.5133, between runs 0.0918 and 0.0731; acceleration
// 0.008338029652. Ours has 40000 draws, so four of those deviations are allowed.
func TestBootstrapAgainstR(t *testing.T) {
	a, b := trialL(t)
	near(t, "acceleration", math.Abs(acceleration(a, b)), 0.008338029652, 1e-8)
	_, low, high, err := Bootstrap(a, b, 0.95, 40000, 1)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "low", low, 2.639010322, 4*0.0918)
	within(t, "high", high, 26.51330925, 4*0.0731)
	_, back, forth, _ := Bootstrap(b, a, 0.95, 40000, 1)
	within(t, "turned about, low", back, -26.51330925, 4*0.0731)
	within(t, "turned about, high", forth, -2.639010322, 4*0.0918)
	if _, again, _, _ := Bootstrap(a, b, 0.95, 40000, 1); again != low {
		t.Errorf("the same seed gives %g, then %g", low, again)
	}
}

func TestBootstrapRefuses(t *testing.T) {
	x := make([]float64, 15)
	for i := range x {
		x[i] = float64(i)
	}
	bad := append([]float64{math.NaN()}, x[1:]...)
	for name, c := range map[string]struct {
		a, b  []float64
		draws int
		want  error
	}{
		"fourteen":     {x[1:], x, 1000, ErrFew},
		"all alike":    {make([]float64, 15), make([]float64, 15), 1000, ErrFlat},
		"not a number": {bad, x, 1000, ErrRange},
		"few draws":    {x, x, 10, ErrRange},
	} {
		if _, _, _, err := Bootstrap(c.a, c.b, 0.95, c.draws, 1); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

func BenchmarkBootstrap(b *testing.B) {
	x, y := trialL(b)
	var low, high float64
	for b.Loop() {
		_, low, high, _ = Bootstrap(x, y, 0.95, 100_000, 1)
	}
	b.ReportMetric(low, "low")
	b.ReportMetric(high, "high")
}
