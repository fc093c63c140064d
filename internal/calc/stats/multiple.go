package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Comparison is the difference between the means of two groups, B less A, with a
// p and an interval that hold for all comparisons of the set together.
type Comparison struct {
	A, B int // places of the groups
	Estimate
}

// TukeyHSD compares all pairs of groups with one common variance, in the order
// (0,1), (0,2), (1,2), … of A and B as counted by B. Errors are those of ANOVA,
// and ErrRange for a level outside 0..1.
//
// Source: Tukey (1953) and, for groups of unequal size, Kramer, Biometrics 12
// (1956) 307-310.
func TukeyHSD(groups [][]float64, level float64) ([]Comparison, error) {
	if err := inside(level); err != nil {
		return nil, err
	}
	table, err := ANOVA(groups)
	if err != nil {
		return nil, err
	}
	q := StudentizedRangeQuantile(1-level, len(groups), table.DF2)
	return pairs(groups, func(a, b []float64) (se, df, half float64) {
		se = table.SD * math.Sqrt(1/float64(len(a))+1/float64(len(b)))
		return se, table.DF2, q * se / math.Sqrt2
	}), nil
}

// GamesHowell compares all pairs of groups that may differ in variance, in the
// order of TukeyHSD. Errors are those of WelchANOVA, and ErrRange for a level
// outside 0..1.
//
// Source: Games and Howell, J. Educ. Stat. 1 (1976) 113-125.
func GamesHowell(groups [][]float64, level float64) ([]Comparison, error) {
	if err := inside(level); err != nil {
		return nil, err
	}
	if _, err := WelchANOVA(groups); err != nil {
		return nil, err
	}
	return pairs(groups, func(a, b []float64) (se, df, half float64) {
		w, err := Welch(a, b, level)
		if err != nil {
			return math.NaN(), math.NaN(), math.NaN() // not reached: WelchANOVA asks for more
		}
		q := StudentizedRangeQuantile(1-level, len(groups), w.DF)
		return w.SE, w.DF, q * w.SE / math.Sqrt2
	}), nil
}

// pairs makes the comparisons of all pairs, their p from the studentized range.
func pairs(groups [][]float64, scale func(a, b []float64) (se, df, half float64)) []Comparison {
	var out []Comparison
	for b := range groups {
		for a := range b {
			se, df, half := scale(groups[a], groups[b])
			d := apart(groups[a], groups[b])
			out = append(out, Comparison{A: a, B: b, Estimate: Estimate{
				Value: d, SE: se, DF: df, T: d / se,
				P:   StudentizedRangeUpper(math.Sqrt2*math.Abs(d)/se, len(groups), df),
				Low: d - half, High: d + half,
			}})
		}
	}
	return out
}

// Dunnett compares every other group with the group control, with one common
// variance; groups may differ in size. Errors are those of ANOVA, and ErrRange
// for a level outside 0..1 or a control that is no group.
//
// Source: Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096-1121; the joint tail by
// double quadrature, since the correlations have one factor.
func Dunnett(groups [][]float64, control int, level float64) ([]Comparison, error) {
	if err := inside(level); err != nil {
		return nil, err
	}
	if control < 0 || control >= len(groups) {
		return nil, fmt.Errorf("stats: control %d of %d groups: %w", control, len(groups), ErrRange)
	}
	table, err := ANOVA(groups)
	if err != nil {
		return nil, err
	}
	base := groups[control]
	n0 := float64(len(base))
	var loads []float64
	for g, v := range groups {
		if g != control {
			loads = append(loads, math.Sqrt(float64(len(v))/(float64(len(v))+n0)))
		}
	}
	tail := newDunnettTail(loads, table.DF2)
	q := upperQuantile(1-level, tail.upper)
	var out []Comparison
	for g, v := range groups {
		if g == control {
			continue
		}
		d, se := apart(base, v), table.SD*math.Sqrt(1/float64(len(v))+1/n0)
		out = append(out, Comparison{A: control, B: g, Estimate: Estimate{
			Value: d, SE: se, DF: table.DF2, T: d / se, P: tail.upper(math.Abs(d) / se), Low: d - q*se, High: d + q*se,
		}})
	}
	return out, nil
}

// dunnettTail holds the nodes of the joint tail of t statistics whose numerators
// share one normal, with the given loads.
type dunnettTail struct {
	loads   []float64
	over, z rule
}

func newDunnettTail(loads []float64, df float64) dunnettTail {
	return dunnettTail{loads: loads, over: overSpread(df), z: normalNodes(8.5, 8)}
}

// normalNodes is a rule for the mean over a normal, as far as reach from 0.
func normalNodes(reach float64, panels int) rule {
	z := legendre(-reach, reach, panels)
	for i, v := range z.at {
		z.weight[i] *= math.Exp(-v*v/2) / math.Sqrt(2*math.Pi)
	}
	return z
}

// upper returns the chance that some statistic is q or more from 0.
func (d dunnettTail) upper(q float64) float64 {
	if q <= 0 {
		return 1
	}
	var p total
	for i, s := range d.over.at {
		for j, z := range d.z.at {
			inside := 0.0 // log of the chance that all are less than q from 0
			for _, load := range d.loads {
				rest := math.Sqrt(1 - load*load)
				inside += math.Log1p(-NormalUpper((q*s-load*z)/rest) - NormalUpper((q*s+load*z)/rest))
			}
			p.add(d.over.weight[i] * d.z.weight[j] * -math.Expm1(inside))
		}
	}
	return math.Min(1, p.value())
}

// ManyToOneQuantile returns the q with P(|T| >= q for some T) = 1 - level for t
// statistics over one spread with df > 0 degrees of freedom, whose correlations
// are the products of loads, each 0 or more and below 1. Of one load it is
// Student's. NaN for other arguments. It is good to 1e-8, in some milliseconds.
//
// Source: Dunnett (1955) for a common spread; with the degrees of freedom and the
// correlations of arms that keep their own, Hasler and Hothorn, Int. J. Biostat. 4
// (2008) 11.
func ManyToOneQuantile(level float64, loads []float64, df float64) float64 {
	if !(level > 0 && level < 1) || len(loads) == 0 || !(df > 0) {
		return math.NaN()
	}
	for _, load := range loads {
		if !(load >= 0 && load < 1) {
			return math.NaN()
		}
	}
	tail := dunnettTail{loads: loads, over: overSpreadIn(df, math.Inf(1), 4), z: normalNodes(7, 4)}
	// Šidák's quantile of independent statistics is close from above.
	high := 1.02 * TQuantile((1+math.Pow(level, 1/float64(len(loads))))/2, df)
	q, ok := root(TQuantile((1+level)/2, df)*0.999, high, func(q float64) float64 {
		return math.Log(tail.upper(q) / (1 - level))
	})
	if !ok {
		return math.NaN()
	}
	return q
}

// Holm returns p values adjusted so that comparing each with a level holds that
// level for all of them together. The order of p is kept. NaN stays NaN and does
// not count.
//
// Source: Holm, Scand. J. Stat. 6 (1979) 65-70.
func Holm(p []float64) []float64 {
	out := slices.Clone(p)
	var order []int
	for i, v := range p {
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(p[i], p[j]) })
	least := 0.0
	for rank, i := range order {
		least = math.Max(least, math.Min(1, float64(len(order)-rank)*p[i]))
		out[i] = least
	}
	return out
}
