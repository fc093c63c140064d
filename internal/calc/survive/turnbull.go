package survive

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Mass is a share of jars that came to the stage somewhere in a span.
type Mass struct {
	Span
	Share float64 // 0..1
}

// Turnbull is the distribution of days that the spans make most likely,
// without any assumed shape.
type Turnbull struct {
	Masses []Mass // that hold any share, in the order of days
	LogLik float64
	Excess float64 // how far the optimality conditions are missed, relative; at most 1e-8
}

// The solution is taken when no share can raise the log likelihood per jar by
// more than this, to first order.
const kktTolerance = 1e-9

// FitTurnbull returns the nonparametric maximum likelihood estimate for spans
// (After, By].
//
// ErrFew for no span, ErrRange as for spans.
//
// Source: Turnbull, J. R. Stat. Soc. B 38 (1976) 290, for the innermost spans
// and the expectation step; then Newton steps on the shares that are above 0,
// until the conditions of Kuhn and Tucker hold over all spans (Gentleman and
// Geyer, Biometrika 81 (1994) 618; both from memory).
func FitTurnbull(spans []Span) (Turnbull, error) {
	if err := checkSpans(spans); err != nil {
		return Turnbull{}, err
	}
	if len(spans) == 0 {
		return Turnbull{}, fmt.Errorf("survive: no span: %w", ErrFew)
	}
	m := newMasses(spans)
	m.expect(20)
	for range 500 {
		if m.excess() <= kktTolerance {
			break
		}
		m.newton()
		m.expect(1)
	}
	out := Turnbull{LogLik: m.logLik(m.share), Excess: m.excess()}
	for j, s := range m.inner {
		if m.share[j] > 1e-12 {
			out.Masses = append(out.Masses, Mass{s, m.share[j]})
		}
	}
	return out, nil
}

// masses is the fit as it goes: which innermost spans lie in each span, first
// to last, and the share of each.
type masses struct {
	inner       []Span
	first, last []int // of each span, last included
	share       []float64
	gain        []float64 // derivative of the log likelihood by each share
	inside      []float64 // chance of each span
}

func newMasses(spans []Span) *masses {
	m := &masses{inner: innermost(spans)}
	for _, s := range spans {
		first := slices.IndexFunc(m.inner, func(in Span) bool { return in.within(s) })
		last := first
		for last+1 < len(m.inner) && m.inner[last+1].within(s) {
			last++
		}
		m.first, m.last = append(m.first, first), append(m.last, last)
	}
	m.share = make([]float64, len(m.inner))
	for j := range m.share {
		m.share[j] = 1 / float64(len(m.inner))
	}
	m.gain, m.inside = make([]float64, len(m.inner)), make([]float64, len(spans))
	return m
}

func (s Span) within(outer Span) bool {
	return s.After >= outer.After && s.By <= outer.By && s.covers(outer)
}

// covers keeps (a, b] apart from the known day a: a day at the open end of a
// span is not in it.
func (s Span) covers(outer Span) bool {
	return s.After != s.By || s.By > outer.After || outer.After == outer.By
}

// innermost returns the spans from a beginning to the next end with no other
// beginning between: only they can hold a share.
func innermost(spans []Span) []Span {
	type edge struct {
		day   float64
		order int // at one day: ends of known days last, beginnings of known days before them
		begin bool
	}
	var edges []edge
	for _, s := range spans {
		if s.After == s.By {
			edges = append(edges, edge{s.After, 1, true}, edge{s.By, 2, false})
			continue
		}
		edges = append(edges, edge{s.After, 3, true}, edge{s.By, 2, false})
	}
	slices.SortFunc(edges, func(a, b edge) int {
		if a.day != b.day {
			if a.day < b.day {
				return -1
			}
			return 1
		}
		return a.order - b.order
	})
	var out []Span
	for i := 0; i+1 < len(edges); i++ {
		if edges[i].begin && !edges[i+1].begin {
			out = append(out, Span{edges[i].day, edges[i+1].day})
		}
	}
	return out
}

// weigh fills the chance of each span and the gain of each share.
func (m *masses) weigh() {
	clear(m.gain)
	for i := range m.inside {
		sum := 0.0
		for j := m.first[i]; j <= m.last[i]; j++ {
			sum += m.share[j]
		}
		m.inside[i] = sum
		for j := m.first[i]; j <= m.last[i]; j++ {
			m.gain[j] += 1 / sum
		}
	}
}

func (m *masses) logLik(share []float64) float64 {
	out := 0.0
	for i := range m.inside {
		sum := 0.0
		for j := m.first[i]; j <= m.last[i]; j++ {
			sum += share[j]
		}
		out += math.Log(sum)
	}
	return out
}

// expect runs steps of expectation and maximisation.
func (m *masses) expect(steps int) {
	n := float64(len(m.inside))
	for range steps {
		m.weigh()
		for j := range m.share {
			m.share[j] *= m.gain[j] / n
		}
	}
}

// excess is how far the conditions are missed: gain is n where there is a
// share, and no more elsewhere.
func (m *masses) excess() float64 {
	m.weigh()
	n, worst := float64(len(m.inside)), 0.0
	for j, g := range m.gain {
		miss := g/n - 1
		if m.share[j] > 1e-9 {
			miss = math.Abs(miss)
		}
		worst = math.Max(worst, miss)
	}
	return worst
}

// newton takes a step on the shares above 0, cut where one of them comes to 0
// and halved until the likelihood does not fall.
func (m *masses) newton() {
	n := float64(len(m.inside))
	m.weigh()
	var live []int
	for j := range m.share {
		if m.share[j] < 1e-9 && m.gain[j] < n {
			m.share[j] = 0
			continue
		}
		m.share[j] = math.Max(m.share[j], 1e-6)
		live = append(live, j)
	}
	m.settle()
	step := m.solve(live)
	if step == nil {
		return
	}
	before, scale := m.logLik(m.share), 1.0
	for k, j := range live {
		if step[k] < 0 {
			scale = math.Min(scale, -m.share[j]/step[k])
		}
	}
	next := make([]float64, len(m.share))
	for range 40 {
		for k, j := range live {
			next[j] = math.Max(0, m.share[j]+scale*step[k])
		}
		if l := m.logLik(next); l >= before-1e-13*math.Abs(before) {
			copy(m.share, next)
			m.settle()
			return
		}
		scale /= 2
	}
}

// settle makes the shares add up to 1.
func (m *masses) settle() {
	sum := 0.0
	for _, p := range m.share {
		sum += p
	}
	for j := range m.share {
		m.share[j] /= sum
	}
}

// solve returns the Newton step of the live shares that keeps their sum, nil
// if there is none.
func (m *masses) solve(live []int) []float64 {
	m.weigh()
	k := len(live)
	place := make([]int, len(m.share))
	for j := range place {
		place[j] = -1
	}
	for a, j := range live {
		place[j] = a
	}
	h, g := mat.NewDense(k+1, k+1, nil), mat.NewVecDense(k+1, nil)
	for i, p := range m.inside {
		w := 1 / (p * p)
		for j := m.first[i]; j <= m.last[i]; j++ {
			for l := m.first[i]; l <= m.last[i]; l++ {
				if a, b := place[j], place[l]; a >= 0 && b >= 0 {
					h.Set(a, b, h.At(a, b)+w)
				}
			}
		}
	}
	for a, j := range live {
		h.Set(a, a, h.At(a, a)*(1+1e-10))
		h.Set(a, k, 1)
		h.Set(k, a, 1)
		g.SetVec(a, m.gain[j])
	}
	var step mat.VecDense
	if err := step.SolveVec(h, g); err != nil {
		return nil
	}
	return step.RawVector().Data[:k]
}

// Between returns what is known of the share that came by a day: at least low,
// at most high. The two differ on days that no visit resolves.
func (t Turnbull) Between(day float64) (low, high float64) {
	for _, m := range t.Masses {
		if m.By <= day {
			low += m.Share
		}
		if m.After < day || m.By <= day {
			high += m.Share
		}
	}
	return math.Min(low, 1), math.Min(high, 1)
}
