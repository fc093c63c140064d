package trialstat

import (
	"cmp"
	"slices"

	"pinset/internal/figure"
)

// fouledFactor is a column of the table that may have fouled jars.
type fouledFactor struct {
	name string // as in JSON
	word string // as in a sentence
	from string // how jars are of a level: "20 of 24 jars " + from + level
	bare bool   // a level says itself what it is
	of   func(*FouledRow) *Label
}

// fouledFactors lists every factor in the order in which they are reported.
var fouledFactors = []fouledFactor{
	{factorCook, "cook", "from ", false, func(r *FouledRow) *Label { return &r.Cook }},
	{factorLayer, "layer", "in ", false, func(r *FouledRow) *Label { return &r.Layer }},
	{factorLC, "liquid culture", "from ", true, func(r *FouledRow) *Label { return &r.LC }},
	{factorCulture, "culture", "with ", true, func(r *FouledRow) *Label { return &r.Culture }},
	{factorMixMade, "making of the mix", "filled from ", false, func(r *FouledRow) *Label { return &r.MixMade }},
	{"ingredient_lot", "ingredient lot", "with ", false, func(r *FouledRow) *Label { return &r.IngredientLot }},
	{factorRecipe, "recipe", "of ", true, func(r *FouledRow) *Label { return &r.Recipe }},
	{factorContainer, "container", "in ", true, func(r *FouledRow) *Label { return &r.Container }},
	{"person", "person", "inoculated by ", true, func(r *FouledRow) *Label { return &r.Person }},
	{"day", "day", "inoculated on ", true, func(r *FouledRow) *Label { return &r.Day }},
	{"shelf", "shelf", "on ", false, func(r *FouledRow) *Label { return &r.Shelf }},
	{"room", "room", "in ", false, func(r *FouledRow) *Label { return &r.Room }},
}

// fouledColumn is a factor over the jars: a level for each, -1 where it is not
// recorded, and what each level comes to.
type fouledColumn struct {
	fouledFactor
	codes      []int
	levels     []string // sorted by bytes
	bad, total []int    // by level
	knownBad   int
	known      int
}

// telling reports whether the column can tell anything: two levels or more, not
// one for every jar, and among its jars some that fouled and some that did not.
func (c *fouledColumn) telling() bool {
	return len(c.levels) > 1 && len(c.levels) < c.known && c.knownBad > 0 && c.knownBad < c.known
}

// fouling is one search on its way. Its jars stand in an order of their own, by
// their levels, so that the order of the rows changes nothing.
type fouling struct {
	bad      []bool // by jar
	columns  []fouledColumn
	alike    [][]int // columns that are always together, as indices
	result   FouledResult
	cautions []figure.Caution
	working  []figure.Step
}

func newFouling(in FouledInput) (*fouling, error) {
	if n := len(in.Rows); n == 0 || n > maxFouledRows {
		return nil, figure.Faultf("rows", "give one row for each jar, the clean ones too, at most 1000000", "there are %d rows", n)
	}
	f := &fouling{cautions: []figure.Caution{}, working: []figure.Step{}}
	f.result = FouledResult{Factors: []FouledFactor{}, Suspects: []FouledSuspect{}, Confused: []FouledConfused{}}
	if in.Seed != nil {
		f.result.Seed = *in.Seed
	}
	rows, blanks, err := parted(in.Rows)
	if err != nil {
		return nil, err
	}
	f.countBlanks(blanks)
	f.read(rows)
	return f, nil
}

// parted tells jars from blanks, and refuses a jar with two rows.
func parted(all []FouledRow) (rows, blanks []*FouledRow, err error) {
	first := make(map[string]int, len(all))
	for i := range all {
		r := &all[i]
		if jar := r.Jar.Trimmed(); jar != "" {
			if before, twice := first[jar]; twice {
				return nil, nil, figure.Faultf(rowField(i, "jar"), "give each jar one row, or mend the name", "jar %s is in rows %d and %d", brief(jar), before+1, i+1)
			}
			first[jar] = i
		}
		if r.Blank {
			blanks = append(blanks, r)
		} else {
			rows = append(rows, r)
		}
	}
	return rows, blanks, nil
}

func (f *fouling) countBlanks(blanks []*FouledRow) {
	b := &f.result.Blanks
	b.ByCook = []FouledCookBlank{}
	place := map[string]int{}
	for _, r := range blanks {
		b.Total++
		cook := r.Cook.Trimmed()
		k, ok := place[cook]
		if !ok {
			k = len(b.ByCook)
			place[cook] = k
			b.ByCook = append(b.ByCook, FouledCookBlank{Cook: cook})
		}
		b.ByCook[k].Total++
		if r.Bad {
			b.Bad++
			b.ByCook[k].Bad++
		}
	}
	b.MissedAt30Pct = missed(b.Total)
	for k := range b.ByCook {
		b.ByCook[k].MissedAt30Pct = missed(b.ByCook[k].Total)
	}
	slices.SortFunc(b.ByCook, func(x, y FouledCookBlank) int { return cmp.Compare(x.Cook, y.Cook) })
}

// read turns the rows into columns of sorted jars.
func (f *fouling) read(rows []*FouledRow) {
	var columns []fouledColumn
	for _, factor := range fouledFactors {
		c := newFouledColumn(factor, rows)
		if len(c.levels) > 0 {
			columns = append(columns, c)
		}
	}
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		for _, c := range columns {
			if d := c.codes[a] - c.codes[b]; d != 0 {
				return d
			}
		}
		return 0
	})
	f.bad = make([]bool, len(rows))
	for k, i := range order {
		f.bad[k] = bool(rows[i].Bad)
		if f.bad[k] {
			f.result.Bad++
		}
	}
	f.result.Total = len(rows)
	for _, c := range columns {
		codes := make([]int, len(rows))
		for k, i := range order {
			codes[k] = c.codes[i]
		}
		c.codes = codes
		c.count(f.bad)
		f.columns = append(f.columns, c)
	}
}

func newFouledColumn(factor fouledFactor, rows []*FouledRow) fouledColumn {
	c := fouledColumn{fouledFactor: factor, codes: make([]int, len(rows))}
	place := map[string]int{}
	for _, r := range rows {
		if name := factor.of(r).Trimmed(); name != "" {
			if _, ok := place[name]; !ok {
				place[name] = 0
				c.levels = append(c.levels, name)
			}
		}
	}
	slices.Sort(c.levels)
	for k, name := range c.levels {
		place[name] = k
	}
	for i, r := range rows {
		c.codes[i] = -1
		if name := factor.of(r).Trimmed(); name != "" {
			c.codes[i] = place[name]
		}
	}
	return c
}

func (c *fouledColumn) count(bad []bool) {
	c.bad, c.total = make([]int, len(c.levels)), make([]int, len(c.levels))
	for i, k := range c.codes {
		if k < 0 {
			continue
		}
		c.known++
		c.total[k]++
		if bad[i] {
			c.knownBad++
			c.bad[k]++
		}
	}
}

// confuse finds columns that part the jars in the very same way.
func (f *fouling) confuse() {
	done := make([]bool, len(f.columns))
	for i := range f.columns {
		a := &f.columns[i]
		if done[i] || len(a.levels) < 2 || len(a.levels) == a.known {
			continue
		}
		group := []int{i}
		for j := i + 1; j < len(f.columns); j++ {
			if !done[j] && together(a, &f.columns[j]) {
				group, done[j] = append(group, j), true
			}
		}
		if len(group) > 1 {
			f.alike = append(f.alike, group)
		}
	}
}

// together reports whether two columns part the jars in the same way.
func together(a, b *fouledColumn) bool {
	if len(a.levels) != len(b.levels) {
		return false
	}
	to := make([]int, len(a.levels)+1) // b's code + 1 by a's code + 1, shifted by one; 0 not met
	met := make([]bool, len(b.levels)+1)
	for i, k := range a.codes {
		there := b.codes[i] + 1
		switch {
		case to[k+1] == 0 && !met[there]:
			to[k+1], met[there] = there+1, true
		case to[k+1] != there+1:
			return false
		}
	}
	return true
}

// inseparable reports whether columns i and j are always together.
func (f *fouling) inseparable(i, j int) bool {
	return slices.ContainsFunc(f.alike, func(g []int) bool { return slices.Contains(g, i) && slices.Contains(g, j) })
}
