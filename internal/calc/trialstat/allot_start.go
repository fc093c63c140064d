package trialstat

// begin puts s into some layout within the bound: a largest flow from arms
// through groups to cells, one jar at a time.
func (s *shuffled) begin() {
	f, cells := s.network()
	for f.augment() {
	}
	for c, from := range cells {
		for a, e := range from {
			if e >= 0 && f.edges[e].room == 0 {
				s.up[c][a] = true
			}
		}
	}
	for c, up := range s.up {
		for a, yes := range up {
			if yes {
				s.used[s.group[c]][a]++
			}
		}
	}
	for j := range s.used {
		for a := range s.used[j] {
			s.used[j][a] -= int8(s.base(j, a))
		}
	}
}

// base returns how many cells of group j must round arm a up if the group does
// not.
func (s *shuffled) base(j, a int) int {
	g := s.p.groups[j]
	n, _ := s.p.fair(s.p.arms[a], g.total)
	for i := range g.jars {
		n -= s.least[g.first+i][a]
	}
	return n
}

// network builds the flow network and returns, by cell and arm, the edge that
// fills when the count there is rounded up, -1 if it can not be.
//
// Nodes: 0 the source, 1 the sink, then arms, then arms by group, then cells. An
// arm's share of a group that must be met flows from the source right into the
// group, so that no edge needs a lower bound.
func (s *shuffled) network() (*flow, [][]int) {
	arms, groups := len(s.p.arms), len(s.p.groups)
	inGroup := func(j, a int) int { return 2 + arms + j*arms + a }
	f := &flow{from: make([][]int, 2+arms+groups*arms+s.p.cells)}
	cells := make([][]int, s.p.cells)
	for a, n := range s.p.arms {
		f.add(0, 2+a, s.p.rises(n))
		for j := range s.p.groups {
			f.add(0, inGroup(j, a), s.base(j, a))
			f.add(2+a, inGroup(j, a), int(s.room[j][a]))
		}
	}
	for c, j := range s.group {
		node := 2 + arms + groups*arms + c
		fill := s.p.groups[j].jars[c-s.p.groups[j].first]
		for a := range s.p.arms {
			fill -= s.least[c][a]
			edge := -1
			if s.open[c][a] {
				edge = f.add(inGroup(j, a), node, 1)
			}
			cells[c] = append(cells[c], edge)
		}
		f.add(node, 1, fill)
	}
	return f, cells
}

// flow is a network of whole capacities. Edge e and its reverse e^1 are kept
// side by side.
type flow struct {
	from  [][]int // edges by node
	edges []flowEdge
}

type flowEdge struct{ to, room int }

func (f *flow) add(from, to, room int) int {
	e := len(f.edges)
	f.edges = append(f.edges, flowEdge{to, room}, flowEdge{from, 0})
	f.from[from], f.from[to] = append(f.from[from], e), append(f.from[to], e+1)
	return e
}

// augment sends one more unit from node 0 to node 1 along a shortest path.
//
// Source: Edmonds and Karp, J. ACM 19 (1972) 248-264.
func (f *flow) augment() bool {
	by := make([]int, len(f.from)) // edge into each node, plus 1
	queue := []int{0}
	for len(queue) > 0 && by[1] == 0 {
		at := queue[0]
		queue = queue[1:]
		for _, e := range f.from[at] {
			if to := f.edges[e].to; f.edges[e].room > 0 && by[to] == 0 && to != 0 {
				by[to] = e + 1
				queue = append(queue, to)
			}
		}
	}
	if by[1] == 0 {
		return false
	}
	for at := 1; at != 0; {
		e := by[at] - 1
		f.edges[e].room--
		f.edges[e^1].room++
		at = f.edges[e^1].to
	}
	return true
}
