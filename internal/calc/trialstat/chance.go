package trialstat

import (
	"math/bits"
	"math/rand/v2"
)

// chance draws from a seed. It takes whole words from the generator and turns
// them into numbers by its own rules, so that a seed means the same on every
// machine and with every later version of the standard library.
type chance struct{ words *rand.PCG }

func newChance(seed, stream uint64) chance { return chance{rand.NewPCG(seed, stream)} }

// below returns a whole number in 0..n-1, each as likely as the other; n > 0.
//
// Source: Lemire, ACM Trans. Model. Comput. Simul. 29 (2019) 3, algorithm 5.
func (l chance) below(n int) int {
	high, low := bits.Mul64(l.words.Uint64(), uint64(n))
	if low < uint64(n) {
		for least := -uint64(n) % uint64(n); low < least; {
			high, low = bits.Mul64(l.words.Uint64(), uint64(n))
		}
	}
	return int(high)
}

// share returns a number in [0, 1) on a grid of 2^-53.
func (l chance) share() float64 { return float64(l.words.Uint64()>>11) / (1 << 53) }

// shuffle puts x into random order.
func shuffle[T any](l chance, x []T) {
	for i := len(x) - 1; i > 0; i-- {
		j := l.below(i + 1)
		x[i], x[j] = x[j], x[i]
	}
}

// some returns k of x, each choice as likely as the other, in random order. It
// reorders x.
func some[T any](l chance, x []T, k int) []T {
	for i := range k {
		j := i + l.below(len(x)-i)
		x[i], x[j] = x[j], x[i]
	}
	return x[:k]
}

// pick returns an index with chance in proportion to its weight. The weights
// are not negative and do not all vanish.
func (l chance) pick(weights []float64) int {
	var all float64
	for _, w := range weights {
		all += w
	}
	at := float64(l.share() * all)
	last := 0
	for i, w := range weights {
		if w == 0 {
			continue
		}
		last = i
		if at -= w; at < 0 {
			return i
		}
	}
	return last
}
