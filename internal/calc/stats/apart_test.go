package stats

import (
	"errors"
	"math/rand/v2"
	"testing"
)

// Reference: generalised inverses in R 4.2.2 (MASS::ginv), scripts/12_design_joint.R.
// Among the layouts are some whose arms can not be told from one factor, or from two
// together while they can from each alone. 1e-12 is the rounding of a dozen sweeps.
func TestTellApart(t *testing.T) {
	ref := reference(t, "design_joint")
	var cases []struct {
		Seed, Arms, Lost int
		Arm              []int
		Factors          [][]int
		Pairs            []struct {
			X, Y       int
			Efficiency float64
		}
	}
	read(t, ref, "cases", &cases)
	none := 0
	for _, c := range cases {
		a, err := TellApart(c.Arm, c.Factors, nil, c.Arms)
		if err != nil {
			t.Fatal(err)
		}
		if a.Lost() != c.Lost {
			t.Errorf("layout %d: the factors take %d degrees of freedom, want %d", c.Seed, a.Lost(), c.Lost)
		}
		for _, p := range c.Pairs {
			got := a.Efficiency(p.X, p.Y)
			within(t, "efficiency", got, p.Efficiency, 1e-12)
			if (got == 0) != (p.Efficiency == 0) {
				t.Errorf("layout %d, arms %d and %d: efficiency %g, want %g", c.Seed, p.X, p.Y, got, p.Efficiency)
			}
			if got == 0 {
				none++
			}
		}
	}
	if len(cases) < 8 || none < 2 {
		t.Errorf("%d layouts, %d of their pairs not to be told apart", len(cases), none)
	}
}

// With one factor it is the efficiency of the fit within blocks.
func TestTellApartOneFactor(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 50 {
		n, arms := 6+rng.IntN(30), 2+rng.IntN(4)
		arm, block, y := make([]int, n), make([]int, n), make([]float64, n)
		for i := range arm {
			arm[i], block[i] = rng.IntN(arms), rng.IntN(5)
		}
		f, err := FitBlocks(y, arm, block, arms)
		if err != nil {
			t.Fatal(err)
		}
		a, err := TellApart(arm, [][]int{block}, nil, arms)
		if err != nil {
			t.Fatal(err)
		}
		for x := range arms {
			for y := range x {
				within(t, "efficiency", a.Efficiency(x, y), f.Efficiency(x, y), 1e-10)
			}
		}
	}
}

// Published: a Youden square of 7 arms in 3 rows and 7 columns has the efficiency
// λt/(rk) = 1·7/(3·3) of its balanced incomplete columns, for the rows hold every
// arm once. Source: John and Williams (1995), 1.2 and 1.5.
func TestTellApartYoudenSquare(t *testing.T) {
	var arm, row, column []int
	for c := range 7 {
		for r, at := range []int{0, 1, 3} { // a difference set modulo 7
			arm, row, column = append(arm, (c+at)%7), append(row, r), append(column, c)
		}
	}
	a, err := TellApart(arm, [][]int{row, column}, nil, 7)
	if err != nil {
		t.Fatal(err)
	}
	for x := range 7 {
		for y := range x {
			within(t, "efficiency of the square", a.Efficiency(x, y), 7.0/9, 1e-12)
		}
	}
	if a.Lost() != 8 {
		t.Errorf("rows and columns take %d degrees of freedom, want 2 + 6", a.Lost())
	}
}

// An entry that stands for three jars is three entries.
func TestTellApartCounts(t *testing.T) {
	arm, block := []int{0, 1, 0, 1}, [][]int{{0, 0, 1, 1}}
	a, err := TellApart(arm, block, []int{5, 1, 1, 5}, 2)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "5 and 1 against 1 and 5", a.Efficiency(0, 1), 5.0/9, 1e-12) // R: scripts/12_design.R, aligned_5_1
}

func TestTellApartEdges(t *testing.T) {
	a, err := TellApart([]int{0, 1, 0, 1}, nil, nil, 3)
	if err != nil || a.Efficiency(0, 1) != 1 || a.Efficiency(0, 2) != 0 || a.Efficiency(1, 1) != 0 || a.Efficiency(0, 3) != 0 || a.Lost() != 0 {
		t.Errorf("without factors: %v, %v", a, err)
	}
	a, err = TellApart([]int{0, 0, 1, 1}, [][]int{{-1, -1, 0, 0}}, nil, 2)
	if err != nil || a.Efficiency(0, 1) != 0 {
		t.Error("a level known of one arm only is a level of its own")
	}
	for name, f := range map[string]func() error{
		"no jars":      func() error { _, err := TellApart(nil, nil, nil, 2); return err },
		"arm code":     func() error { _, err := TellApart([]int{0, 2}, nil, nil, 2); return err },
		"length":       func() error { _, err := TellApart([]int{0, 1}, [][]int{{0}}, nil, 2); return err },
		"counts":       func() error { _, err := TellApart([]int{0, 1}, nil, []int{1}, 2); return err },
		"below 0":      func() error { _, err := TellApart([]int{0, 1}, nil, []int{1, -1}, 2); return err },
		"level beyond": func() error { _, err := TellApart([]int{0, 1}, [][]int{{0, 1 << 40}}, nil, 2); return err },
	} {
		if err := f(); !errors.Is(err, ErrRange) && !errors.Is(err, ErrFew) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
