package stats

import (
	"fmt"
	"math"
	"slices"
)

// maxGroup bounds the groups of the unconditional tests.
const maxGroup = 1000

// Boschloo returns the exact unconditional two-sided p that the shares x1 of n1
// and x2 of n2 differ. Tables are ordered by Fisher's two-sided p; the chance of
// a table at least as extreme is taken at the common share that makes it largest.
// It is never above Fisher's p. To an absolute 1e-9.
//
// ErrFew if a group is empty; ErrRange unless 0 <= x <= n <= 1000.
//
// Source: Boschloo, Statistica Neerlandica 24 (1970) 1-35. Twice the smaller
// one-sided p, as some software has it, is another test.
func Boschloo(x1, n1, x2, n2 int) (p float64, err error) {
	if err := pair(x1, n1, x2, n2); err != nil {
		return 0, err
	}
	if max(n1, n2) > maxGroup {
		return 0, fmt.Errorf("stats: groups of %d and %d, at most %d: %w", n1, n2, maxGroup, ErrRange)
	}
	t := newFisherTables(n1, n2)
	seen := t.p[x1+x2][x1-t.low(x1+x2)]
	return math.Min(1, t.worst(seen)), nil
}

// fisherTables holds, by total m in the first column, the probabilities and
// Fisher p of all tables with groups n1 and n2.
type fisherTables struct {
	n1, n2  int
	prob, p [][]float64
}

func (t fisherTables) low(m int) int { return max(0, m-t.n2) }

func newFisherTables(n1, n2 int) fisherTables {
	t := fisherTables{n1: n1, n2: n2}
	for m := range n1 + n2 + 1 {
		prob, _ := hypergeometric(n1, n2, m)
		t.prob, t.p = append(t.prob, prob), append(t.p, fisherPs(prob))
	}
	return t
}

// fisherPs returns Fisher's two-sided p of each table of a hypergeometric.
func fisherPs(prob []float64) []float64 {
	order := make([]int, len(prob))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case prob[i] < prob[j]:
			return -1
		case prob[i] > prob[j]:
			return 1
		}
		return 0
	})
	p := make([]float64, len(prob))
	var sum total
	upTo := 0
	for _, i := range order {
		for upTo < len(order) && prob[order[upTo]] <= prob[i]*(1+probTie) {
			sum.add(prob[order[upTo]])
			upTo++
		}
		p[i] = math.Min(1, sum.value())
	}
	return p
}

// worst returns the greatest chance, over the common share, of a table whose
// Fisher p is bar or less.
func (t fisherTables) worst(bar float64) float64 {
	n := t.n1 + t.n2
	part := make([]float64, n+1) // chance of rejection given the total m
	for m, ps := range t.p {
		for i, p := range ps {
			if p <= bar*(1+probTie) {
				part[m] += t.prob[m][i]
			}
		}
	}
	logs := make([]float64, n+1)
	for m := range logs {
		logs[m] = logChoose(n, m)
	}
	chance := func(angle float64) float64 { return mixture(part, logs, angle) }
	return highest(chance, 0, math.Pi/2, 200+20*int(math.Sqrt(float64(n))))
}

// mixture returns Σ part[m] P(M = m) for M binomial with the share sin²(angle); in
// the angle the binomial is about equally wide everywhere.
func mixture(part, logs []float64, angle float64) float64 {
	n := len(part) - 1
	ls, lc := 2*math.Log(math.Sin(angle)), 2*math.Log(math.Cos(angle))
	var sum total
	for m, w := range part {
		if w == 0 {
			continue
		}
		e := logs[m]
		if m > 0 {
			e += float64(m) * ls
		}
		if m < n {
			e += float64(n-m) * lc
		}
		sum.add(w * math.Exp(e))
	}
	return sum.value()
}

// highest returns the maximum of f between low and high: the best of a grid, then
// golden sections about every peak that comes within 1 % of it.
func highest(f func(float64) float64, low, high float64, steps int) float64 {
	y := make([]float64, steps+1)
	at := func(i int) float64 { return low + (high-low)*float64(i)/float64(steps) }
	for i := range y {
		y[i] = f(at(i))
	}
	best := slices.Max(y)
	bar := 0.99 * best
	for i, v := range y {
		peak := (i == 0 || y[i-1] <= v) && (i == steps || y[i+1] <= v)
		if v >= bar && peak {
			best = math.Max(best, golden(f, at(max(0, i-1)), at(min(steps, i+1))))
		}
	}
	return best
}

// golden returns the maximum of f, with one peak between a and b.
func golden(f func(float64) float64, a, b float64) float64 {
	const ratio = 0.6180339887498949
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 1e-9 {
		if fc >= fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return math.Max(fc, fd)
}

// PowerFisher returns the chance that Fisher's p is alpha or less for groups of
// n1 and n2 with true shares p1 and p2.
//
// ErrFew if a group is empty; ErrRange unless 0 <= p1, p2 <= 1, 0 < alpha < 1 and
// n1, n2 <= 1000.
func PowerFisher(n1, n2 int, p1, p2, alpha float64) (float64, error) {
	if err := sharePlan(n1, n2, p1, p2, alpha); err != nil {
		return 0, err
	}
	t := newFisherTables(n1, n2)
	return t.power(p1, p2, alpha), nil
}

// PowerBoschloo is PowerFisher for Boschloo's test.
func PowerBoschloo(n1, n2 int, p1, p2, alpha float64) (float64, error) {
	if err := sharePlan(n1, n2, p1, p2, alpha); err != nil {
		return 0, err
	}
	t := newFisherTables(n1, n2)
	bar, ok := t.critical(alpha)
	if !ok {
		return 0, nil
	}
	return t.power(p1, p2, bar), nil
}

func sharePlan(n1, n2 int, p1, p2, alpha float64) error {
	if err := pair(0, n1, 0, n2); err != nil {
		return err
	}
	if !(p1 >= 0 && p1 <= 1 && p2 >= 0 && p2 <= 1) || max(n1, n2) > maxGroup {
		return fmt.Errorf("stats: shares %g and %g, groups %d and %d: %w", p1, p2, n1, n2, ErrRange)
	}
	return inside(alpha)
}

// critical returns the greatest Fisher p at which Boschloo's p is alpha or less;
// ok is false if there is none.
func (t fisherTables) critical(alpha float64) (bar float64, ok bool) {
	var ps []float64
	for _, p := range t.p {
		ps = append(ps, p...)
	}
	slices.Sort(ps)
	// Boschloo's p grows with Fisher's: search the last that still passes.
	i, _ := slices.BinarySearchFunc(ps, alpha, func(p, alpha float64) int {
		if t.worst(p) <= alpha {
			return -1
		}
		return 1
	})
	if i == 0 {
		return 0, false
	}
	return ps[i-1], true
}

// power returns the chance of a table whose Fisher p is bar or less.
func (t fisherTables) power(p1, p2, bar float64) float64 {
	b1, b2 := binomials(t.n1, p1), binomials(t.n2, p2)
	var sum total
	for m, ps := range t.p {
		for i, p := range ps {
			if p <= bar*(1+probTie) {
				x := t.low(m) + i
				sum.add(b1[x] * b2[m-x])
			}
		}
	}
	return math.Min(1, sum.value())
}

// binomials returns P(X = 0), …, P(X = n) for n trials with chance p.
func binomials(n int, p float64) []float64 {
	out := make([]float64, n+1)
	for x := range out {
		e := logChoose(n, x)
		if x > 0 {
			e += float64(x) * math.Log(p)
		}
		if x < n {
			e += float64(n-x) * math.Log1p(-p)
		}
		out[x] = math.Exp(e)
	}
	return out
}
