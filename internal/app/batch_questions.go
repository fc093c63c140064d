package app

import (
	"context"
	"slices"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// BatchQuestions returns what is to be asked about the visits to a batch: jars
// that were seen backwards in time, visits that contradict each other, stages
// that were passed unseen. Few growers log growth and colour: that these were
// passed is not asked about. Of more than 400 jars the first are looked at.
func (f *Farm) BatchQuestions(ctx context.Context, batch string) ([]DayQuestion, error) {
	var ev evidence
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, batch)
		if err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		ev = evidence{batches: map[lab.BatchID]lab.Batch{b.ID: b}, zone: s.Zone}
		if ev.jars, err = r.Jars(ctx, store.JarFilter{Batch: b.ID, Limit: pageOfJars}); err != nil {
			return err
		}
		e, err := entriesOf(ctx, r, idsOf(ev.jars))
		ev.past = pastOf(e)
		return err
	})
	if err != nil {
		return nil, err
	}
	courses, ask := coursesOf(ev)
	return append(ask, skippedQuestions(courses, slices.DeleteFunc(slices.Clone(lab.Stages), rarelyLogged))...), nil
}
