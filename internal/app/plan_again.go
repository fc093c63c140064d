package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Again is the plan of a repeat, with what the first trial taught.
type Again struct {
	Plan   PlanInput
	Learnt []string // one sentence each
}

// PlanAgain returns the plan of a repeat of the trial called name: the same
// arms, made of the newest versions, as many jars as the question needs, the
// spread and the loss that its jars showed. A blind trial is repeated when its
// key is open: a Conflict.
func (f *Farm) PlanAgain(ctx context.Context, name string) (Again, error) {
	ev, err := f.evidenceOf(ctx, name)
	if err != nil {
		return Again{}, err
	}
	if ev.mask.closed() {
		return Again{}, lab.Conflictf("open its key first", "%s is blind still", ev.trial.Name)
	}
	out := Again{Plan: PlanInput{
		Question: ev.trial.Question, Differ: words(ev.trial.Differ), Control: ev.trial.Control, Matters: ev.trial.Matters,
		Primary: ev.trial.Primary, Blind: ev.trial.Details.Blind, Repeats: ev.trial.Name, BlanksPerCook: 1,
	}}
	err = f.store.Read(ctx, func(r store.Reader) error {
		if err := f.sameArms(ctx, r, ev, &out.Plan); err != nil {
			return err
		}
		out.Plan.Name, err = freeName(ctx, r, ev.trial.Name)
		return err
	})
	if err != nil {
		return out, err
	}
	out.Plan.Cooks, out.Plan.MakePerCook = cooksAgain(ev), madePerCook(ev)
	out.Plan.Factors, out.Plan.Over = factorsAgain(ev.trial), overAgain(ev.trial)
	return out, out.learn(ev)
}

// factorsAgain are the factors of a trial as they are typed.
func factorsAgain(t lab.Trial) []PlanFactor {
	var out []PlanFactor
	for _, f := range t.Details.Factors {
		out = append(out, PlanFactor{Name: f.Name, Is: string(f.Is), On: string(f.On), Unit: f.Unit, Levels: f.Levels})
	}
	return out
}

// overAgain is what the arms of a trial were spread over, as it is typed.
func overAgain(t lab.Trial) []PlanOver {
	var out []PlanOver
	for _, o := range t.Details.Over {
		out = append(out, PlanOver(o))
	}
	return out
}

// sameArms names what each arm was made of.
func (f *Farm) sameArms(ctx context.Context, r store.Reader, ev evidence, in *PlanInput) error {
	names, err := namesOf(ctx, r, nil)
	if err != nil {
		return err
	}
	for _, a := range ev.trial.Arms {
		arm := PlanArm{Name: a.Name, Treatment: a.Treatment, Levels: a.Levels}
		i := slices.IndexFunc(ev.jars, func(j store.JarRow) bool { return lab.NameKey(j.Arm) == lab.NameKey(a.Name) && !j.Blank })
		if i >= 0 {
			j := ev.jars[i]
			arm.Container, arm.Culture = names.Containers[j.Container], names.Cultures[j.Culture]
			if j.Recipe != "" {
				recipe, err := r.Recipe(ctx, j.Recipe)
				if err != nil {
					return err
				}
				arm.Recipe = recipe.Name // the newest version of it
			}
		}
		in.Arms = append(in.Arms, arm)
	}
	shared(in)
	return nil
}

// shared moves what all arms have alike from the arms to the plan.
func shared(in *PlanInput) {
	for _, f := range []struct {
		factor lab.Factor
		all    *string
		of     func(*PlanArm) *string
	}{
		{lab.ByRecipe, &in.Recipe, func(a *PlanArm) *string { return &a.Recipe }},
		{lab.ByCulture, &in.Culture, func(a *PlanArm) *string { return &a.Culture }},
		{lab.ByContainer, &in.Container, func(a *PlanArm) *string { return &a.Container }},
	} {
		if slices.Contains(in.Differ, string(f.factor)) {
			continue
		}
		*f.all = *f.of(&in.Arms[0])
		for i := range in.Arms {
			*f.of(&in.Arms[i]) = ""
		}
	}
}

// freeName returns "X again", "X again 2" …, the first that no trial bears.
func freeName(ctx context.Context, r store.Reader, name string) (string, error) {
	base := strings.TrimSuffix(name, " again") + " again"
	for n := 1; ; n++ {
		try := base
		if n > 1 {
			try = fmt.Sprintf("%s %d", base, n)
		}
		switch _, err := r.TrialByName(ctx, try); {
		case lab.IsKind(err, lab.NotFound):
			return try, nil
		case err != nil:
			return "", err
		}
	}
}

// madePerCook reports whether one arm's jars came from several makings.
func madePerCook(ev evidence) bool {
	made := make(map[string]string)
	for _, j := range ev.jars {
		key := lab.NameKey(j.Arm)
		if j.Blank || j.MixMade == "" {
			continue
		}
		if before, ok := made[key]; ok && before != j.MixMade {
			return true
		}
		made[key] = j.MixMade
	}
	return false
}

// cooksAgain are the cooks of a trial with the jars that stood in each layer.
func cooksAgain(ev evidence) []PlanCook {
	var out []PlanCook
	at := make(map[lab.CookID]int)
	for _, j := range ev.jars {
		if j.Cook == "" || j.Layer < 1 {
			continue
		}
		i, ok := at[j.Cook]
		if !ok {
			i = len(out)
			at[j.Cook] = i
			c := ev.cooks[j.Cook]
			hold := ""
			if c.Hold > 0 {
				hold = fmt.Sprintf("%g min", float64(c.Hold))
			}
			out = append(out, PlanCook{Hold: hold, Gauge: c.Gauge})
		}
		for len(out[i].Places) < j.Layer {
			out[i].Places = append(out[i].Places, 0)
		}
		out[i].Places[j.Layer-1]++
	}
	for i := range out {
		out[i].Places = slices.DeleteFunc(out[i].Places, func(n int) bool { return n == 0 })
	}
	return out
}

// learn takes over how many jars, which spread and which loss.
func (a *Again) learn(ev evidence) error {
	var past []trialstat.PastArm
	most := 0
	byArm := groupBy(ev.jars, func(j store.JarRow) string { return lab.NameKey(j.Arm) })
	for _, arm := range ev.trial.Arms {
		var one trialstat.PastArm
		n := 0
		for _, j := range byArm[lab.NameKey(arm.Name)] {
			if !j.Blank && !j.Inoculated.IsZero() {
				n++
			}
			addPast(&one, j)
		}
		most, past = max(most, n), append(past, one)
	}
	a.Plan.Jars = max(most, 1)
	u, err := pooled(past)
	if err != nil {
		return err
	}
	a.Plan.Spread, a.Plan.Loss = math.Round(u.cv), math.Round(u.loss)
	if u.OwnCVPct != nil {
		a.Learnt = append(a.Learnt, fmt.Sprintf("Jars treated alike spread by %.0f %% and %.0f %% gave nothing; both lean on common figures while jars are few.", u.cv, u.loss))
	}
	if v, err := ev.verdict(); err == nil { // what can not be judged taught no number of jars
		if n := v.Result.JarsToSettle; n != nil {
			a.Learnt = append(a.Learnt, fmt.Sprintf("Its own jars alone would ask for about %d an arm to settle a difference of %g %%.", *n, ev.trial.Matters))
		}
	}
	if len(a.Plan.Cooks) < 2 {
		a.Learnt = append(a.Learnt, "The first trial stood in one cook: a repeat in a cook of its own tells whether the answer holds beyond it.")
	}
	return nil
}
