package trialstat

// counted draws layouts with exactly equal chance. It goes from group to group;
// at each it knows, for every way to hand out the rounded-up shares, how many
// layouts remain. Arms of equal size are alike, so a state holds only how many
// of them still have so many to come.
//
// Counts are kept as shares of all ways, in float64: chances are exact to about
// 1e-14.
type counted struct {
	p      plan
	class  []int   // by arm
	sizes  []int   // by class: jars in each of its arms
	arms   [][]int // by class
	levels []level
	width  int // of a class in a state
	memo   []map[string]float64
	work   int // additions left before counting is given up

	out  [][]int // reused by draw
	owed []int   // by arm: rounded-up shares still to come, reused by draw
}

// level is a group as the classes see it.
type level struct {
	group
	least  [][]int // by class, by cell
	open   []bool  // by class: its share in the group may be rounded up
	base   []int   // by class: jars needed beyond the cells' rounded-down shares
	owed   []int   // by class: groups from here on that can round up
	extra  int     // arms that are rounded up here
	inside *inside
	unit   float64 // a typical number of ways inside, to keep counts near 1
}

// maxCounting bounds the work of counting one design, some ten milliseconds;
// maxState the length of a state.
const (
	maxCounting = 1 << 22
	maxState    = 512
)

// newCounted returns false if the design is too large to count.
func newCounted(p plan) (*counted, bool) {
	c := &counted{p: p, work: maxCounting}
	c.sortArms()
	if c.width*len(c.sizes) > maxState {
		return nil, false
	}
	inner := map[string]*inside{}
	for _, g := range p.groups {
		v, ok := c.level(g, inner)
		if !ok {
			return nil, false
		}
		c.levels = append(c.levels, v)
		c.memo = append(c.memo, map[string]float64{})
	}
	c.countOwed()
	c.owed = make([]int, len(p.arms))
	c.out = make([][]int, p.cells)
	for i := range c.out {
		c.out[i] = make([]int, len(p.arms))
	}
	c.value(0, c.start())
	return c, c.work > 0
}

// sortArms parts the arms into classes of equal size.
func (c *counted) sortArms() {
	place := map[int]int{}
	for a, n := range c.p.arms {
		q, ok := place[n]
		if !ok {
			q = len(c.sizes)
			place[n] = q
			c.sizes, c.arms = append(c.sizes, n), append(c.arms, nil)
		}
		c.class = append(c.class, q)
		c.arms[q] = append(c.arms[q], a)
		c.width = max(c.width, c.p.rises(n)+1)
	}
}

// level works out one group; groups that look alike share their tables.
func (c *counted) level(g group, inner map[string]*inside) (level, bool) {
	v := level{group: g, extra: g.total}
	fills := append([]int(nil), g.jars...)
	var key []byte
	for _, n := range g.jars {
		key = append(key, byte(n), byte(n>>8), byte(n>>16))
	}
	var open [][]bool
	members := make([]int, len(c.sizes))
	for q, size := range c.sizes {
		members[q] = len(c.arms[q])
		least, up := c.p.fair(size, g.total)
		v.open = append(v.open, up)
		v.extra -= members[q] * least
		v.least, open = append(v.least, make([]int, len(fills))), append(open, make([]bool, len(fills)))
		for i, n := range g.jars {
			v.least[q][i], open[q][i] = c.p.fair(size, n)
			fills[i] -= members[q] * v.least[q][i]
			least -= v.least[q][i]
		}
		v.base = append(v.base, least)
	}
	if v.inside = inner[string(key)]; v.inside == nil {
		in, ok := newInside(fills, v.least, open, members)
		if !ok {
			return level{}, false
		}
		v.inside, inner[string(key)] = in, in
	}
	return v, true
}

// countOwed fills in how often each class can still be rounded up.
func (c *counted) countOwed() {
	owed := make([]int, len(c.sizes))
	for j := len(c.levels) - 1; j >= 0; j-- {
		for q, up := range c.levels[j].open {
			if up {
				owed[q]++
			}
		}
		c.levels[j].owed = append([]int(nil), owed...)
	}
}

// start is the state before the first group: by class, by shares still to come,
// the number of arms.
func (c *counted) start() []byte {
	state := make([]byte, len(c.sizes)*c.width)
	for q := range c.sizes {
		state[q*c.width+c.p.rises(c.sizes[q])] = byte(len(c.arms[q]))
	}
	return state
}

// value returns the share of ways to go on from a state before group j.
func (c *counted) value(j int, state []byte) float64 {
	if j == len(c.levels) {
		return 1
	}
	if v, ok := c.memo[j][string(state)]; ok {
		return v
	}
	var sum float64
	c.choices(j, state, func(_ []byte, next []byte, ways float64) {
		if c.work > 0 {
			sum += float64(ways * c.value(j+1, next))
		}
	})
	c.memo[j][string(state)] = sum
	return sum
}

// choices calls visit for each way to choose the arms that are rounded up in
// group j: how many of each kind (take, laid out as a state), the state after,
// and the ways to do it.
func (c *counted) choices(j int, state []byte, visit func(take, next []byte, ways float64)) {
	take := make([]byte, len(state))
	next := append([]byte(nil), state...)
	ones := make([]int, len(c.sizes))
	v := &c.levels[j]
	var from func(at, left int, ways float64)
	from = func(at, left int, ways float64) {
		for at < len(state) && state[at] == 0 {
			at++
		}
		if at == len(state) {
			c.work -= len(state) / 8
			if left == 0 {
				visit(take, next, float64(ways*c.within(v, ones)))
			}
			return
		}
		if c.work--; c.work <= 0 {
			return
		}
		q, owed := at/c.width, at%c.width
		low, high := 0, min(int(state[at]), left)
		switch {
		case owed > v.owed[q] || owed == v.owed[q] && v.open[q] && int(state[at]) > left:
			return
		case owed == 0 || !v.open[q]:
			high = 0
		case owed == v.owed[q]:
			low = high
		}
		for n := low; n <= high; n++ {
			take[at] = byte(n)
			next[at] -= byte(n)
			if n > 0 {
				next[at-1] += byte(n)
			}
			ones[q] += n
			from(at+1, left-n, float64(ways*choose(int(state[at]), n)))
			ones[q] -= n
			if n > 0 {
				next[at-1] -= byte(n)
			}
			next[at] += byte(n)
			take[at] = 0
		}
	}
	from(0, v.extra, 1/choose(len(c.p.arms), v.extra))
}

// within returns the ways inside a group when so many arms of each class are
// rounded up, in units of v.unit.
func (c *counted) within(v *level, ones []int) float64 {
	known := len(v.inside.memo)
	ways := v.inside.tables(c.needs(v, ones)).all()
	if len(v.inside.memo) > known {
		c.work -= v.inside.work(len(v.jars))
	}
	if v.unit == 0 {
		v.unit = ways
	}
	if v.unit == 0 {
		return 0
	}
	return ways / v.unit
}

// needs lists what each arm needs inside a group, class by class, those rounded
// up first.
func (c *counted) needs(v *level, ones []int) []int {
	var out []int
	for q, arms := range c.arms {
		for i := range arms {
			n := v.base[q]
			if i < ones[q] {
				n++
			}
			out = append(out, n)
		}
	}
	return out
}

// choose returns n over k as a float64, exact for the few arms there are.
func choose(n, k int) float64 {
	c := 1.0
	for i := range k {
		c = float64(c*float64(n-i)) / float64(i+1)
	}
	return c
}

func (c *counted) procedure() Procedure { return Counted }

func (c *counted) again(chance) {}

// draw goes forward through the groups, choosing by what value knows.
func (c *counted) draw(l chance) [][]int {
	state := c.start()
	for a, q := range c.class {
		c.owed[a] = c.p.rises(c.sizes[q])
	}
	for j := range c.levels {
		var takes, nexts [][]byte
		var weights []float64
		c.work = maxCounting
		c.choices(j, state, func(take, next []byte, ways float64) {
			takes, nexts = append(takes, append([]byte(nil), take...)), append(nexts, append([]byte(nil), next...))
			weights = append(weights, float64(ways*c.value(j+1, next)))
		})
		at := l.pick(weights)
		state = nexts[at]
		c.fill(&c.levels[j], c.rounded(takes[at], l), l)
	}
	return c.out
}

// rounded draws which arms of each kind are rounded up, and returns the arms
// class by class with those first, and how many they are by class.
func (c *counted) rounded(take []byte, l chance) (order [][]int) {
	for q, arms := range c.arms {
		var up, rest []int
		for owed := range c.width {
			var kind []int
			for _, a := range arms {
				if c.owed[a] == owed {
					kind = append(kind, a)
				}
			}
			n := int(take[q*c.width+owed])
			up = append(up, some(l, kind, n)...)
			rest = append(rest, kind[n:]...)
		}
		for _, a := range up {
			c.owed[a]--
		}
		order = append(order, up, rest)
	}
	return order
}

// fill draws the cells of one group. order holds, for each class, the arms
// rounded up and then the others.
func (c *counted) fill(v *level, order [][]int, l chance) {
	ones := make([]int, len(c.sizes))
	var arms []int
	for q := range c.sizes {
		ones[q] = len(order[2*q])
		arms = append(append(arms, order[2*q]...), order[2*q+1]...)
	}
	t := v.inside.tables(c.needs(v, ones))
	v.inside.draw(t, l, func(at int, cells uint32) {
		a := arms[at]
		for i := range v.jars {
			c.out[v.first+i][a] = v.least[c.class[a]][i] + int(cells>>i&1)
		}
	})
}
