package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testCourses(t *testing.T, s store.Store) {
	f := settle(t, s)
	b, jars := addBatch(t, s, 2, 4, func(j *lab.Jar) {
		j.Recipe, j.Blank = f.recipe.ID, j.Number == 4
	})
	standing := func(j lab.Jar, fate lab.Fate, seen lab.When) lab.Standing {
		return lab.Standing{Jar: j.ID, Fate: fate, Inoculated: onDay(3), Carries: f.culture.ID, LastSeen: seen}
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return w.SetStandings(ctx, []lab.Standing{
			standing(jars[0], lab.Growing, onDay(9)), standing(jars[1], lab.Growing, at(20000)), standing(jars[2], lab.Lost, lab.When{}), standing(jars[3], lab.Growing, onDay(9)),
		})
	})
	get := func(ids ...lab.BatchID) []store.Course {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]store.Course, error) { return r.Courses(ctx, ids) })
	}
	like := store.Course{Batch: b.ID, Recipe: f.recipe.ID, Carries: f.culture.ID, Inoculated: onDay(3), Fate: lab.Growing, Jars: 2, LastSeen: at(20000)}
	lost := like
	lost.Fate, lost.Jars, lost.LastSeen = lab.Lost, 1, lab.When{}
	same(t, "courses", []store.Course{like, lost}, get(b.ID, f.batch.ID))
	same(t, "number of courses of no batch", 0, len(get()))
}

func testArrivals(t *testing.T, s store.Store) {
	f := settle(t, s)
	b, jars := addBatch(t, s, 2, 4, func(j *lab.Jar) { j.Blank = j.Number == 4 })
	deed := newDeed("rounds")
	const day = 24 * 60
	entry := func(minute int) lab.Entry { return newEntry(deed, minute) }
	wrong := lab.Seen{Entry: entry(day), Jar: jars[0].ID, Stage: lab.Ready}
	undone := lab.Seen{Entry: entry(day), Jar: jars[0].ID}
	undone.Corrects, undone.Withdrawn = wrong.ID, true
	nowhen := lab.Seen{Entry: entry(2 * day), Jar: jars[0].ID, Stage: lab.Ready}
	nowhen.At.Exactness = lab.Unknown
	saw := []lab.Seen{
		wrong, undone, nowhen,
		{Entry: entry(3 * day), Jar: jars[0].ID, Sign: "clean"},
		{Entry: entry(3 * day), Jar: jars[1].ID, Sign: "clean"},
		{Entry: entry(5 * day), Jar: jars[0].ID, Sign: "clean"},
		{Entry: entry(5 * day), Jar: jars[0].ID, Stage: lab.Cover},
		{Entry: entry(5 * day), Jar: jars[1].ID, Stage: lab.Cover},
		{Entry: entry(8 * day), Jar: jars[0].ID, Stage: lab.Cover},
		{Entry: entry(5 * day), Jar: jars[3].ID, Stage: lab.Cover},
	}
	picks := []lab.Pick{{Entry: entry(9 * day), Jar: jars[2].ID, Flush: 1, Grams: 3}}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		_, err := w.AddDeed(ctx, deed)
		return firstError(err, w.AddSeen(ctx, saw), w.AddPicks(ctx, picks), w.SetStandings(ctx, []lab.Standing{{Jar: jars[1].ID, Fate: lab.Lost}}))
	})
	get := func(ids ...lab.BatchID) []store.Arrival {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]store.Arrival, error) { return r.Arrivals(ctx, ids) })
	}
	row := func(stage lab.Stage, by, before int, fate lab.Fate) store.Arrival {
		a := store.Arrival{Batch: b.ID, Stage: stage, By: at(by), Fate: fate, Jars: 1}
		if before > 0 {
			a.Before = at(before)
		}
		return a
	}
	same(t, "arrivals", []store.Arrival{
		row(lab.Growth, 5*day, 3*day, ""), row(lab.Growth, 5*day, 3*day, lab.Lost), row(lab.Growth, 9*day, 0, ""),
		row(lab.Cover, 5*day, 3*day, ""), row(lab.Cover, 5*day, 3*day, lab.Lost), row(lab.Cover, 9*day, 0, ""),
		row(lab.Light, 9*day, 0, ""), row(lab.Colour, 9*day, 0, ""), row(lab.Pins, 9*day, 0, ""), row(lab.Ready, 9*day, 0, ""),
	}, get(b.ID, f.batch.ID))
	same(t, "number of arrivals of no batch", 0, len(get()))
}

func testForecasts(t *testing.T, s store.Store) {
	f := settle(t, s)
	first := lab.Forecast{
		ID: newID[lab.ForecastID](), Batch: f.batch.ID, Stage: lab.Pins, After: lab.Light, Since: lab.Day{Time: onDay(9).Time}, Made: instant(3),
		Passed: 1.5, Chances: []float64{7.25, 10, 14.5}, Book: 9.9, Own: 11.25, Batches: 2, Inputs: "00ff",
	}
	second := first
	second.ID, second.After, second.Own = newID[lab.ForecastID](), "", 0
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddForecasts(ctx, []lab.Forecast{first, second}), w.AddForecasts(ctx, []lab.Forecast{first}), w.AddForecasts(ctx, nil))
	})
	get := func(ids ...lab.BatchID) []lab.Forecast {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Forecast, error) { return r.Forecasts(ctx, ids...) })
	}
	same(t, "forecasts", []lab.Forecast{first, second}, get(f.batch.ID))
	same(t, "number of forecasts of no batch", 0, len(get()))
	again := first
	again.ID = newID[lab.ForecastID]()
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddForecasts(ctx, []lab.Forecast{again}) })
}
