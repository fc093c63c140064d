package trialstat

import (
	"slices"
	"strings"

	"pinset/internal/calc/stats"
)

// joint returns the columns that are taken out of a pair together: those that
// vary and are recorded for both arms, without what moves with the arms by design
// or was found to move fully with this pair alone.
func (s *sheet) joint(columns []column, rows []int, pair [2]int, alone []pairAliasing) []column {
	var out []column
	for _, c := range columns {
		own := c.name == factorLC && s.differs(factorCulture) || s.ownMaking(pairAliasing{factor: c.factor})
		if own || s.differs(c.name) || !c.varies(rows) || !s.recordedFor(c, rows, pair) || s.isUnit(c, columns, rows, pair) {
			continue
		}
		if slices.ContainsFunc(alone, func(p pairAliasing) bool { return p.pair == pair && p.full && p.factor.name == c.name }) {
			continue
		}
		out = append(out, c)
	}
	return out
}

// recordedFor reports whether a factor is recorded for some jar of both arms.
func (s *sheet) recordedFor(c column, rows []int, pair [2]int) bool {
	var has [2]bool
	for _, i := range rows {
		for side, a := range pair {
			has[side] = has[side] || s.arm[i] == a && c.codes[i] >= 0
		}
	}
	return has[0] && has[1]
}

// kinds is a table with equal rows counted once.
type kinds struct {
	arm   []int
	codes [][]int // by column, in the order of factors
	jars  []int
	done  map[[16]bool]*stats.Apart // by the factors taken out
}

// maxKinds bounds the kinds of jars over which factors are judged together.
const maxKinds = 5000

// kindsOf counts equal rows; nil if there are too many kinds.
func (s *sheet) kindsOf(columns []column, rows []int) *kinds {
	k := &kinds{codes: make([][]int, len(columns)), done: map[[16]bool]*stats.Apart{}}
	seen := map[[16]int]int{} // the arm, and no more factors than there are
	for _, i := range rows {
		key := [16]int{s.arm[i]}
		for c, col := range columns {
			key[c+1] = col.codes[i]
		}
		at, ok := seen[key]
		if !ok {
			if len(seen) == maxKinds {
				return nil
			}
			at = len(k.arm)
			seen[key] = at
			k.arm, k.jars = append(k.arm, s.arm[i]), append(k.jars, 0)
			for c, col := range columns {
				k.codes[c] = append(k.codes[c], col.codes[i])
			}
		}
		k.jars[at]++
	}
	return k
}

// without takes columns out of the arms; nil if there are too many levels for it.
func (s *sheet) without(with []column, k *kinds) *stats.Apart {
	var codes [][]int
	var which [16]bool
	for _, c := range with {
		at := slices.IndexFunc(factors, func(f factor) bool { return f.name == c.name })
		which[at] = true
		codes = append(codes, k.codes[at])
	}
	if out, ok := k.done[which]; ok {
		return out
	}
	out, err := stats.TellApart(k.arm, codes, k.jars, len(s.names))
	if err != nil {
		out = nil
	}
	k.done[which] = out
	return out
}

// aliasingTogether finds the smallest set of factors that leave a pair less than
// three quarters, or nothing, though each of them alone leaves more.
func (s *sheet) aliasingTogether(columns []column, rows []int, k *kinds, pair [2]int, alone []pairAliasing) (pairAliasing, bool) {
	if k == nil || slices.ContainsFunc(alone, func(p pairAliasing) bool { return p.pair == pair && s.refuses(p) }) {
		return pairAliasing{}, false
	}
	with := s.joint(columns, rows, pair, alone)
	left := func(of []column) float64 {
		if a := s.without(of, k); a != nil {
			return a.Efficiency(pair[1], pair[0])
		}
		return 1
	}
	e := left(with)
	if len(with) < 2 || !poor(e) {
		return pairAliasing{}, false
	}
	for at := len(with) - 1; at >= 0; at-- { // the first-named stay
		fewer := slices.Delete(slices.Clone(with), at, at+1)
		if x := left(fewer); poor(x) && (x == 0) == (e == 0) {
			with = fewer
		}
	}
	if len(with) < 2 {
		return pairAliasing{}, false
	}
	return s.together(with, rows, pair, left(with)), true
}

// together makes one aliasing of several factors.
func (s *sheet) together(with []column, rows []int, pair [2]int, e float64) pairAliasing {
	p := pairAliasing{pair: pair, full: e == 0}
	var names, words, many []string
	offers := true
	for _, c := range with {
		p.with = append(p.with, c.factor)
		names, words, many = append(names, c.name), append(words, c.word), append(many, c.many)
		offers = offers && c.offers
	}
	p.factor = factor{name: strings.Join(names, "+"), word: listed(words) + " together", many: listed(many), offers: offers}
	p.Aliasing = Aliasing{Factor: p.factor.name, Arms: s.armNames(pair), Efficiency: e, Repair: s.repairTogether(with, rows, pair)}
	return p
}

// efficiencies returns what each comparison keeps when every factor is taken out
// at once.
func (s *sheet) efficiencies(columns []column, rows []int, found []pairAliasing) []PairEfficiency {
	out := []PairEfficiency{}
	k := s.kindsOf(columns, rows)
	for _, pair := range s.pairs() {
		p := PairEfficiency{Arms: s.armNames(pair), Efficiency: 1}
		refused := slices.ContainsFunc(found, func(f pairAliasing) bool { return f.pair == pair && s.refuses(f) })
		if k != nil {
			if a := s.without(s.joint(columns, rows, pair, found), k); a != nil {
				p.Efficiency, p.Lost = tidy(a.Efficiency(pair[1], pair[0])), a.Lost()
			}
		}
		if refused {
			p.Efficiency = 0
		}
		out = append(out, p)
	}
	return out
}

// A repair of several factors looks through so many pairs of places, and takes so
// many jars of each arm.
const (
	maxPlaces = 24
	maxMoves  = 6
	maxRows   = 1000
)

// repairTogether says which jars of the two arms to swap so that the factors
// together leave three quarters or more, one swap at a time, each the best.
func (s *sheet) repairTogether(with []column, rows []int, pair [2]int) string {
	anew := "spread both arms evenly over the " + manyOf(with) + ", by lot"
	if len(rows) > maxRows {
		return anew
	}
	arm := slices.Clone(s.arm)
	var moves [][2]int // rows: of the first arm, of the second
	for range maxMoves {
		best, at := -1.0, [2]int{}
		ours, theirs := s.places(with, rows, arm, pair[0]), s.places(with, rows, arm, pair[1])
		if len(ours)*len(theirs) > maxPlaces*maxPlaces {
			return anew
		}
		for _, i := range ours {
			for _, j := range theirs {
				arm[i], arm[j] = arm[j], arm[i]
				if a := s.swapped(with, rows, arm); a != nil {
					if e := a.Efficiency(pair[1], pair[0]); e > best {
						best, at = e, [2]int{i, j}
					}
				}
				arm[i], arm[j] = arm[j], arm[i]
			}
		}
		if best < 0 {
			return anew
		}
		arm[at[0]], arm[at[1]] = arm[at[1]], arm[at[0]]
		moves = append(moves, at)
		if !poor(best) {
			return s.sayMoves(with, moves, pair)
		}
	}
	return anew
}

// swapped takes columns out of arms that are not those of the sheet.
func (s *sheet) swapped(with []column, rows, arm []int) *stats.Apart {
	arms, codes := make([]int, len(rows)), make([][]int, len(with))
	for r, i := range rows {
		arms[r] = arm[i]
		for k, c := range with {
			codes[k] = append(codes[k], c.codes[i])
		}
	}
	out, err := stats.TellApart(arms, codes, nil, len(s.names))
	if err != nil {
		return nil
	}
	return out
}

// places returns one row of an arm for each combination of levels it has.
func (s *sheet) places(with []column, rows []int, arm []int, of int) []int {
	var out []int
	seen := map[string]bool{}
	for _, i := range rows {
		if arm[i] != of {
			continue
		}
		if key := placeOf(with, i); !seen[key] {
			seen[key] = true
			out = append(out, i)
		}
	}
	return out
}

// placeOf names the levels of a jar: "cook 1, layer 2".
func placeOf(with []column, row int) string {
	var out []string
	for _, c := range with {
		if k := c.codes[row]; k >= 0 {
			out = append(out, c.level(k))
		}
	}
	return strings.Join(out, ", ")
}

func manyOf(with []column) string {
	var out []string
	for _, c := range with {
		out = append(out, c.many)
	}
	return listed(out)
}

// sayMoves says the swaps, equal ones at once.
func (s *sheet) sayMoves(with []column, moves [][2]int, pair [2]int) string {
	type way struct{ from, to string }
	count := map[way]int{}
	var order []way
	for _, m := range moves {
		w := way{placeOf(with, m[0]), placeOf(with, m[1])}
		if count[w] == 0 {
			order = append(order, w)
		}
		count[w]++
	}
	var out []string
	for i, w := range order {
		verb := ""
		if i == 0 {
			verb = "swap "
		}
		n := count[w]
		out = append(out, verb+whole(n)+" "+brief(s.names[pair[0]])+" "+jarWord(n)+" of "+w.from+" with "+whole(n)+" "+brief(s.names[pair[1]])+" "+jarWord(n)+" of "+w.to)
	}
	return listed(out)
}
