package storetest

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testTrials(t *testing.T, s store.Store) {
	first := newTrial("malt or none")
	second := lab.Trial{
		ID: newID[lab.TrialID](), Name: "Two recipes", Question: "does it pay?", Differ: []lab.Factor{lab.ByRecipe, lab.ByCulture},
		Arms: []lab.Arm{
			{Name: "old", Recipe: newID[lab.RecipeVersionID](), Culture: newID[lab.CultureID]()},
			{Name: "new", Container: newID[lab.ContainerID](), Treatment: "shade", Levels: []string{"25 mm"}},
		},
		Control: "old", Matters: 12.5, Primary: lab.PerPicked, Closing: lab.Day{Time: onDay(28).Time}, Planned: instant(-60), Imported: true,
		Details: lab.TrialDetails{Blind: true, Spread: 18, Loss: 12.5, Repeats: first.ID, Factors: []lab.TrialFactor{
			{Name: "depth", Is: lab.ByRecipe, On: lab.OnCook, Unit: "mm", Levels: []string{"16 mm", "25 mm"}, Doses: []float64{16, 25}},
		}, Over: []lab.TrialOver{{Is: "person", Levels: []string{"AB", "CD"}}}},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddTrial(ctx, first), w.AddTrial(ctx, second), w.AddTrial(ctx, first))
	})
	same(t, "trials, newest first", []lab.Trial{first, second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Trial, error) {
		return r.Trials(ctx)
	}))
	same(t, "trial", second, read(t, s, func(ctx context.Context, r store.Reader) (lab.Trial, error) { return r.Trial(ctx, second.ID) }))
	same(t, "trials named, newest first", []lab.Trial{first, second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Trial, error) {
		return r.TrialsByID(ctx, second.ID, "x", first.ID, second.ID)
	}))
	same(t, "no trials named", []lab.Trial(nil), read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Trial, error) { return r.TrialsByID(ctx) }))
	same(t, "trial by name", second, read(t, s, func(ctx context.Context, r store.Reader) (lab.Trial, error) {
		return r.TrialByName(ctx, "two RECIPES")
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Trial, error) { return r.Trial(ctx, "x") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Trial, error) { return r.TrialByName(ctx, "two") })
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddTrial(ctx, newTrial("Malt or None")) })
}

func testAllotments(t *testing.T, s store.Store) {
	f := settle(t, s)
	first := lab.Allotment{
		ID: newID[lab.AllotmentID](), Trial: f.trial.ID, Batch: f.batch.ID, Procedure: "blocked", Version: 3,
		Seed: math.MaxUint64, Bound: "within one", Design: []byte(`{"b": [1,  2], "a": 1.50}`), Made: instant(0), Stage: lab.AtMaking,
	}
	next := first
	next.ID, next.Seed, next.Made, next.Succeeds, next.Batch = newID[lab.AllotmentID](), 1<<63, instant(-1), first.ID, ""
	next.Stage = lab.AtLight
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddAllotment(ctx, first), w.AddAllotment(ctx, next), w.AddAllotment(ctx, first))
	})
	get := func(ids ...lab.TrialID) []lab.Allotment {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Allotment, error) { return r.Allotments(ctx, ids...) })
	}
	same(t, "allotments, the newest last", []lab.Allotment{first, next}, get(f.trial.ID))
	same(t, "allotments of two", []lab.Allotment{first, next}, get("x", f.trial.ID))
	same(t, "number of allotments of no trial", 0, len(get("x"))+len(get()))
}

func testAnalyses(t *testing.T, s store.Store) {
	f := settle(t, s)
	first := lab.Analysis{
		ID: newID[lab.AnalysisID](), Trial: f.trial.ID, Made: instant(5), By: "ab", Version: "compare 1", Seed: math.MaxUint64,
		DataHash: "00ff", Data: []byte(`{"rows": [ ]}`), Result: []byte(`{"result":  {"p": 0.0100}}`),
	}
	next := first
	next.ID, next.Made, next.By, next.Succeeds = newID[lab.AnalysisID](), instant(1), "", first.ID
	write(t, s, func(ctx context.Context, w store.Writer) error {
		changed := first
		changed.DataHash = "11"
		return firstError(w.AddAnalysis(ctx, first), w.AddAnalysis(ctx, next), w.AddAnalysis(ctx, changed))
	})
	get := func(id lab.TrialID) []lab.Analysis {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Analysis, error) { return r.Analyses(ctx, id) })
	}
	same(t, "analyses, the newest last and none changed", []lab.Analysis{first, next}, get(f.trial.ID))
	same(t, "number of analyses of no trial", 0, len(get("x")))
}

func testOpenings(t *testing.T, s store.Store) {
	f := settle(t, s)
	get := func() []lab.Opening {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Opening, error) { return r.Openings(ctx) })
	}
	same(t, "number of openings at first", 0, len(get()))
	o := lab.Opening{ID: newID[lab.EntryID](), Trial: f.trial.ID, Deed: f.deed.ID, Opened: instant(9), By: "ab"}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddOpening(ctx, o), w.AddOpening(ctx, o))
	})
	same(t, "openings", []lab.Opening{o}, get())
	second := o
	second.ID = newID[lab.EntryID]()
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddOpening(ctx, second) })
}

func testDeeds(t *testing.T, s store.Store) {
	f := settle(t, s)
	plain := lab.Deed{ID: newID[lab.DeedID](), What: "B1·1 seen", Entered: instant(-60), By: "", Batch: f.batch.ID}
	undo := lab.Deed{ID: newID[lab.DeedID](), What: "taken back", Entered: instant(1), By: "ab", Undoes: plain.ID}
	for i, d := range []lab.Deed{plain, undo, plain, undo} {
		var stored bool
		write(t, s, func(ctx context.Context, w store.Writer) (err error) {
			stored, err = w.AddDeed(ctx, d)
			return err
		})
		same(t, "whether the deed was new", i < 2, stored)
	}
	list := func(b lab.BatchID, limit int) []lab.Deed {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Deed, error) { return r.Deeds(ctx, b, limit) })
	}
	same(t, "deeds, newest first", []lab.Deed{undo, plain, f.deed}, list("", 0))
	same(t, "two deeds", []lab.Deed{undo, plain}, list("", 2))
	same(t, "deeds of the batch", []lab.Deed{plain}, list(f.batch.ID, 5))
	same(t, "number of deeds of no batch", 0, len(list("x", 0)))
	same(t, "deed", plain, read(t, s, func(ctx context.Context, r store.Reader) (lab.Deed, error) { return r.Deed(ctx, plain.ID) }))
	same(t, "undoing", undo, read(t, s, func(ctx context.Context, r store.Reader) (lab.Deed, error) { return r.Undoing(ctx, plain.ID) }))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Deed, error) { return r.Deed(ctx, "x") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Deed, error) { return r.Undoing(ctx, undo.ID) })
}

func testWritten(t *testing.T, s store.Store) {
	f := settle(t, s)
	_, jars := addBatch(t, s, 2, 5, func(*lab.Jar) {})
	deed := func(entered int, undoes lab.DeedID) lab.Deed {
		d := newDeed("rounds")
		d.Entered, d.Undoes = instant(entered), undoes
		return d
	}
	early, looked, weighed, wrong := deed(1, ""), deed(2, ""), deed(3, ""), deed(3, "")
	back := deed(4, wrong.ID)
	saw := func(d lab.Deed, j lab.Jar) lab.Seen { return lab.Seen{Entry: newEntry(d, 1), Jar: j.ID, Sign: "clean"} }
	undone := saw(back, jars[3])
	write(t, s, func(ctx context.Context, w store.Writer) error {
		for _, d := range []lab.Deed{early, looked, weighed, wrong, back} {
			if _, err := w.AddDeed(ctx, d); err != nil {
				return err
			}
		}
		mistaken := saw(wrong, jars[3])
		undone.Corrects, undone.Withdrawn = mistaken.ID, true
		return firstError(w.AddSeen(ctx, []lab.Seen{saw(early, jars[0]), saw(looked, jars[1]), saw(looked, jars[4]), mistaken, undone}),
			w.AddPicks(ctx, []lab.Pick{{Entry: newEntry(weighed, 1), Jar: jars[2].ID, Flush: 1, Grams: 3}, {Entry: newEntry(weighed, 1), Jar: jars[1].ID, Flush: 1, Grams: 3}}))
	})
	get := func(since int, jars ...lab.Jar) []lab.JarID {
		ids := make([]lab.JarID, len(jars))
		for i, j := range jars {
			ids[i] = j.ID
		}
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.JarID, error) {
			return r.Written(ctx, ids, instant(since))
		})
	}
	same(t, "jars written since, of those named", sorted(jars[1].ID, jars[2].ID), get(2, jars[:4]...))
	same(t, "jars written after", []lab.JarID{jars[2].ID}, get(3, jars[0], jars[2], jars[3]))
	same(t, "number of no jars written", 0, len(get(0)))
	same(t, "number written since later", 0, len(get(5, append(jars, f.jar)...)))
}

func sorted(ids ...lab.JarID) []lab.JarID {
	slices.Sort(ids)
	return ids
}

func testDeedEntries(t *testing.T, s store.Store) {
	f := settle(t, s)
	oats := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "oats"}
	want := store.Entries{
		Figures:      []lab.IngredientFigures{{Entry: newEntry(f.deed, 1), Ingredient: oats.ID}},
		Lots:         []lab.IngredientLot{{Entry: newEntry(f.deed, 1), Lot: newID[lab.IngredientLotID](), Number: 1, Ingredient: oats.ID}},
		Keepings:     []lab.Keeping{{Entry: newEntry(f.deed, 1), Culture: f.culture.ID, Kept: lab.Ended}},
		Makings:      []lab.Making{{Entry: newEntry(f.deed, 1), Batch: f.batch.ID, Mix: "m"}},
		Marks:        []lab.CookMark{{Entry: newEntry(f.deed, 1), Cook: f.cook.ID, Event: lab.Reached}},
		Inoculations: []lab.Inoculation{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Culture: f.culture.ID, Means: lab.ByLC}},
		Seen: []lab.Seen{
			{Entry: newEntry(f.deed, 2), Jar: f.jar.ID, Stage: lab.Growth},
			{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Stage: lab.Cover},
		},
		Picks:  []lab.Pick{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Flush: 1, Grams: 5}},
		Photos: []lab.Photo{newPhoto(f, 1, "a")},
		Guests: []lab.Guest{{Entry: newEntry(f.deed, 1), Kind: lab.FromPrint, Contrasts: []lab.Contrast{{Ratio: true}}}},
	}
	other := newDeed("other")
	write(t, s, func(ctx context.Context, w store.Writer) error {
		_, err := w.AddDeed(ctx, other)
		return firstError(err, w.AddIngredient(ctx, oats), w.AddIngredientFigures(ctx, want.Figures), w.AddIngredientLots(ctx, want.Lots),
			w.AddKeepings(ctx, want.Keepings), w.AddMakings(ctx, want.Makings), w.AddCookMarks(ctx, want.Marks),
			w.AddInoculations(ctx, want.Inoculations), w.AddSeen(ctx, want.Seen), w.AddPicks(ctx, want.Picks), w.AddPhotos(ctx, want.Photos), w.AddGuests(ctx, want.Guests),
			w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(other, 1), Jar: f.jar.ID, Stage: lab.Light}}))
	})
	get := func(id lab.DeedID) store.Entries {
		return read(t, s, func(ctx context.Context, r store.Reader) (store.Entries, error) { return r.DeedEntries(ctx, id) })
	}
	same(t, "entries of the deed", want, get(f.deed.ID))
	same(t, "entries of no deed", store.Entries{}, get("x"))
}

func testTimes(t *testing.T, s store.Store) {
	east := time.FixedZone("east", 5*3600+1800)
	early := time.Date(1990, 1, 1, 0, 0, 1, 0, time.UTC)
	whens := []lab.When{
		{},
		lab.At(early), lab.At(time.Date(2026, 12, 31, 23, 59, 59, 999, east)), lab.OnDay(time.Date(2026, 1, 1, 1, 0, 0, 0, east)),
		lab.Sometime(instant(0)),
		{Time: time.Time{}, Exactness: lab.Unknown},
	}
	for i, w := range whens {
		c := lab.Culture{ID: newID[lab.CultureID](), Name: numbered("culture", i), Form: lab.LC, Made: w}
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddCulture(ctx, c) })
		got := read(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) { return r.Culture(ctx, c.ID) })
		same(t, "time", w, got.Made)
		if _, offset := got.Made.Time.Zone(); offset != 0 {
			t.Errorf("time %v is not in UTC", got.Made.Time)
		}
	}
	d := newDeed("with a zone and a fraction")
	d.Entered = time.Date(2026, 5, 6, 7, 8, 9, 987654321, east)
	write(t, s, func(ctx context.Context, w store.Writer) error {
		_, err := w.AddDeed(ctx, d)
		return err
	})
	got := read(t, s, func(ctx context.Context, r store.Reader) (lab.Deed, error) { return r.Deed(ctx, d.ID) })
	same(t, "time of entry to the second", d.Entered.Truncate(time.Second).UTC(), got.Entered)
}
