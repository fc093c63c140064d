package trialstat

import (
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// weak is the efficiency under which a factor is called partly aliased: the
// standard error grows by 1/√0.75, that is by 15 % or more.
const weak = 0.75

// poor reports whether an efficiency is under 0.75, and not by rounding.
func poor(e float64) bool { return e < weak-1e-9 }

// Aliasing says how far a factor moved with two arms.
type Aliasing struct {
	Factor     string   `json:"factor"` // such as "layer", or "cook+layer" for both together where neither alone says so
	Arms       []string `json:"arms"`
	Efficiency float64  `json:"efficiency"` // 0 = fully: a difference could be either's
	Repair     string   `json:"repair"`     // what would have parted them
}

// AliasInput is a plan or a trial: one row a jar. Fates and values are not read.
type AliasInput struct {
	ArmsDifferIn []string     `json:"arms_differ_in,omitempty"`
	Rows         []CompareRow `json:"rows"`
	Control      Label        `json:"control,omitempty"`
	On           []SetOn      `json:"on,omitempty"` // what is set on whole cooks, shelves or makings
}

// SetOn is something that arms differ in and that is set on whole units. What
// varies with the units then does not hide the arms, if each level has two or more
// of them: they are what is compared.
type SetOn struct {
	Unit  string            `json:"unit"`  // cook, shelf or mix_made
	Level map[string]string `json:"level"` // by arm
}

// AliasResult lists what moved with the arms, the first-named factors first.
type AliasResult struct {
	Full   []Aliasing `json:"full"`   // efficiency 0: the arms can not be told from the factor
	Partly []Aliasing `json:"partly"` // efficiency under 0.75

	// Pairs has, for every comparison, what is left when all factors are taken out
	// at once: the efficiency of the design.
	Pairs []PairEfficiency `json:"pairs"`
}

// PairEfficiency is the efficiency of the design for one comparison.
type PairEfficiency struct {
	Arms       []string `json:"arms"`
	Efficiency float64  `json:"efficiency"`
	Lost       int      `json:"lost"` // degrees of freedom that the factors take
}

// Alias finds every recorded factor that moved with the arms, save those that
// the arms differ in. Each factor is looked at alone, then all of them together:
// where that leaves less, the smallest set that does is named. A factor of one
// level never moved. Alone, jars for which a factor is not recorded are left out
// for it; together, they are a level of their own.
//
// Efficiency is what is left of the information on the difference of two arms
// when it is taken within the levels of the factor. The error is a
// *figure.Fault.
//
// Source: John and Williams, Cyclic and Computer Generated Designs (2nd ed.
// 1995), 2.2; for several factors together, stats.TellApart.
func Alias(in AliasInput) (AliasResult, error) {
	s, err := newSheet(in.Rows, in.ArmsDifferIn, in.Control, false)
	if err != nil {
		return AliasResult{}, err
	}
	for _, o := range in.On {
		if _, ok := factorNamed(o.Unit); !ok {
			return AliasResult{}, figure.Faultf("on", "write cook, shelf or mix_made", "nothing can be set on a %q", brief(o.Unit))
		}
	}
	s.on = in.On
	rows := make([]int, len(s.rows))
	for i := range rows {
		rows[i] = i
	}
	var columns []column
	for _, f := range factors {
		columns = append(columns, s.column(f))
	}
	out := AliasResult{Full: []Aliasing{}, Partly: []Aliasing{}}
	found := s.aliasing(columns, rows)
	out.Pairs = s.efficiencies(columns, rows, found)
	for _, p := range found {
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
	factor factor   // of several together, one made up of them
	with   []factor // that are together, nil for one
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
		out = append(out, s.aliasingOf(c, columns, rows)...)
	}
	k := s.kindsOf(columns, rows)
	for _, pair := range s.pairs() {
		if p, ok := s.aliasingTogether(columns, rows, k, pair, out); ok {
			out = append(out, p)
		}
	}
	return out
}

// aliasingOf judges one factor over the rows for which it is recorded.
func (s *sheet) aliasingOf(c column, columns []column, rows []int) []pairAliasing {
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
		if s.isUnit(c, columns, rows, pair) {
			continue
		}
		if e := fit.Efficiency(pair[1], pair[0]); poor(e) {
			p := pairAliasing{factor: c.factor, pair: pair, full: e == 0}
			p.Aliasing = Aliasing{Factor: c.name, Arms: s.armNames(pair), Efficiency: e, Repair: s.repair(c, rows, pair)}
			out = append(out, p)
		}
	}
	return out
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
func (s *sheet) refuses(p pairAliasing) bool {
	return p.full && !p.factor.offers && !s.ownMaking(p)
}

// ownMaking reports whether makings differ because the mixes do. Where it is
// not said what the arms differ in, they may.
func (s *sheet) ownMaking(p pairAliasing) bool {
	return p.factor.name == factorMixMade && (len(s.differ) == 0 || s.differs(factorRecipe))
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
