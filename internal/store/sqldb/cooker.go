package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var cookers = &table[lab.Cooker]{
	name: "cooker",
	columns: func(c *lab.Cooker) []column {
		return append(entryColumns(&c.Entry), text("name", &c.Name), document("figures", &c.Figures))
	},
}

var cookSteps = &table[lab.CookStep]{
	name: "cook_step",
	columns: func(s *lab.CookStep) []column {
		return append(entryColumns(&s.Entry), text("cook", &s.Cook), text("event", &s.Event), text("typed", &s.Typed), quantity("value", &s.Value))
	},
}

// cookRecords leave the original text where it is: it may be long, and few
// pages show it.
var cookRecords = &table[lab.CookRecord]{
	name: "cook_record",
	columns: func(r *lab.CookRecord) []column {
		original := text("original", &r.Original)
		original.scan = nil
		return append(entryColumns(&r.Entry), text("cook", &r.Cook), text("place", &r.Place), text("file", &r.File), original,
			quantity("shift_min", &r.ShiftMin), document("readings", &r.Readings), document("refused", &r.Refused))
	},
}

func (t *tx) Cookers(ctx context.Context) ([]lab.Cooker, error) {
	return query(ctx, t, cookers, "ORDER BY seq")
}

func (t *tx) CookSteps(ctx context.Context, cooks ...lab.CookID) ([]lab.CookStep, error) {
	return entriesOf(ctx, t, cookSteps, "cook", cooks)
}

func (t *tx) CookRecords(ctx context.Context, cooks ...lab.CookID) ([]lab.CookRecord, error) {
	return entriesOf(ctx, t, cookRecords, "cook", cooks)
}

var calibrations = &table[lab.Calibration]{
	name: "calibration",
	columns: func(c *lab.Calibration) []column {
		return append(entryColumns(&c.Entry), text("cook", &c.Cook), text("container", &c.Container), text("recipe", &c.Recipe), document("fit", &c.Fit))
	},
}

var cookItems = &table[lab.CookItem]{
	name: "cook_item",
	columns: func(i *lab.CookItem) []column {
		return append(entryColumns(&i.Entry), text("cook", &i.Cook), text("name", &i.Name), number("count", &i.Count), document("figures", &i.Figures))
	},
}

func (t *tx) CookItems(ctx context.Context, cooks ...lab.CookID) ([]lab.CookItem, error) {
	return entriesOf(ctx, t, cookItems, "cook", cooks)
}

func (t *tx) AddCookItems(ctx context.Context, i []lab.CookItem) error {
	return add(ctx, t, cookItems, i...)
}

func (t *tx) Calibrations(ctx context.Context) ([]lab.Calibration, error) {
	return query(ctx, t, calibrations, "ORDER BY seq")
}

func (t *tx) AddCalibrations(ctx context.Context, c []lab.Calibration) error {
	return add(ctx, t, calibrations, c...)
}

func (t *tx) CookRecordText(ctx context.Context, id lab.EntryID) (string, error) {
	s, found, err := scalar[string](ctx, t, "SELECT original FROM cook_record WHERE id = $1", string(id))
	if err == nil && !found {
		err = notFound("look at the cook's page", "there is no record %s", id)
	}
	return s, err
}

func (t *tx) AddCookers(ctx context.Context, c []lab.Cooker) error { return add(ctx, t, cookers, c...) }

func (t *tx) AddCookSteps(ctx context.Context, s []lab.CookStep) error {
	return add(ctx, t, cookSteps, s...)
}

func (t *tx) AddCookRecords(ctx context.Context, r []lab.CookRecord) error {
	return add(ctx, t, cookRecords, r...)
}
