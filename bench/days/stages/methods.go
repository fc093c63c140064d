package main

import (
	"math"

	"pinset/internal/calc/stats"
)

// method returns the distribution function of log days for the next batch of
// a recipe, nil if it can say nothing.
type method func(recipe int) func(logDays float64) float64

var methodNames = [5]string{"hierarchical grid", "own recipe only (2+)", "all recipes pooled", "book ± 20 %", "plug-in empirical Bayes"}

// ownOnly predicts from the recipe's own batches, two or more.
func ownOnly(batches [][]float64) method {
	return func(i int) func(float64) float64 {
		if len(batches[i]) < 2 {
			return nil
		}
		return predictive(batches[i], 1e-3)
	}
}

// pooled predicts from all batches as if they were of one recipe.
func pooled(batches [][]float64) method {
	var all []float64
	for _, g := range batches {
		all = append(all, g...)
	}
	return func(int) func(float64) float64 { return predictive(all, 0) }
}

// predictive is Student's t of the next value.
func predictive(values []float64, leastSD float64) func(float64) float64 {
	n := float64(len(values))
	mean, squares := meanAndSquares(values)
	sd := math.Max(math.Sqrt(squares/(n-1)), leastSD) * math.Sqrt(1+1/n)
	return func(y float64) float64 { return 1 - stats.TUpper((y-mean)/sd, n-1) }
}

func meanAndSquares(values []float64) (mean, squares float64) {
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	return mean, squares
}

func normalCDF(mean, sd float64) func(float64) float64 {
	return func(y float64) float64 { return stats.NormalUpper((mean - y) / sd) }
}

// bookOnly believes the published days within a fifth.
func bookOnly() method {
	cdf := normalCDF(math.Log(book), 0.2)
	return func(int) func(float64) float64 { return cdf }
}

// plugIn estimates both spreads by moments and takes them for certain.
func plugIn(batches [][]float64) method {
	var means, counts []float64
	var squares, df float64
	for _, g := range batches {
		if len(g) == 0 {
			continue
		}
		mean, ss := meanAndSquares(g)
		means, counts = append(means, mean), append(counts, float64(len(g)))
		squares, df = squares+ss, df+float64(len(g)-1)
	}
	within := squares / df
	middle, spread := meanAndSquares(means)
	between := spread / float64(len(means)-1)
	for _, n := range counts {
		between -= within / n / float64(len(counts))
	}
	between = math.Max(0, between)
	return func(i int) func(float64) float64 {
		n := float64(len(batches[i]))
		if n == 0 {
			return normalCDF(middle, math.Sqrt(within+between)+1e-9)
		}
		mean, _ := meanAndSquares(batches[i])
		lean := between / (between + within/n)
		return normalCDF(lean*mean+(1-lean)*middle, math.Sqrt(within+lean*within/n)+1e-9)
	}
}
