// Command stages simulates how often the windows of forecasts hold what comes,
// in the seven kinds of farm of doc/methods/days.md, and sets the result beside
// the reference. It fails if one is off by more than chance. Not run in CI.
//
//	go run ./bench/days/stages
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"

	"pinset/internal/calc/forecast"
)

const (
	seed  = 20261125
	book  = 24.0 // published days
	alarm = 3.5  // standard errors: of 105 figures one lies so far off in 20 runs
)

// past is how many batches each recipe of a farm has.
var past = []int{0, 1, 2, 3, 5, 8, 12}

func main() {
	farms := flag.Int("farms", referenceFarms, "farms of each kind")
	flag.Parse()
	fmt.Printf("seed %d, %d farms of each kind, recipes with %v batches\n", seed, *farms, past)
	fmt.Println("% within the window of 80 and of 95 %, and CRPS of log days; after the slash the reference; SE of both together")
	off := 0
	for i, s := range scenarios {
		tallies := s.simulate(*farms, rand.New(rand.NewPCG(seed, uint64(i))))
		fmt.Println(s.name)
		for m, t := range tallies {
			line, wrong := t.compare(s.reference[m])
			fmt.Printf("  %-22s %s\n", methodNames[m], line)
			off += wrong
		}
		fmt.Printf("  by number of batches   %s\n", tallies[0].byPast())
	}
	if off > 0 {
		fmt.Printf("%d figures lie more than %g standard errors from the reference\n", off, alarm)
		os.Exit(1)
	}
	fmt.Println("all figures agree with the reference within Monte Carlo error")
}

// scenario is one kind of farm. Spreads are of log days.
type scenario struct {
	name            string
	between, within float64
	bookOff         float64 // log days that the farm is slower than its book
	noise           func(r *rand.Rand, within float64) float64
	reference       [5]figures // by method
}

func normal(r *rand.Rand, within float64) float64 { return within * r.NormFloat64() }

// heavy is Student's t with 4 degrees of freedom, to the same variance.
func heavy(r *rand.Rand, within float64) float64 {
	chi := 0.0
	for range 4 {
		z := r.NormFloat64()
		chi += z * z
	}
	return within * r.NormFloat64() / math.Sqrt(chi/4) / math.Sqrt2
}

// slow has one batch in 14 that takes 1.6 times as long.
func slow(r *rand.Rand, within float64) float64 {
	x := normal(r, within)
	if r.Float64() < 0.07 {
		x += math.Log(1.6)
	}
	return x
}

// farm draws the past batches of each recipe and the next one, as logs of
// whole days.
func (s scenario) farm(r *rand.Rand) (batches [][]float64, next []float64) {
	batches, next = make([][]float64, len(past)), make([]float64, len(past))
	draw := func(mu float64) float64 {
		return math.Log(math.Max(1, math.Round(math.Exp(mu+s.noise(r, s.within)))))
	}
	for i, n := range past {
		mu := math.Log(book) + s.bookOff + s.between*r.NormFloat64()
		for range n {
			batches[i] = append(batches[i], draw(mu))
		}
		next[i] = draw(mu)
	}
	return batches, next
}

// simulate forecasts the next batch of each recipe of so many farms by each
// method.
func (s scenario) simulate(farms int, r *rand.Rand) [5]*tally {
	var out [5]*tally
	for m := range out {
		out[m] = newTally()
	}
	for range farms {
		batches, next := s.farm(r)
		methods := [5]method{grid(batches), ownOnly(batches), pooled(batches), bookOnly(), plugIn(batches)}
		for m, of := range methods {
			out[m].begin()
			for i, y := range next {
				if cdf := of(i); cdf != nil {
					out[m].score(i, cdf, y)
				}
			}
		}
	}
	return out
}

// grid is what Pinset forecasts.
func grid(batches [][]float64) method {
	groups := make([][]forecast.Span, len(batches))
	for i, g := range batches {
		for _, y := range g {
			groups[i] = append(groups[i], forecast.Span{After: math.Exp(y), By: math.Exp(y)})
		}
	}
	m, err := forecast.Fit(forecast.UsualPrior(book), groups)
	if err != nil {
		panic(err)
	}
	return func(i int) func(float64) float64 {
		f := m.Of(i)
		return func(y float64) float64 { return f.CDF(math.Exp(y)) }
	}
}
