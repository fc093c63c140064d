package pool

import "math"

// Reading is the outcome of one culture in one batch, on a scale on which
// estimates are about normal, with its standard error, and X, which it may
// depend on. Readings of one batch share that batch's luck.
type Reading struct {
	X            float64
	Estimate, SE float64
	Batch        int
}

// Trend is what readings say of the change of the outcome for each step of X.
type Trend struct {
	slope Belief
}

// Slope returns the change for each step of X. ErrFew for fewer than three
// readings or fewer than three different X: two points draw a line through
// anything. ErrRange.
//
// Reading i is N(a + b·X + u_batch + v_i, SE²), u and v are N(0, tau²/2) each,
// a is unknown, b is N(0, Mean²), tau is half-normal with scale Between, and
// is integrated out on the grid of Bayes. That a batch and a culture in it
// share the spread evenly is our own choice, no source.
func Slope(prior Prior, readings []Reading) (Trend, error) {
	if err := checkReadings(readings); err != nil {
		return Trend{}, err
	}
	sets := byBatch(readings)
	least := math.Inf(1)
	for _, r := range readings {
		least = math.Min(least, r.SE)
	}
	taus, logs := spreads(prior, least)
	nodes := make([]part, len(taus))
	for i, tau := range taus {
		l := squares(sets, tau*tau/2)
		one, x, y := l.one, l.x, l.y
		free := l.xx - x*x/one + 1/(prior.Mean*prior.Mean)
		shared := l.xy - x*y/one
		nodes[i] = part{mean: shared / free, sd: math.Sqrt(1 / free)}
		logs[i] -= tau*tau/(2*prior.Between*prior.Between) + 0.5*(l.logdet+math.Log(one)+math.Log(free)) + 0.5*(l.yy-y*y/one-shared*shared/free)
	}
	for i, w := range shares(logs) {
		nodes[i].weight = w
	}
	return Trend{Belief{nodes}}, nil
}

// Step returns what is believed of the change for one step of X.
func (t Trend) Step() Belief { return t.slope }

func checkReadings(readings []Reading) error {
	different := make(map[float64]bool)
	for _, r := range readings {
		if !(r.SE > 0) || !usable(r.SE) || !usable(r.Estimate) || !usable(r.X) {
			return ErrRange
		}
		different[r.X] = true
	}
	if len(readings) < 3 || len(different) < 3 {
		return ErrFew
	}
	return nil
}

// byBatch parts readings by batch, in the order of first appearance.
func byBatch(readings []Reading) [][]Reading {
	at := make(map[int]int)
	var sets [][]Reading
	for _, r := range readings {
		i, ok := at[r.Batch]
		if !ok {
			i = len(sets)
			at[r.Batch] = i
			sets = append(sets, nil)
		}
		sets[i] = append(sets[i], r)
	}
	return sets
}

// weighted sums of squares and products of 1, X and the estimates, and the
// logarithm of the determinant of their covariance.
type products struct{ one, x, y, xx, xy, yy, logdet float64 }

// squares weighs readings by the inverse of their covariance: within a batch
// diagonal SE² + half plus half everywhere (Sherman and Morrison).
func squares(sets [][]Reading, half float64) products {
	var all products
	for _, set := range sets {
		var s products
		for _, r := range set {
			w := 1 / (r.SE*r.SE + half)
			s.one += w
			s.x += w * r.X
			s.y += w * r.Estimate
			s.xx += w * r.X * r.X
			s.xy += w * r.X * r.Estimate
			s.yy += w * r.Estimate * r.Estimate
			all.logdet -= math.Log(w)
		}
		shrink := half / (1 + half*s.one)
		all.logdet += math.Log1p(half * s.one)
		all.one += s.one - shrink*s.one*s.one
		all.x += s.x - shrink*s.one*s.x
		all.y += s.y - shrink*s.one*s.y
		all.xx += s.xx - shrink*s.x*s.x
		all.xy += s.xy - shrink*s.x*s.y
		all.yy += s.yy - shrink*s.y*s.y
	}
	return all
}
