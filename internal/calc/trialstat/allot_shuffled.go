package trialstat

// shuffled draws layouts by a Markov chain whose long-run chances are equal for
// every labelled layout within the bound.
//
// A step picks a ring of two or more cells and an arm for each link, and moves
// one jar of that arm along each link, so that cell totals stay; it is refused
// if a count would leave its bound. Any two layouts differ by such rings, each
// of which can be taken on its own, so every layout can be reached; refusals
// keep the chain from cycling. Moves are weighed by Metropolis' rule, since a
// table of counts stands for Π jars!/Π counts! labelled layouts.
//
// Source: Metropolis et al., J. Chem. Phys. 21 (1953) 1087-1092; rings as moves
// for tables with given margins, Diaconis and Sturmfels, Ann. Statist. 26 (1998)
// 363-397.
type shuffled struct {
	p     plan
	group []int    // by cell
	least [][]int  // by cell, by arm
	open  [][]bool // by cell, by arm
	room  [][]int8 // by group, by arm: 1 if the share may be rounded up
	used  [][]int8 // by group, by arm: rounded up now
	up    [][]bool // by cell, by arm: rounded up now
	out   [][]int
	ring  []ringLink
	steps int // per cell and arm

	home  [][]bool // where redraws start, nil before again
	homes [][]int8
}

type ringLink struct{ from, to, arm int }

// Chain lengths in steps per cell and arm. About one step in twenty is taken. On
// designs small enough to list, a twenty-fifth of settleSteps already gives chances
// that some 60 draws for each layout can not tell from equal ones.
const (
	settleSteps = 1000
	redrawSteps = 20
)

func newShuffled(p plan) *shuffled {
	s := &shuffled{p: p, steps: settleSteps}
	for j, g := range p.groups {
		s.room, s.used = append(s.room, make([]int8, len(p.arms))), append(s.used, make([]int8, len(p.arms)))
		for a, n := range p.arms {
			if _, open := p.fair(n, g.total); open {
				s.room[j][a] = 1
			}
		}
		for _, jars := range g.jars {
			least, open := make([]int, len(p.arms)), make([]bool, len(p.arms))
			for a, n := range p.arms {
				least[a], open[a] = p.fair(n, jars)
			}
			s.group = append(s.group, j)
			s.least, s.open = append(s.least, least), append(s.open, open)
			s.up, s.out = append(s.up, make([]bool, len(p.arms))), append(s.out, make([]int, len(p.arms)))
		}
	}
	s.begin()
	return s
}

func (s *shuffled) procedure() Procedure { return Shuffled }

// draw runs the chain from the present layout, or from home after again.
func (s *shuffled) draw(l chance) [][]int {
	if s.home != nil {
		for c := range s.up {
			copy(s.up[c], s.home[c])
		}
		for j := range s.used {
			copy(s.used[j], s.homes[j])
		}
	}
	s.run(l, s.steps)
	for c := range s.out {
		for a, n := range s.least[c] {
			s.out[c][a] = n
			if s.up[c][a] {
				s.out[c][a]++
			}
		}
	}
	return s.out
}

// again moves away from the observed layout and remembers where it came to.
func (s *shuffled) again(l chance) {
	s.steps = redrawSteps
	s.run(l, s.steps)
	for c := range s.up {
		s.home = append(s.home, append([]bool(nil), s.up[c]...))
	}
	for j := range s.used {
		s.homes = append(s.homes, append([]int8(nil), s.used[j]...))
	}
}

func (s *shuffled) run(l chance, steps int) {
	if len(s.up) < 2 {
		return
	}
	for range steps * len(s.up) * len(s.p.arms) {
		s.step(l)
	}
}

// step tries one ring. It has two links half of the time, three a quarter, and
// so on. If a link is blocked, a group's share would leave its bound, or
// Metropolis' rule refuses, all is taken back.
func (s *shuffled) step(l chance) {
	s.ring = s.ring[:0]
	first, odds := l.below(len(s.up)), 1.0
	for at, closed := first, false; !closed; {
		k := ringLink{from: at, to: first, arm: l.below(len(s.p.arms))}
		closed = len(s.ring) == len(s.up)-1 || len(s.ring) > 0 && l.below(2) == 0
		if !closed {
			k.to = l.below(len(s.up))
		}
		if !s.up[k.from][k.arm] || s.up[k.to][k.arm] || !s.open[k.to][k.arm] {
			s.takeBack()
			return
		}
		s.move(k)
		s.ring = append(s.ring, k)
		odds *= float64(s.least[k.from][k.arm]+1) / float64(s.least[k.to][k.arm]+1)
		at = k.to
	}
	if !s.kept() || odds < 1 && l.share() >= odds {
		s.takeBack()
	}
}

func (s *shuffled) takeBack() {
	for i := len(s.ring) - 1; i >= 0; i-- {
		k := s.ring[i]
		s.move(ringLink{k.to, k.from, k.arm})
	}
}

func (s *shuffled) move(k ringLink) {
	s.up[k.from][k.arm], s.up[k.to][k.arm] = false, true
	// A group's count rises above its rounded-down share only by its cells.
	s.used[s.group[k.from]][k.arm]--
	s.used[s.group[k.to]][k.arm]++
}

// kept reports whether the groups that the ring touched are within bounds.
func (s *shuffled) kept() bool {
	for _, k := range s.ring {
		for _, j := range []int{s.group[k.from], s.group[k.to]} {
			if u := s.used[j][k.arm]; u < 0 || u > s.room[j][k.arm] {
				return false
			}
		}
	}
	return true
}
