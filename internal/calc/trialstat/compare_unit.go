package trialstat

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// unit is what is counted when arms are compared: a jar, or what is set to an arm as
// a whole.
type unit struct {
	factor     string // "" for the jar
	word, many string
}

var aJar = unit{word: "jar", many: "jars"}

// Units lists what arms can be set on, as the input names it.
var Units = []string{"jar", factorCook, factorShelf, "making", factorLayer, factorRoom, factorDay}

// UnitCount is what was counted when a whole cook, shelf or making was set to an arm.
type UnitCount struct {
	Unit     string `json:"unit"` // such as "cook"
	Units    int    `json:"units"`
	Jars     int    `json:"jars"`
	Said     bool   `json:"said"` // false if the table showed it
	Sentence string `json:"sentence"`
}

// unitOf reads what the arms are set on. Where nothing is said, it is the cook or the
// shelf if each of them holds one arm only, and each arm has two or more.
func (s *sheet) unitOf(word string) (unit, error) {
	if word == "" {
		for _, name := range []string{factorCook, factorShelf} {
			f, _ := factorNamed(name)
			if s.whole(s.column(f)) {
				return unit{f.name, f.word, f.many}, nil
			}
		}
		return aJar, nil
	}
	if !slices.Contains(Units, word) {
		return aJar, figure.Faultf("unit", "write jar, cook, shelf, making, layer, room or day", "arms can not be set on a %q", brief(word))
	}
	if word == aJar.word {
		return aJar, nil
	}
	if word == "making" {
		word = factorMixMade
	}
	f, _ := factorNamed(word)
	return unit{f.name, f.word, f.many}, nil
}

// whole reports whether each level of a factor holds one arm only, and each arm two
// levels or more.
func (s *sheet) whole(c column) bool {
	if len(c.levels) < 2*len(s.names) || len(c.levels) == len(s.rows) {
		return false
	}
	of := make([]int, len(c.levels))
	for i := range of {
		of[i] = -1
	}
	levels := make([]int, len(s.names))
	for i, k := range c.codes {
		switch {
		case k < 0:
			return false
		case of[k] < 0:
			of[k] = s.arm[i]
			levels[s.arm[i]]++
		case of[k] != s.arm[i]:
			return false
		}
	}
	return slices.Min(levels) > 1
}

// byUnit turns a table of jars into one of units: each has the mean of its jars on
// every outcome, and what all its jars share.
func (s *sheet) byUnit(u unit) (*sheet, error) {
	f, _ := factorNamed(u.factor)
	col := s.column(f)
	jars := make([][]int, len(col.levels))
	for i, k := range col.codes {
		if k < 0 {
			return nil, figure.Faultf(rowField(i, f.name), "write its "+f.word+", or compare jar by jar", "%s has no %s, though the arms are set on %s", s.jar(i), f.word, f.many)
		}
		if first := s.firstOf(jars[k], i); s.arm[first] != s.arm[i] {
			return nil, figure.Faultf("unit", "compare jar by jar, within the "+f.word, "the %s %s holds jars of %s and of %s, so arms are not set on it",
				f.word, brief(col.levels[k]), brief(s.names[s.arm[first]]), brief(s.names[s.arm[i]]))
		}
		jars[k] = append(jars[k], i)
	}
	out := &sheet{names: s.names, control: s.control, differ: s.differ, made: map[string][]float64{}}
	for k, in := range jars {
		row := CompareRow{Jar: Label(col.levels[k]), Arm: s.rows[in[0]].Arm, Dose: s.rows[in[0]].Dose}
		for _, f := range factors {
			*f.of(&row) = s.shared(f, in)
		}
		out.rows, out.arm, out.fates = append(out.rows, row), append(out.arm, s.arm[in[0]]), append(out.fates, s.fateOfUnit(in))
		for _, p := range Primaries {
			out.made[p] = append(out.made[p], s.meanOf(in, p))
		}
	}
	return out, nil
}

func (s *sheet) firstOf(in []int, or int) int {
	if len(in) > 0 {
		return in[0]
	}
	return or
}

// shared is the level that all of some jars have, "" if they have none in common.
func (s *sheet) shared(f factor, in []int) Label {
	first := *f.of(&s.rows[in[0]])
	for _, i := range in[1:] {
		if f.of(&s.rows[i]).Trimmed() != first.Trimmed() {
			return ""
		}
	}
	return first
}

// fateOfUnit is growing while a jar of the unit grows; else it counts as picked.
func (s *sheet) fateOfUnit(in []int) fate {
	for _, i := range in {
		if s.fates[i] == growing {
			return growing
		}
	}
	return picked
}

func (s *sheet) meanOf(in []int, per string) float64 {
	var x []float64
	for _, i := range in {
		if v := s.figure(i, per); !math.IsNaN(v) {
			x = append(x, v)
		}
	}
	return stats.Mean(x)
}

// counted says what was counted, nil for the jar.
func (c *comparing) counted(said bool) *UnitCount {
	if c.unit.factor == "" {
		return nil
	}
	return &UnitCount{
		Unit: c.unit.word, Units: len(c.rows), Jars: len(c.jars.rows), Said: said,
		Sentence: fmt.Sprintf("The %s is the unit: %s, not %s.", c.unit.word, c.things(len(c.rows)), jars(len(c.jars.rows))),
	}
}

// things counts units: "1 cook", "12 jars".
func (c *comparing) things(n int) string { return figure.Count(n, c.unit.word, c.unit.many) }

// thingsPer counts the figures of an arm: "3 jars inoculated", "2 cooks".
func (c *comparing) thingsPer(n int) string {
	if c.unit.factor == "" && (c.primary == PerInoculated || c.primary == PerPicked) {
		return jars(n) + " " + c.primary
	}
	return c.things(n)
}
