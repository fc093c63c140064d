package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// PermutationDraws is PermutationBlocked by draws deals from seed in place of
// counting: (1+hits)/(1+draws). The same arguments give the same p.
//
// ErrFew and ErrRange as PermutationBlocked; ErrRange for draws below 0.
//
// Source: Phipson and Smyth (2010); each deal by the first steps of a shuffle,
// Durstenfeld, Commun. ACM 7 (1964) 420. The chance of a jar is off by less than
// 1 in 2^32 times the jars of its block.
func PermutationDraws(y []float64, arm, block []int, draws int, seed uint64) (p float64, err error) {
	d, err := newDeal(y, arm, block)
	if err != nil {
		return 0, err
	}
	if draws < 0 {
		return 0, fmt.Errorf("stats: %d draws: %w", draws, ErrRange)
	}
	far, centre := d.distance()
	values := make([][]float64, len(d.values))
	for b, in := range d.values {
		values[b] = slices.Clone(in)
	}
	low, high := centre-far, centre+far
	source := rand.NewPCG(seed, 0)
	hits := 0
	for range draws {
		sum := 0.0
		for b, in := range values {
			sum += drawSum(in, d.chosen[b], source)
		}
		if !(sum > low && sum < high) {
			hits++
		}
	}
	return float64(1+hits) / float64(1+draws), nil
}

// drawSum brings k of the values, by lot, to the front and returns their sum. Each
// word of chance gives two lots.
func drawSum(values []float64, k int, source *rand.PCG) float64 {
	sum := 0.0
	n := uint64(len(values))
	for i := 0; i < k; i += 2 {
		word := source.Uint64()
		j := uint64(i) + (word>>32)*(n-uint64(i))>>32
		values[i], values[j] = values[j], values[i]
		sum += values[i]
		if i+1 == k {
			break
		}
		j = uint64(i+1) + (word&math.MaxUint32)*(n-uint64(i+1))>>32
		values[i+1], values[j] = values[j], values[i+1]
		sum += values[i+1]
	}
	return sum
}
