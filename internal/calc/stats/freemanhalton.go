package stats

import (
	"fmt"
	"math"
	"slices"
)

// maxEdges and maxPaths bound the work of FreemanHalton: edges of its network, and
// paths kept at one stage; each about a second.
const (
	maxEdges = 1_000_000
	maxPaths = 2_000_000
)

// FreemanHalton returns the exact p that rows and columns of a table of counts
// are independent: the chance, with all totals given, of a table no likelier than
// the one seen. For 2x2 it is Fisher's.
//
// ErrFew for fewer than two rows or columns with a count; ErrRange for rows of
// unequal length, a negative count, or a table too large to count: use
// PermutationRerun.
//
// Source: Freeman and Halton, Biometrika 38 (1951) 141-149; the network of Mehta
// and Patel, J. Am. Stat. Assoc. 78 (1983) 427-434, walked from both ends.
func FreemanHalton(table [][]int) (p float64, err error) {
	table, err = upright(table)
	if err != nil {
		return 0, err
	}
	rows, cols, seen := margins(table)
	if n, ok := newNetwork(rows, cols); ok {
		if p, ok := n.unlikely(seen); ok {
			return math.Min(1, p), nil
		}
	}
	return 0, fmt.Errorf("stats: a table of %d by %d with %d counts is too large: %w", len(rows), len(cols), sum(rows), ErrRange)
}

// upright returns the table without empty rows and columns, turned if that leaves
// fewer columns than rows.
func upright(table [][]int) ([][]int, error) {
	for i, row := range table {
		if len(row) != len(table[0]) {
			return nil, fmt.Errorf("stats: row %d has %d counts, the first %d: %w", i, len(row), len(table[0]), ErrRange)
		}
		if v := slices.Min(append([]int{0}, row...)); v < 0 {
			return nil, fmt.Errorf("stats: count %d: %w", v, ErrRange)
		}
	}
	table = turned(filled(turned(filled(table))))
	if len(table) < 2 || len(table[0]) < 2 {
		return nil, fmt.Errorf("stats: fewer than two rows or columns with a count: %w", ErrFew)
	}
	if len(table[0]) > len(table) {
		return turned(table), nil
	}
	return table, nil
}

// filled returns the rows that hold a count.
func filled(table [][]int) [][]int {
	var out [][]int
	for _, row := range table {
		if sum(row) > 0 {
			out = append(out, row)
		}
	}
	return out
}

// turned returns the table with rows for columns.
func turned(table [][]int) [][]int {
	if len(table) == 0 {
		return nil
	}
	out := make([][]int, len(table[0]))
	for _, row := range table {
		for j, v := range row {
			out[j] = append(out[j], v)
		}
	}
	return out
}

// margins returns the totals, and the length of the table's path.
func margins(table [][]int) (rows, cols []int, seen float64) {
	for _, row := range table {
		rows = append(rows, sum(row))
		seen += logMultinomial(row)
	}
	for _, col := range turned(table) {
		cols = append(cols, sum(col))
	}
	return rows, cols, seen
}

func sum(x []int) int {
	s := 0
	for _, v := range x {
		s += v
	}
	return s
}

// logMultinomial returns log of (Σx)! / Πx!.
func logMultinomial(x []int) float64 {
	l := logFactorial(sum(x))
	for _, v := range x {
		l -= logFactorial(v)
	}
	return l
}

// network runs through the table row by row: a node is what the rows still to
// come must put into each column, an edge is one way to fill a row. The length of
// a path is the sum of the logarithms of the ways to do so.
type network struct {
	stages [][]node
	total  float64 // log of the sum over all paths of exp(length)
}

type node struct {
	rest  []int
	edges []edge
}

type edge struct {
	to     int
	length float64
}

func newNetwork(rows, cols []int) (network, bool) {
	rows = slices.Clone(rows)
	slices.Sort(rows)
	n := network{stages: [][]node{{{rest: cols}}}, total: logMultinomial(cols)}
	if !countable(cols) {
		return n, false
	}
	logs := make([]float64, sum(rows)+1)
	for v := range logs {
		logs[v] = logFactorial(v)
	}
	count := 0
	for i, all := range rows {
		here := n.stages[i]
		place := map[int]int{}
		var next []node
		for k := range here {
			fillRow(here[k].rest, all, maxEdges-count, func(row, rest []int) {
				key, length := 0, logs[all]
				for j, v := range rest {
					key = key*(cols[j]+1) + v
					length -= logs[row[j]]
				}
				to, ok := place[key]
				if !ok {
					to = len(next)
					place[key] = to
					next = append(next, node{rest: slices.Clone(rest)})
				}
				here[k].edges = append(here[k].edges, edge{to, length})
				count++
			})
			if count >= maxEdges {
				return n, false
			}
		}
		n.stages = append(n.stages, next)
	}
	return n, true
}

// countable says whether the columns' states can be numbered.
func countable(cols []int) bool {
	states := 1.0
	for _, c := range cols {
		states *= float64(c + 1)
	}
	return states < 1e15
}

// fillRow calls use with every way to put total into the columns, none above
// rest, and what is left; at most limit of them.
func fillRow(rest []int, total, limit int, use func(row, rest []int)) {
	row, left := make([]int, len(rest)), slices.Clone(rest)
	room := make([]int, len(rest)+1) // in the columns from j on
	for j := len(rest) - 1; j >= 0; j-- {
		room[j] = room[j+1] + rest[j]
	}
	var fill func(j, todo int)
	fill = func(j, todo int) {
		if limit <= 0 {
			return
		}
		if j == len(rest) {
			limit--
			use(row, left)
			return
		}
		for v := max(0, todo-room[j+1]); v <= min(todo, rest[j]); v++ {
			row[j], left[j] = v, rest[j]-v
			fill(j+1, todo-v)
		}
	}
	fill(0, total)
}

// path is a class of paths that have one length.
type path struct{ length, count float64 }

// unlikely returns the share of tables whose path is no longer than seen: paths to
// each node of the middle stage, joined with paths from there.
func (n network) unlikely(seen float64) (float64, bool) {
	mid := len(n.stages) / 2
	before, ok := n.before(mid)
	if !ok {
		return 0, false
	}
	after, ok := n.after(mid)
	if !ok {
		return 0, false
	}
	var p total
	for k := range before {
		p.add(n.joined(before[k], after[k], seen+probTie))
	}
	return p.value(), true
}

// joined returns the share of tables through one node whose path is bar or
// shorter.
func (n network) joined(before, after []path, bar float64) float64 {
	upTo := make([]float64, len(after)+1) // Σ of the shortest
	for i, v := range after {
		upTo[i+1] = upTo[i] + v.count*math.Exp(v.length-n.total/2)
	}
	fit := len(after)
	var p total
	for _, v := range before {
		for fit > 0 && v.length+after[fit-1].length > bar {
			fit--
		}
		p.add(v.count * math.Exp(v.length-n.total/2) * upTo[fit])
	}
	return p.value()
}

// before returns the paths from the first stage to each node of stage mid.
func (n network) before(mid int) ([][]path, bool) {
	paths := [][]path{{{0, 1}}}
	for s, nodes := range n.stages[:mid] {
		next := make([][]path, len(n.stages[s+1]))
		for k, v := range nodes {
			for _, e := range v.edges {
				next[e.to] = merge(next[e.to], paths[k], e.length)
			}
		}
		if paths = next; tooMany(paths) {
			return nil, false
		}
	}
	return paths, true
}

// after returns the paths from each node of stage mid to the last.
func (n network) after(mid int) ([][]path, bool) {
	paths := [][]path{{{0, 1}}}
	for s := len(n.stages) - 2; s >= mid; s-- {
		next := make([][]path, len(n.stages[s]))
		for k, v := range n.stages[s] {
			for _, e := range v.edges {
				next[k] = merge(next[k], paths[e.to], e.length)
			}
		}
		if paths = next; tooMany(paths) {
			return nil, false
		}
	}
	return paths, true
}

func tooMany(paths [][]path) bool {
	kept := 0
	for _, p := range paths {
		kept += len(p)
	}
	return kept > maxPaths
}

// merge returns a and b, both sorted, with b longer by length; paths of one
// length, to rounding, are joined.
func merge(a, b []path, length float64) []path {
	out := make([]path, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		var next path
		if len(b) == 0 || len(a) > 0 && a[0].length <= b[0].length+length {
			next, a = a[0], a[1:]
		} else {
			next, b = path{b[0].length + length, b[0].count}, b[1:]
		}
		if last := len(out) - 1; last >= 0 && next.length-out[last].length <= 1e-11 {
			out[last].count += next.count
		} else {
			out = append(out, next)
		}
	}
	return out
}
