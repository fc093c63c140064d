package thermal

import (
	"cmp"
	"fmt"
	"slices"

	"pinset/internal/figure"
)

// searchLimit bounds the search for the fewest rounds; a few cookers and
// sizes need some thousand steps.
const searchLimit = 300000

// oneSize packs every cook with one container. It searches for the least
// number of rounds and falls back on a greedy packing, which may need more,
// when the search gets too long. It returns the cooks and whether the number
// of rounds is proved least.
func (p *loadPlan) oneSize() ([]LoadCook, bool) {
	order := p.bySize()
	greedy := p.greedy(order)
	bound := 1
	for c := range p.names {
		total := 0
		for i := range p.in.Cookers {
			total += p.places(i, c)
		}
		bound = max(bound, (p.jars[c]+total-1)/total)
	}
	s := loadSearch{plan: p, order: order, budget: searchLimit}
	for rounds := bound; rounds < greedy.rounds(); rounds++ {
		s.counts = newCounts(len(p.in.Cookers), len(p.names))
		found := s.cooker(0, rounds, slices.Clone(p.jars))
		if s.budget <= 0 {
			return p.cooks(greedy, order), false
		}
		if found {
			return p.cooks(s.counts, order), true
		}
	}
	return p.cooks(greedy, order), true
}

// bySize is the cookers, the largest first.
func (p *loadPlan) bySize() []int {
	size := func(i int) int {
		top := 0
		for c := range p.names {
			top = max(top, p.places(i, c))
		}
		return top
	}
	order := make([]int, len(p.in.Cookers))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(size(b), size(a)) })
	return order
}

// counts is how many cooks of each container each cooker makes.
type counts [][]int

func newCounts(cookers, containers int) counts {
	out := make(counts, cookers)
	for i := range out {
		out[i] = make([]int, containers)
	}
	return out
}

// rounds is the longest row of cooks.
func (n counts) rounds() int {
	most := 0
	for _, row := range n {
		sum := 0
		for _, v := range row {
			sum += v
		}
		most = max(most, sum)
	}
	return most
}

// greedy gives each cooker in turn the container of which it takes most.
func (p *loadPlan) greedy(order []int) counts {
	out, left := newCounts(len(p.in.Cookers), len(p.names)), slices.Clone(p.jars)
	for anyLeft(left) {
		for _, i := range order {
			best := -1
			for c := range left {
				if take := min(left[c], p.places(i, c)); take > 0 && (best < 0 || take > min(left[best], p.places(i, best))) {
					best = c
				}
			}
			if best >= 0 {
				out[i][best]++
				left[best] = max(left[best]-p.places(i, best), 0)
			}
		}
	}
	return out
}

// anyLeft tells whether a jar is left.
func anyLeft(left []int) bool {
	return slices.ContainsFunc(left, func(n int) bool { return n > 0 })
}

// loadSearch looks for counts that cook all jars in a number of rounds.
type loadSearch struct {
	plan   *loadPlan
	order  []int
	counts counts
	budget int
}

// cooker gives cooker order[k] its cooks, then the next; it returns whether
// all jars found a place. Left is changed back before it returns.
func (s *loadSearch) cooker(k, rounds int, left []int) bool {
	if k == len(s.order) {
		return !anyLeft(left)
	}
	return s.container(k, 0, rounds, rounds, left)
}

// container gives cooker order[k] its cooks of container c, the most first.
func (s *loadSearch) container(k, c, free, rounds int, left []int) bool {
	s.budget--
	if s.budget <= 0 {
		return false
	}
	if c == len(left) {
		return s.cooker(k+1, rounds, left)
	}
	i := s.order[k]
	places, before := s.plan.places(i, c), left[c]
	most := 0
	if places > 0 {
		most = min(free, (before+places-1)/places)
	}
	least := 0
	if k == len(s.order)-1 { // what the last cooker does not take stays behind
		least = most
		if before > most*places {
			return false
		}
	}
	for n := most; n >= least; n-- {
		s.counts[i][c], left[c] = n, max(before-n*places, 0)
		if s.container(k, c+1, free-n, rounds, left) {
			return true
		}
	}
	s.counts[i][c], left[c] = 0, before
	return false
}

// cooks turns counts into cooks, round by round.
func (p *loadPlan) cooks(n counts, order []int) []LoadCook {
	out, left := []LoadCook{}, slices.Clone(p.jars)
	for _, i := range order {
		round := 0
		for c := range p.names {
			for range n[i][c] {
				jars := min(left[c], p.places(i, c))
				if jars == 0 {
					break // a larger cooker took them all
				}
				round++
				left[c] -= jars
				out = append(out, LoadCook{
					Round: round, Cooker: p.in.Cookers[i].Name, Jars: jars, Places: p.places(i, c),
					Load: []LoadLayers{{Container: p.names[c], Layers: ceilDiv(jars, p.perLayer[i][c]), Jars: jars}},
				})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b LoadCook) int { return cmp.Compare(a.Round, b.Round) })
	return out
}

// ceilDiv divides and rounds up.
func ceilDiv(a, b int) int { return (a + b - 1) / b }

// mixed packs cooks layer by layer, the tallest container first, so that a
// cook may hold several sizes. It is a packing, not proved to be the best.
func (p *loadPlan) mixed() ([]LoadCook, bool) {
	out, left, order := []LoadCook{}, slices.Clone(p.jars), p.bySize()
	for round := 1; anyLeft(left); round++ {
		for _, i := range order {
			if c := p.mixedCook(i, left); c.Jars > 0 {
				c.Round = round
				out = append(out, c)
			}
		}
	}
	return out, len(p.names) < 2
}

// mixedCook fills cooker i and takes the jars out of left.
func (p *loadPlan) mixedCook(i int, left []int) LoadCook {
	cook, free := LoadCook{Cooker: p.in.Cookers[i].Name, Load: []LoadLayers{}}, 1.0+p.headroom(i)
	for _, c := range p.byShare(i) {
		share := p.share(i, c)
		room := int((free + 1e-9) / share)
		layers := min(room, p.layers[i][c], ceilDiv(left[c], p.perLayer[i][c]))
		if layers == 0 {
			continue
		}
		jars := min(left[c], layers*p.perLayer[i][c])
		left[c] -= jars
		free -= float64(layers) * share
		cook.Load = append(cook.Load, LoadLayers{Container: p.names[c], Layers: layers, Jars: jars})
		cook.Jars += jars
		cook.Places += layers * p.perLayer[i][c]
	}
	return cook
}

// byShare is the containers that cooker i takes, the tallest first.
func (p *loadPlan) byShare(i int) []int {
	out := []int{}
	for c := range p.names {
		if p.places(i, c) > 0 {
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(p.share(i, b), p.share(i, a)) })
	return out
}

// share is the part of the height of cooker i that one layer of container c
// with its divider takes.
func (p *loadPlan) share(i, c int) float64 {
	if h, ok := p.in.HeightsMM[p.names[c]]; ok && p.in.Cookers[i].HeightMM != nil {
		return (h + p.in.DividerMM) / *p.in.Cookers[i].HeightMM
	}
	return 1 / float64(p.layers[i][c])
}

// headroom is the divider that the top layer does not need.
func (p *loadPlan) headroom(i int) float64 {
	if p.in.Cookers[i].HeightMM == nil {
		return 0
	}
	return p.in.DividerMM / *p.in.Cookers[i].HeightMM
}

// cautions says what may mislead in r.
func (p *loadPlan) cautions(r LoadResult, proved bool) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	for _, f := range r.Refused {
		add("refused", "Not cooked", fmt.Sprintf("%d of %s are left out: %s.", f.Jars, f.Container, f.Why), figure.Stop)
	}
	for _, s := range p.packed {
		add("packing_estimated", "A layer that nobody counted", s+" is what circles of that size leave room for. Count them once, with the rack in, and write the number down.", figure.Care)
	}
	for _, s := range p.shortened {
		add("fewer_layers", "Fewer layers than said", "Only "+s+" fit under the lid.", figure.Care)
	}
	if !proved {
		add("not_proved", "Perhaps not the fewest rounds", "This packing was not proved best; a round may be saved by hand.", figure.Note)
	}
	if slices.ContainsFunc(r.Cooks, func(c LoadCook) bool { return len(c.Load) > 1 }) {
		add("mixed_sizes", "Several sizes in one cook", "The largest jar decides the hold; the small ones are over-cooked. For a comparison keep one size per cook.", figure.Care)
	}
	if slices.ContainsFunc(r.Cooks, func(c LoadCook) bool { return c.Jars < c.Places }) {
		add("part_load", "A part load", "A cook that is not full heats faster and is not the same as a full one. Fill up with jars of water, or spread the gap.", figure.Note)
	}
	add("do_not_overload", "Room for steam", "Jars and bags must not touch the wall or block the vent pipe; swelling grain needs head-space. The maker's figure goes before this one.", figure.Note)
	return out
}

// working shows the capacities and the sum.
func (p *loadPlan) working(r LoadResult) []figure.Step {
	out := []figure.Step{}
	for i, c := range p.in.Cookers {
		for k, name := range p.names {
			if p.places(i, k) == 0 {
				continue
			}
			out = append(out, figure.Step{
				Step: name + " per cook in " + c.Name, Formula: fmt.Sprintf("%d per layer x %d layers", p.perLayer[i][k], p.layers[i][k]),
				Value: p.places(i, k), Unit: "jars", Source: p.placesSource(i, name),
			})
		}
	}
	return append(
		out,
		figure.Step{Step: "rounds", Formula: "the longest row of cooks", Value: r.Rounds, Unit: "", Source: "search over the cookers"},
		figure.Step{Step: "time", Formula: fmt.Sprintf("%d x %g min", r.Rounds, p.in.CycleMin), Value: r.Minutes, Unit: "min", Source: ""},
	)
}
