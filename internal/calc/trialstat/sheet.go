package trialstat

import (
	"slices"
	"strings"

	"pinset/internal/figure"
)

// maxGrams is more than any jar gives; it keeps squares within float64.
const maxGrams = 1e9

// fate is what became of a jar.
type fate int8

const (
	growing fate = iota
	picked
	barren
	lost
)

// fateOf reads a fate. A spent jar was picked before it was spent.
func fateOf(word string) (fate, bool) {
	switch strings.ToLower(strings.TrimSpace(word)) {
	case "growing":
		return growing, true
	case "picked", "spent":
		return picked, true
	case "barren":
		return barren, true
	case "lost":
		return lost, true
	}
	return 0, false
}

// sheet is a checked table: rows with their arms as codes.
type sheet struct {
	rows    []CompareRow
	names   []string // arms, sorted by bytes
	arm     []int    // by row
	fates   []fate   // by row
	control int      // -1 if none
	differ  []string // what the arms differ in, in the order of factors
	// made holds the figures of each outcome by row, where a row is a whole cook or
	// shelf; nil where it is a jar.
	made map[string][]float64
	on   []SetOn // what is set on whole units
}

// newSheet checks a table. withFates is false for a plan, whose jars have none.
func newSheet(rows []CompareRow, differ []string, control Label, withFates bool) (*sheet, error) {
	s := &sheet{rows: rows, control: -1}
	if len(rows) == 0 {
		return nil, figure.Faultf("rows", "give one row for each jar", "there are no rows")
	}
	if err := s.readArms(); err != nil {
		return nil, err
	}
	if withFates {
		if err := s.readFates(); err != nil {
			return nil, err
		}
	}
	if err := s.readDiffer(differ); err != nil {
		return nil, err
	}
	if name := control.Trimmed(); name != "" {
		at, ok := slices.BinarySearch(s.names, name)
		if !ok {
			return nil, figure.Faultf("control", "write one of the arms: "+listed(short(s.names)), "no jar is of arm %q", brief(name))
		}
		s.control = at
	}
	return s, nil
}

func (s *sheet) readArms() error {
	first := map[string]int{}
	places := map[string]int{}
	for i := range s.rows {
		r := &s.rows[i]
		if jar := r.Jar.Trimmed(); jar != "" {
			if before, twice := first[jar]; twice {
				return figure.Faultf(rowField(i, "jar"), "give each jar one row: sum its flushes, or mend the name",
					"jar %s is in rows %d and %d", brief(jar), before+1, i+1)
			}
			first[jar] = i
		}
		name := r.Arm.Trimmed()
		if name == "" {
			return figure.Faultf(rowField(i, "arm"), "write which arm it is of, or take the row out", "%s has no arm", s.jar(i))
		}
		if _, known := places[name]; !known {
			places[name] = 0
			s.names = append(s.names, name)
			if len(s.names) > maxArms {
				return figure.Faultf("rows", "compare at most 12 arms at a time", "there are more than 12 arms")
			}
		}
	}
	if len(s.names) < minArms {
		return figure.Faultf("rows", "a comparison needs two", "all jars are of arm %s", brief(s.names[0]))
	}
	slices.Sort(s.names)
	for a, name := range s.names {
		places[name] = a
	}
	s.arm = make([]int, len(s.rows))
	for i := range s.rows {
		s.arm[i] = places[s.rows[i].Arm.Trimmed()]
	}
	return nil
}

func (s *sheet) readFates() error {
	s.fates = make([]fate, len(s.rows))
	for i := range s.rows {
		f, ok := fateOf(s.rows[i].Fate)
		if !ok {
			return figure.Faultf(rowField(i, "fate"), "write picked, barren, lost, growing or spent", "the fate of %s is %q", s.jar(i), brief(s.rows[i].Fate))
		}
		s.fates[i] = f
		for _, x := range []struct {
			key, what, mend string
			v               *float64
		}{
			{"value", " g", "write the grams picked, from 0 to 1000000000, or leave it out", s.rows[i].Value},
			{"count", " counted", "write how many were counted, 0 or more, or leave it out", s.rows[i].Count},
			{"score", " as its score", "write a score from 0 up, or leave it out", s.rows[i].Score},
		} {
			if x.v != nil && !(*x.v >= 0 && *x.v <= maxGrams) {
				return figure.Faultf(rowField(i, x.key), x.mend, "%s has %s%s", s.jar(i), plain(*x.v), x.what)
			}
		}
	}
	return nil
}

func (s *sheet) readDiffer(differ []string) error {
	for _, name := range differ {
		f, ok := factorNamed(strings.TrimSpace(name))
		if !ok || !f.offers {
			return figure.Faultf("arms_differ_in", "write any of recipe, culture, container, treatment", "arms can not be said to differ in %q", brief(name))
		}
	}
	for _, f := range factors {
		if slices.ContainsFunc(differ, func(name string) bool { return strings.TrimSpace(name) == f.name }) {
			s.differ = append(s.differ, f.name)
		}
	}
	return nil
}

// differs reports whether the arms are said to differ in a factor.
func (s *sheet) differs(name string) bool { return slices.Contains(s.differ, name) }

// pairs lists what is compared with what, as arm codes {b, a}: every arm with
// the control, or every pair if there is none.
func (s *sheet) pairs() [][2]int {
	var out [][2]int
	for b := range s.names {
		for a := range s.names {
			if s.control >= 0 && a == s.control && b != a || s.control < 0 && a < b {
				out = append(out, [2]int{b, a})
			}
		}
	}
	return out
}

// jar names a row for a message.
func (s *sheet) jar(i int) string {
	if name := s.rows[i].Jar.Trimmed(); name != "" {
		return "jar " + brief(name)
	}
	return "the jar in row " + whole(i+1)
}
