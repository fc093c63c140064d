package app

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"slices"
	"sync"

	"pinset/internal/calc/growth"
	"pinset/internal/calc/pool"
	"pinset/internal/calc/survive"
	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
)

// reckoned keeps what trials came to, so that it is not computed anew each time
// that somebody looks. It is safe for use by many at once.
type reckoned struct {
	pasts    byBatch[[]jarPast]
	sighted  byBatch[[]sighted]
	verdicts answers[judging, Verdict]
	stages   answers[survive.StagesInput, figure.Answer[survive.StagesResult]]
	covers   answers[coverReadings, coverFit]
	pools    answers[pool.PoolInput, figure.Answer[PoolResult]]
	alone    answers[[]pool.Trial, pool.PoolTrial]
	causes   answers[trialstat.FouledInput, FouledAnswer]
}

func newReckoned() *reckoned {
	return &reckoned{pasts: byBatch[[]jarPast]{most: mostPastsKept}, sighted: byBatch[[]sighted]{most: mostSightedKept}}
}

// answers keeps answers under the hash of all that they are computed from, as
// JSON: where anything differs it is another answer, so none is ever out of
// date. Whoever asks while an answer is being computed waits for it. Answers are
// shared, and are only read.
type answers[In, Out any] struct {
	mu          sync.Mutex
	young, aged map[[sha256.Size]byte]func() (Out, error)
}

// mostAnswers bounds each of the two ages of answers: when so many are young
// they age, and those that aged before and were not asked for since are
// forgotten. A verdict of 80 jars takes some 50 kB.
const mostAnswers = 256

// get returns what compute makes of in.
func (a *answers[In, Out]) get(in In, compute func(In) (Out, error)) (Out, error) {
	raw, err := json.Marshal(in)
	if err != nil {
		return compute(in) // of what is no number: it says what is wrong
	}
	return a.known(sha256.Sum256(raw), func() (Out, error) { return compute(in) })()
}

// known returns the answer under key, which is computed when it is first called.
func (a *answers[In, Out]) known(key [sha256.Size]byte, compute func() (Out, error)) func() (Out, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if answer, ok := a.young[key]; ok {
		return answer
	}
	answer, ok := a.aged[key]
	if !ok {
		answer = sync.OnceValues(compute)
	}
	if a.young == nil || len(a.young) >= mostAnswers {
		a.young, a.aged = make(map[[sha256.Size]byte]func() (Out, error)), a.young
	}
	a.young[key] = answer
	return answer
}

// clipped returns an answer to which cautions can be added without a change to
// what is shared.
func clipped[R any](a figure.Answer[R], err error) (figure.Answer[R], error) {
	a.Cautions = slices.Clip(a.Cautions)
	return a, err
}

func (k *reckoned) verdict(j judging) (Verdict, error) {
	return clipped(k.verdicts.get(j, judging.verdict))
}

// came says when jars came to a stage.
func (k *reckoned) came(in survive.StagesInput) (figure.Answer[survive.StagesResult], error) {
	return clipped(k.stages.get(in, survive.Stages))
}

// pooled says what trials add up to.
func (k *reckoned) pooled(in pool.PoolInput) (figure.Answer[PoolResult], error) {
	return clipped(k.pools.get(in, pool.Pool))
}

// fouled says what fouled jars have in common.
func (k *reckoned) fouled(in trialstat.FouledInput) (FouledAnswer, error) {
	return clipped(k.causes.get(in, trialstat.Fouled))
}

// covered says how jars were covered.
func (k *reckoned) covered(in coverReadings) (coverFit, error) {
	fit, err := k.covers.get(in, coverReadings.fit)
	fit.answer, err = clipped(fit.answer, err)
	return fit, err
}

// coverReadings are the covers of jars, and the arm that others are compared
// with if it is among them.
type coverReadings struct {
	Jars    [][]growth.GrowRow
	Control figure.Label
}

// coverFit is what the covers of jars come to.
type coverFit struct {
	rows   []growth.GrowRow // of the jars that can be read
	faults []*figure.Fault  // of each jar, nil if it can be read
	answer figure.Answer[growth.GrowResult]
}

// fit fits each jar by itself, which shows what can not be read, then all.
func (c coverReadings) fit() (coverFit, error) {
	out := coverFit{faults: make([]*figure.Fault, len(c.Jars))}
	in := growth.GrowInput{}
	for i, covers := range c.Jars {
		if _, err := growth.Grow(growth.GrowInput{Rows: covers}); errors.As(err, &out.faults[i]) {
			continue
		}
		in.Rows = append(in.Rows, covers...)
	}
	if out.rows = in.Rows; len(in.Rows) == 0 {
		return out, nil
	}
	if slices.ContainsFunc(in.Rows, func(r growth.GrowRow) bool { return r.Arm == c.Control }) {
		in.Control = c.Control
	}
	var err error
	out.answer, err = growth.Grow(in)
	return out, err
}
