package stats

import "math"

// StudentizedRangeUpper returns P(Q >= q) for the range of k >= 2 independent
// normals over an independent standard deviation with df > 0 degrees of freedom;
// df = +Inf is the plain range. NaN for other k, df or NaN. Absolute error below
// 1e-10 for df >= 1.
//
// Source: Lund and Lund, Applied Statistics 32 (1983) 204-210, the double
// integral; here by Gauss-Legendre, with the tail integrated as such.
func StudentizedRangeUpper(q float64, k int, df float64) float64 {
	if k < 2 || !(df > 0) || math.IsNaN(q) {
		return math.NaN()
	}
	if q <= 0 {
		return 1
	}
	z := newRangeNodes()
	var p total
	over := overSpread(df)
	for i, s := range over.at {
		p.add(over.weight[i] * z.upper(q*s, k))
	}
	return math.Min(1, p.value())
}

// rangeNodes are the nodes of the integral over the largest of the normals.
type rangeNodes struct {
	at, weight []float64 // weight holds the density
	below      []float64 // P(Z <= at)
}

func newRangeNodes() rangeNodes {
	r := legendre(-8.5, 8.5, 8)
	n := rangeNodes{at: r.at, weight: r.weight, below: make([]float64, len(r.at))}
	for i, z := range r.at {
		n.weight[i] *= math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		n.below[i] = NormalUpper(-z)
	}
	return n
}

// upper returns the chance that the range of k normals is w or more. With all k
// below z in Φ(z)^(k-1) of the cases and within w of it in (Φ(z)-Φ(z-w))^(k-1),
// the difference is summed as a product so that small tails keep their digits.
func (n rangeNodes) upper(w float64, k int) float64 {
	var p float64
	for i, z := range n.at {
		under := NormalUpper(w - z)
		within := n.below[i] - under
		sum, power := 1.0, 1.0 // Σ below^j within^(k-2-j)
		for range k - 2 {
			power *= n.below[i]
			sum = sum*within + power
		}
		p += n.weight[i] * under * sum
	}
	return float64(k) * p
}

// StudentizedRangeQuantile returns q with P(Q >= q) = upper, for 0 < upper < 1;
// otherwise as StudentizedRangeUpper.
func StudentizedRangeQuantile(upper float64, k int, df float64) float64 {
	if !(upper > 0 && upper < 1) || k < 2 || !(df > 0) {
		return math.NaN()
	}
	return upperQuantile(upper, func(q float64) float64 { return StudentizedRangeUpper(q, k, df) })
}

// upperQuantile returns x > 0 with tail(x) = upper for a tail that falls from 1
// at 0; NaN if there is none below 1e6.
func upperQuantile(upper float64, tail func(float64) float64) float64 {
	high := 1.0
	for tail(high) > upper {
		if high *= 2; high > 1e6 {
			return math.NaN()
		}
	}
	low := 0.0
	if high > 1 {
		low = high / 2
	}
	x, ok := root(low, high, func(x float64) float64 { return math.Log(tail(x) / upper) })
	if !ok {
		return math.NaN()
	}
	return x
}
