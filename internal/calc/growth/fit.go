package growth

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"pinset/internal/calc/stats"
)

// Curve is a model of y by x with its derivatives.
type Curve struct {
	Name string
	// At returns the value at x for the parameters b, and fills slope, as long as
	// b, with its derivatives by them.
	At func(x float64, b, slope []float64) float64
}

// Errors of this package.
var (
	// ErrFew says that there are no more readings than parameters.
	ErrFew = errors.New("too few readings")
	// ErrRange says that a reading is no number.
	ErrRange = errors.New("reading out of range")
	// ErrSettle says that no best curve was found: the readings do not hold one.
	ErrSettle = errors.New("the readings hold no such curve")
)

// Fit is a curve fitted by least squares.
type Fit struct {
	B, SE []float64 // parameters and their standard errors
	RSS   float64
	DF    int

	curve Curve
	x, y  []float64
}

// Least returns the curve with the least sum of squares, from start.
//
// ErrFew, ErrRange, ErrSettle.
//
// Source: Levenberg, Quart. Appl. Math. 2 (1944) 164; Marquardt, SIAM J. Appl.
// Math. 11 (1963) 431, with the largest column norms so far as scale (Moré
// 1978), each step by QR; then Gauss-Newton steps without damping.
func Least(curve Curve, x, y, start []float64) (*Fit, error) {
	if len(x) != len(y) || len(x) <= len(start) {
		return nil, fmt.Errorf("growth: %d readings for %d parameters: %w", len(x), len(start), ErrFew)
	}
	for i := range x {
		if math.IsNaN(x[i]+y[i]) || math.IsInf(x[i]+y[i], 0) {
			return nil, fmt.Errorf("growth: reading %g at %g: %w", y[i], x[i], ErrRange)
		}
	}
	s := newSearch(curve, x, y, start, -1)
	if err := s.run(); err != nil {
		return nil, err
	}
	f := &Fit{B: s.b, RSS: s.rss, DF: len(x) - len(start), curve: curve, x: x, y: y}
	return f, f.errors(s)
}

// errors fills the standard errors.
func (f *Fit) errors(s *search) error {
	p := len(f.B)
	var normal, inverse mat.Dense
	scale := make([]float64, p) // columns of one length, so that it can be inverted
	for k := range p {
		scale[k] = mat.Norm(s.slope.ColView(k), 2)
	}
	j := mat.NewDense(len(f.x), p, nil)
	j.Apply(func(_, k int, v float64) float64 { return v / scale[k] }, s.slope)
	normal.Mul(j.T(), j)
	if err := inverse.Inverse(&normal); err != nil {
		return fmt.Errorf("growth: %s: %w", f.curve.Name, ErrSettle)
	}
	f.SE = make([]float64, p)
	for k := range p {
		f.SE[k] = math.Sqrt(inverse.At(k, k)*f.RSS/float64(f.DF)) / scale[k]
	}
	return nil
}

// search is a fit as it goes. One parameter may be held.
type search struct {
	curve Curve
	x, y  []float64
	b     []float64
	free  []int
	rss   float64
	goal  float64       // a sum of squares that is low enough, −Inf for the least
	left  *mat.VecDense // y − curve
	slope *mat.Dense    // by the free parameters
	next  []float64
	grad  []float64
}

func newSearch(curve Curve, x, y, start []float64, held int) *search {
	s := &search{curve: curve, x: x, y: y, b: append([]float64(nil), start...), goal: math.Inf(-1), next: make([]float64, len(start)), grad: make([]float64, len(start))}
	for k := range start {
		if k != held {
			s.free = append(s.free, k)
		}
	}
	s.left, s.slope = mat.NewVecDense(len(x), nil), mat.NewDense(len(x), len(s.free), nil)
	return s
}

// look fills left and slope at b and returns the sum of squares.
func (s *search) look(b []float64) float64 {
	sum := 0.0
	for i, x := range s.x {
		e := s.y[i] - s.curve.At(x, b, s.grad)
		s.left.SetVec(i, e)
		for k, j := range s.free {
			s.slope.Set(i, k, s.grad[j])
		}
		sum += e * e
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

// mostSteps is many times what readings take that hold a curve.
const mostSteps = 300

func (s *search) run() error {
	s.rss = s.look(s.b)
	scale := make([]float64, len(s.free))
	damp := 1e-2
	for range mostSteps {
		if s.rss <= s.goal {
			return nil
		}
		for k := range scale {
			scale[k] = math.Max(scale[k], mat.Norm(s.slope.ColView(k), 2))
		}
		step, moved := s.step(damp, scale), 0.0
		rss := math.Inf(1)
		if step != nil {
			moved = s.move(step)
			rss = s.look(s.next)
		}
		if rss <= s.rss {
			rounding := s.rss-rss <= 1e-15*rss && moved < 1e-7
			copy(s.b, s.next)
			s.rss = rss
			damp = math.Max(damp/8, 1e-14)
			if moved < 1e-11 || rounding {
				return s.polish()
			}
			continue
		}
		s.look(s.b)
		if damp *= 4; damp > 1e20 || step != nil && moved < 1e-9 { // a step this small fails by rounding only
			return s.polish()
		}
	}
	return fmt.Errorf("growth: %s: %w", s.curve.Name, ErrSettle)
}

// move writes b + step to next and returns how far that is, relative.
func (s *search) move(step []float64) float64 {
	copy(s.next, s.b)
	far := 0.0
	for k, j := range s.free {
		s.next[j] += step[k]
		far = math.Max(far, math.Abs(step[k])/(math.Abs(s.next[j])+1e-10))
	}
	return far
}

// step returns the damped step, nil if there is none.
func (s *search) step(damp float64, scale []float64) []float64 {
	n, p := len(s.x), len(s.free)
	if p == 0 {
		return nil
	}
	a, b := mat.NewDense(n+p, p, nil), mat.NewVecDense(n+p, nil)
	for i := range n {
		for k := range p {
			a.Set(i, k, s.slope.At(i, k))
		}
		b.SetVec(i, s.left.AtVec(i))
	}
	for k := range p {
		a.Set(n+k, k, math.Sqrt(damp)*math.Max(scale[k], 1e-300))
	}
	var out mat.VecDense
	if err := out.SolveVec(a, b); err != nil {
		var near mat.Condition
		if !errors.As(err, &near) || math.IsInf(float64(near), 1) {
			return nil
		}
	}
	for _, v := range out.RawVector().Data {
		if math.IsNaN(v) {
			return nil
		}
	}
	return out.RawVector().Data
}

// polish takes Gauss-Newton steps without damping while they help, and asks
// whether this is a least at all.
func (s *search) polish() error {
	none := make([]float64, len(s.free))
	moved := 0.0
	for range 8 {
		step := s.step(0, none)
		if step == nil {
			break
		}
		moved = s.move(step)
		rss := s.look(s.next)
		if !(rss <= s.rss*(1+1e-12)) {
			s.look(s.b)
			break
		}
		copy(s.b, s.next)
		if s.rss = rss; moved < 1e-13 {
			break
		}
	}
	if !(moved < 1e-6) || math.IsInf(s.rss, 0) {
		return fmt.Errorf("growth: %s: %w", s.curve.Name, ErrSettle)
	}
	return nil
}

// Profile returns the interval of parameter k at a level: where the sum of
// squares, least over all others, rises as far as a t says. An end that the
// readings leave open is an infinity.
//
// Source: Bates and Watts, Nonlinear Regression Analysis (1988), 6.1.
func (f *Fit) Profile(k int, level float64) (low, high float64) {
	t := stats.TQuantile((1+level)/2, float64(f.DF))
	limit := f.RSS * (1 + t*t/float64(f.DF))
	return f.end(k, -t*f.SE[k], limit), f.end(k, t*f.SE[k], limit)
}

func (f *Fit) end(k int, step, limit float64) float64 {
	from := f.B
	above := func(value float64) bool {
		start := append([]float64(nil), from...)
		start[k] = value
		s := newSearch(f.curve, f.x, f.y, start, k)
		s.goal = limit
		if s.run() != nil || s.rss > limit {
			return true
		}
		from = s.b
		return false
	}
	near, far := f.B[k], f.B[k]+step
	for n := 0; !above(far); n++ {
		if n == 12 {
			return math.Inf(int(math.Copysign(1, step)))
		}
		near, far = far, far+step
	}
	for range 60 {
		middle := (near + far) / 2
		if math.Abs(far-near) < 1e-9*math.Abs(step) {
			break
		}
		if above(middle) {
			far = middle
		} else {
			near = middle
		}
	}
	return (near + far) / 2
}
