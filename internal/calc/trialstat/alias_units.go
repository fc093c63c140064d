package trialstat

import "slices"

// isUnit reports whether a column is what a pair of arms is compared by: they
// differ in something that is set on whole units, each level has two units or
// more, and no level of the column lies in two of them.
func (s *sheet) isUnit(c column, columns []column, rows []int, pair [2]int) bool {
	for _, o := range s.on {
		a, b := o.Level[s.names[pair[1]]], o.Level[s.names[pair[0]]]
		if a == b {
			continue
		}
		at := slices.IndexFunc(columns, func(x column) bool { return x.name == o.Unit })
		if at < 0 {
			continue
		}
		unit := columns[at]
		if c.within(unit, rows) && s.unitsAt(o, unit, rows, a) > 1 && s.unitsAt(o, unit, rows, b) > 1 {
			return true
		}
	}
	return false
}

// within reports whether every level of c lies in one level of unit.
func (c column) within(unit column, rows []int) bool {
	of := make([]int, len(c.levels))
	for i := range of {
		of[i] = -1
	}
	for _, i := range rows {
		k, u := c.codes[i], unit.codes[i]
		if k < 0 || u < 0 {
			continue
		}
		if of[k] >= 0 && of[k] != u {
			return false
		}
		of[k] = u
	}
	return true
}

// unitsAt counts the units in which jars of arms with a level stand.
func (s *sheet) unitsAt(o SetOn, unit column, rows []int, level string) int {
	seen := make([]bool, len(unit.levels))
	n := 0
	for _, i := range rows {
		if u := unit.codes[i]; u >= 0 && !seen[u] && o.Level[s.names[s.arm[i]]] == level {
			seen[u] = true
			n++
		}
	}
	return n
}
