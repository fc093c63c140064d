package trialstat

import (
	"cmp"
	"slices"

	"pinset/internal/calc/stats"
)

// Bounds on the work: what an exact table may hold, and the steps of all deals.
const (
	maxExactJars   = 20_000
	maxExactLevels = 8
	maxExactCross  = 400 // jars of a table with more levels than two
	mostDeals      = 4_999
	leastDeals     = 199
	dealWork       = 40_000_000
)

// tie is how far apart two p of the same table may lie by rounding.
const tie = 1e-9

// The methods by which a p came about.
const (
	byFisher        = "fisher"
	byFreemanHalton = "freeman_halton"
	byDraws         = "draws"
)

// test gives each factor its counts, and its p where that is exact.
func (f *fouling) test() {
	for i := range f.columns {
		c := &f.columns[i]
		out := FouledFactor{Name: c.name, Unknown: len(c.codes) - c.known, Levels: make([]FouledLevel, len(c.levels))}
		for k, level := range c.levels {
			out.Levels[k] = FouledLevel{Level: level, Bad: c.bad[k], Total: c.total[k]}
		}
		slices.SortStableFunc(out.Levels, func(a, b FouledLevel) int {
			if d := cmp.Compare(b.Bad*a.Total, a.Bad*b.Total); d != 0 {
				return d
			}
			return cmp.Compare(b.Total, a.Total)
		})
		if c.telling() {
			out.P, out.Method = c.exact()
		}
		f.result.Factors = append(f.result.Factors, out)
	}
	f.deal()
}

// exact returns the exact p of a column, nil if that takes too long.
func (c *fouledColumn) exact() (p *float64, method string) {
	switch {
	case c.known > maxExactJars:
		return nil, byDraws
	case len(c.levels) == 2:
		v, _, err := stats.Fisher(c.bad[0], c.total[0], c.bad[1], c.total[1])
		if err != nil {
			return nil, byDraws
		}
		return maybe(v), byFisher
	case len(c.levels) > maxExactLevels || c.known > maxExactCross:
		return nil, byDraws
	}
	table := make([][]int, len(c.levels))
	for k := range table {
		table[k] = []int{c.bad[k], c.total[k] - c.bad[k]}
	}
	v, err := stats.FreemanHalton(table)
	if err != nil {
		return nil, byDraws
	}
	return maybe(v), byFreemanHalton
}

// chiSquared is Pearson's statistic of a column whose levels hold so many of
// some of its jars. It is the same whether those are the fouled or the clean.
func (c *fouledColumn) chiSquared(some []int) float64 {
	m := 0
	var s float64
	for k, n := range some {
		m += n
		s += float64(n) * float64(n) / float64(c.total[k])
	}
	if m == 0 || m == c.known {
		return 0
	}
	all, part := float64(c.known), float64(m)
	return max(0, all*all/(part*(all-part))*(s-part*part/all))
}

// rough is the p of Pearson's statistic. The deals only need one that ranks
// factors of few and of many levels alike.
func (c *fouledColumn) rough(some []int) float64 {
	return stats.ChiSquaredUpper(c.chiSquared(some), float64(len(c.levels)-1))
}

// dealt is a factor while the fouled jars are dealt.
type dealt struct {
	column   int
	seen     float64 // rough p as it is
	part     []int   // by level, in one deal
	own, any int     // deals in which it, or any factor, looks as bad
}

// deal deals the fouled jars over all jars, again and again, and counts how
// often a factor looks as bad as it does, and how often any factor does.
func (f *fouling) deal() {
	var telling []dealt
	work := 0
	k := min(f.result.Bad, f.result.Total-f.result.Bad)
	for i := range f.columns {
		if c := &f.columns[i]; c.telling() {
			telling = append(telling, dealt{column: i, seen: c.rough(c.bad), part: make([]int, len(c.levels))})
			work += k + len(c.levels) + 50
		}
	}
	if len(telling) == 0 {
		return
	}
	f.result.Draws = min(mostDeals, max(leastDeals, dealWork/work))
	order := make([]int, f.result.Total)
	for i := range order {
		order[i] = i
	}
	luck := newChance(f.result.Seed, 0)
	now := make([]float64, len(telling))
	for range f.result.Draws {
		f.dealOnce(some(luck, order, k), telling, now)
	}
	for _, d := range telling {
		out := &f.result.Factors[d.column]
		if out.P == nil {
			out.P = maybe(float64(1+d.own) / float64(f.result.Draws+1))
		}
		out.PAdjusted = maybe(float64(1+d.any) / float64(f.result.Draws+1))
	}
}

// dealOnce counts one deal, in which these jars are the fouled ones (or the
// clean ones, if those are fewer). now is room for a p of each.
func (f *fouling) dealOnce(jars []int, telling []dealt, now []float64) {
	least := 1.0
	for t := range telling {
		d := &telling[t]
		c := &f.columns[d.column]
		clear(d.part)
		for _, j := range jars {
			if code := c.codes[j]; code >= 0 {
				d.part[code]++
			}
		}
		now[t] = c.rough(d.part)
		least = min(least, now[t])
	}
	for t := range telling {
		d := &telling[t]
		if now[t] <= d.seen*(1+tie) {
			d.own++
		}
		if least <= d.seen*(1+tie) {
			d.any++
		}
	}
}

// testWithin tests each factor among jars that are alike in the most suspect
// of the others.
func (f *fouling) testWithin() {
	for i := range f.columns {
		if !f.columns[i].telling() {
			continue
		}
		at := -1
		for j := range f.columns {
			p := f.result.Factors[j].P
			if j == i || p == nil || *p > suspicious || f.inseparable(i, j) || !f.crosses(i, j) {
				continue
			}
			if at < 0 || *p < *f.result.Factors[at].P {
				at = j
			}
		}
		if at >= 0 {
			f.result.Factors[i].Within = f.columns[at].name
			f.result.Factors[i].PWithin = f.within(i, at)
		}
	}
}

// cross counts the jars of two columns: bad and total by level of the second,
// then of the first.
func (f *fouling) cross(i, j int) (bad, total []map[int]int) {
	a, b := &f.columns[i], &f.columns[j]
	bad, total = make([]map[int]int, len(b.levels)), make([]map[int]int, len(b.levels))
	for k := range b.levels {
		bad[k], total[k] = map[int]int{}, map[int]int{}
	}
	for jar, s := range b.codes {
		k := a.codes[jar]
		if s < 0 || k < 0 {
			continue
		}
		total[s][k]++
		if f.bad[jar] {
			bad[s][k]++
		}
	}
	return bad, total
}

// crosses reports whether column i varies within a level of column j in which
// some jars fouled and some did not.
func (f *fouling) crosses(i, j int) bool {
	a, b := &f.columns[i], &f.columns[j]
	first, varies := make([]int, len(b.levels)), make([]bool, len(b.levels))
	good, bad := make([]bool, len(b.levels)), make([]bool, len(b.levels))
	for jar, s := range b.codes {
		k := a.codes[jar]
		if s < 0 || k < 0 {
			continue
		}
		if first[s] == 0 {
			first[s] = k + 1
		}
		varies[s] = varies[s] || first[s] != k+1
		bad[s], good[s] = bad[s] || f.bad[jar], good[s] || !f.bad[jar]
	}
	for s := range varies {
		if varies[s] && bad[s] && good[s] {
			return true
		}
	}
	return false
}

// within returns the p of column i within the levels of column j.
func (f *fouling) within(i, j int) *float64 {
	a := &f.columns[i]
	if len(a.levels) == 2 && a.known <= maxExactJars {
		bad, total := f.cross(i, j)
		strata := make([]stats.Stratum, len(bad))
		for s := range strata {
			strata[s] = stats.Stratum{X1: bad[s][0], N1: total[s][0], X2: bad[s][1], N2: total[s][1]}
		}
		if out, err := stats.MantelHaenszel(strata); err == nil {
			return maybe(out.ExactP)
		}
		return nil
	}
	return maybe(f.dealWithin(i, j))
}

// dealWithin deals the fouled jars out again within each level of column j.
// The statistic is that of Pearson on the sums over strata, whose expectations
// no deal changes.
func (f *fouling) dealWithin(i, j int) float64 {
	a, b := &f.columns[i], &f.columns[j]
	jars, fouled := make([][]int, len(b.levels)), make([]int, len(b.levels))
	seen := make([]int, len(a.levels))
	work := 50
	for jar, s := range b.codes {
		if k := a.codes[jar]; s >= 0 && k >= 0 {
			jars[s] = append(jars[s], k)
			if f.bad[jar] {
				fouled[s]++
				seen[k]++
				work++
			}
		}
	}
	expected := make([]float64, len(a.levels))
	for s, codes := range jars {
		for _, k := range codes {
			expected[k] += float64(fouled[s]) / float64(len(codes))
		}
	}
	apart := func(counts []int) float64 {
		var sum float64
		for k, n := range counts {
			if expected[k] > 0 {
				d := float64(n) - expected[k]
				sum += d * d / expected[k]
			}
		}
		return sum
	}
	least := apart(seen) * (1 - tie)
	luck := newChance(f.result.Seed, uint64(1+i))
	draws := min(mostDeals, max(leastDeals, dealWork/4/(work+len(a.levels))))
	counts := make([]int, len(a.levels))
	as := 0
	for range draws {
		clear(counts)
		for s, codes := range jars {
			for _, k := range some(luck, codes, fouled[s]) {
				counts[k]++
			}
		}
		if apart(counts) >= least {
			as++
		}
	}
	return float64(1+as) / float64(draws+1)
}
