package app

import (
	"fmt"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/lab"
)

// ArmLoss is how many inoculated jars of an arm gave nothing.
type ArmLoss struct {
	Arm                string
	Failed, Of         int      // lost and barren; done jars
	Percent, Low, High *float64 // with its 95 % interval; nil while none is done
}

// losses says what each arm lost.
// Source of the interval: Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212.
func (ev evidence) losses(v Verdict) []ArmLoss {
	var out []ArmLoss
	for _, a := range ev.trial.Arms {
		l := ArmLoss{Arm: a.Name}
		i := slices.IndexFunc(v.Result.Arms, func(s ArmSummary) bool { return lab.NameKey(s.Name) == lab.NameKey(a.Name) })
		if i >= 0 {
			s := v.Result.Arms[i]
			l.Failed, l.Of = s.Lost+s.Barren, s.Inoculated-s.Growing
		}
		if low, high, err := stats.Wilson(l.Failed, l.Of, 0.95); err == nil { // of no jar nothing can be said
			share := 100 * float64(l.Failed) / float64(l.Of)
			low, high = 100*low, 100*high
			l.Percent, l.Low, l.High = &share, &low, &high
		}
		out = append(out, l)
	}
	return out
}

// CookEffect is one difference as a single cook shows it.
type CookEffect struct {
	Cook             string
	Arms             []string // the first less the second
	Jars             []int    // of each
	Value, Low, High *float64 // grams per jar of the primary
}

// cookEffects takes the first comparison apart by cook. There is one row for
// each cook that holds a jar of either arm, none for fewer than two cooks.
// Source of the interval: Welch, Biometrika 34 (1947) 28-35.
func (ev evidence) cookEffects(v Verdict, e Evidence) []CookEffect {
	if len(v.Result.Comparisons) == 0 {
		return nil
	}
	arms := v.Result.Comparisons[0].Arms
	var out []CookEffect
	grams := make(map[string][2][]float64)
	for _, j := range e.Jars {
		side := slices.IndexFunc(arms, func(a string) bool { return lab.NameKey(a) == lab.NameKey(e.Arms[j.Arm].Name) })
		if side < 0 || j.Cook == "" {
			continue
		}
		if _, ok := grams[j.Cook]; !ok {
			out = append(out, CookEffect{Cook: j.Cook, Arms: arms})
		}
		g := grams[j.Cook]
		g[side] = append(g[side], j.Grams)
		grams[j.Cook] = g
	}
	if len(out) < 2 {
		return nil
	}
	for i := range out {
		g := grams[out[i].Cook]
		out[i].Jars = []int{len(g[0]), len(g[1])}
		if len(g[0]) == 0 || len(g[1]) == 0 {
			continue
		}
		value := stats.Mean(g[0]) - stats.Mean(g[1])
		out[i].Value = &value
		if w, err := stats.Welch(g[1], g[0], 0.95); err == nil { // too few or all equal: the difference stands without an interval
			out[i].Low, out[i].High = &w.Low, &w.High
		}
	}
	return out
}

// Says counts the jars behind an effect: "6 and 5 jars".
func (c CookEffect) Says() string { return fmt.Sprintf("%d and %d jars", c.Jars[0], c.Jars[1]) }
