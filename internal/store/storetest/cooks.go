package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testCooks(t *testing.T, s store.Store) {
	f := settle(t, s)
	named := lab.Cook{
		ID: newID[lab.CookID](), Number: 7, Name: "Big one", Cooker: "tall", Layers: 2, Hold: 90.5, Gauge: "15 psi",
		Day: lab.Sometime(instant(0)), Note: "windy",
	}
	odd := lab.Cook{ID: newID[lab.CookID](), Number: 3, Name: "7", Day: onDay(3)}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCook(ctx, named), w.AddCook(ctx, odd), w.AddCook(ctx, named))
	})
	list := func(limit int) []lab.Cook {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Cook, error) { return r.Cooks(ctx, limit) })
	}
	same(t, "cooks, newest number first", []lab.Cook{named, odd, f.cook}, list(0))
	same(t, "one cook", []lab.Cook{named}, list(1))
	same(t, "one cook under 7", []lab.Cook{odd}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Cook, error) {
		return r.CooksBelow(ctx, 7, 1)
	}))
	same(t, "cook", named, read(t, s, func(ctx context.Context, r store.Reader) (lab.Cook, error) { return r.Cook(ctx, named.ID) }))
	same(t, "cooks by identifier, by number", []lab.Cook{odd, named}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Cook, error) {
		return r.CooksByID(ctx, named.ID, "x", odd.ID, named.ID)
	}))
	same(t, "no cooks", 0, len(read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Cook, error) { return r.CooksByID(ctx) })))
	for _, name := range []string{"7", " Cook 7", "cook7", "BIG one"} { // the number goes before the name
		same(t, "cook by "+name, named, read(t, s, func(ctx context.Context, r store.Reader) (lab.Cook, error) { return r.CookByName(ctx, name) }))
	}
	for _, name := range []string{"", "8", "cook", "cook eight", "big"} {
		notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Cook, error) { return r.CookByName(ctx, name) })
	}
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Cook, error) { return r.Cook(ctx, "x") })
	same(t, "last number", 7, read(t, s, func(ctx context.Context, r store.Reader) (int, error) { return r.LastCookNumber(ctx) }))
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddCook(ctx, lab.Cook{ID: newID[lab.CookID](), Number: 7})
	})
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddCook(ctx, lab.Cook{ID: newID[lab.CookID](), Number: 8, Name: "big  ONE"})
	})
}

func testCookMarks(t *testing.T, s store.Store) {
	f := settle(t, s)
	other := lab.Cook{ID: newID[lab.CookID](), Number: 2}
	marks := []lab.CookMark{
		{Entry: newEntry(f.deed, 90), Cook: f.cook.ID, Event: lab.HeatOff},
		{Entry: newEntry(f.deed, 0), Cook: f.cook.ID, Event: lab.Reached}, // entered later
		{Entry: newEntry(f.deed, 0), Cook: other.ID, Event: lab.Broken},
		{Entry: newEntry(f.deed, 1), Cook: other.ID, Event: lab.Back},
		{Entry: newEntry(f.deed, 2), Cook: other.ID, Event: lab.Opened},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCook(ctx, other), w.AddCookMarks(ctx, marks), w.AddCookMarks(ctx, marks[:2]), w.AddCookMarks(ctx, nil))
	})
	get := func(cooks ...lab.CookID) []lab.CookMark {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.CookMark, error) { return r.CookMarks(ctx, cooks...) })
	}
	same(t, "marks in the order of entry", marks[:2], get(f.cook.ID))
	same(t, "marks of both", marks, get(other.ID, f.cook.ID))
	same(t, "number of marks of no cook", 0, len(get()))
}

func testLoads(t *testing.T, s store.Store) {
	f := settle(t, s)
	other := lab.Cook{ID: newID[lab.CookID](), Number: 9}
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddCook(ctx, other) })
	third, _ := addBatch(t, s, 3, 6, func(j *lab.Jar) {
		j.Blank = j.Number > 4
		if j.Number != 1 {
			j.Cook = f.cook.ID
		}
	})
	second, _ := addBatch(t, s, 2, 2, func(j *lab.Jar) { j.Cook = other.ID })
	loads := func(cooks ...lab.CookID) []store.Load {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]store.Load, error) { return r.Loads(ctx, cooks...) })
	}
	mine := []store.Load{
		{Cook: f.cook.ID, Batch: f.batch.ID, Number: 1, Jars: 1},
		{Cook: f.cook.ID, Batch: third.ID, Number: 3, Jars: 3, Blanks: 2},
	}
	same(t, "loads of one", mine, loads(f.cook.ID))
	same(t, "loads of both", append(mine, store.Load{Cook: other.ID, Batch: second.ID, Number: 2, Jars: 2}), loads(other.ID, f.cook.ID))
	same(t, "number of loads of no cook", 0, len(loads()))
}
