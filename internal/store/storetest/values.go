package storetest

import (
	"context"
	"math"
	"strings"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func testTexts(t *testing.T, s store.Store) {
	for i, text := range []string{
		"", " ", "O'Hara; DROP TABLE jar; --", `"double" and \back`, "$1 ? %s :name", "line\nline\ttab\r\n",
		"日本語", "🍄‍🟫", "e\u0301", "\u202eright to left", "\ufeff", strings.Repeat("ß", 10000), "0", "null", "NULL", "true",
	} {
		i := lab.Ingredient{ID: newID[lab.IngredientID](), Name: numbered("ingredient", i), Note: text}
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddIngredient(ctx, i) })
		got := read(t, s, func(ctx context.Context, r store.Reader) (lab.Ingredient, error) {
			return r.IngredientByName(ctx, i.Name)
		})
		same(t, "text", text, got.Note)
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: "Œufs  de Ünë"})
	})
	read(t, s, func(ctx context.Context, r store.Reader) (lab.Ingredient, error) {
		return r.IngredientByName(ctx, "œUFS de ÜNË")
	})
	for _, like := range []string{"%", "_", "ingredient%"} { // names are not patterns
		notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Ingredient, error) {
			return r.IngredientByName(ctx, like)
		})
	}
}

// testBlanks makes sure that what is not said is no record and takes nothing:
// two batches without a name do not clash, and a jar without a cook is in none.
func testBlanks(t *testing.T, s store.Store) {
	bare := []lab.Batch{{ID: newID[lab.BatchID](), Number: 1}, {ID: newID[lab.BatchID](), Number: 2}}
	cooks := []lab.Cook{{ID: newID[lab.CookID](), Number: 1}, {ID: newID[lab.CookID](), Number: 2}}
	jars := []lab.Jar{
		{ID: newID[lab.JarID](), Code: code(1), Batch: bare[0].ID, Number: 1},
		{ID: newID[lab.JarID](), Code: code(2), Batch: bare[0].ID, Number: 2},
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddBatch(ctx, bare[0]), w.AddBatch(ctx, bare[1]), w.AddCook(ctx, cooks[0]), w.AddCook(ctx, cooks[1]), w.AddJars(ctx, jars))
	})
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Batch, error) { return r.BatchByName(ctx, "") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Cook, error) { return r.CookByName(ctx, "") })
	got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) { return r.Batches(ctx, 0) })
	same(t, "batches of which nothing is said", []lab.Batch{bare[1], bare[0]}, got)
	rows := getJars(t, s, store.JarFilter{})
	same(t, "jar of which nothing is said", store.JarRow{Jar: jars[0], Standing: lab.Standing{Jar: jars[0].ID}}, rows[0])
	same(t, "number of jars in a cook", 0, len(getJars(t, s, store.JarFilter{Cooks: []lab.CookID{cooks[0].ID}})))
}

// call is one call on a Writer.
type call func(context.Context, store.Writer) error

// testDangling makes sure that nothing names a record that is not there.
func testDangling(t *testing.T, s store.Store) {
	f := settle(t, s)
	none := newID[string]()
	for _, calls := range []map[string]call{danglingRecords(f, none), danglingEntries(f, none)} {
		for name, c := range calls {
			t.Run(name, func(t *testing.T) { isProblem(t, tryWrite(t, s, c), lab.NotFound) })
		}
	}
	noDeed := lab.Entry{ID: newID[lab.EntryID](), At: at(0), Entered: instant(0)}
	if err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddSeen(ctx, []lab.Seen{{Entry: noDeed, Jar: f.jar.ID, Stage: lab.Pins}})
	}); err == nil {
		t.Error("an entry that is part of no deed was stored")
	}
}

// danglingRecords are calls that store a record which names another, none,
// that is not there.
func danglingRecords(f farm, none string) map[string]call {
	jar := func(change func(*lab.Jar)) call {
		j := lab.Jar{ID: newID[lab.JarID](), Code: code(9), Batch: f.batch.ID, Number: 9}
		change(&j)
		return func(ctx context.Context, w store.Writer) error { return w.AddJars(ctx, []lab.Jar{j}) }
	}
	return map[string]call{
		"culture, parent": func(ctx context.Context, w store.Writer) error {
			return w.AddCulture(ctx, lab.Culture{ID: newID[lab.CultureID](), Name: "x", Parent: lab.CultureID(none)})
		},
		"batch, trial": func(ctx context.Context, w store.Writer) error {
			return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 9, Trial: lab.TrialID(none)})
		},
		"jar, batch":     jar(func(j *lab.Jar) { j.Batch = lab.BatchID(none) }),
		"jar, cook":      jar(func(j *lab.Jar) { j.Cook = lab.CookID(none) }),
		"jar, recipe":    jar(func(j *lab.Jar) { j.Recipe = lab.RecipeVersionID(none) }),
		"jar, container": jar(func(j *lab.Jar) { j.Container = lab.ContainerID(none) }),
		"jar, culture":   jar(func(j *lab.Jar) { j.Culture = lab.CultureID(none) }),
		"place, cook": func(ctx context.Context, w store.Writer) error {
			return w.PlaceJars(ctx, []lab.Jar{{ID: f.jar.ID, Cook: lab.CookID(none)}})
		},
		"standing, culture": func(ctx context.Context, w store.Writer) error {
			return w.SetStandings(ctx, []lab.Standing{{Jar: f.jar.ID, Carries: lab.CultureID(none)}})
		},
		"allotment, trial": func(ctx context.Context, w store.Writer) error {
			return w.AddAllotment(ctx, lab.Allotment{ID: newID[lab.AllotmentID](), Trial: lab.TrialID(none), Stage: lab.AtMaking})
		},
		"deed, undoes": func(ctx context.Context, w store.Writer) error {
			_, err := w.AddDeed(ctx, lab.Deed{ID: newID[lab.DeedID](), Undoes: lab.DeedID(none)})
			return err
		},
	}
}

// danglingEntries are the same for entries.
func danglingEntries(f farm, none string) map[string]call {
	stray := lab.Entry{ID: newID[lab.EntryID](), Deed: lab.DeedID(none), At: at(0), Entered: instant(0)}
	return map[string]call{
		"seen, jar": func(ctx context.Context, w store.Writer) error {
			return w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(f.deed, 1), Jar: lab.JarID(none), Stage: lab.Pins}})
		},
		"seen, deed": func(ctx context.Context, w store.Writer) error {
			return w.AddSeen(ctx, []lab.Seen{{Entry: stray, Jar: f.jar.ID, Stage: lab.Pins}})
		},
		"inoculation, culture": func(ctx context.Context, w store.Writer) error {
			return w.AddInoculations(ctx, []lab.Inoculation{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Culture: lab.CultureID(none)}})
		},
		"mark, cook": func(ctx context.Context, w store.Writer) error {
			return w.AddCookMarks(ctx, []lab.CookMark{{Entry: newEntry(f.deed, 1), Cook: lab.CookID(none), Event: lab.Reached}})
		},
		"making, batch": func(ctx context.Context, w store.Writer) error {
			return w.AddMakings(ctx, []lab.Making{{Entry: newEntry(f.deed, 1), Batch: lab.BatchID(none)}})
		},
	}
}

// testRefusedValues makes sure that what can not come back as it was is
// refused in words, and not cut or turned into something else.
func testRefusedValues(t *testing.T, s store.Store) {
	f := settle(t, s)
	nan := units.Fraction(math.NaN())
	for name, c := range map[string]call{
		"NUL": func(ctx context.Context, w store.Writer) error {
			return w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: "a", Note: "a\x00b"})
		},
		"no UTF-8": func(ctx context.Context, w store.Writer) error {
			return w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: "a", Note: "a\xffb"})
		},
		"setting": func(ctx context.Context, w store.Writer) error { return w.SetSetting(ctx, "a", "\x00") },
		"NaN": func(ctx context.Context, w store.Writer) error {
			return w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: "a", Moisture: &nan})
		},
		"infinite": func(ctx context.Context, w store.Writer) error {
			return w.AddPicks(ctx, []lab.Pick{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Flush: 1, Grams: units.Gram(math.Inf(1))}})
		},
		"negative": func(ctx context.Context, w store.Writer) error {
			return w.AddPicks(ctx, []lab.Pick{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Flush: 1, Grams: -1}})
		},
		"unknown fate": func(ctx context.Context, w store.Writer) error {
			return w.AddSeen(ctx, []lab.Seen{{Entry: newEntry(f.deed, 1), Jar: f.jar.ID, Fate: "eaten"}})
		},
		"unknown exactness": func(ctx context.Context, w store.Writer) error {
			return w.AddCulture(ctx, lab.Culture{ID: newID[lab.CultureID](), Name: "c", Made: lab.When{Time: instant(0), Exactness: "about"}})
		},
		"year of five digits": func(ctx context.Context, w store.Writer) error {
			return w.AddCulture(ctx, lab.Culture{ID: newID[lab.CultureID](), Name: "c", Made: lab.At(instant(0).AddDate(9000, 0, 0))})
		},
		"jar number 0": func(ctx context.Context, w store.Writer) error {
			return w.AddJars(ctx, []lab.Jar{{ID: newID[lab.JarID](), Code: code(9), Batch: f.batch.ID}})
		},
	} {
		t.Run(name, func(t *testing.T) { isProblem(t, tryWrite(t, s, c), lab.Invalid) })
	}
}
