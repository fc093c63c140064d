package trialstat

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
)

// maxCandidates is how many levels of one factor are looked at, those with the
// highest share first.
const maxCandidates = 200

// suspect finds the levels that stand out in the factors that do.
func (f *fouling) suspect() {
	for i := range f.columns {
		if p := f.result.Factors[i].PAdjusted; p == nil || *p > suspicious {
			continue
		}
		f.result.Suspects = append(f.result.Suspects, f.suspectsOf(i)...)
	}
	slices.SortStableFunc(f.result.Suspects, func(a, b FouledSuspect) int { return cmp.Compare(*a.P, *b.P) })
	f.mergeSame()
}

// suspectsOf returns the levels of one factor that fouled more than its
// others, Holm's p at most 0.05; the first one at least, since the factor as a
// whole stands out.
func (f *fouling) suspectsOf(i int) []FouledSuspect {
	c, levels := &f.columns[i], f.result.Factors[i].Levels
	var found []FouledSuspect
	var ps []float64
	for _, l := range levels[:min(len(levels), maxCandidates)] {
		bad, total := c.knownBad-l.Bad, c.known-l.Total
		if l.Bad*total <= bad*l.Total { // no worse than the others
			continue
		}
		p, _, err := stats.Fisher(l.Bad, l.Total, bad, total)
		if err != nil {
			continue
		}
		found = append(found, FouledSuspect{Factor: c.name, Level: l.Level, Bad: l.Bad, Total: l.Total, OtherBad: bad, OtherTotal: total, Inseparable: []string{}})
		ps = append(ps, p)
	}
	for len(ps) < len(levels) && len(levels) > 2 { // levels that were passed over count as tests too
		ps = append(ps, 1)
	}
	adjusted := stats.Holm(ps)
	for k := range found {
		found[k].P = maybe(adjusted[k])
	}
	slices.SortStableFunc(found, func(a, b FouledSuspect) int { return cmp.Compare(*a.P, *b.P) })
	n := 0
	for n < len(found) && (n == 0 || *found[n].P <= suspicious) {
		n++
	}
	return found[:n]
}

// mergeSame makes one suspect of levels that are the very same jars.
func (f *fouling) mergeSame() {
	var kept []FouledSuspect
	for _, s := range f.result.Suspects {
		i := f.columnNamed(s.Factor)
		same := slices.IndexFunc(kept, func(k FouledSuspect) bool {
			return k.Total == s.Total && k.Bad == s.Bad && f.sameJars(f.columnNamed(k.Factor), k.Level, i, s.Level)
		})
		if same < 0 {
			for _, l := range f.sameElsewhere(i, s.Level) {
				s.Inseparable, s.same = append(s.Inseparable, f.columns[l.column].called(l.level)), append(s.same, l)
			}
			kept = append(kept, s)
		}
	}
	f.result.Suspects = append([]FouledSuspect{}, kept...)
	for k := range f.result.Suspects {
		s := &f.result.Suspects[k]
		s.Sentence = f.sayOf(s)
	}
}

func (f *fouling) columnNamed(name string) int {
	return slices.IndexFunc(f.columns, func(c fouledColumn) bool { return c.name == name })
}

// sameJars reports whether level a of column i and level b of column j hold
// the same jars.
func (f *fouling) sameJars(i int, a string, j int, b string) bool {
	x, y := &f.columns[i], &f.columns[j]
	ka, kb := slices.Index(x.levels, a), slices.Index(y.levels, b)
	for jar := range f.bad {
		if (x.codes[jar] == ka) != (y.codes[jar] == kb) {
			return false
		}
	}
	return true
}

// sameElsewhere finds the levels of other columns that hold the same jars as
// one level of column i.
func (f *fouling) sameElsewhere(i int, level string) []sameLevel {
	x := &f.columns[i]
	k := slices.Index(x.levels, level)
	first := slices.Index(x.codes, k)
	var out []sameLevel
	for j := range f.columns {
		y := &f.columns[j]
		if j == i || y.codes[first] < 0 || y.total[y.codes[first]] != x.total[k] {
			continue
		}
		if there := y.levels[y.codes[first]]; f.sameJars(i, level, j, there) {
			out = append(out, sameLevel{j, y.name, there})
		}
	}
	return out
}

// sameLevel is a level that holds the same jars as a suspect.
type sameLevel struct {
	column int
	factor string
	level  string
}

// called names a level so that it says what it is: "cook 4", "LC-3".
func (c *fouledColumn) called(level string) string {
	name := brief(level)
	if c.bare || strings.Contains(strings.ToLower(name), c.word) {
		return name
	}
	return c.word + " " + name
}

// sayOf says what a suspect is suspected of.
func (f *fouling) sayOf(s *FouledSuspect) string {
	i := f.columnNamed(s.Factor)
	c, out := &f.columns[i], &f.result.Factors[i]
	text := fmt.Sprintf("%d of %s %s fouled, %d of %d %sothers",
		s.Bad, jars(s.Total), c.from+c.called(s.Level), s.OtherBad, s.OtherTotal, c.from)
	if len(s.Inseparable) > 0 {
		text += fmt.Sprintf("; they are the very same jars as those %s, so that nothing tells these apart", f.alsoThose(s.same))
	}
	if out.PWithin != nil && *out.PWithin > suspicious {
		j := f.columnNamed(out.Within)
		text += fmt.Sprintf("; among jars alike in %s the difference is no longer clear (p %s), so look there first", f.columns[j].word, chanceText(*out.PWithin))
	}
	return text + "."
}

// alsoThose says what else is true of jars: "from cook 4 and inoculated by MO".
func (f *fouling) alsoThose(levels []sameLevel) string {
	words := make([]string, len(levels))
	for i, l := range levels {
		c := &f.columns[l.column]
		words[i] = c.from + c.called(l.level)
	}
	return someOf(words)
}

func one(n int, single, many string) string {
	if n == 1 {
		return single
	}
	return many
}

// chanceText writes a p to two digits, "under 0.001" if it is.
func chanceText(p float64) string {
	switch {
	case p < 0.001:
		return "under 0.001"
	case p < 0.1:
		return number(p, 3)
	}
	return number(p, 2)
}

// Called is what the suspect is called: "LC-3", "cook 4".
func (s FouledSuspect) Called() string {
	for _, f := range fouledFactors {
		if f.name == s.Factor {
			return (&fouledColumn{fouledFactor: f}).called(s.Level)
		}
	}
	return s.Level
}

// Touches reports whether a jar is of the suspect level, or of one that nothing
// tells apart from it.
func (s FouledSuspect) Touches(r FouledRow) bool {
	for _, f := range fouledFactors {
		level := f.of(&r).Trimmed()
		if f.name == s.Factor && level == s.Level {
			return true
		}
		if slices.ContainsFunc(s.same, func(l sameLevel) bool { return l.factor == f.name && l.level == level }) {
			return true
		}
	}
	return false
}
