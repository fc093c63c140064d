package app

import (
	"fmt"
	"slices"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// contrasts returns what the arms of a trial gave against each other, as it can
// be put beside the same contrast of other trials: the outcome that decided, and
// those that stand beside it. The figures are those of the verdict, with its
// plain 95 % intervals: those that are widened for several comparisons are meant
// for one trial alone.
func (ev evidence) contrasts(v Verdict) []lab.Contrast {
	out := []lab.Contrast{}
	for _, c := range v.Result.Comparisons {
		base := lab.Contrast{Sides: ev.sides(c), Outcome: ev.trial.Primary}
		if c.Fruited != nil {
			base.Jars = [2]int{c.Fruited.B.Of, c.Fruited.Control.Of}
		}
		if len(base.Sides) == 0 {
			base.Not = fmt.Sprintf("nothing on record tells %s and %s apart", c.Arms[0], c.Arms[1])
		}
		out = append(out, ev.decided(base, c, v))
		if c.Ending == trialstat.Running || c.Ending == trialstat.NoComparison || base.Not != "" {
			continue // what stands beside it rests on the same jars
		}
		if c.Also != nil {
			base.Outcome = outcomeOf(c.Also.Per)
			out = append(out, ratioOf(base, c.Also.Percent))
		}
		for outcome, s := range map[string]*trialstat.ShareApart{lab.ByFruited: c.Fruited, lab.ByClean: c.Kept} {
			if s != nil && outcome != ev.trial.Primary && v.Result.Counted == nil { // jars of one cook or shelf share its luck
				base.Outcome = outcome
				out = append(out, pointsOf(base, inPoints(s.Difference), s))
			}
		}
	}
	slices.SortStableFunc(out, byOutcome)
	return out
}

func byOutcome(a, b lab.Contrast) int {
	return slices.Index(lab.Outcomes, a.Outcome) - slices.Index(lab.Outcomes, b.Outcome)
}

// decided is the contrast of the outcome that the trial is judged by.
func (ev evidence) decided(out lab.Contrast, c Comparison, v Verdict) lab.Contrast {
	switch {
	case out.Not != "":
	case c.Ending == trialstat.Running || c.Ending == trialstat.NoComparison:
		out.Not = c.Sentence
	case out.Outcome == lab.ByColour:
		out.Not = "colours are scores, and only figures are added up"
	case out.Outcome == lab.ByFruited:
		return pointsOf(out, Interval{Value: c.Difference.Value, Low: c.Difference.Low, High: c.Difference.High}, c.Fruited)
	case out.Outcome == lab.ByClean:
		return pointsOf(out, Interval{Value: c.Difference.Value, Low: c.Difference.Low, High: c.Difference.High}, c.Kept)
	default:
		out.Means = meansOf(c.Arms, v.Result)
		return ratioOf(out, c.Percent)
	}
	return out
}

// meansOf are the means of two whole arms, 0 where they are not known.
func meansOf(arms []string, r CompareResult) (out [2]float64) {
	for i := range out {
		for _, a := range r.Arms {
			if a.Name == arms[i] && a.Mean != nil {
				out[i] = *a.Mean
			}
		}
	}
	return out
}

// ratioOf takes a difference in per cent of the control's mean to a ratio.
func ratioOf(out lab.Contrast, pct Interval) lab.Contrast {
	out.Ratio = true
	switch {
	case pct.Value == nil || pct.Low == nil || pct.High == nil:
		out.Not = "the usual gave so little, or so unevenly, that a ratio to it has no interval"
	case !(*pct.Low > -100):
		out.Not = "its interval reaches down to nothing at all, so a ratio can not be weighed"
	default:
		out.Value, out.Low, out.High = 1+*pct.Value/100, 1+*pct.Low/100, 1+*pct.High/100
	}
	if out.Not == "" && !(out.Value > 0 && out.Low < out.High) {
		out.Not = "its interval has no width, so it can not be weighed"
	}
	return out
}

// pointsOf is a difference of shares in points of a hundred jars; of are the two
// shares, nil if they are not known.
func pointsOf(out lab.Contrast, d Interval, of *trialstat.ShareApart) lab.Contrast {
	out.Ratio = false
	if d.Value == nil || d.Low == nil || d.High == nil || !(*d.Low < *d.High) {
		out.Not = "its interval is not known, so it can not be weighed"
		return out
	}
	out.Value, out.Low, out.High = *d.Value, *d.Low, *d.High
	if of == nil {
		return out
	}
	for i, x := range []trialstat.ShareOf{of.B, of.Control} {
		if x.Value != nil {
			out.Means[i] = 100 * *x.Value
		}
	}
	return out
}

// inPoints takes a difference of shares to points of a hundred.
func inPoints(x Interval) Interval {
	for _, p := range []**float64{&x.Value, &x.Low, &x.High} {
		if *p != nil {
			points := 100 * **p
			*p = &points
		}
	}
	return x
}

func outcomeOf(per string) string {
	for _, outcome := range lab.Outcomes {
		if primaries[outcome] == per {
			return outcome
		}
	}
	return per
}

// sides says what the two arms of a comparison differ in, by name.
func (ev evidence) sides(c Comparison) []lab.Side {
	if c.Factor != "" {
		return ev.levelSides(c)
	}
	this, than := ev.armNamed(c.Arms[0]), ev.armNamed(c.Arms[1])
	if this == nil || than == nil {
		return nil
	}
	var out []lab.Side
	for k, f := range ev.trial.Details.Factors {
		if k < len(this.Levels) && k < len(than.Levels) && lab.NameKey(this.Levels[k]) != lab.NameKey(than.Levels[k]) {
			out = append(out, ev.side(f.Is, f.Name, this.Levels[k], than.Levels[k], this, than))
		}
	}
	if len(ev.trial.Details.Factors) > 0 {
		return out
	}
	for _, f := range lab.Factors {
		a, b := ev.thing(this, f), ev.thing(than, f)
		if lab.NameKey(a) != lab.NameKey(b) {
			out = append(out, lab.Side{Is: f, This: a, Than: b})
		}
	}
	if len(out) == 0 { // the arms are known by their names only
		out = append(out, lab.Side{Is: lab.ByTreatment, This: this.Name, Than: than.Name})
	}
	return out
}

// levelSides are the two levels of one factor of a crossing.
func (ev evidence) levelSides(c Comparison) []lab.Side {
	k := slices.IndexFunc(ev.trial.Details.Factors, func(f lab.TrialFactor) bool { return lab.NameKey(f.Name) == lab.NameKey(c.Factor) })
	if k < 0 {
		return nil
	}
	f := ev.trial.Details.Factors[k]
	with := func(level string) (string, *lab.Arm) {
		for i, a := range ev.trial.Arms {
			at := ev.trial.LevelOf(a, k)
			if at >= 0 && (lab.NameKey(f.Levels[at]) == lab.NameKey(level) || len(f.Doses) > 0 && fmt.Sprint(f.Doses[at]) == level) {
				return f.Levels[at], &ev.trial.Arms[i]
			}
		}
		return level, nil
	}
	a, this := with(c.Arms[0])
	b, than := with(c.Arms[1])
	return []lab.Side{ev.side(f.Is, f.Name, a, b, this, than)}
}

// side names recipes and cultures as they are on record, other levels as they
// were called.
func (ev evidence) side(is lab.Factor, name, a, b string, this, than *lab.Arm) lab.Side {
	out := lab.Side{Is: is, Factor: name, This: a, Than: b}
	if (is == lab.ByRecipe || is == lab.ByCulture) && this != nil && than != nil {
		x, y := ev.thing(this, is), ev.thing(than, is)
		if x != "" && y != "" && lab.NameKey(x) != lab.NameKey(y) {
			return lab.Side{Is: is, This: x, Than: y}
		}
	}
	return out
}

func (ev evidence) armNamed(name string) *lab.Arm {
	i := slices.IndexFunc(ev.trial.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(name) })
	if i < 0 {
		return nil
	}
	return &ev.trial.Arms[i]
}

// thing is what an arm has of a factor, as its jars say: what all of them got, ""
// if that is not one thing.
func (ev evidence) thing(a *lab.Arm, f lab.Factor) string {
	if f == lab.ByTreatment {
		return a.Treatment
	}
	of := func(j store.JarRow) string {
		switch f {
		case lab.ByRecipe:
			return ev.names.Recipes[j.Recipe]
		case lab.ByCulture:
			return ev.names.Cultures[j.Carries]
		}
		return ev.names.Containers[j.Container]
	}
	found, first := "", true
	for _, j := range ev.jars {
		if j.Blank || lab.NameKey(j.Arm) != lab.NameKey(a.Name) || j.Inoculated.IsZero() {
			continue
		}
		switch {
		case first:
			found, first = of(j), false
		case of(j) != found:
			return ""
		}
	}
	return found
}

// guestArms is what each arm came to, by names.
func (ev evidence) guestArms(v Verdict) []lab.GuestArm {
	out := []lab.GuestArm{}
	for i := range ev.trial.Arms {
		a := &ev.trial.Arms[i]
		g := lab.GuestArm{
			Name: a.Name, Treatment: a.Treatment,
			Recipe: ev.thing(a, lab.ByRecipe), Culture: ev.thing(a, lab.ByCulture), Container: ev.thing(a, lab.ByContainer),
		}
		for _, s := range v.Result.Arms {
			if lab.NameKey(s.Name) == lab.NameKey(a.Name) {
				g.Jars, g.Mean, g.SD = s.Inoculated, s.Mean, s.SD
			}
		}
		out = append(out, g)
	}
	return out
}
