package app

import (
	"context"
	"errors"
	"slices"

	"pinset/internal/calc/growth"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// BatchQuestions returns what is to be asked about the visits to a batch: jars
// that were seen backwards in time, visits that contradict each other, stages
// that were passed unseen. Few growers log growth and colour: that these were
// passed is not asked about. Of more than 400 jars the first are looked at.
func (f *Farm) BatchQuestions(ctx context.Context, batch string) ([]DayQuestion, error) {
	return f.questions(ctx, func(r store.Reader) ([]store.JarRow, error) {
		b, err := r.BatchByName(ctx, batch)
		if err != nil {
			return nil, err
		}
		return r.Jars(ctx, store.JarFilter{Batch: b.ID, Limit: pageOfJars})
	})
}

// JarQuestions returns the same of some jars: "B12·13-24", "B12.3,7" or codes.
func (f *Farm) JarQuestions(ctx context.Context, jars string) ([]DayQuestion, error) {
	return f.questions(ctx, func(r store.Reader) ([]store.JarRow, error) {
		span, err := lab.ParseSpan(jars)
		if err != nil {
			return nil, err
		}
		return jarsOf(ctx, r, span)
	})
}

// Contradicting keeps the questions about one jar whose visits contradict each
// other: those that are asked when an entry is made. That a stage was passed
// unseen, or that a day is not known, can wait.
func Contradicting(asked []DayQuestion) []DayQuestion {
	return slices.DeleteFunc(slices.Clone(asked), func(q DayQuestion) bool { return q.Jar == "" })
}

// questions reads the visits to some jars and returns what they leave open.
func (f *Farm) questions(ctx context.Context, jars func(store.Reader) ([]store.JarRow, error)) ([]DayQuestion, error) {
	ev := evidence{batches: make(map[lab.BatchID]lab.Batch)}
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		ev.zone = s.Zone
		if ev.jars, err = jars(r); err != nil {
			return err
		}
		for _, j := range ev.jars {
			if _, known := ev.batches[j.Batch]; !known {
				if ev.batches[j.Batch], err = r.Batch(ctx, j.Batch); err != nil {
					return err
				}
			}
		}
		e, err := entriesOf(ctx, r, idsOf(ev.jars))
		ev.past = pastOf(e)
		return err
	})
	if err != nil {
		return nil, err
	}
	courses, ask := coursesOf(ev)
	for _, c := range courses {
		var fault *figure.Fault
		if c.rises() && errors.As(growth.Check(growth.GrowInput{Rows: c.covers}), &fault) {
			ask = append(ask, c.coverQuestion(fault))
		}
	}
	return append(ask, skippedQuestions(courses, slices.DeleteFunc(slices.Clone(lab.Stages), rarelyLogged))...), nil
}
