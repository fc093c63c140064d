package app

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/stats"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Ranked is one recipe or culture against the usual, in the order of a ranking.
type Ranked struct {
	Name   string   `json:"name"`
	Key    string   `json:"key"` // of its contrast with the usual
	Trials int      `json:"trials"`
	Away   int      `json:"elsewhere"`
	Given  PoolBand `json:"given"`  // over its own trials alone
	Shrunk PoolBand `json:"shrunk"` // drawn towards the others, by which it is put in order
	Fell   int      `json:"fell"`   // places that it lost by that, below 0 if it rose
}

// Ranking puts recipes or cultures in order by what they gave against the one that
// most of them were tried against.
type Ranking struct {
	Is       lab.Factor                `json:"is"`
	Usual    string                    `json:"usual"`
	Outcome  string                    `json:"outcome"`
	Rows     []Ranked                  `json:"rows"` // the best first
	LeftOut  []LeftOut                 `json:"left"`
	Sentence string                    `json:"sentence"`
	Answer   figure.Answer[PoolResult] `json:"answer"`
}

// fewRanked is from how many on there is an order to speak of.
const fewRanked = 2

// flatPrior lets the trials of one recipe speak for themselves: what is believed
// of its mean before comes in once, when all are put in order.
var flatPrior = pool.Prior{Mean: 5, Between: pool.UsualPrior.Between}

// Rank puts recipes or cultures in order. Fewer than two that were tried against
// the same usual are an Invalid Problem.
func (f *Farm) Rank(ctx context.Context, is lab.Factor, outcome string) (Ranking, error) {
	all, err := f.gatherTried(ctx)
	if err != nil {
		return Ranking{}, err
	}
	return all.rank(is, outcome)
}

func (a allTried) rank(is lab.Factor, outcome string) (Ranking, error) {
	out := Ranking{Is: is, Outcome: outcome, Rows: []Ranked{}, LeftOut: []LeftOut{}}
	if out.Outcome == "" {
		out.Outcome = lab.PerInoculated
	}
	if is != lab.ByRecipe && is != lab.ByCulture {
		return out, lab.Invalidf("rank", "choose recipe or culture", "a %.40s has no ranking", string(is))
	}
	sets := a.against(is, &out)
	if len(sets) < fewRanked {
		return out, lab.Invalidf("rank", "try two or more against the same one", "there is nothing to put in order yet: %s tried against one and the same", figure.Count(len(sets), string(is)+" was", string(is)+"s were"))
	}
	in := pool.PoolInput{Rank: true}
	for _, s := range sets {
		rows, _ := s.of(out.Outcome)
		t, err := a.known.ranked(s, rows)
		if err != nil {
			return out, err
		}
		in.Trials = append(in.Trials, t)
	}
	var err error
	if out.Answer, err = a.known.pooled(in); err != nil {
		return out, err
	}
	out.order(sets)
	return out, nil
}

// against returns the sets of one factor alone against the usual, turned so that
// the usual is what the others are set against. The usual is the one that most
// were tried against.
func (a allTried) against(is lab.Factor, out *Ranking) []ContrastSet {
	met := make(map[string]int)
	var sets []ContrastSet
	var names []string
	for _, s := range a.sets(false) {
		side := s.rows[0].Sides
		rows, _ := s.of(out.Outcome)
		if len(side) != 1 || side[0].Is != is || len(rows) == 0 || !rows[0].Ratio {
			continue
		}
		sets = append(sets, s)
		for _, name := range []string{s.This, s.Than} {
			if met[name] == 0 {
				names = append(names, name)
			}
			met[name] += 1000
		}
		met[s.Than] += len(rows) // of two that met as many others, the one that was the usual more often
	}
	for _, n := range names {
		if met[n] > met[out.Usual] || out.Usual == "" {
			out.Usual = n
		}
	}
	var kept []ContrastSet
	for _, s := range sets {
		switch out.Usual {
		case s.This:
			s.This, s.Than, s.rows = s.Than, s.This, slices.Clone(s.rows)
			for i := range s.rows {
				s.rows[i].Contrast = s.rows[i].Turned()
			}
			kept = append(kept, s)
		case s.Than:
			kept = append(kept, s)
		default:
			out.LeftOut = append(out.LeftOut, LeftOut{Trial: s.Title(), Why: "neither was tried against " + out.Usual + " in it"})
		}
	}
	return kept
}

// ranked is what the trials of one set say by themselves.
func (k *reckoned) ranked(s ContrastSet, rows []tried) (pool.PoolTrial, error) {
	trials := make([]pool.Trial, len(rows))
	away := 0
	for i, r := range rows {
		trials[i] = pool.Trial{Estimate: math.Log(r.Value), SE: errorOf(r.Contrast)}
		if r.from != "" {
			away++
		}
	}
	t, err := k.alone.get(trials, pooledAlone)
	if err != nil {
		return t, fmt.Errorf("rank %s: %w", s.Title(), err)
	}
	t.Name, t.Imported = figure.Label(s.This), away == len(rows)
	return t, nil
}

// pooledAlone is one estimate in the place of some.
func pooledAlone(trials []pool.Trial) (pool.PoolTrial, error) {
	b, err := pool.Bayes(flatPrior, trials)
	if err != nil {
		return pool.PoolTrial{}, err
	}
	low, high := b.Mean().Interval(0.95)
	se := (high - low) / (2 * stats.NormalQuantile(0.975))
	return pool.PoolTrial{Estimate: math.Exp(b.Mean().Mean()), SE: &se}, nil
}

// order fills in the rows, and says who stands first and whether that is more
// than luck.
func (r *Ranking) order(sets []ContrastSet) {
	for i, t := range r.Answer.Result.Trials {
		s := sets[i]
		rows, _ := s.of(r.Outcome)
		row := Ranked{Name: s.This, Key: s.Key, Trials: len(rows), Given: t.Given, Shrunk: t.Shrunk}
		for _, x := range rows {
			if x.from != "" {
				row.Away++
			}
		}
		r.Rows = append(r.Rows, row)
	}
	slices.SortStableFunc(r.Rows, func(a, b Ranked) int { return higher(a.Given.Value, b.Given.Value) })
	for i := range r.Rows {
		r.Rows[i].Fell = -i
	}
	slices.SortStableFunc(r.Rows, func(a, b Ranked) int { return higher(a.Shrunk.Value, b.Shrunk.Value) })
	for i := range r.Rows {
		r.Rows[i].Fell += i
	}
	first, second := r.Rows[0], r.Rows[1]
	r.Sentence = fmt.Sprintf("%s stands first of %d with %.2f times %s (95 %% interval %.2f to %.2f)", first.Name, len(r.Rows), first.Shrunk.Value, r.Usual, first.Shrunk.Low, first.Shrunk.High)
	asUsual, asSecond := first.Shrunk.Low <= 1 && first.Shrunk.High >= 1, !toldApart(first.Shrunk, second.Shrunk)
	switch {
	case asUsual && asSecond:
		r.Sentence += fmt.Sprintf(", but is told apart neither from %s nor from %s.", r.Usual, second.Name)
	case asUsual:
		r.Sentence += fmt.Sprintf(", but is not told apart from %s.", r.Usual)
	case asSecond:
		r.Sentence += fmt.Sprintf(", but is not told apart from %s.", second.Name)
	default:
		r.Sentence += "."
	}
}

func higher(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

// toldApart reports whether two ratios to the same usual differ by more than their
// errors allow. They share what was measured of the usual, which makes their
// difference surer than this takes it to be.
func toldApart(a, b PoolBand) bool {
	half := func(x PoolBand) float64 { return math.Log(x.High/x.Low) / 2 }
	return math.Abs(math.Log(a.Value/b.Value)) > math.Hypot(half(a), half(b))
}
