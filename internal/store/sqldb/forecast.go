package sqldb

import (
	"context"
	"fmt"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var forecasts = &table[lab.Forecast]{
	name: "forecast",
	columns: func(f *lab.Forecast) []column {
		return []column{
			text("id", &f.ID), text("batch", &f.Batch), text("stage", &f.Stage), text("after_stage", &f.After), day("since", &f.Since),
			moment("made", &f.Made), quantity("passed", &f.Passed), document("chances", &f.Chances), quantity("book", &f.Book),
			quantity("own", &f.Own), number("batches", &f.Batches), text("inputs", &f.Inputs),
		}
	},
	taken: func(_ context.Context, _ *tx, f lab.Forecast) error {
		return lab.Conflictf("read the one that was kept", "a forecast of %s was kept for this batch already", f.Stage.Label())
	},
}

func (t *tx) Forecasts(ctx context.Context, batches ...lab.BatchID) ([]lab.Forecast, error) {
	list, err := t.dialect.list(words(batches))
	if err != nil {
		return nil, t.fail(err)
	}
	return query(ctx, t, forecasts, "WHERE "+t.dialect.among("batch", "$1")+" ORDER BY seq", list)
}

func (t *tx) AddForecasts(ctx context.Context, f []lab.Forecast) error {
	return add(ctx, t, forecasts, f...)
}

const courseText = `SELECT n.batch, j.recipe, n.carries, n.inoculated, n.inoculated_exact, n.fate, COUNT(*), MAX(n.last_seen || n.last_seen_exact)
FROM jar_now n JOIN jar j ON j.id = n.jar
WHERE %s AND n.blank = FALSE AND n.inoculated_exact <> ''
GROUP BY n.batch, j.recipe, n.carries, n.inoculated, n.inoculated_exact, n.fate
ORDER BY n.batch, MIN(j.number), n.fate`

func (t *tx) Courses(ctx context.Context, batches []lab.BatchID) ([]store.Course, error) {
	return ofBatches(ctx, t, courseText, batches, func(c *store.Course) []any {
		inoculated, exact := when("inoculated", &c.Inoculated)
		return []any{&c.Batch, ref("recipe", &c.Recipe), ref("carries", &c.Carries), inoculated, exact, &c.Fate, &c.Jars, stamp{&c.LastSeen}}
	})
}

// ofBatches collects what text says of the batches, %s in it being the
// condition on n.batch, with more arguments behind the batches.
func ofBatches[T any](ctx context.Context, t *tx, text string, batches []lab.BatchID, targets func(*T) []any, more ...any) ([]T, error) {
	if len(batches) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(batches))
	if err != nil {
		return nil, t.fail(err)
	}
	return collect(ctx, t, fmt.Sprintf(text, t.dialect.among("n.batch", "$1")), append([]any{list}, more...), targets)
}

// stamp reads a time with its exactness behind it, "" if there is none.
type stamp struct{ when *lab.When }

// Scan implements sql.Scanner.
func (s stamp) Scan(stored any) error {
	typed, err := storedText(stored)
	*s.when = lab.When{}
	if err != nil || typed == "" {
		return err
	}
	if len(typed) < len(timeForm) {
		return fmt.Errorf("%q is no time", typed)
	}
	s.when.Exactness = lab.Exactness(typed[len(timeForm):])
	s.when.Time, err = time.Parse(timeForm, typed[:len(timeForm)])
	return err
}
