package thermal

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
)

// FitPool is what the fits of several cooks come to.
type FitPool struct {
	Factor    float64 // that is likeliest for the next jar
	SpreadPct float64 // within which the next jar is, nine times in ten, either way
	Cooks     int
}

const (
	// LeastFits is how many cooks tell a spread: with two of them the next
	// jar could be anywhere, for t with one degree of freedom is 6.3.
	LeastFits = 3
	// leastSpread is how well a factor can be known at all, per cent: the place
	// of the tip and the loggers. An assumption, no source.
	leastSpread = 3.0
	fitLevel    = 0.95 // one-sided: the next jar is slower one time in twenty
)

// PoolFits returns the likeliest factor of the next jar and how far it may be
// off, from one fitted factor of each of LeastFits or more cooks: a prediction
// interval on their logarithms,
//
//	mean ± t(0.95, n-1) s sqrt(1 + 1/n),
//
// for a factor multiplies and is never negative. The spread is that of the
// slower and the faster side alike, the larger of the two.
//
// Source: the prediction interval of one more value of a normal sample, any
// textbook of statistics.
func PoolFits(factors []float64) (FitPool, error) {
	if len(factors) < LeastFits {
		return FitPool{}, fmt.Errorf("thermal: %d fits do not tell how far the next one may be off", len(factors))
	}
	n, sum := float64(len(factors)), 0.0
	for _, f := range factors {
		if !(f >= factorLow && f <= factorHigh) {
			return FitPool{}, fmt.Errorf("thermal: a factor of %g", f)
		}
		sum += math.Log(f)
	}
	mean, squares := sum/n, 0.0
	for _, f := range factors {
		d := math.Log(f) - mean
		squares += d * d
	}
	half := stats.TQuantile(fitLevel, n-1) * math.Sqrt(squares/(n-1)*(1+1/n))
	return FitPool{Factor: math.Exp(mean), SpreadPct: max(100*math.Expm1(half), leastSpread), Cooks: len(factors)}, nil
}

// doubtAt is the temperature at which the usual doubt is read, °C; the shares
// change by less than a tenth of themselves between 20 and 120 °C.
const doubtAt = 100.0

// Doubt returns the shares by which the conductivity of s is taken to be lower
// and higher than the likeliest where nothing else is known of it.
func (s Substrate) Doubt() (lower, higher float64, err error) {
	s.Multiplier = nil
	media, err := newMedia(s, "cake")
	if err != nil {
		return 0, 0, err
	}
	var k [3]float64
	for i, m := range media {
		_, k[i] = m.read(m.content(doubtAt))
	}
	return 1 - k[low]/k[best], k[high]/k[best] - 1, nil
}
