package stats

import "math"

// root returns where f, of opposite signs at low and high, is 0, to the last
// digits of float64. ok is false if the signs agree, or f is NaN on the way.
//
// Source: Brent, Algorithms for Minimization without Derivatives (1973), chapter
// 4, procedure zero.
func root(low, high float64, f func(float64) float64) (x float64, ok bool) {
	a, b := low, high
	fa, fb := f(a), f(b)
	if !(fa <= 0 && fb >= 0 || fa >= 0 && fb <= 0) {
		return 0, false
	}
	c, fc := a, fa // b and c always enclose the root, b is the best so far
	step := b - a
	last := step
	for range 500 {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			step = b - a
			last = step
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		tol := 2.3e-16 * math.Abs(b)
		half := (c - b) / 2
		if math.Abs(half) <= tol || fb == 0 {
			return b, true
		}
		if math.Abs(last) < tol || math.Abs(fa) <= math.Abs(fb) {
			step, last = half, half
		} else if next := interpolate(a, b, c, fa, fb, fc, half); 2*math.Abs(next) < math.Min(3*math.Abs(half)-tol, math.Abs(last)) {
			step, last = next, step
		} else {
			step, last = half, half
		}
		a, fa = b, fb
		b += math.Copysign(math.Max(math.Abs(step), tol), step)
		if fb = f(b); math.IsNaN(fb) {
			return 0, false
		}
	}
	return b, true
}

// interpolate returns the step from b by the inverse parabola through the three
// points, or by the straight line if two are one; the whole bracket if it leads
// away from c.
func interpolate(a, b, c, fa, fb, fc, half float64) float64 {
	s := fb / fa
	var p, q float64
	if a == c {
		p, q = 2*half*s, 1-s
	} else {
		u, v := fa/fc, fb/fc
		p = s * (2*half*u*(u-v) - (b-a)*(v-1))
		q = (u - 1) * (v - 1) * (s - 1)
	}
	step := p / -q
	if p*half*q > 0 || math.IsNaN(step) { // away from c
		return 2 * half
	}
	return step
}
