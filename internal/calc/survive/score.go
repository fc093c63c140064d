package survive

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
)

// SunScores returns a score for each span, below 0 for a stage that came early
// next to all spans together, above 0 for one that came late. They sum to 0 and
// make a permutation test of arms.
//
// Errors as FitTurnbull.
//
// Source: Sun, Statistics in Medicine 15 (1996) 1387, in the form of Fay and
// Shaw, J. Stat. Software 36 (2010) no. 2, there called logrank1.
func SunScores(spans []Span) ([]float64, error) {
	t, err := FitTurnbull(spans)
	if err != nil {
		return nil, err
	}
	at := func(day float64) (left, hazard float64) { // share still to come, cumulative hazard
		left = 1
		for _, m := range t.Masses {
			if !(m.By <= day) || math.IsInf(m.By, 1) {
				break
			}
			hazard += math.Min(1, m.Share/left)
			left -= m.Share
		}
		if left < 1e-12 {
			left = 0
		}
		return left, hazard
	}
	out := make([]float64, len(spans))
	for i, s := range spans {
		after := s.After
		if s.After == s.By {
			after = math.Nextafter(s.After, 0)
		}
		sa, ha := at(after)
		sb, hb := 0.0, 0.0
		if s.seen() {
			sb, hb = at(s.By)
		}
		out[i] = (sa*ha - sb*hb) / (sa - sb)
		out[i] = -out[i] // sign of the source: early is high
	}
	mean := stats.Mean(out)
	for i := range out {
		out[i] = mean - out[i]
	}
	return out, nil
}

// LogRank tests whether groups, numbered from 0, come equally soon where every
// day is known or the jar was lost after it.
//
// ErrFew unless two groups have jars and something was seen.
//
// Source: Mantel, Cancer Chemotherapy Reports 50 (1966) 163, two or more groups
// with the hypergeometric variance (from memory).
func LogRank(days []float64, seen []bool, group []int, groups int) (chi, p float64, err error) {
	if len(days) != len(seen) || len(days) != len(group) {
		return 0, 0, fmt.Errorf("survive: %d days, %d seen, %d groups: %w", len(days), len(seen), len(group), ErrRange)
	}
	order := make([]int, len(days))
	atRisk := make([]float64, groups)
	for i := range order {
		order[i] = i
		if !(days[i] >= 0) || group[i] < 0 || group[i] >= groups {
			return 0, 0, fmt.Errorf("survive: day %g of group %d: %w", days[i], group[i], ErrRange)
		}
		atRisk[group[i]]++
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case days[a] < days[b]:
			return -1
		case days[a] > days[b]:
			return 1
		}
		return 0
	})
	k := groups - 1
	if k < 1 {
		return 0, 0, fmt.Errorf("survive: %d group: %w", groups, ErrFew)
	}
	u, v := make([]float64, k), square(k)
	for from := 0; from < len(order); {
		to, came, n := from, make([]float64, groups), 0.0
		for ; to < len(order) && days[order[to]] == days[order[from]]; to++ {
			if seen[order[to]] {
				came[group[order[to]]]++
			}
		}
		for _, r := range atRisk {
			n += r
		}
		excessOf(came, atRisk, n, u, v)
		for ; from < to; from++ {
			atRisk[group[order[from]]]--
		}
	}
	x, ok := solve(v, u)
	if !ok {
		return 0, 0, fmt.Errorf("survive: log-rank: %w", ErrFew)
	}
	for a := range u {
		chi += u[a] * x[a]
	}
	return chi, stats.ChiSquaredUpper(chi, float64(k)), nil
}

// excessOf adds, for all groups but the last, how many more came on one day
// than were to be expected of n at risk, and the covariance of that.
func excessOf(came, atRisk []float64, n float64, u []float64, v [][]float64) {
	d := 0.0
	for _, c := range came {
		d += c
	}
	if d == 0 {
		return
	}
	spread := 0.0
	if n > 1 {
		spread = d * (n - d) / (n - 1)
	}
	for a := range u {
		u[a] += came[a] - d*atRisk[a]/n
		for b := range u {
			same := 0.0
			if a == b {
				same = atRisk[a] / n
			}
			v[a][b] += spread * (same - atRisk[a]*atRisk[b]/(n*n))
		}
	}
}
