package main

import (
	"fmt"
	"math"
	"strings"
)

// figures are how a method did: shares within two windows, and the mean CRPS
// of log days.
type figures struct{ in80, in95, crps float64 }

// tally gathers how a method did, farm by farm: the recipes of one farm are
// not independent.
type tally struct {
	farms  []figures // sums
	counts []float64
	hits   []float64 // of the window of 80 %, by recipe
	of     []float64
}

func newTally() *tally {
	return &tally{hits: make([]float64, len(past)), of: make([]float64, len(past))}
}

// begin begins a farm.
func (t *tally) begin() { t.farms, t.counts = append(t.farms, figures{}), append(t.counts, 0) }

func (t *tally) score(recipe int, cdf func(float64) float64, y float64) {
	at := len(t.farms) - 1
	f := &t.farms[at]
	u := cdf(y)
	if u > 0.1 && u < 0.9 {
		f.in80++
		t.hits[recipe]++
	}
	if u > 0.025 && u < 0.975 {
		f.in95++
	}
	f.crps += crps(cdf, y)
	t.counts[at]++
	t.of[recipe]++
}

// crps sums (F - 1{y <= x})² over log days from those of 3 to those of 200.
func crps(cdf func(float64) float64, y float64) float64 {
	const steps = 150
	low, high := math.Log(3), math.Log(200)
	width, sum := (high-low)/steps, 0.0
	for i := range steps {
		x := low + (float64(i)+0.5)*width
		d := cdf(x)
		if x >= y {
			d--
		}
		sum += d * d * width
	}
	return sum
}

// mean returns the mean of one figure and its standard error over farms.
func (t *tally) mean(of func(figures) float64) (mean, se float64) {
	var sum, n float64
	for i, f := range t.farms {
		sum, n = sum+of(f), n+t.counts[i]
	}
	mean = sum / n
	squares := 0.0
	for i, f := range t.farms {
		d := of(f) - mean*t.counts[i]
		squares += d * d
	}
	return mean, math.Sqrt(squares) / n
}

// compare sets each figure beside the reference and counts those that lie too
// far off.
func (t *tally) compare(want figures) (line string, wrong int) {
	var parts []string
	for _, c := range []struct {
		of    func(figures) float64
		scale float64
		digit string
	}{
		{func(f figures) float64 { return f.in80 }, 100, "%.1f"},
		{func(f figures) float64 { return f.in95 }, 100, "%.1f"},
		{func(f figures) float64 { return f.crps }, 1, "%.4f"},
	} {
		got, se := t.mean(c.of)
		both := se * math.Sqrt(1+float64(len(t.farms))/referenceFarms) // the reference had its own farms
		mark := ""
		if math.Abs(got-c.of(want)) > alarm*both {
			mark, wrong = " OFF", wrong+1
		}
		format := strings.ReplaceAll("X / X (SE X)%s", "X", c.digit)
		parts = append(parts, fmt.Sprintf(format, c.scale*got, c.scale*c.of(want), c.scale*both, mark))
	}
	return strings.Join(parts, "   "), wrong
}

// byPast is the share within the window of 80 % by the number of past batches.
func (t *tally) byPast() string {
	var parts []string
	for i, n := range past {
		parts = append(parts, fmt.Sprintf("%d: %.0f", n, 100*t.hits[i]/t.of[i]))
	}
	return strings.Join(parts, ", ")
}
