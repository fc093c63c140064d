package trialstat

import (
	"fmt"
	"strings"
	"unicode"
)

// swap moves so many jars of one arm from one level of a factor to another, and
// as many of the other arm back.
type swap struct{ jars, from, to int }

// maxSwaps is how many swaps a repair names before it says to draw anew, and
// maxLevels how many levels it looks through for them.
const (
	maxSwaps  = 3
	maxLevels = 60
)

// repair says which jars to swap so that both arms have their fair share of
// every level, rounded down or up.
func (s *sheet) repair(c column, rows []int, pair [2]int) string {
	anew := fmt.Sprintf("spread both arms evenly over the %s, by lot", c.many)
	if len(c.levels) > maxLevels {
		return anew
	}
	swaps := swapsOver(s.counts(c, rows, pair))
	if len(swaps) == 0 || len(swaps) > maxSwaps {
		return anew
	}
	var words []string
	for i, w := range swaps {
		verb := ""
		if i == 0 {
			verb = "swap "
		}
		words = append(words, fmt.Sprintf("%s%d %s %s of %s with %d %s %s of %s", verb,
			w.jars, brief(s.names[pair[0]]), jarWord(w.jars), c.level(w.from),
			w.jars, brief(s.names[pair[1]]), jarWord(w.jars), c.level(w.to)))
	}
	return listed(words)
}

func jarWord(n int) string {
	if n == 1 {
		return "jar"
	}
	return "jars"
}

// counts returns the jars of the two arms by level.
func (s *sheet) counts(c column, rows []int, pair [2]int) [][2]int {
	out := make([][2]int, len(c.levels))
	for _, i := range rows {
		for side, a := range pair {
			if k := c.codes[i]; k >= 0 && s.arm[i] == a {
				out[k][side]++
			}
		}
	}
	return out
}

// swapsOver returns swaps of jars of the first arm that leave every level with
// its fair share of it, rounded down or up, each swap as large as it can be. The
// other arm then has its share too, and never runs out of jars to give back.
func swapsOver(counts [][2]int) []swap {
	var all [2]int
	for _, n := range counts {
		all[0], all[1] = all[0]+n[0], all[1]+n[1]
	}
	total := all[0] + all[1]
	over, under := make([]int, len(counts)), make([]int, len(counts)) // beyond the rounded share; room left up to it
	for k, n := range counts {
		fair := all[0] * (n[0] + n[1])
		low, high := fair/total, (fair+total-1)/total
		over[k], under[k] = n[0]-high, low-n[0]
	}
	var out []swap
	take := func(from, to, n int) {
		out = append(out, swap{n, from, to})
		over[from] -= n
		under[from] += n
		over[to] += n
		under[to] -= n
	}
	for from := range counts {
		for to := range counts {
			if n := min(over[from], under[to]); n > 0 {
				take(from, to, n)
			}
		}
	}
	for from := range counts { // what is left fits where a share may be rounded up
		for to := range counts {
			if n := min(over[from], -over[to]); n > 0 {
				take(from, to, n)
			}
		}
	}
	for to := range counts {
		for from := range counts {
			if n := min(under[to], -under[from]); n > 0 {
				take(from, to, n)
			}
		}
	}
	return out
}

// level names one level of a factor in a sentence: "the bottom layer",
// "layer 2", "shelf S1".
func (c column) level(k int) string {
	name := c.levels[k]
	if c.name == factorLayer && len(name) <= 12 && strings.IndexFunc(name, func(r rune) bool { return !unicode.IsLower(r) }) < 0 {
		return "the " + name + " layer"
	}
	if strings.HasPrefix(name, c.word+" ") {
		return brief(name) // it says so itself
	}
	return c.word + " " + brief(name)
}
