package stats

import (
	"fmt"
	"math"
)

// counts returns ErrRange unless 0 <= x <= n, and ErrFew for n = 0.
func counts(x, n int) error {
	if n == 0 {
		return fmt.Errorf("stats: %d of %d: %w", x, n, ErrFew)
	}
	if x < 0 || x > n {
		return fmt.Errorf("stats: %d of %d is no count: %w", x, n, ErrRange)
	}
	return nil
}

// Wilson returns the score interval of a share of x in n, both ends within 0..1.
//
// ErrFew for n = 0; ErrRange unless 0 <= x <= n and 0 < level < 1.
//
// Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212.
func Wilson(x, n int, level float64) (low, high float64, err error) {
	if err := counts(x, n); err != nil {
		return 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, err
	}
	low, high = wilson(x, n, NormalQuantile((1+level)/2))
	return low, high, nil
}

func wilson(x, n int, z float64) (low, high float64) {
	m, p := float64(n), float64(x)/float64(n)
	centre := p + z*z/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	scale := 1 + z*z/m
	low, high = (centre-half)/scale, (centre+half)/scale
	if x == 0 { // exactly, not by rounding
		low = 0
	}
	if x == n {
		high = 1
	}
	return low, high
}

// Newcombe returns x1/n1 - x2/n2 with its hybrid score interval.
//
// ErrFew if a group is empty; ErrRange unless 0 <= x <= n and 0 < level < 1.
//
// Source: Newcombe, Statistics in Medicine 17 (1998) 873-890, method 10.
func Newcombe(x1, n1, x2, n2 int, level float64) (diff, low, high float64, err error) {
	if err := pair(x1, n1, x2, n2); err != nil {
		return 0, 0, 0, err
	}
	if err := inside(level); err != nil {
		return 0, 0, 0, err
	}
	z := NormalQuantile((1 + level) / 2)
	p1, p2 := float64(x1)/float64(n1), float64(x2)/float64(n2)
	l1, u1 := wilson(x1, n1, z)
	l2, u2 := wilson(x2, n2, z)
	diff = p1 - p2
	return diff, diff - math.Hypot(p1-l1, u2-p2), diff + math.Hypot(u1-p1, p2-l2), nil
}

func pair(x1, n1, x2, n2 int) error {
	if err := counts(x1, n1); err != nil {
		return err
	}
	return counts(x2, n2)
}
