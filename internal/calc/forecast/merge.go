package forecast

import "math"

// The cells within which parts of a mixture are merged: of means, to the
// spread of the whole, and of the logarithm of the parts' own spreads.
const (
	meanCell   = 0.15
	spreadCell = 0.1
)

// cells are how many there are along each: means and spreads further out lie
// in the outermost.
const meanCells, spreadCells = 128, 48

// Merged returns all but the same forecast, to be read often: parts of one
// cell become one with their mean and variance. A few dozen to a few hundred
// are left of thousands; quantiles move by less than 0.2 % of the days, and
// windows are told in whole ones.
func (f Forecast) Merged() Forecast {
	f.parts = merge(f.parts)
	return f
}

func merge(parts []part) []part {
	middle, variance := Forecast{parts: parts}.moments()
	width := meanCell * math.Sqrt(variance)
	var index [meanCells * spreadCells]int16 // of the part of each cell, from 1
	var out []part                           // sd holds the sum of squares about middle until the end
	for _, p := range parts {
		i := cell((p.mean-middle)/width+meanCells/2, meanCells)*spreadCells + cell(math.Log(p.sd/sigmaLow)/spreadCell, spreadCells)
		if index[i] == 0 {
			out = append(out, part{})
			index[i] = int16(len(out))
		}
		o, d := &out[index[i]-1], p.mean-middle
		o.weight += p.weight
		o.mean += p.weight * d
		o.sd += p.weight * (p.sd*p.sd + d*d)
	}
	for i, p := range out {
		d := p.mean / p.weight
		out[i] = part{p.weight, middle + d, math.Sqrt(p.sd/p.weight - d*d)}
	}
	return out
}

// cell is the whole number below x, within 0 to n-1.
func cell(x float64, n int) int { return min(max(int(math.Floor(x)), 0), n-1) }
