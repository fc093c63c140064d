package trialstat

import "pinset/internal/calc/stats"

// ShareOf is a share of jars with its 95 % interval by Wilson.
type ShareOf struct {
	Jars int `json:"jars"` // that did
	Of   int `json:"of"`
	Interval
}

// ShareApart is two shares and their difference, b less the control, with the 95 %
// interval by Newcombe's method 10. PBoschloo is that of the test that is more
// likely to see a difference, PFisher beside it that of the usual one, which says
// too little with few jars; both take jars one by one, nil where a table is too
// large for them.
type ShareApart struct {
	B          ShareOf  `json:"b"`
	Control    ShareOf  `json:"control"`
	Difference Interval `json:"difference"`
	PBoschloo  *float64 `json:"p_boschloo"`
	PFisher    *float64 `json:"p_fisher"`
}

// mostBoschloo is the product of the two sizes up to which Boschloo's p is quick:
// some hundredths of a second.
const mostBoschloo = 2500

// sharesApart compares x1 of n1 jars with x0 of n0, the control; nil without jars.
//
// Source: Wilson (1927); Newcombe (1998), method 10; Boschloo, Statist. Neerlandica
// 24 (1970) 1-35, with tables ordered by Fisher's two-sided p.
func sharesApart(x1, n1, x0, n0 int) *ShareApart {
	if n1 == 0 || n0 == 0 {
		return nil
	}
	out := &ShareApart{B: shareOf(x1, n1), Control: shareOf(x0, n0)}
	if d, low, high, err := stats.Newcombe(x1, n1, x0, n0, confidence); err == nil {
		out.Difference = Interval{maybe(d), maybe(low), maybe(high)}
	}
	if p, _, err := stats.Fisher(x1, n1, x0, n0); err == nil {
		out.PFisher = maybe(p)
	}
	if n1*n0 <= mostBoschloo {
		if p, err := stats.Boschloo(x1, n1, x0, n0); err == nil {
			out.PBoschloo = maybe(p)
		}
	}
	return out
}

func shareOf(x, n int) ShareOf {
	s := ShareOf{Jars: x, Of: n}
	if low, high, err := stats.Wilson(x, n, confidence); err == nil {
		s.Interval = Interval{maybe(float64(x) / float64(n)), maybe(low), maybe(high)}
	}
	return s
}

// shares fills in the shares of jars that fruited and that were kept, once no jar
// is growing.
func (c *comparing) shares(out *Comparison, pair [2]int) {
	b, a := c.result.Arms[pair[0]], c.result.Arms[pair[1]]
	if b.Growing+a.Growing > 0 {
		return
	}
	out.Fruited = sharesApart(b.Picked, b.Inoculated, a.Picked, a.Inoculated)
	out.Kept = sharesApart(b.Inoculated-b.Lost, b.Inoculated, a.Inoculated-a.Lost, a.Inoculated)
}
