package trialstat

// plan is a rounding problem: jars of each arm over cells that lie in groups
// (layers in cooks, or shelves each a group of its own), so that every count,
// by cell and by group, is the fair share rounded down or up.
type plan struct {
	arms   []int // jars per arm
	total  int   // jars
	groups []group
	cells  int
}

// group is a cook, or a shelf.
type group struct {
	first int   // its first cell, counted over all groups
	total int   // jars in the group
	jars  []int // by cell
}

func newPlan(arms []int, jars [][]int) plan {
	p := plan{arms: arms}
	for _, n := range arms {
		p.total += n
	}
	for _, in := range jars {
		g := group{first: p.cells, jars: in}
		for _, n := range in {
			g.total += n
		}
		p.groups = append(p.groups, g)
		p.cells += len(in)
	}
	return p
}

// fair returns the fair share, rounded down, of an arm of so many jars among
// jars of a cell or group, and whether one more is open to it.
func (p plan) fair(arm, jars int) (least int, open bool) {
	return arm * jars / p.total, arm*jars%p.total != 0
}

// imbalance returns 0 if every fair share is whole, else 1.
func (p plan) imbalance() int {
	for _, n := range p.arms {
		for _, g := range p.groups {
			for _, jars := range g.jars {
				if _, open := p.fair(n, jars); open {
					return 1
				}
			}
		}
	}
	return 0
}

// rises returns in how many groups the share of an arm of so many jars is
// rounded up.
func (p plan) rises(arm int) int {
	n := arm
	for _, g := range p.groups {
		least, _ := p.fair(arm, g.total)
		n -= least
	}
	return n
}
