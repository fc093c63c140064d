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

// PermutationTrend returns the Monte-Carlo p of Σ score·y when the scores, such as
// doses, are dealt out anew inside each block only: (1+hits)/(1+draws), where a hit
// is at least as far from the mean over all deals, with ties to a relative 1e-9. block
// is nil if there are no blocks. The same arguments give the same p.
//
// ErrFew for no values, or scores that do not vary inside any block; ErrRange for
// slices of unequal length, values or scores that are not finite, or draws below 0.
//
// Source: Pitman (1937); Phipson and Smyth (2010); deals as in PermutationDraws.
func PermutationTrend(y, score []float64, block []int, draws int, seed uint64) (float64, error) {
	arm := make([]int, len(y))
	if err := checkRows(y, arm, block, 1); err != nil {
		return 0, err
	}
	if err := finite(score); err != nil {
		return 0, err
	}
	if len(score) != len(y) || draws < 0 {
		return 0, fmt.Errorf("stats: %d scores of %d values, %d draws: %w", len(score), len(y), draws, ErrRange)
	}
	blocks := inBlocks(block, len(y))
	hand := make([][]float64, len(blocks))
	var seen, mean, size total
	varies := false
	for b, in := range blocks {
		for _, i := range in {
			hand[b] = append(hand[b], score[i])
			varies = varies || score[i] != score[in[0]]
		}
		at := Mean(hand[b])
		for _, i := range in {
			mean.add(at * y[i])
			seen.add(score[i] * y[i])
			size.add(math.Abs(score[i] * y[i]))
		}
	}
	if !varies {
		return 0, fmt.Errorf("stats: scores that are the blocks: %w", ErrFew)
	}
	far := math.Abs(seen.value()-mean.value()) - tieShare*size.value()
	source := rand.NewPCG(seed, 1)
	hits := 0
	for range draws {
		sum := 0.0
		for b, in := range blocks {
			drawSum(hand[b], len(in), source)
			for k, i := range in {
				sum += hand[b][k] * y[i]
			}
		}
		if !(math.Abs(sum-mean.value()) < far) {
			hits++
		}
	}
	return float64(1+hits) / float64(1+draws), nil
}
