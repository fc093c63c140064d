package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func testBatches(t *testing.T, s store.Store) {
	f := settle(t, s)
	named := lab.Batch{
		ID: newID[lab.BatchID](), Number: 12, Name: "Spring rye", Made: at(0),
		Closing: lab.Day{Time: onDay(30).Time}, Trial: f.trial.ID, Note: "cold week",
	}
	odd := lab.Batch{ID: newID[lab.BatchID](), Number: 3, Name: "B12", Made: lab.Sometime(instant(3))}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddBatch(ctx, named), w.AddBatch(ctx, odd), w.AddBatch(ctx, named))
	})
	list := func(limit int) []lab.Batch {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) { return r.Batches(ctx, limit) })
	}
	same(t, "batches, newest number first", []lab.Batch{named, odd, f.batch}, list(0))
	same(t, "two batches", []lab.Batch{named, odd}, list(2))
	below := func(number, limit int) []lab.Batch {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) {
			return r.BatchesBelow(ctx, number, limit)
		})
	}
	same(t, "batches under B12", []lab.Batch{odd, f.batch}, below(12, 0))
	same(t, "one batch under B12", []lab.Batch{odd}, below(12, 1))
	same(t, "batches under the oldest", []lab.Batch(nil), below(f.batch.Number, 5))
	same(t, "batches of a trial", []lab.Batch{named, f.batch}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) {
		return r.BatchesOfTrials(ctx, f.trial.ID, "x")
	}))
	same(t, "batch", named, read(t, s, func(ctx context.Context, r store.Reader) (lab.Batch, error) { return r.Batch(ctx, named.ID) }))
	same(t, "batches named, by number", []lab.Batch{f.batch, named}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) {
		return r.BatchesByID(ctx, named.ID, "x", f.batch.ID, named.ID)
	}))
	for _, name := range []string{"B12", " b12", "spring RYE"} { // the number goes before the name
		same(t, "batch by "+name, named, read(t, s, func(ctx context.Context, r store.Reader) (lab.Batch, error) {
			return r.BatchByName(ctx, name)
		}))
	}
	for _, name := range []string{"B2", "", "spring", "12"} {
		notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Batch, error) { return r.BatchByName(ctx, name) })
	}
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Batch, error) { return r.Batch(ctx, "") })
	same(t, "last number", 12, read(t, s, func(ctx context.Context, r store.Reader) (int, error) { return r.LastBatchNumber(ctx) }))
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 12})
	})
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 13, Name: "Spring Rye"})
	})
}

// Open are batches with a jar that grows or waits, up to their closing day.
func testOpenBatches(t *testing.T, s store.Store) {
	waits, jars := addBatch(t, s, 5, 2, nil)
	_, over := addBatch(t, s, 6, 1, nil)
	addBatch(t, s, 7, 1, func(j *lab.Jar) { j.Blank = true })
	closed := lab.Batch{ID: newID[lab.BatchID](), Number: 8, Made: at(0), Closing: lab.Day{Time: onDay(30).Time}}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddBatch(ctx, closed), w.AddJars(ctx, []lab.Jar{{ID: newID[lab.JarID](), Code: code(90), Batch: closed.ID, Number: 1}}),
			w.SetStandings(ctx, []lab.Standing{{Jar: over[0].ID, Fate: lab.Picked}, {Jar: jars[0].ID, Fate: lab.Growing}}))
	})
	open := func(on int) (out []int) {
		for _, b := range read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) {
			return r.OpenBatches(ctx, lab.Day{Time: onDay(on).Time})
		}) {
			out = append(out, b.Number)
		}
		return out
	}
	same(t, "open on the closing day", []int{closed.Number, waits.Number}, open(30))
	same(t, "open a day later", []int{waits.Number}, open(31))
}

// getJars returns the jars that f chooses.
func getJars(t *testing.T, s store.Store, f store.JarFilter) []store.JarRow {
	t.Helper()
	return read(t, s, func(ctx context.Context, r store.Reader) ([]store.JarRow, error) { return r.Jars(ctx, f) })
}

func testJarsRoundTrip(t *testing.T, s store.Store) {
	f := settle(t, s)
	full := lab.Jar{
		ID: newID[lab.JarID](), Code: code(7), Batch: f.batch.ID, Number: 2, Mark: "chipped ✎", Blank: true, Arm: "A",
		Recipe: f.recipe.ID, Container: f.container.ID, Culture: f.culture.ID, Cook: f.cook.ID, Layer: 2,
		Shelf: "top left", MixMade: "B", DryGrams: 51.25, Filled: at(3),
	}
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddJars(ctx, []lab.Jar{full}) })
	want := []store.JarRow{
		{Jar: f.jar, Standing: lab.Standing{Jar: f.jar.ID}},
		{Jar: full, Standing: lab.Standing{Jar: full.ID}},
	}
	same(t, "jars", want, getJars(t, s, store.JarFilter{}))

	stand := lab.Standing{
		Jar: full.ID, Stage: lab.Pins, Fate: lab.Lost, Reason: "fouled", Grams: 12.5, Picks: 2,
		Inoculated: onDay(5), Carries: f.culture.ID, LastSeen: at(9), FateAt: lab.Sometime(instant(9)),
		Differs: true,
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.SetStandings(ctx, []lab.Standing{stand}), w.AddJars(ctx, []lab.Jar{full}))
	})
	want[1].Standing = stand
	same(t, "jars after the same ID twice", want, getJars(t, s, store.JarFilter{}))
}

func testJarFilters(t *testing.T, s store.Store) {
	f := settle(t, s)
	second, jars2 := addBatch(t, s, 3, 5, func(j *lab.Jar) {
		j.Blank, j.Shelf = j.Number == 5, []string{"", "low", "low", "middle", "top", "attic"}[j.Number]
		if j.Blank {
			j.Cook = f.cook.ID
		}
	})
	_, jars3 := addBatch(t, s, 2, 3, func(j *lab.Jar) { j.Cook = f.cook.ID })
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return w.SetStandings(ctx, []lab.Standing{{Jar: jars2[0].ID, Fate: lab.Growing}, {Jar: jars2[1].ID, Fate: lab.Picked, Differs: true}, {Jar: jars2[2].ID, Fate: lab.Lost}})
	})
	for _, c := range []struct {
		name   string
		filter store.JarFilter
		want   string
	}{
		{"all by batch number, then number", store.JarFilter{}, "1·1 2·1 2·2 2·3 3·1 3·2 3·3 3·4 3·5"},
		{"limit", store.JarFilter{Limit: 2}, "1·1 2·1"},
		{"batch", store.JarFilter{Batch: second.ID}, "3·1 3·2 3·3 3·4 3·5"},
		{"batches", store.JarFilter{Batches: []lab.BatchID{second.ID, "x", f.batch.ID}}, "1·1 3·1 3·2 3·3 3·4 3·5"},
		{"numbers", store.JarFilter{Batch: second.ID, Numbers: []int{4, 2, 9}}, "3·2 3·4"},
		{"after, for paging", store.JarFilter{Batch: second.ID, After: 2, Limit: 2}, "3·3 3·4"},
		{"IDs", store.JarFilter{IDs: []lab.JarID{jars3[2].ID, f.jar.ID, "x", f.jar.ID}}, "1·1 2·3"},
		{"codes", store.JarFilter{Codes: []lab.Code{jars2[0].Code, jars3[0].Code, "22222x"}}, "2·1 3·1"},
		{"cook", store.JarFilter{Cooks: []lab.CookID{f.cook.ID}}, "1·1 2·1 2·2 2·3 3·5"},
		{"cooks", store.JarFilter{Cooks: []lab.CookID{f.cook.ID, "x"}}, "1·1 2·1 2·2 2·3 3·5"},
		{"blanks of cooks", store.JarFilter{Blanks: []lab.CookID{f.cook.ID, "x"}}, "3·5"},
		{"trials", store.JarFilter{Trials: []lab.TrialID{f.trial.ID, "x"}}, "1·1"},
		{"shelf", store.JarFilter{Shelf: "low"}, "3·1 3·2"},
		{"open on a shelf", store.JarFilter{Shelf: "low", Open: true}, "3·1"},
		{"a shelf that is not there", store.JarFilter{Shelf: "x"}, ""},
		{"open", store.JarFilter{Open: true}, "1·1 2·1 2·2 2·3 3·1 3·4"},
		{"two people differ", store.JarFilter{Differs: true}, "3·2"},
		{"all together", store.JarFilter{Cooks: []lab.CookID{f.cook.ID}, Codes: []lab.Code{jars3[1].Code, jars2[1].Code}, Open: true}, "2·2"},
		{"a batch that is not there", store.JarFilter{Batch: "x"}, ""},
		{"a cook that is not there", store.JarFilter{Cooks: []lab.CookID{"x"}}, ""},
	} {
		same(t, c.name, c.want, places(t, s, getJars(t, s, c.filter)))
	}
	// Jar 3 on the middle shelf is lost, and jar 5 in the attic is a blank.
	on := lab.Day{Time: onDay(30).Time}
	shelves := func() []store.ShelfCount {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]store.ShelfCount, error) { return r.Shelves(ctx, on) })
	}
	unsaid := len(getJars(t, s, store.JarFilter{Shelves: []string{""}, Open: true}))
	same(t, "shelves", []store.ShelfCount{{Name: "", Jars: unsaid}, {Name: "low", Jars: 1}, {Name: "top", Jars: 1}}, shelves())
	// A batch that closes on the day is open on it, one that closed before is not.
	for number, closing := range map[int]int{8: 29, 9: 30} {
		b := lab.Batch{ID: newID[lab.BatchID](), Number: number, Closing: lab.Day{Time: onDay(closing).Time}}
		j := lab.Jar{ID: newID[lab.JarID](), Code: code(1000 * number), Batch: b.ID, Number: 1, Shelf: "ends"}
		write(t, s, func(ctx context.Context, w store.Writer) error {
			return firstError(w.AddBatch(ctx, b), w.AddJars(ctx, []lab.Jar{j}))
		})
	}
	same(t, "shelves with a batch that closed", []store.ShelfCount{{Name: "", Jars: unsaid}, {Name: "ends", Jars: 1}, {Name: "low", Jars: 1}, {Name: "top", Jars: 1}}, shelves())
	same(t, "open on a day", "9·1", places(t, s, getJars(t, s, store.JarFilter{Shelves: []string{"ends"}, Open: true, On: on})))
	same(t, "open on any day", "3·4 8·1 9·1", places(t, s, getJars(t, s, store.JarFilter{Shelves: []string{"top", "ends"}, Open: true})))
}

// places prints jars as "3·1 3·2".
func places(t *testing.T, s store.Store, jars []store.JarRow) string {
	t.Helper()
	numbers := make(map[lab.BatchID]int)
	for _, b := range read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) { return r.Batches(ctx, 0) }) {
		numbers[b.ID] = b.Number
	}
	text := ""
	for i, j := range jars {
		if i > 0 {
			text += " "
		}
		text += lab.Span{Batch: lab.BatchName(numbers[j.Batch])[1:], Numbers: []int{j.Number}}.String()
	}
	return text
}

func testJarCodes(t *testing.T, s store.Store) {
	f := settle(t, s)
	byCode := func(ctx context.Context, r store.Reader) (store.JarRow, error) { return r.JarByCode(ctx, f.jar.Code) }
	same(t, "jar by code", store.JarRow{Jar: f.jar, Standing: lab.Standing{Jar: f.jar.ID}}, read(t, s, byCode))
	notFound(t, s, func(ctx context.Context, r store.Reader) (store.JarRow, error) { return r.JarByCode(ctx, code(99)) })
	taken := func(codes ...lab.Code) []lab.Code {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Code, error) { return r.CodesTaken(ctx, codes) })
	}
	same(t, "codes taken", []lab.Code{f.jar.Code}, taken(code(99), f.jar.Code, code(98)))
	same(t, "number of codes taken", 0, len(taken(code(99))))
	same(t, "number of codes taken of none", 0, len(taken()))
}

func testJarsTaken(t *testing.T, s store.Store) {
	f := settle(t, s)
	fresh := func(number int) lab.Jar {
		return lab.Jar{ID: newID[lab.JarID](), Code: code(500 + number), Batch: f.batch.ID, Number: number}
	}
	coded := fresh(2)
	coded.Code = f.jar.Code
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddJars(ctx, []lab.Jar{fresh(3), coded}) })
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddJars(ctx, []lab.Jar{fresh(1)}) })
	twins := []lab.Jar{fresh(4), fresh(5)}
	twins[1].Code = twins[0].Code
	conflict(t, s, func(ctx context.Context, w store.Writer) error { return w.AddJars(ctx, twins) })
	same(t, "number of jars", 1, len(getJars(t, s, store.JarFilter{})))
	write(t, s, func(ctx context.Context, w store.Writer) error {
		j := fresh(2)
		return w.AddJars(ctx, []lab.Jar{f.jar, j, j}) // some stored already, some twice
	})
	same(t, "number of jars", 2, len(getJars(t, s, store.JarFilter{})))
}

func testPlaces(t *testing.T, s store.Store) {
	f := settle(t, s)
	_, jars := addBatch(t, s, 2, 3, nil)
	moved := jars[1]
	moved.Cook, moved.Layer, moved.Shelf, moved.Filled, moved.MixMade, moved.DryGrams = f.cook.ID, 3, "s2", at(4), "A", 48
	want := moved
	moved.Code, moved.Number, moved.Blank, moved.Mark, moved.Arm = code(777), 9, true, "x", "y"
	older := moved
	older.Shelf = "s1"
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.PlaceJars(ctx, nil), w.PlaceJars(ctx, []lab.Jar{older, moved})) // the last one holds
	})
	got := getJars(t, s, store.JarFilter{Batch: want.Batch})
	same(t, "the jar that was placed", want, got[1].Jar)
	same(t, "the jars that were not", []lab.Jar{jars[0], jars[2]}, []lab.Jar{got[0].Jar, got[2].Jar})

	want.Cook, want.Layer, want.Shelf = "", 0, "" // back to not known
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.PlaceJars(ctx, []lab.Jar{want}) })
	same(t, "the jar that was taken away", want, getJars(t, s, store.JarFilter{IDs: []lab.JarID{want.ID}})[0].Jar)

	var many []lab.Jar // several changes of one jar in one call: the last one holds
	for i := range 60 {
		j := jars[i%3]
		j.Shelf = numbered("shelf", i)
		many = append(many, j)
	}
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.PlaceJars(ctx, many) })
	same(t, "shelves", []string{"shelf 057", "shelf 058", "shelf 059"}, names(getJars(t, s, store.JarFilter{Batch: want.Batch}),
		func(j store.JarRow) string { return j.Shelf }))

	stranger := lab.Jar{ID: newID[lab.JarID](), Shelf: "s9"}
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.PlaceJars(ctx, []lab.Jar{want, stranger})
	}), lab.NotFound)
}

func testStandings(t *testing.T, s store.Store) {
	f := settle(t, s)
	_, jars := addBatch(t, s, 2, 2, nil)
	grown := lab.Standing{Jar: jars[0].ID, Stage: lab.Cover, Fate: lab.Growing, Inoculated: at(1), Carries: f.culture.ID, LastSeen: at(2)}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.SetStandings(ctx, nil), w.SetStandings(ctx, []lab.Standing{grown}))
	})
	same(t, "standing", grown, getJars(t, s, store.JarFilter{IDs: []lab.JarID{jars[0].ID}})[0].Standing)
	empty := lab.Standing{Jar: jars[0].ID} // as after an undo
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.SetStandings(ctx, []lab.Standing{empty}) })
	same(t, "standing after undo", empty, getJars(t, s, store.JarFilter{IDs: []lab.JarID{jars[0].ID}})[0].Standing)
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.SetStandings(ctx, []lab.Standing{{Jar: newID[lab.JarID]()}})
	}), lab.NotFound)
}

func testTallies(t *testing.T, s store.Store) {
	settle(t, s)
	dry := func(j *lab.Jar) {
		if j.DryGrams = 50; j.Number >= 9 {
			j.Blank, j.DryGrams = true, 0
		}
	}
	first, jars := addBatch(t, s, 2, 10, dry)
	second, more := addBatch(t, s, 3, 2, func(j *lab.Jar) { j.DryGrams = 60 * units.Gram(j.Number-1) })
	bare := lab.Batch{ID: newID[lab.BatchID](), Number: 4}
	in := at(1)
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddBatch(ctx, bare), w.SetStandings(ctx, []lab.Standing{
			{Jar: jars[0].ID, Fate: lab.Growing, Inoculated: in},
			{Jar: jars[1].ID, Fate: lab.Growing, Inoculated: in, Stage: lab.Pins},
			{Jar: jars[2].ID, Fate: lab.Growing, Inoculated: in, Stage: lab.Pins},
			{Jar: jars[3].ID, Fate: lab.Picked, Inoculated: in, Stage: lab.Ready, Grams: 20.5, Picks: 1},
			{Jar: jars[4].ID, Fate: lab.Spent, Inoculated: in, Grams: 30, Picks: 2},
			{Jar: jars[5].ID, Fate: lab.Barren, Inoculated: lab.Sometime(instant(2))},
			{Jar: jars[6].ID, Fate: lab.Lost, Reason: "broken"},
			{Jar: jars[8].ID, Fate: lab.Lost, Reason: "fouled", Inoculated: in, Grams: 9}, // a blank, where all that is wrong
			{Jar: more[0].ID, Fate: lab.Growing, Inoculated: in},
			{Jar: more[1].ID, Fate: lab.Growing, Inoculated: in, Stage: lab.Pins},
		}))
	})
	want := map[lab.BatchID]store.Tally{
		first.ID: {
			Batch: first.ID, Jars: 8, Blanks: 2, Inoculated: 6, Growing: 3, Picked: 2, Barren: 1, Lost: 1,
			Grams: 50.5, DryGrams: 300, ByStage: map[lab.Stage]int{"": 1, lab.Pins: 2},
		},
		second.ID: { // dry grams are not known for the first jar
			Batch: second.ID, Jars: 2, Inoculated: 2, Growing: 2, ByStage: map[lab.Stage]int{"": 1, lab.Pins: 1},
		},
	}
	tallies := func(b ...lab.BatchID) map[lab.BatchID]store.Tally {
		return read(t, s, func(ctx context.Context, r store.Reader) (map[lab.BatchID]store.Tally, error) {
			return r.Tallies(ctx, b...)
		})
	}
	same(t, "tallies of two", want, tallies(first.ID, second.ID, "x"))
	all := tallies()
	same(t, "tally of the first among all", want[first.ID], all[first.ID])
	same(t, "number of batches with jars", 3, len(all))
	same(t, "tally of a batch without jars", 0, tallies(bare.ID)[bare.ID].Jars)
}

func testJarEntries(t *testing.T, s store.Store) {
	f := settle(t, s)
	_, jars := addBatch(t, s, 2, 2, nil)
	a, b := jars[0].ID, jars[1].ID
	in := []lab.Inoculation{
		{Entry: newEntry(f.deed, 9), Jar: a, Culture: f.culture.ID, Means: lab.ByLC, Amount: "2 mL", Override: "I know"},
		{Entry: newEntry(f.deed, 1), Jar: b, Culture: f.culture.ID, Means: lab.ByGrain},
	}
	saw := []lab.Seen{
		{Entry: newEntry(f.deed, 9), Jar: a, Stage: lab.Colour, Sign: "drops", Count: 12, Note: "deep\norange"},
		{Entry: newEntry(f.deed, 8), Jar: f.jar.ID, Fate: lab.Lost, Reason: "fouled"},
		{Entry: newEntry(f.deed, 7), Jar: a, Stage: lab.Growth, Covered: 40, Fate: lab.Spent},
	}
	picked := []lab.Pick{
		{Entry: newEntry(f.deed, 9), Jar: a, Flush: 2, Grams: 33.5, Typed: "1.2 oz"},
		{Entry: newEntry(f.deed, 8), Jar: b, Flush: 1, Grams: 0},
	}
	for range 2 { // the second time stores nothing
		write(t, s, func(ctx context.Context, w store.Writer) error {
			return firstError(w.AddInoculations(ctx, in), w.AddSeen(ctx, saw), w.AddPicks(ctx, picked),
				w.AddInoculations(ctx, nil), w.AddSeen(ctx, nil), w.AddPicks(ctx, nil))
		})
	}
	both := []lab.JarID{b, a, "x"}
	same(t, "inoculations", in, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Inoculation, error) { return r.Inoculations(ctx, both) }))
	same(t, "seen", []lab.Seen{saw[0], saw[2]}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Seen, error) { return r.Seen(ctx, both) }))
	same(t, "picks", picked, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Pick, error) { return r.Picks(ctx, both) }))
	same(t, "number seen on no jars", 0, len(read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Seen, error) { return r.Seen(ctx, nil) })))
}

func testCorrections(t *testing.T, s store.Store) {
	f := settle(t, s)
	wrong := lab.Pick{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Flush: 1, Grams: 300, Typed: "300 g"}
	right := lab.Pick{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Flush: 1, Grams: 30, Typed: "30 g"}
	right.Corrects = wrong.ID
	gone := lab.Pick{Entry: newEntry(f.deed, 2), Jar: f.jar.ID, Flush: 1}
	gone.Corrects, gone.Withdrawn = right.ID, true
	all := []lab.Pick{wrong, right, gone}
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddPicks(ctx, all) }) // in one call
	got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Pick, error) {
		return r.Picks(ctx, []lab.JarID{f.jar.ID})
	})
	same(t, "picks, corrected ones included", all, got)
	same(t, "picks that hold", 0, len(lab.Current(got)))

	nowhere := lab.Pick{Entry: newEntry(f.deed, 2), Jar: f.jar.ID, Flush: 1}
	nowhere.Corrects = newID[lab.EntryID]()
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error { return w.AddPicks(ctx, []lab.Pick{nowhere}) }), lab.NotFound)
}
