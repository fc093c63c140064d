package app

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
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

// CookApart is a comparison as one cook alone shows it.
type CookApart = trialstat.CookApart

// OverCooks is a comparison judged from cook to cook.
type OverCooks = trialstat.OverCooks

// CookEffects is what the verdict decides first, as each cook alone shows it.
type CookEffects struct {
	Of    string // what less what
	Cooks []CookApart
	All   *OverCooks // from cook to cook; nil where the cooks are too few
}

// cookEffects takes what decides apart by cook; nil for fewer than two cooks.
func cookEffects(r CompareResult) *CookEffects {
	of := CookEffects{}
	switch {
	case len(r.Trends) > 0 && len(r.Trends[0].EachCook) > 0:
		t := r.Trends[0]
		of = CookEffects{fmt.Sprintf("%g less %g %s, in a line", t.To, t.From, t.Unit), t.EachCook, t.ByCook}
	case len(r.Comparisons) > 0:
		c := r.Comparisons[0]
		of = CookEffects{strings.Join(c.Arms, " less "), c.EachCook, c.ByCook}
	}
	if len(of.Cooks) == 0 {
		return nil
	}
	return &of
}
