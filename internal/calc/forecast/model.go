package forecast

import (
	"math"

	"pinset/internal/figure"
)

// Prior is what is believed before an own batch: the published days, and how
// far farms, recipes and batches differ. The spreads are standard deviations
// of the logarithm of days.
type Prior struct {
	Days        float64 // published, the middle; above 0
	Book        float64 // how far the book may be off: 0.25 is a factor 1.6 either way
	Between     float64 // scale of the half-normal spread between groups
	Within      float64 // middle of the lognormal spread between batches of one group
	WithinSigma float64 // of its logarithm
}

// UsualPrior returns the prior for published days. Its spreads were chosen by
// simulation; doc/methods/days.md has the table.
func UsualPrior(days float64) Prior {
	return Prior{Days: days, Book: 0.25, Between: 0.3, Within: 0.15, WithinSigma: 0.6}
}

// PublishedPrior returns the prior for a published span of days, which is
// taken to hold 4 of 5 farms and never believed more than a factor of 1.6
// either way (95 %).
func PublishedPrior(low, high float64) Prior {
	p := UsualPrior(math.Sqrt(low * high))
	p.Book = math.Max(p.Book, math.Log(high/low)/(2*tenth))
	return p
}

// Span is between which days a batch came to the stage: not yet at After,
// seen at By. The two are equal where the day is known.
type Span struct{ After, By float64 }

// Limits of days that are computed with.
const (
	minDays = 0.25
	maxDays = 2000
)

// wideShare is how wide a span may be, to its middle, before its middle says
// too little of the day.
const wideShare = 0.4

// Wide reports whether a span is so wide that its middle stands for no day:
// 8 to 12 days is the widest that is not.
func (s Span) Wide() bool { return s.By-s.After > wideShare*(s.After+s.By)/2 }

// datum is a span as the model takes it: the logarithm of its middle, and the
// variance that the visits leave open (a uniform over the span).
type datum struct{ y, extra float64 }

// logs are the ends of a span in log days.
func (s Span) logs() (a, b float64) {
	return math.Log(math.Max(s.After, minDays/2)), math.Log(math.Max(s.By, minDays/2))
}

func (s Span) datum() datum {
	a, b := s.logs()
	width := (math.Exp(b) - math.Exp(a)) / ((math.Exp(a) + math.Exp(b)) / 2 * math.Sqrt(12))
	return datum{(a + b) / 2, width * width}
}

// The grid over both spreads, even in their logarithms: how many nodes along
// each, and its ends.
const (
	fineNodes   = 61
	coarseNodes = 13 // where only a mean and a variance are wanted

	tauLow, tauHigh     = 0.002, 1.5
	sigmaLow, sigmaHigh = 0.02, 1.2
	negligible          = 1e-9 // share of the mass of a node that is dropped
)

// node is one pair of spreads with its share of the posterior, and what it
// says of the farm's own middle.
type node struct{ weight, tau, sigma, mean, variance float64 }

// Model is what a farm's batches say of one stage. It is not changed once it
// is fitted.
type Model struct {
	groups [][]datum
	nodes  []node
}

// Fit fits the model to the batches of each group, which may have none.
//
// y = log days of batch j in group i is N(mu_i, sigma² + what its visits leave
// open), mu_i is N(mu0, tau²), mu0 is N(log Days, Book²); tau is half-normal,
// log sigma normal. The two spreads are integrated over a grid; all else is
// closed form. Source: Gelman et al., Bayesian Data Analysis, 3rd ed.,
// section 5.4 (from memory), with the spreads on a grid.
//
// Spans out of 0 to 2000 days, or that end before they begin, are Faults.
func Fit(prior Prior, groups [][]Span) (*Model, error) {
	if !(prior.Days >= minDays && prior.Days <= maxDays) {
		return nil, figure.Faultf("book_days", "write the published days, such as 21", "%g days can not be begun from", prior.Days)
	}
	m := &Model{groups: make([][]datum, len(groups))}
	var wide []site
	for i, g := range groups {
		for _, s := range g {
			switch {
			case !(s.After >= 0 && s.By >= s.After && s.By >= minDays && s.By <= maxDays):
				return nil, figure.Faultf("days", "check both visits", "the stage can not come between day %g and day %g", s.After, s.By)
			case s.Wide():
				wide = append(wide, site{group: i, span: s})
			default:
				m.groups[i] = append(m.groups[i], s.datum())
			}
		}
	}
	m.groups = settle(prior, m.groups, wide)
	m.weigh(prior, fineNodes)
	return m, nil
}

// weigh finds the nodes that hold any of the posterior, of a grid of so many
// by so many.
func (m *Model) weigh(prior Prior, nodes int) {
	all := make([]node, 0, nodes*nodes)
	logs := make([]float64, 0, cap(all))
	pools := make([]pooled, len(m.groups))
	top := math.Inf(-1)
	for j := range nodes {
		sigma := spaced(sigmaLow, sigmaHigh, j, nodes)
		for i, g := range m.groups {
			pools[i] = pool(g, sigma)
		}
		z := (math.Log(sigma) - math.Log(prior.Within)) / prior.WithinSigma
		for i := range nodes {
			n := node{tau: spaced(tauLow, tauHigh, i, nodes), sigma: sigma}
			l := -n.tau*n.tau/(2*prior.Between*prior.Between) + math.Log(n.tau) - z*z/2 // log tau: the grid is even in it
			l += n.likelihood(prior, pools)
			all, logs = append(all, n), append(logs, l)
			top = math.Max(top, l)
		}
	}
	sum := 0.0
	for i, l := range logs {
		all[i].weight = math.Exp(l - top)
		sum += all[i].weight
	}
	kept := 0.0
	m.nodes = m.nodes[:0]
	for _, n := range all {
		if n.weight > negligible*sum {
			m.nodes = append(m.nodes, n)
			kept += n.weight
		}
	}
	for i := range m.nodes {
		m.nodes[i].weight /= kept
	}
}

// spaced is point i of n between low and high, even in the logarithm.
func spaced(low, high float64, i, n int) float64 {
	return low * math.Exp(math.Log(high/low)*float64(i)/float64(n-1))
}

// likelihood returns the log likelihood of a node but for a constant, and sets
// its mean and variance of mu0.
func (n *node) likelihood(prior Prior, groups []pooled) float64 {
	m0, v0 := math.Log(prior.Days), prior.Book*prior.Book
	a, b, c := 1/v0, m0/v0, m0*m0/v0
	l := 0.0
	for _, g := range groups {
		if g.batches == 0 {
			continue
		}
		v := n.tau*n.tau + g.variance
		a, b, c = a+1/v, b+g.mean/v, c+g.mean*g.mean/v
		l += g.within - 0.5*math.Log(v)
	}
	n.mean, n.variance = b/a, 1/a
	return l - 0.5*math.Log(a) - 0.5*(c-b*b/a)
}

// pooled is the weighted mean of a group's batches with its variance, and what
// the batches say of sigma.
type pooled struct {
	batches                int
	mean, variance, within float64
}

func pool(g []datum, sigma float64) pooled {
	if len(g) == 0 {
		return pooled{}
	}
	var sw, swy, swyy, within float64
	for _, d := range g {
		v := sigma*sigma + d.extra
		w := 1 / v
		sw, swy, swyy = sw+w, swy+w*d.y, swyy+w*d.y*d.y
		within -= 0.5 * math.Log(v)
	}
	mean, variance := swy/sw, 1/sw
	return pooled{len(g), mean, variance, within - 0.5*(swyy-swy*mean) + 0.5*math.Log(variance)}
}

// Of returns the forecast for the next batch of group i; of a group that has
// no batch yet, or any other number, that of a new one.
func (m *Model) Of(i int) Forecast {
	f := Forecast{parts: make([]part, len(m.nodes))}
	var g []datum
	if i >= 0 && i < len(m.groups) {
		g = m.groups[i]
	}
	for k, n := range m.nodes {
		mean, variance, own := n.mean, n.variance+n.tau*n.tau, 0.0
		if len(g) > 0 {
			p := pool(g, n.sigma)
			own = n.tau * n.tau / (n.tau*n.tau + p.variance)
			mean, variance = own*p.mean+(1-own)*n.mean, own*p.variance+(1-own)*(1-own)*n.variance
		}
		f.parts[k] = part{n.weight, mean, math.Sqrt(variance + n.sigma*n.sigma)}
		f.own += n.weight * own
	}
	return f
}

// Spreads returns the posterior means of the spread between groups and within
// them, and of the farm's own middle, in log days.
func (m *Model) Spreads() (between, within, middle float64) {
	for _, n := range m.nodes {
		between += n.weight * n.tau
		within += n.weight * n.sigma
		middle += n.weight * n.mean
	}
	return between, within, middle
}
