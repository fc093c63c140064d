package pool

import (
	"math"
	"slices"

	"pinset/internal/calc/stats"
)

// Prior is what is believed of a contrast before any trial: it lies about 0
// with standard deviation Mean, and trials differ by a half-normal with scale
// Between.
type Prior struct{ Mean, Between float64 }

// UsualPrior is the prior on the logarithm of a ratio of yields. Its widths
// were chosen by simulation; doc/methods/pool.md has the table.
var UsualPrior = Prior{Mean: 0.5, Between: 0.2}

// Pooled is what the trials say of the contrast, with the spread between them
// integrated out.
type Pooled struct {
	trials []Trial
	least  float64 // of the standard errors
	nodes  []node
}

// node is one spread between trials with its share of the posterior and, given
// it, the mean contrast and its variance.
type node struct{ weight, tau, mean, variance float64 }

// The grid of spreads: tau is least·sinh(u) over even steps of u, least being
// the smallest standard error. The integrand is even in u and smooth as far as
// π/2 off the axis whatever the errors are, so that the trapezoid rule
// converges as fast as can be; the step is two thirds of the spread that 500
// trials leave to log tau.
const (
	tauStep  = 0.02
	tauReach = 100 // scales of the prior, so that trials which differ far more than it says are seen to
)

// spreads returns the grid over tau with the log of each node's width, but for
// a constant.
func spreads(prior Prior, least float64) (taus, widths []float64) {
	n := int(math.Ceil(math.Asinh(tauReach*prior.Between/least)/tauStep)) + 1
	taus, widths = make([]float64, n), make([]float64, n)
	for i := range taus {
		u := tauStep * float64(i)
		taus[i], widths[i] = least*math.Sinh(u), math.Log(math.Cosh(u))
	}
	widths[0] = -math.Ln2 // the end of the trapezoid
	return taus, widths
}

// shares turns logs of weights into weights that add up to 1.
func shares(logs []float64) []float64 {
	top, sum := slices.Max(logs), 0.0
	out := make([]float64, len(logs))
	for i, l := range logs {
		out[i] = math.Exp(l - top)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// Bayes returns what at least one trial says. ErrFew, ErrRange.
//
// y of trial i is N(mu_i, SE²), mu_i is N(mu, tau²), mu is N(0, Mean²), tau is
// half-normal. Source: Gelman et al., Bayesian Data Analysis, 3rd ed., section
// 5.4 (from memory); priors as Röver, J. Stat. Software 93 (2020) no. 6 has
// them.
func Bayes(prior Prior, trials []Trial) (*Pooled, error) {
	if err := check(trials, 1); err != nil {
		return nil, err
	}
	least := math.Inf(1)
	for _, t := range trials {
		least = math.Min(least, t.SE)
	}
	taus, logs := spreads(prior, least)
	p := &Pooled{trials: trials, least: least, nodes: make([]node, len(taus))}
	for i, tau := range taus {
		a, b, c := 1/(prior.Mean*prior.Mean), 0.0, 0.0
		for _, t := range trials {
			v := t.SE*t.SE + tau*tau
			a, b, c = a+1/v, b+t.Estimate/v, c+t.Estimate*t.Estimate/v
			logs[i] -= 0.5 * math.Log(v)
		}
		logs[i] -= tau*tau/(2*prior.Between*prior.Between) + 0.5*math.Log(a) + 0.5*(c-b*b/a)
		p.nodes[i] = node{tau: tau, mean: b / a, variance: 1 / a}
	}
	for i, w := range shares(logs) {
		p.nodes[i].weight = w
	}
	return p, nil
}

// Belief is the distribution of one figure: a mixture of normals.
type Belief struct{ parts []part }

type part struct{ weight, mean, sd float64 }

// Mean returns what is believed of the mean contrast over all trials.
func (p *Pooled) Mean() Belief {
	return p.of(func(n node) (float64, float64) { return n.mean, n.variance })
}

// Next returns what is believed of the true contrast of a new trial.
func (p *Pooled) Next() Belief {
	return p.of(func(n node) (float64, float64) { return n.mean, n.variance + n.tau*n.tau })
}

// Of returns what is believed of the true contrast of trial i, drawn towards
// the others as far as it is uncertain.
func (p *Pooled) Of(i int) Belief {
	t := p.trials[i]
	return p.of(func(n node) (float64, float64) {
		own := n.tau * n.tau / (n.tau*n.tau + t.SE*t.SE)
		return own*t.Estimate + (1-own)*n.mean, own*t.SE*t.SE + (1-own)*(1-own)*n.variance
	})
}

func (p *Pooled) of(given func(node) (mean, variance float64)) Belief {
	b := Belief{make([]part, 0, len(p.nodes))}
	for _, n := range p.nodes {
		if n.weight > 1e-14 {
			mean, variance := given(n)
			b.parts = append(b.parts, part{n.weight, mean, math.Sqrt(variance)})
		}
	}
	return b
}

// Spread returns the mean and the central interval of the spread between
// trials.
func (p *Pooled) Spread(level float64) (mean, low, high float64) {
	// tau itself is not even in u: the first term of Euler and Maclaurin
	mean = p.least * tauStep / 6 * p.nodes[0].weight
	for _, n := range p.nodes {
		mean += n.weight * n.tau
	}
	return mean, p.tauAt((1 - level) / 2), p.tauAt((1 + level) / 2)
}

// tauAt returns the spread below which lies a share. Between two nodes density
// is taken as linear in u.
func (p *Pooled) tauAt(share float64) float64 {
	from := 2 * p.nodes[0].weight // the first node has half its weight
	for i, n := range p.nodes[1:] {
		to := n.weight
		if cell := (from + to) / 2; cell < share {
			share, from = share-cell, to
			continue
		}
		part := 2 * share / (from + math.Sqrt(from*from+2*(to-from)*share))
		return p.least * math.Sinh(tauStep*(float64(i)+part))
	}
	return p.nodes[len(p.nodes)-1].tau
}

// Mean is the mean of the belief.
func (b Belief) Mean() float64 {
	sum := 0.0
	for _, p := range b.parts {
		sum += p.weight * p.mean
	}
	return sum
}

// Above is the probability that the figure lies above x.
func (b Belief) Above(x float64) float64 {
	sum := 0.0
	for _, p := range b.parts {
		sum += p.weight * stats.NormalUpper((x-p.mean)/p.sd)
	}
	return sum
}

// Interval returns the central interval at a level.
func (b Belief) Interval(level float64) (low, high float64) {
	return b.quantile((1 - level) / 2), b.quantile((1 + level) / 2)
}

func (b Belief) quantile(q float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range b.parts {
		low, high = math.Min(low, p.mean-9*p.sd), math.Max(high, p.mean+9*p.sd)
	}
	for range 60 {
		middle := (low + high) / 2
		if 1-b.Above(middle) < q {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
