// Command coverage simulates how often the intervals of pooled trials hold the truth,
// as in doc/methods/pool.md. Not run in CI.
//
//	go run ./bench/days/coverage
package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/stats"
)

const (
	farms = 2000
	seed  = 20260101
	cv    = 0.2
	jars  = 6
	truth = 0.15 // log ratio
)

func main() {
	fmt.Printf("seed %d, %d farms each, %d jars against %d, CV %g, true log ratio %g\n", seed, farms, jars, jars, cv, truth)
	for _, own := range []bool{false, true} {
		fmt.Println(map[bool]string{false: "spread of jars pooled over all trials", true: "each trial with its own interval, as the pages add them up"}[own])
		fmt.Println("trials  tau   Hartung-Knapp  grid, mean  grid, next   (% that hold the truth, nominal 95)")
		for _, tau := range []float64{0.1, 0.2} {
			for _, trials := range []int{2, 3, 5, 10} {
				hk, mean, next := simulate(trials, tau, own)
				fmt.Printf("%6d  %.2f  %13.1f  %10.1f  %10.1f\n", trials, tau, hk, mean, next)
			}
		}
	}
}

// simulate returns the per cent of intervals that hold the truth. The spread of
// jars is pooled over all trials, or is that of each trial's own interval by
// Student's t, taken to a standard error as if it were normal.
func simulate(trials int, tau float64, own bool) (hk, mean, next float64) {
	chance := rand.New(rand.NewPCG(seed, uint64(trials)*1000+uint64(100*tau)))
	inside := func(low, high, x float64) float64 {
		if low <= x && x <= high {
			return 100.0 / farms
		}
		return 0
	}
	sigma := math.Sqrt(math.Log1p(cv * cv))
	for range farms {
		all := make([]pool.Trial, trials)
		const each = 2*jars - 2
		widened := 1.0
		squares, wider := make([]float64, trials), stats.TQuantile(0.975, each)/stats.NormalQuantile(0.975)
		sum := 0.0
		for i := range squares {
			for range each {
				z := sigma * chance.NormFloat64()
				squares[i] += z * z
			}
			sum += squares[i]
		}
		for i := range all {
			variance := sum / float64(trials*each)
			if own {
				variance, widened = squares[i]/each, wider
			}
			all[i] = pool.Trial{Estimate: truth + tau*chance.NormFloat64() + sigma*math.Sqrt(2.0/jars)*chance.NormFloat64(), SE: widened * math.Sqrt(variance*2/jars)}
		}
		m, err := pool.REML(all, 0.95)
		if err != nil {
			panic(err)
		}
		p, err := pool.Bayes(pool.UsualPrior, all)
		if err != nil {
			panic(err)
		}
		hk += inside(m.Low, m.High, truth)
		low, high := p.Mean().Interval(0.95)
		mean += inside(low, high, truth)
		low, high = p.Next().Interval(0.95)
		next += inside(low, high, truth+tau*chance.NormFloat64())
	}
	return hk, mean, next
}
