package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testKeepings(t *testing.T, s store.Store) {
	f := settle(t, s)
	generation := 2
	child := lab.Culture{
		ID: newID[lab.CultureID](), Name: "child", Form: lab.Grain, Parent: f.culture.ID, Jar: f.jar.ID, Made: at(4),
		Details: lab.CultureDetails{Source: "a friend", Generation: &generation, Volume: 600, Typed: "600 mL"},
	}
	entries := []lab.Keeping{
		{Entry: newEntry(f.deed, 3), Culture: f.culture.ID, Kept: lab.Tested, Finding: lab.Clean},
		{Entry: newEntry(f.deed, 1), Culture: f.culture.ID, Kept: lab.Drawn, Amount: 2.5, Note: "child"}, // entered later
		{Entry: newEntry(f.deed, 5), Culture: child.ID, Kept: lab.Stored, Storage: lab.InFridge},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCulture(ctx, child), w.AddKeepings(ctx, entries), w.AddKeepings(ctx, entries[:1]), w.AddKeepings(ctx, nil))
	})
	same(t, "culture", child, read(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) { return r.Culture(ctx, child.ID) }))
	same(t, "keepings in the order of entry", entries, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Keeping, error) { return r.Keepings(ctx) }))
	isProblem(t, tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddKeepings(ctx, []lab.Keeping{{Entry: newEntry(f.deed, 3), Culture: child.ID, Kept: "sold"}})
	}), lab.Invalid)
}

func testCultureUses(t *testing.T, s store.Store) {
	f := settle(t, s)
	batch, jars := addBatch(t, s, 2, 6, func(*lab.Jar) {})
	other := lab.Culture{ID: newID[lab.CultureID](), Name: "other", Form: lab.Plate}
	stands := []lab.Standing{
		{Jar: jars[0].ID, Fate: lab.Picked, Carries: f.culture.ID, Inoculated: at(1), Grams: 12.5, Picks: 1, FateAt: at(7)},
		{Jar: jars[1].ID, Fate: lab.Picked, Carries: f.culture.ID, Inoculated: at(1), Grams: 10, Picks: 1, FateAt: at(9)},
		{Jar: jars[2].ID, Fate: lab.Lost, Reason: "fouled", Carries: f.culture.ID, Inoculated: at(1), FateAt: at(3)},
		{Jar: jars[3].ID, Fate: lab.Growing, Carries: other.ID, Inoculated: at(1)},
	}
	in := func(n int, c lab.CultureID, amount string) lab.Inoculation {
		return lab.Inoculation{Entry: newEntry(f.deed, 1), Jar: jars[n].ID, Culture: c, Means: lab.ByLC, Amount: amount}
	}
	doses := []lab.Inoculation{in(0, f.culture.ID, "2 mL"), in(1, f.culture.ID, "2 mL"), in(2, f.culture.ID, "20 mL"), in(3, other.ID, "1 wedge")}
	mended := in(2, f.culture.ID, "3 mL")
	mended.Corrects = doses[2].ID
	taken := in(4, f.culture.ID, "2 mL")
	back := in(4, f.culture.ID, "2 mL")
	back.Corrects, back.Withdrawn = taken.ID, true
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddCulture(ctx, other), w.SetStandings(ctx, stands), w.AddInoculations(ctx, append(doses, mended, taken, back)))
	})
	uses := make(map[store.CultureUse]bool)
	for _, u := range read(t, s, func(ctx context.Context, r store.Reader) ([]store.CultureUse, error) { return r.CultureUses(ctx) }) {
		uses[u] = true
	}
	same(t, "uses", map[store.CultureUse]bool{
		{Culture: f.culture.ID, Fate: lab.Picked, Jars: 2, Grams: 22.5, Last: at(9).Time}:    true,
		{Culture: f.culture.ID, Fate: lab.Lost, Reason: "fouled", Jars: 1, Last: at(3).Time}: true,
		{Culture: other.ID, Fate: lab.Growing, Jars: 1}:                                      true,
	}, uses)
	yields := read(t, s, func(ctx context.Context, r store.Reader) ([]store.CultureYield, error) {
		return r.CultureYields(ctx, []lab.CultureID{f.culture.ID, other.ID})
	})
	same(t, "yields, without what is lost or grows", []store.CultureYield{{Culture: f.culture.ID, Batch: batch.ID, Jars: 2, Grams: 22.5, Squares: 256.25}}, yields)
	carrying := read(t, s, func(ctx context.Context, r store.Reader) ([]store.JarRow, error) {
		return r.Jars(ctx, store.JarFilter{Carries: f.culture.ID, Limit: 2})
	})
	same(t, "the first two jars that carry it", []int{jars[0].Number, jars[1].Number}, []int{carrying[0].Number, carrying[1].Number})
	got := make(map[store.CultureDose]bool)
	for _, d := range read(t, s, func(ctx context.Context, r store.Reader) ([]store.CultureDose, error) { return r.CultureDoses(ctx) }) {
		got[d] = true
	}
	same(t, "doses that hold", map[store.CultureDose]bool{
		{Culture: f.culture.ID, Amount: "2 mL", Jars: 2}: true,
		{Culture: f.culture.ID, Amount: "3 mL", Jars: 1}: true,
		{Culture: other.ID, Amount: "1 wedge", Jars: 1}:  true,
	}, got)
}
