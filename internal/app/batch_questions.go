package app

import (
	"context"
	"errors"
	"slices"
	"time"

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
	var asked []DayQuestion
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, batch)
		if err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		known, err := f.memo.questions.get(ctx, r, []lab.BatchID{b.ID}, s.Zone.String(), func(ctx context.Context, _ []lab.BatchID) (map[lab.BatchID][]DayQuestion, error) {
			jars, err := r.Jars(ctx, store.JarFilter{Batch: b.ID, Limit: pageOfJars})
			if err != nil {
				return nil, err
			}
			asked, err := questionsOf(ctx, r, jars, s.Zone)
			return map[lab.BatchID][]DayQuestion{b.ID: asked}, err
		})
		asked = slices.Clone(known[b.ID])
		return err
	})
	return asked, err
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
	var asked []DayQuestion
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		rows, err := jars(r)
		if err != nil {
			return err
		}
		asked, err = questionsOf(ctx, r, rows, s.Zone)
		return err
	})
	return asked, err
}

// questionsOf returns what the visits to some jars leave open.
func questionsOf(ctx context.Context, r store.Reader, jars []store.JarRow, zone *time.Location) ([]DayQuestion, error) {
	batches, err := batchesOf(ctx, r, jars)
	if err != nil {
		return nil, err
	}
	ev := evidence{batches: batches, jars: jars, zone: zone}
	e, err := entriesOf(ctx, r, idsOf(jars))
	if err != nil {
		return nil, err
	}
	ev.past = pastOf(e)
	courses, ask := coursesOf(ev)
	for _, c := range courses {
		var fault *figure.Fault
		if c.rises() && errors.As(growth.Check(growth.GrowInput{Rows: c.covers}), &fault) {
			ask = append(ask, c.coverQuestion(fault))
		}
	}
	return append(ask, skippedQuestions(courses, slices.DeleteFunc(slices.Clone(lab.Stages), rarelyLogged))...), nil
}
