package storetest

import (
	"context"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func testGuests(t *testing.T, s store.Store) {
	f := settle(t, s)
	mean := 12.5
	whole := lab.Guest{
		Entry: newEntry(f.deed, 1), Name: "Oats or millet", From: "North farm", Kind: lab.FromPackage, Question: "Which?", Sentence: "Millet.",
		Made: instant(7), Version: "compare 2", Hash: "aa", DataHash: "bb", Jars: 12,
		Arms: []lab.GuestArm{{Name: "oats", Recipe: "oats", Jars: 6, Mean: &mean}, {Name: "millet"}},
		Contrasts: []lab.Contrast{
			{Sides: []lab.Side{{Is: lab.ByRecipe, This: "millet", Than: "oats"}}, Outcome: lab.PerInoculated, Ratio: true, Value: 1.25, Low: 1, High: 1.5625, Means: [2]float64{15, 12}, Jars: [2]int{6, 6}},
			{Outcome: lab.ByColour, Not: "colours are scores"},
		},
	}
	aside := lab.Guest{Entry: newEntry(f.deed, 2), Kind: lab.FromPackage}
	aside.Corrects, aside.Withdrawn = whole.ID, true
	again := whole
	again.Entry = newEntry(f.deed, 3)
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddGuests(ctx, []lab.Guest{whole, aside}), w.AddGuests(ctx, []lab.Guest{again, whole}))
	})
	got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Guest, error) { return r.Guests(ctx) })
	same(t, "entries", []lab.Guest{whole, aside, again}, got)
	same(t, "those that hold", []lab.Guest{again}, lab.Current(got))
}
