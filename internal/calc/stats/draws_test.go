package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Reference: the counted p, R 4.2.2 and exactRankTests; four Monte-Carlo standard
// errors.
func TestPermutationDraws(t *testing.T) {
	const draws = 200_000
	a, b := trialL(t)
	y, arm := together(a, b)
	p, err := PermutationDraws(y, arm, nil, draws, 5)
	if err != nil {
		t.Fatal(err)
	}
	const exact = 0.0257780022991119
	within(t, "2x30 (seed 5)", p, exact, 4*math.Sqrt(exact*(1-exact)/draws))
	if again, _ := PermutationDraws(y, arm, nil, draws, 5); again != p {
		t.Errorf("the same seed gave %g and %g", p, again)
	}
	if other, _ := PermutationDraws(y, arm, nil, draws, 6); other == p {
		t.Errorf("two seeds gave %g", p)
	}
	y, arm, block := trial(t, "trialA_balanced")
	p, err = PermutationDraws(y, arm, block, draws, 5)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "inside layers (seed 5)", p, 0.025, 4*math.Sqrt(0.025*0.975/draws))
}

// Every choice of 3 of 7 comes up equally often: 35 kinds, chi-squared far below its
// 1 in 10^6 point, 88.6 for 34 degrees of freedom.
func TestDrawSumIsFair(t *testing.T) {
	const draws = 70_000
	values := []float64{1, 2, 4, 8, 16, 32, 64}
	counts := map[float64]int{}
	source := rand.NewPCG(3, 3)
	for range draws {
		counts[drawSum(values, 3, source)]++
	}
	var chi float64
	for s := 7.0; s <= 112; s++ {
		if n, ok := counts[s]; ok {
			d := float64(n) - draws/35
			chi += d * d / (draws / 35)
		}
	}
	if len(counts) != 35 || chi > 88.6 {
		t.Errorf("%d kinds, chi-squared %.1f", len(counts), chi)
	}
}

func TestPermutationDrawsRefusals(t *testing.T) {
	if p, err := PermutationDraws([]float64{1, 2}, []int{0, 1}, nil, 0, 1); err != nil || p != 1 {
		t.Errorf("no draws: %g, %v", p, err)
	}
	if p, err := PermutationDraws([]float64{2, 2, 2}, []int{0, 1, 1}, nil, 50, 1); err != nil || p != 1 {
		t.Errorf("all equal: %g, %v", p, err)
	}
	if _, err := PermutationDraws([]float64{1, 2}, []int{0, 1}, nil, -1, 1); !errors.Is(err, ErrRange) {
		t.Errorf("draws below 0: %v", err)
	}
	if _, err := PermutationDraws([]float64{1, 2}, []int{0, 0}, nil, 9, 1); !errors.Is(err, ErrFew) {
		t.Errorf("one arm: %v", err)
	}
}
