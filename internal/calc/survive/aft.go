package survive

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
)

// Shape is the assumed shape of how days are spread.
type Shape string

// The shapes.
const (
	Weibull   Shape = "weibull"
	Lognormal Shape = "lognormal"
)

// Fit is an accelerated failure time model: log of days is Level of the arm
// plus Scale times a standard error of the shape.
type Fit struct {
	Shape    Shape
	Level    []float64 // of each arm, log days
	Scale    float64
	LogLik   float64
	Variance [][]float64 // of the levels and, last, of log Scale

	spans  []Span
	arm    []int
	offset []float64
}

// smallest scale that is told from none: below it the visits fit any.
const leastScale = 1e-3

// FitAFT fits the shape to spans of arms that are numbered from 0, with one
// scale for all, by Newton's method with analytic derivatives.
//
// ErrFew if an arm has no span that was seen, ErrRange as for spans, ErrWide if
// the scale runs away to 0 because the visits are too far apart.
//
// Source: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time
// Data, 2nd ed., 3.6 (from memory); checked against survreg of R.
func FitAFT(shape Shape, spans []Span, arm []int, arms int) (*Fit, error) {
	return fitOffset(shape, spans, arm, arms, make([]float64, len(spans)))
}

func fitOffset(shape Shape, spans []Span, arm []int, arms int, offset []float64) (*Fit, error) {
	if err := checkSpans(spans); err != nil {
		return nil, err
	}
	if len(arm) != len(spans) {
		return nil, fmt.Errorf("survive: %d spans of %d arms: %w", len(spans), len(arm), ErrRange)
	}
	f := &Fit{Shape: shape, spans: spans, arm: arm, offset: offset}
	if err := f.start(arms); err != nil {
		return nil, err
	}
	return f, f.climb()
}

// start takes levels and scale from the middles of the spans.
func (f *Fit) start(arms int) error {
	sum, n, all, dev := make([]float64, arms), make([]float64, arms), 0.0, 0.0
	middle := func(i int) float64 {
		s := f.spans[i]
		day := (s.After + s.By) / 2
		if !s.seen() {
			day = s.After
		}
		return math.Log(math.Max(day, 1e-3)) - f.offset[i]
	}
	seen := make([]bool, arms)
	for i, s := range f.spans {
		if f.arm[i] < 0 || f.arm[i] >= arms {
			return fmt.Errorf("survive: arm %d of %d: %w", f.arm[i], arms, ErrRange)
		}
		seen[f.arm[i]] = seen[f.arm[i]] || s.seen()
		sum[f.arm[i]] += middle(i)
		n[f.arm[i]]++
	}
	for a := range arms {
		if !seen[a] {
			return fmt.Errorf("survive: nothing seen in arm %d: %w", a, ErrFew)
		}
		f.Level = append(f.Level, sum[a]/n[a])
	}
	for i := range f.spans {
		d := middle(i) - f.Level[f.arm[i]]
		dev, all = dev+d*d, all+1
	}
	f.Scale = math.Max(0.1, math.Sqrt(dev/all))
	return nil
}

// climb runs Newton steps, damped until the likelihood rises.
func (f *Fit) climb() error {
	p := len(f.Level) + 1
	at := append(append([]float64(nil), f.Level...), math.Log(f.Scale))
	g, h := make([]float64, p), square(p)
	l := f.logLik(at, g, h)
	damp := 0.0
	next, gNext, hNext := make([]float64, p), make([]float64, p), square(p)
	for range 200 {
		step, ok := solve(ridged(h, damp), g)
		moved := 0.0
		if ok {
			for k := range next {
				next[k] = at[k] + step[k]
				moved = math.Max(moved, math.Abs(step[k]))
			}
			ok = moved < 5
		}
		if ok {
			lNext := f.logLik(next, gNext, hNext)
			if ok = lNext >= l-1e-12*math.Abs(l); ok {
				copy(at, next)
				g, gNext, h, hNext, l = gNext, g, hNext, h, lNext
				damp /= 10
				if damp < 1e-8 {
					damp = 0
				}
			}
		}
		switch {
		case !ok:
			damp = math.Max(10*damp, 1e-4)
			if damp > 1e12 {
				return fmt.Errorf("survive: %s does not settle: %w", f.Shape, ErrWide)
			}
		case math.Exp(at[p-1]) < leastScale:
			return fmt.Errorf("survive: scale runs to 0: %w", ErrWide)
		case moved < 1e-11:
			copy(f.Level, at)
			f.Scale, f.LogLik = math.Exp(at[p-1]), l
			f.Variance, ok = inverse(h)
			if !ok {
				return fmt.Errorf("survive: no curvature: %w", ErrWide)
			}
			return nil
		}
	}
	return fmt.Errorf("survive: %s does not settle: %w", f.Shape, ErrWide)
}

func ridged(h [][]float64, damp float64) [][]float64 {
	if damp == 0 {
		return h
	}
	out := square(len(h))
	for i := range h {
		copy(out[i], h[i])
		out[i][i] += damp * (1 + math.Abs(h[i][i]))
	}
	return out
}

// logLik returns the log likelihood at the levels and log scale, its gradient
// and its negative second derivatives.
func (f *Fit) logLik(at, g []float64, h [][]float64) float64 {
	p := len(at) - 1
	clear(g)
	for i := range h {
		clear(h[i])
	}
	s, total := math.Exp(at[p]), 0.0
	for i, span := range f.spans {
		a := f.arm[i]
		d := f.Shape.term(span, at[a]+f.offset[i], s)
		total += d.l
		g[a] += d.mu
		g[p] += d.sigma
		h[a][a] -= d.muMu
		h[p][a] -= d.muSigma // the lower triangle is all that is read
		h[p][p] -= d.sigmaSigma
	}
	if math.IsNaN(total) {
		return math.Inf(-1)
	}
	return total
}

// term is one log likelihood and its derivatives by level and log scale.
type term struct{ l, mu, sigma, muMu, muSigma, sigmaSigma float64 }

func (shape Shape) term(span Span, mu, s float64) term {
	if span.After == span.By {
		return shape.known((math.Log(span.By)-mu)/s, s, span.By)
	}
	a, b := shape.edge((math.Log(span.After)-mu)/s), shape.edge((math.Log(span.By)-mu)/s)
	chance := shape.between(a, b)
	d := term{l: math.Log(chance)}
	d.mu = (a.f - b.f) / (s * chance)
	d.sigma = (a.fz - b.fz) / chance
	d.muMu = -(a.slope-b.slope)/(s*s*chance) - d.mu*d.mu
	d.muSigma = -(a.turn-b.turn)/(s*chance) - d.mu*d.sigma
	d.sigmaSigma = -(a.turnZ-b.turnZ)/chance - d.sigma*d.sigma
	return d
}

// edge holds, at one end of a span, the density and what the derivatives take
// of it; all are 0 at no day and at no end.
type edge struct{ z, f, fz, slope, turn, turnZ float64 }

func (shape Shape) edge(z float64) edge {
	if math.IsInf(z, 0) {
		return edge{z: z}
	}
	var f, slope float64
	if shape == Weibull {
		e := math.Exp(z)
		f = e * math.Exp(-e)
		slope = f * (1 - e)
		if math.IsInf(e, 1) {
			f, slope = 0, 0
		}
	} else {
		f = math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		slope = -z * f
	}
	turn := slope*z + f
	return edge{z, f, f * z, slope, turn, turn * z}
}

// between is the chance of a span, without loss of digits far out.
func (shape Shape) between(a, b edge) float64 {
	if shape == Weibull {
		ea, eb := math.Exp(a.z), math.Exp(b.z)
		return -math.Exp(-ea) * math.Expm1(ea-eb)
	}
	if a.z > 0 {
		return stats.NormalUpper(a.z) - stats.NormalUpper(b.z)
	}
	return stats.NormalUpper(-b.z) - stats.NormalUpper(-a.z)
}

// known is the term of a day that is known.
func (shape Shape) known(z, s, day float64) term {
	u, bend, log := -z, -1.0, -z*z/2-0.5*math.Log(2*math.Pi)
	if shape == Weibull {
		e := math.Exp(z)
		u, bend, log = 1-e, -e, z-e
	}
	turn := bend*z + u
	return term{log - math.Log(s*day), -u / s, -u*z - 1, bend / (s * s), turn / s, turn * z}
}

// Quantile returns the day by which a share of the jars of an arm have come,
// with its Wald interval at a level on the log scale.
func (f *Fit) Quantile(arm int, share, level float64) (day, low, high float64) {
	e := math.Log(-math.Log1p(-share))
	if f.Shape == Lognormal {
		e = stats.NormalQuantile(share)
	}
	p := len(f.Level)
	y := f.Level[arm] + f.Scale*e
	d := f.Scale * e // derivative by log scale
	v := f.Variance[arm][arm] + 2*d*f.Variance[arm][p] + d*d*f.Variance[p][p]
	w := stats.NormalQuantile((1+level)/2) * math.Sqrt(v)
	return math.Exp(y), math.Exp(y - w), math.Exp(y + w)
}

// Ratio is how many times as long one arm takes as another. An end that the
// data leave open is 0 or +Inf.
type Ratio struct{ Value, Low, High, WaldLow, WaldHigh, P float64 }

// Ratio returns how many times as long arm takes as base, with the profile
// likelihood interval at a level, Wald's beside it and the likelihood ratio p.
func (f *Fit) Ratio(arm, base int, level float64) Ratio {
	best := f.Level[arm] - f.Level[base]
	v := f.Variance[arm][arm] + f.Variance[base][base] - 2*f.Variance[arm][base]
	w := stats.NormalQuantile((1+level)/2) * math.Sqrt(v)
	drop := math.Pow(stats.NormalQuantile((1+level)/2), 2)
	worse := func(d float64) float64 { return 2 * (f.LogLik - f.profile(arm, base, d)) }
	return Ratio{
		Value: math.Exp(best), WaldLow: math.Exp(best - w), WaldHigh: math.Exp(best + w),
		Low: math.Exp(reach(best, -w, drop, worse)), High: math.Exp(reach(best, w, drop, worse)),
		P: stats.ChiSquaredUpper(math.Max(0, worse(0)), 1),
	}
}

// profile returns the best log likelihood with arm exactly d above base.
func (f *Fit) profile(arm, base int, d float64) float64 {
	merged, offset, next := make([]int, len(f.arm)), make([]float64, len(f.arm)), make([]int, len(f.Level))
	for a, k := 0, 0; a < len(next); a++ {
		if a != arm {
			next[a] = k
			k++
		}
	}
	next[arm] = next[base]
	for i, a := range f.arm {
		merged[i] = next[a]
		offset[i] = f.offset[i]
		if a == arm {
			offset[i] += d
		}
	}
	g, err := fitOffset(f.Shape, f.spans, merged, len(f.Level)-1, offset)
	if err != nil {
		return math.NaN()
	}
	return g.LogLik
}

// reach returns where worse, 0 at from, comes to drop in the direction of step:
// an infinity if it is not met within eight steps.
func reach(from, step, drop float64, worse func(float64) float64) float64 {
	near, far := from, from+step
	for k := 0; !(worse(far) > drop); k++ {
		if k == 8 {
			return math.Inf(int(math.Copysign(1, step)))
		}
		near, far = far, far+step
	}
	for range 60 {
		middle := (near + far) / 2
		if math.Abs(far-near) < 1e-10 {
			break
		}
		if worse(middle) > drop {
			far = middle
		} else {
			near = middle
		}
	}
	return (near + far) / 2
}
