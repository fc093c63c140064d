package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func testCookers(t *testing.T, s store.Store) {
	f := settle(t, s)
	rated, minutes := 15.5, units.Minute(38)
	first := lab.Cooker{
		Entry: newEntry(f.deed, 1), Name: "Tall one",
		Figures: lab.CookerFigures{RatedPsi: &rated, HeatUpMin: &minutes, Steel: true, Holds: []lab.CookerCapacity{{Container: "pint jar", PerLayer: 7, Layers: 2}}},
	}
	later := lab.Cooker{Entry: newEntry(f.deed, 2), Name: "tall  one"}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCookers(ctx, []lab.Cooker{first, later}), w.AddCookers(ctx, []lab.Cooker{first}), w.AddCookers(ctx, nil))
	})
	same(t, "cookers in the order of entry", []lab.Cooker{first, later}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Cooker, error) {
		return r.Cookers(ctx)
	}))
}

func testCookSteps(t *testing.T, s store.Store) {
	f := settle(t, s)
	other := lab.Cook{ID: newID[lab.CookID](), Number: 2}
	steps := []lab.CookStep{
		{Entry: newEntry(f.deed, 9), Cook: f.cook.ID, Event: lab.GaugeAt, Typed: "14.5 psi", Value: 14.5},
		{Entry: newEntry(f.deed, 0), Cook: f.cook.ID, Event: lab.HeatOn}, // entered later
		{Entry: newEntry(f.deed, 1), Cook: other.ID, Event: lab.Heard, Typed: "hold"},
		{Entry: newEntry(f.deed, 2), Cook: other.ID, Event: lab.FillAt, Typed: "62 mm", Value: 62},
		{Entry: newEntry(f.deed, 3), Cook: other.ID, Event: lab.StartAt, Typed: "5 °C", Value: 5},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCook(ctx, other), w.AddCookSteps(ctx, steps), w.AddCookSteps(ctx, steps[:1]))
	})
	get := func(cooks ...lab.CookID) []lab.CookStep {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.CookStep, error) { return r.CookSteps(ctx, cooks...) })
	}
	same(t, "steps in the order of entry", steps[:2], get(f.cook.ID))
	same(t, "steps of both", steps, get(other.ID, f.cook.ID))
	same(t, "number of steps of no cook", 0, len(get()))
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddCookSteps(ctx, []lab.CookStep{{Entry: newEntry(f.deed, 4), Cook: f.cook.ID, Event: lab.Reached}})
	}), lab.Invalid)
}

func testCookRecords(t *testing.T, s store.Store) {
	f := settle(t, s)
	rec := lab.CookRecord{
		Entry: newEntry(f.deed, 1), Cook: f.cook.ID, Place: "core", File: "core.csv", Original: "time,temp\n…\n", ShiftMin: -5,
		Readings: []lab.Reading{{At: instant(0), Celsius: 20.5}, {At: instant(1), Celsius: 21}},
		Refused:  []lab.RefusedLine{{Line: 4, Why: "no number"}},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCookRecords(ctx, []lab.CookRecord{rec}), w.AddCookRecords(ctx, []lab.CookRecord{rec}))
	})
	light := rec
	light.Original = ""
	same(t, "records", []lab.CookRecord{light}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.CookRecord, error) {
		return r.CookRecords(ctx, f.cook.ID)
	}))
	same(t, "original text", rec.Original, read(t, s, func(ctx context.Context, r store.Reader) (string, error) {
		return r.CookRecordText(ctx, rec.ID)
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (string, error) { return r.CookRecordText(ctx, "x") })
}

func testCalibrations(t *testing.T, s store.Store) {
	f := settle(t, s)
	fh := 35.5
	c := lab.Calibration{
		Entry: newEntry(f.deed, 1), Cook: f.cook.ID, Container: f.jar.Container, Recipe: f.jar.Recipe,
		Fit: lab.CalibrationFit{
			What: "surface", Factor: 1.8, RMSEC: 0.4, FHMin: &fh, FillMM: 60, Probe: 30, Record: newID[lab.EntryID](),
			Course: []lab.Reading{{At: instant(0), Celsius: 20.5}},
		},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCalibrations(ctx, []lab.Calibration{c}), w.AddCalibrations(ctx, []lab.Calibration{c}))
	})
	same(t, "calibrations", []lab.Calibration{c}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Calibration, error) {
		return r.Calibrations(ctx)
	}))
	same(t, "written by the deed", []lab.Calibration{c}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Calibration, error) {
		e, err := r.DeedEntries(ctx, f.deed.ID)
		return e.Calibrations, err
	}))
}

func testCookItems(t *testing.T, s store.Store) {
	f := settle(t, s)
	i := lab.CookItem{
		Entry: newEntry(f.deed, 1), Cook: f.cook.ID, Name: "agar bottles", Count: 6,
		Figures: lab.ItemFigures{Kind: lab.LiquidItem, Container: "half-litre bottle", Fill: 375, Layer: 2, Empty: 310},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCookItems(ctx, []lab.CookItem{i}), w.AddCookItems(ctx, []lab.CookItem{i}))
	})
	same(t, "items", []lab.CookItem{i}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.CookItem, error) {
		return r.CookItems(ctx, f.cook.ID)
	}))
	same(t, "items written by the deed", []lab.CookItem{i}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.CookItem, error) {
		e, err := r.DeedEntries(ctx, f.deed.ID)
		return e.Items, err
	}))
}
