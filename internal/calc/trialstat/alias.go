package trialstat

import (
	"slices"

	"pinset/internal/calc/stats"
)

// weak is the efficiency under which a factor is called partly aliased: the
// standard error grows by 1/√0.75, that is by 15 % or more.
const weak = 0.75

// Aliasing says how far a factor moved with two arms.
type Aliasing struct {
	Factor     string   `json:"factor"` // such as "layer", or "cook+layer" for both together
	Arms       []string `json:"arms"`
	Efficiency float64  `json:"efficiency"` // 0 = fully: a difference could be either's
	Repair     string   `json:"repair"`     // what would have parted them
}

// AliasInput is a plan or a trial: one row a jar. Fates and values are not read.
type AliasInput struct {
	ArmsDifferIn []string     `json:"arms_differ_in,omitempty"`
	Rows         []CompareRow `json:"rows"`
	Control      Label        `json:"control,omitempty"`
}

// AliasResult lists what moved with the arms, the first-named factors first.
type AliasResult struct {
	Full   []Aliasing `json:"full"`   // efficiency 0: the arms can not be told from the factor
	Partly []Aliasing `json:"partly"` // efficiency under 0.75
}

// Alias finds every recorded factor that moved with the arms, save those that
// the arms differ in. Each factor is looked at alone, and cook and layer
// together. A factor of one level never moved; jars for which a factor is not
// recorded are left out for it.
//
// Efficiency is what is left of the information on the difference of two arms
// when it is taken within the levels of the factor. The error is a
// *figure.Fault.
//
// Source: John and Williams, Cyclic and Computer Generated Designs (2nd ed.
// 1995), 2.2; for cook and layer together, the rank of their columns with and
// without those of the arms.
func Alias(in AliasInput) (AliasResult, error) {
	s, err := newSheet(in.Rows, in.ArmsDifferIn, in.Control, false)
	if err != nil {
		return AliasResult{}, err
	}
	rows := make([]int, len(s.rows))
	for i := range rows {
		rows[i] = i
	}
	var columns []column
	for _, f := range factors {
		columns = append(columns, s.column(f))
	}
	out := AliasResult{Full: []Aliasing{}, Partly: []Aliasing{}}
	for _, p := range s.aliasing(columns, rows) {
		if p.full {
			out.Full = append(out.Full, p.Aliasing)
		} else {
			out.Partly = append(out.Partly, p.Aliasing)
		}
	}
	return out, nil
}

// pairAliasing is an Aliasing with what it came from.
type pairAliasing struct {
	Aliasing
	factor factor // of "cook+layer", cook
	pair   [2]int
	full   bool
}

// aliasing goes through all factors and pairs. Columns are in the order of
// factors.
func (s *sheet) aliasing(columns []column, rows []int) []pairAliasing {
	var out []pairAliasing
	for _, c := range columns {
		if s.differs(c.name) || c.name == factorLC && s.differs(factorCulture) || !c.varies(rows) {
			continue
		}
		out = append(out, s.aliasingOf(c, rows)...)
	}
	return append(out, s.aliasingBoth(columns[0], columns[1], rows, out)...)
}

// aliasingOf judges one factor over the rows for which it is recorded.
func (s *sheet) aliasingOf(c column, rows []int) []pairAliasing {
	var arm, codes []int
	jars := make([]int, len(s.names))
	for _, i := range rows {
		if k := c.codes[i]; k >= 0 {
			arm, codes = append(arm, s.arm[i]), append(codes, k)
			jars[s.arm[i]]++
		}
	}
	fit, err := stats.FitBlocks(make([]float64, len(arm)), arm, codes, len(s.names))
	if err != nil {
		return nil // no jar has the factor
	}
	var out []pairAliasing
	for _, pair := range s.pairs() {
		if jars[pair[0]] == 0 || jars[pair[1]] == 0 {
			continue // recorded for one arm only: nothing can be said
		}
		if e := fit.Efficiency(pair[1], pair[0]); e < weak {
			p := pairAliasing{factor: c.factor, pair: pair, full: e == 0}
			p.Aliasing = Aliasing{Factor: c.name, Arms: s.armNames(pair), Efficiency: e, Repair: s.repair(c, rows, pair)}
			out = append(out, p)
		}
	}
	return out
}

// aliasingBoth judges cook and layer together, where neither alone is aliased.
func (s *sheet) aliasingBoth(cook, layer column, rows []int, alone []pairAliasing) []pairAliasing {
	if !cook.varies(rows) || !layer.varies(rows) {
		return nil
	}
	var out []pairAliasing
	for _, pair := range s.pairs() {
		if slices.ContainsFunc(alone, func(p pairAliasing) bool { return p.pair == pair && p.full }) {
			continue
		}
		if s.separable(cook, layer, rows, pair) {
			continue
		}
		p := pairAliasing{factor: cook.factor, pair: pair, full: true}
		p.Aliasing = Aliasing{Factor: "cook+layer", Arms: s.armNames(pair), Repair: "spread every arm over the layers of every cook"}
		out = append(out, p)
	}
	return out
}

// maxRank bounds the columns and distinct rows of a rank test.
const maxRank = 400

// separable reports whether cook and layer, as two effects that add up, leave
// the difference of two arms estimable: holding both arms equal then costs one
// rank. Where cook and layer cells join the arms they do; there is no need to
// look further, nor in tables too large for it.
func (s *sheet) separable(cook, layer column, rows []int, pair [2]int) bool {
	type kind struct{ arm, cook, layer int }
	seen := map[kind]bool{}
	var kinds []kind
	shared := map[[2]int]int{}
	for _, i := range rows {
		k := kind{s.arm[i], cook.codes[i], layer.codes[i]}
		if k.cook < 0 || k.layer < 0 || seen[k] {
			continue
		}
		seen[k] = true
		kinds = append(kinds, k)
		if k.arm == pair[0] || k.arm == pair[1] {
			if shared[[2]int{k.cook, k.layer}]++; shared[[2]int{k.cook, k.layer}] == 2 {
				return true
			}
		}
	}
	if len(kinds) > maxRank || len(cook.levels)+len(layer.levels) > maxRank {
		return true
	}
	both := [2]bool{}
	columns := make([][]float64, len(cook.levels)+len(layer.levels)+len(s.names))
	for c := range columns {
		columns[c] = make([]float64, len(kinds))
	}
	for r, k := range kinds {
		columns[k.cook][r] = 1
		columns[len(cook.levels)+k.layer][r] = 1
		columns[len(cook.levels)+len(layer.levels)+k.arm][r] = 1
		both[0], both[1] = both[0] || k.arm == pair[0], both[1] || k.arm == pair[1]
	}
	if !both[0] || !both[1] {
		return true // not recorded for one of them: nothing can be said
	}
	free := stats.Rank(columns)
	at := len(cook.levels) + len(layer.levels)
	for r := range kinds { // hold the two arms equal
		columns[at+pair[1]][r] += columns[at+pair[0]][r]
		columns[at+pair[0]][r] = 0
	}
	return stats.Rank(columns) < free
}

func (s *sheet) armNames(pair [2]int) []string {
	return []string{s.names[pair[0]], s.names[pair[1]]}
}

// alias judges the jars of a trial that count or still may.
func (c *comparing) alias() {
	var rows []int
	for i, f := range c.fates {
		if c.primary == PerInoculated || f == picked || f == growing {
			rows = append(rows, i)
		}
	}
	c.aliasing = c.sheet.aliasing(c.columns, rows)
	for _, p := range c.aliasing {
		if !p.full {
			c.result.PartlyAliased = append(c.result.PartlyAliased, p.Aliasing)
		} else if !slices.Contains(c.result.Aliased, p.Factor) && !c.manyMakings(p) {
			c.result.Aliased = append(c.result.Aliased, p.Factor)
		}
	}
}

// refuses reports whether a factor that moved fully with the arms leaves
// nothing to say. What arms may differ in does not: the trial then compares
// packages. Nor does the making of mixes that differ by recipe, for each must
// be made by itself.
func (c *comparing) refuses(p pairAliasing) bool {
	return p.full && !p.factor.offers && !c.ownMaking(p)
}

// ownMaking reports whether makings differ because the mixes do. Where it is
// not said what the arms differ in, they may.
func (c *comparing) ownMaking(p pairAliasing) bool {
	return p.factor.name == factorMixMade && (len(c.differ) == 0 || c.differs(factorRecipe))
}

// manyMakings reports whether each mix was made anew several times, so that one
// slip of the scale could not look like the arm.
func (c *comparing) manyMakings(p pairAliasing) bool {
	return c.ownMaking(p) && c.makings(p.pair[0]) > 1 && c.makings(p.pair[1]) > 1
}

// makings counts the makings recorded for an arm.
func (c *comparing) makings(arm int) int {
	return c.levelsOf(factorMixMade, func(a int) bool { return a == arm })
}

// levelsOf counts the levels of a factor over the closed jars of some arms.
func (c *comparing) levelsOf(name string, of func(arm int) bool) int {
	for _, col := range c.columns {
		if col.name != name {
			continue
		}
		seen := make([]bool, len(col.levels))
		n := 0
		for i, f := range c.fates {
			if k := col.codes[i]; k >= 0 && f != growing && of(c.arm[i]) && !seen[k] {
				seen[k] = true
				n++
			}
		}
		return n
	}
	return 0
}
