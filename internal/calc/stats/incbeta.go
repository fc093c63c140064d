package stats

import "math"

// incBeta returns the regularised incomplete beta function I_x(a, b) for a, b >
// 0, where y = 1-x is given apart so that no digits are lost near x = 1.
//
// Source: DiDonato and Morris, ACM Trans. Math. Softw. 18 (1992) 360-373,
// equation 9, a continued fraction without cancellation (from memory; held to
// closed forms by test), with the factor before it in Loader's saddle-point form,
// without which large a and b lose digits.
func incBeta(a, b, x, y float64) float64 {
	switch {
	case x <= 0:
		return 0
	case y <= 0:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - incBeta(b, a, y, x)
	}
	return betaFactor(a, b, x, y) / betaFraction(a, b, x, y)
}

// betaFraction evaluates the denominator of that continued fraction by Lentz's
// method, DLMF 3.10(iii).
func betaFraction(a, b, x, y float64) float64 {
	lambda := a - (a+b)*x
	if a > b { // the same, by the smaller terms
		lambda = (a+b)*y - b
	}
	f := a / (a + 1) * (lambda + 1)
	c, d := f, 0.0
	for n := 1.0; n < 1e5; n++ {
		top := (a + n - 1) * (a + b + n - 1) / ((a + 2*n - 1) * (a + 2*n - 1)) * n * (b - n) * x * x
		base := n + n*(b-n)*x/(a+2*n-1) + (a+n)/(a+2*n+1)*(lambda+1+n*(1+y))
		d = 1 / (base + top*d)
		c = base + top/c
		f *= c * d
		if math.Abs(c*d-1) <= 1e-16 {
			break
		}
	}
	return f
}

// betaFactor returns x^a y^b / B(a, b).
func betaFactor(a, b, x, y float64) float64 {
	n := a + b
	e := stirling(n) - stirling(a) - stirling(b) - deviance(a, n*x) - deviance(b, n*y)
	return math.Sqrt(a*b/(2*math.Pi*n)) * math.Exp(e)
}

// stirling returns log z! less Stirling's formula, for z > 0.
//
// Source: DLMF 5.11.1.
func stirling(z float64) float64 {
	if z < 16 {
		v, _ := math.Lgamma(z + 1)
		return v - (z+0.5)*math.Log(z) + z - math.Log(2*math.Pi)/2
	}
	s := z * z
	return (1.0/12 - (1.0/360-(1.0/1260-(1.0/1680-1.0/1188/s)/s)/s)/s) / z
}

// deviance returns x·log(x/m) + m - x for x, m > 0 without cancellation where
// they nearly agree.
//
// Source: Loader, Fast and Accurate Computation of Binomial Probabilities
// (2000), bd0.
func deviance(x, m float64) float64 {
	if !(math.Abs(x-m) < 0.1*(x+m)) {
		return x*math.Log(x/m) + m - x
	}
	v := (x - m) / (x + m)
	s, power := (x-m)*v, 2*x*v
	for j := 1.0; j < 1000; j++ {
		power *= v * v
		next := s + power/(2*j+1)
		if next == s {
			break
		}
		s = next
	}
	return s
}
