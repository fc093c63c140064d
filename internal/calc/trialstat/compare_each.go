package trialstat

import (
	"pinset/internal/calc/stats"
)

// CookApart is a comparison as one cook alone shows it. It decides nothing.
type CookApart struct {
	Cook string `json:"cook"`
	Jars []int  `json:"jars"` // of the first arm and of the second; of a ladder, all of them
	// Interval is in the unit of the result: means by Welch's interval, within the places
	// of the cook where these can carry it, shares by Newcombe's.
	Interval
}

// eachCook takes a contrast of arms apart by cook, in the order of the table; none for
// fewer than two cooks with jars of these arms, and none for scores.
func (c *comparing) eachCook(weights []float64) []CookApart {
	out := []CookApart{}
	if c.unit.factor != "" || c.outcome == ByScore {
		return out
	}
	w, cook := c.byCooks(), c.columnOf(factorCook)
	if len(w.held) < 2 {
		return out
	}
	for at := range w.held {
		one := CookApart{Cook: cook.levels[at], Jars: w.jarsOf(at, weights)}
		if one.Jars[0]+one.Jars[len(one.Jars)-1] == 0 {
			continue
		}
		switch {
		case !holdsAll(w.held[at], weights):
		case c.outcome.share():
			one.Interval = c.sharesInCook(cook, at, weights)
		default:
			one.Interval = w.interval(at, weights)
		}
		out = append(out, one)
	}
	if len(out) < 2 {
		return []CookApart{}
	}
	return out
}

// jarsOf counts the jars of one cook: of the arm that counts up and of that which counts
// down, or of all arms of a ladder.
func (w *cookwise) jarsOf(at int, weights []float64) []int {
	var up, down, arms int
	for arm, x := range weights {
		switch {
		case x > 0:
			up += w.count[at][arm]
		case x < 0:
			down += w.count[at][arm]
		}
		arms += yes(x != 0)
	}
	if arms > 2 {
		return []int{up + down}
	}
	return []int{up, down}
}

// interval is that of a contrast in one cook; a value without one where jars are too few.
func (w *cookwise) interval(at int, weights []float64) Interval {
	for _, fit := range []fitted{w.within[at], w.plain[at]} {
		if fit == nil {
			continue
		}
		v, err := fit.Value(weights)
		if err != nil {
			continue
		}
		if e, err := fit.Contrast(weights, confidence); err == nil {
			return Interval{maybe(e.Value), maybe(e.Low), maybe(e.High)}
		}
		return Interval{Value: maybe(v)}
	}
	return Interval{}
}

// sharesInCook compares two shares in one cook, in points of a hundred jars.
func (c *comparing) sharesInCook(cook column, at int, weights []float64) Interval {
	var did, of [2]int
	for k, i := range c.main.rows {
		if x := weights[c.arm[i]]; cook.codes[i] == at && x != 0 {
			side := yes(x < 0)
			of[side]++
			did[side] += yes(c.main.grams[k] > 0)
		}
	}
	d, low, high, err := stats.Newcombe(did[0], of[0], did[1], of[1], confidence)
	if err != nil {
		return Interval{}
	}
	return Interval{maybe(100 * d), maybe(100 * low), maybe(100 * high)}
}
