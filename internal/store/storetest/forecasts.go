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
	const day = 24 * 60
	cover := func(j lab.Jar) lab.JarSights {
		return lab.JarSights{Jar: j.ID, Sights: []lab.Sight{{Stage: lab.Growth, By: at(5 * day), Before: at(3 * day)}, {Stage: lab.Cover, By: at(5 * day), Before: at(3 * day)}}}
	}
	picked := lab.JarSights{Jar: jars[2].ID}
	for _, stage := range lab.Stages {
		picked.Sights = append(picked.Sights, lab.Sight{Stage: stage, By: at(9 * day)})
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.SetSights(ctx, []lab.JarSights{picked, cover(jars[1])}), w.SetSights(ctx, []lab.JarSights{{Jar: jars[1].ID}, cover(jars[0]), cover(jars[3])}),
			w.SetSights(ctx, []lab.JarSights{cover(jars[1])}), w.SetStandings(ctx, []lab.Standing{{Jar: jars[1].ID, Fate: lab.Lost}}))
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
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.SetSights(ctx, []lab.JarSights{cover(lab.Jar{ID: newID[lab.JarID]()})})
	}), lab.NotFound)
}

// testGrowing holds what is read of jars that grow, and that the number of
// changes of a batch grows with each of them and stays without one.
func testGrowing(t *testing.T, s store.Store) {
	f := settle(t, s)
	b, jars := addBatch(t, s, 2, 4, func(j *lab.Jar) {
		j.Recipe, j.Shelf, j.Blank = f.recipe.ID, "left", j.Number == 4
	})
	sights := []lab.Sight{{Stage: lab.Growth, By: onDay(4), Before: at(9)}}
	standing := func(j lab.Jar, fate lab.Fate) lab.Standing {
		return lab.Standing{Jar: j.ID, Stage: lab.Growth, Fate: fate, Inoculated: onDay(3), Carries: f.culture.ID, LastSeen: at(20000)}
	}
	changes := func() int64 {
		return read(t, s, func(ctx context.Context, r store.Reader) (map[lab.BatchID]int64, error) {
			return r.Changes(ctx, b.ID, f.batch.ID)
		})[b.ID]
	}
	was := changes()
	grew := func(what string, write func(ctx context.Context, w store.Writer) error) {
		t.Helper()
		if err := tryWrite(t, s, write); err != nil {
			t.Fatal(err)
		}
		if now := changes(); now <= was {
			t.Errorf("%s: the number of changes went from %d to %d", what, was, now)
		}
		was = changes()
	}
	grew("standings", func(ctx context.Context, w store.Writer) error {
		return w.SetStandings(ctx, []lab.Standing{standing(jars[0], lab.Growing), standing(jars[1], lab.Growing), standing(jars[2], lab.Lost), standing(jars[3], lab.Growing)})
	})
	grew("sights", func(ctx context.Context, w store.Writer) error {
		return w.SetSights(ctx, []lab.JarSights{{Jar: jars[0].ID, Sights: sights}})
	})
	grew("places", func(ctx context.Context, w store.Writer) error {
		jars[1].Shelf = "right"
		return w.PlaceJars(ctx, jars[1:2])
	})
	grew("something seen", func(ctx context.Context, w store.Writer) error {
		return w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(f.deed, 1), Jar: jars[0].ID, Stage: lab.Growth}})
	})
	grew("a pick", func(ctx context.Context, w store.Writer) error {
		return w.AddPicks(ctx, []lab.Pick{{Entry: newEntry(f.deed, 2), Jar: jars[0].ID, Flush: 1, Grams: 3}})
	})
	grew("an inoculation", func(ctx context.Context, w store.Writer) error {
		return w.AddInoculations(ctx, []lab.Inoculation{{Entry: newEntry(f.deed, 3), Jar: jars[1].ID, Culture: f.culture.ID, Means: lab.ByLC}})
	})
	grew("two jars in one act", func(ctx context.Context, w store.Writer) error {
		return firstError(
			w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(f.deed, 4), Jar: jars[0].ID, Stage: lab.Growth}}),
			w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(f.deed, 5), Jar: jars[1].ID, Stage: lab.Growth}}))
	})
	grew("jars", func(ctx context.Context, w store.Writer) error {
		return w.AddJars(ctx, []lab.Jar{{ID: newID[lab.JarID](), Code: lab.CodeOf(777), Batch: b.ID, Number: 5}})
	})
	get := func(ids ...lab.BatchID) []store.GrowingJar {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]store.GrowingJar, error) { return r.Growing(ctx, ids) })
	}
	first := store.GrowingJar{
		Jar: jars[0].ID, Batch: b.ID, Number: 1, Shelf: "left", Recipe: f.recipe.ID, Carries: f.culture.ID, Stage: lab.Growth,
		Inoculated: onDay(3), LastSeen: at(20000), Sights: sights,
	}
	second := first
	second.Jar, second.Number, second.Shelf, second.Sights = jars[1].ID, 2, "right", nil
	same(t, "growing", []store.GrowingJar{first, second}, get(b.ID, f.batch.ID))
	same(t, "number growing in no batch", 0, len(get()))
	if now := changes(); now != was {
		t.Errorf("the number of changes went from %d to %d by reading", was, now)
	}
}

func testNoted(t *testing.T, s store.Store) {
	f := settle(t, s)
	b, jars := addBatch(t, s, 2, 4, func(*lab.Jar) {})
	deed := newDeed("rounds")
	saw := func(j lab.Jar, minute int, note string) lab.Seen {
		return lab.Seen{Entry: newEntry(deed, minute), Jar: j.ID, Note: note}
	}
	wrong := saw(jars[0], 90, "aired")
	undone := saw(jars[0], 90, "")
	undone.Corrects, undone.Withdrawn = wrong.ID, true
	nowhen := saw(jars[0], 95, "aired")
	nowhen.At.Exactness = lab.Unknown
	last := saw(jars[0], 80, "aired")
	write(t, s, func(ctx context.Context, w store.Writer) error {
		_, err := w.AddDeed(ctx, deed)
		standing := func(j lab.Jar, fate lab.Fate) lab.Standing { return lab.Standing{Jar: j.ID, Fate: fate} }
		return firstError(err, w.AddSeen(ctx, []lab.Seen{saw(jars[0], 70, "aired"), last, wrong, undone, nowhen, saw(jars[0], 99, "fanned"), saw(jars[1], 80, "fanned"), saw(jars[2], 80, "aired")}),
			w.SetStandings(ctx, []lab.Standing{standing(jars[0], lab.Growing), standing(jars[1], lab.Growing), standing(jars[2], lab.Lost)}))
	})
	get := func(ids ...lab.BatchID) map[lab.JarID]lab.When {
		return read(t, s, func(ctx context.Context, r store.Reader) (map[lab.JarID]lab.When, error) {
			return r.Noted(ctx, ids, "aired")
		})
	}
	same(t, "noted", map[lab.JarID]lab.When{jars[0].ID: last.At}, get(b.ID, f.batch.ID))
	same(t, "number noted in no batch", 0, len(get()))
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
