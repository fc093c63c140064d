package lab

import (
	"cmp"
	"maps"
	"slices"
)

// Sight is the first visit to a jar that told of a stage.
type Sight struct {
	Stage  Stage
	By     When // that visit
	Before When // the visit before it, zero if there was none
}

// JarSights are the sights of one jar, in the order of the stages.
type JarSights struct {
	Jar    JarID
	Sights []Sight
}

// Sights derives from all entries on a jar, corrected ones included, when it
// was first seen at each stage. A later stage tells of the earlier ones, and a
// pick of all. Visits whose day is unknown are left out.
func Sights(seen []Seen, picks []Pick) []Sight {
	furthest := make(map[When]int) // by visit, the places of stages from 1
	visit := func(at When, place int) {
		if at.Exactness == Exact || at.Exactness == ThatDay {
			furthest[at] = max(furthest[at], place)
		}
	}
	for _, s := range Current(seen) {
		visit(s.At, s.Stage.rank()+1)
	}
	for _, p := range Current(picks) {
		visit(p.At, len(Stages))
	}
	visits := slices.SortedFunc(maps.Keys(furthest), func(a, b When) int {
		return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.Exactness, b.Exactness))
	})
	var out []Sight
	var before When
	for _, at := range visits {
		for place := len(out); place < furthest[at]; place++ {
			out = append(out, Sight{Stages[place], at, before})
		}
		before = at
	}
	return out
}
