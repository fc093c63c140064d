// Command coverage simulates how often the intervals of pooled trials hold the truth,
// as in doc/methods/pool.md, and sets those with a common spread of jars beside the
// reference. It fails if one is off by more than chance. Not run in CI.
//
//	go run ./bench/days/coverage
package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/stats"
)

const (
	farms = 2000
	seed  = 20260101
	cv    = 0.2
	jars  = 6
	truth = 0.15 // log ratio
	alarm = 3.5  // standard errors: of 20 figures one lies so far off in 100 runs
)

// reference is what simulations of the same definitions gave in R 4.2.2 (Hartung and
// Knapp) and NumPy 1.24 (the grid, 61 spreads), of 4000 farms each with other draws: %
// that hold the truth, by trials and spread between them. The first knows no 0.20.
var reference = map[float64]map[int][3]float64{
	0.1: {2: {95.5, 99.45, 99.8}, 3: {95.675, 98.65, 99.525}, 5: {95.175, 97.45, 98.05}, 10: {95.775, 95.875, 95.55}},
	0.2: {2: {0, 95.825, 94.925}, 3: {0, 94.25, 92.8}, 5: {0, 93.95, 92.025}, 10: {0, 93.425, 92.475}},
}

const referenceFarms = 4000

// off counts which of got lie too far from the reference.
func off(got, want [3]float64) int {
	out := 0
	for k, w := range want {
		se := math.Sqrt(w * (100 - w) * (1.0/farms + 1.0/referenceFarms))
		if w > 0 && math.Abs(got[k]-w) > alarm*se {
			out++
		}
	}
	return out
}

func main() {
	fmt.Printf("seed %d, %d farms each, %d jars against %d, CV %g, true log ratio %g\n", seed, farms, jars, jars, cv, truth)
	wrong := 0
	for _, own := range []bool{false, true} {
		fmt.Println(map[bool]string{false: "spread of jars pooled over all trials", true: "each trial with its own interval, as the pages add them up"}[own])
		fmt.Println("trials  tau   Hartung-Knapp  grid, mean  grid, next   (% that hold the truth, nominal 95)")
		for _, tau := range []float64{0.1, 0.2} {
			for _, trials := range []int{2, 3, 5, 10} {
				hk, mean, next := simulate(trials, tau, own)
				fmt.Printf("%6d  %.2f  %13.1f  %10.1f  %10.1f\n", trials, tau, hk, mean, next)
				if !own {
					wrong += off([3]float64{hk, mean, next}, reference[tau][trials])
				}
			}
		}
	}
	if wrong > 0 {
		fmt.Printf("%d figures lie more than %g standard errors from the reference\n", wrong, alarm)
		os.Exit(1)
	}
	fmt.Println("all figures agree with the reference within Monte Carlo error")
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
