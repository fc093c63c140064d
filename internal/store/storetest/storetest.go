// Package storetest holds what every implementation of package store must
// pass: what its methods return, in which order, which error they give, and
// the promises of its transactions.
package storetest

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// Run runs the suite. open returns an empty store for the test that it is
// given; Run closes it.
func Run(t *testing.T, open func(t *testing.T) store.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, store.Store)
	}{
		{"settings", testSettings},
		{"cultures", testCultures},
		{"keepings", testKeepings},
		{"culture uses", testCultureUses},
		{"ingredients", testIngredients},
		{"containers", testContainers},
		{"recipes", testRecipes},
		{"recipe names", testRecipeNames},
		{"makings", testMakings},
		{"ingredient figures", testIngredientFigures},
		{"ingredient lots", testIngredientLots},
		{"drawn from lots", testDrawnFromLots},
		{"batches", testBatches},
		{"open batches", testOpenBatches},
		{"jars round trip", testJarsRoundTrip},
		{"jar filters", testJarFilters},
		{"jar codes", testJarCodes},
		{"jars taken", testJarsTaken},
		{"jar places", testPlaces},
		{"standings", testStandings},
		{"tallies", testTallies},
		{"jar entries", testJarEntries},
		{"corrections", testCorrections},
		{"photos", testPhotos},
		{"photo corrections", testPhotoCorrections},
		{"cooks", testCooks},
		{"cook marks", testCookMarks},
		{"cookers", testCookers},
		{"cook steps", testCookSteps},
		{"cook records", testCookRecords},
		{"calibrations", testCalibrations},
		{"cook items", testCookItems},
		{"loads", testLoads},
		{"trials", testTrials},
		{"allotments", testAllotments},
		{"analyses", testAnalyses},
		{"openings", testOpenings},
		{"guests", testGuests},
		{"courses", testCourses},
		{"arrivals", testArrivals},
		{"growing", testGrowing},
		{"noted", testNoted},
		{"written", testWritten},
		{"forecasts", testForecasts},
		{"deeds", testDeeds},
		{"deed entries", testDeedEntries},
		{"people", testPeople},
		{"devices", testDevices},
		{"times", testTimes},
		{"texts", testTexts},
		{"order by bytes", testOrderByBytes},
		{"blanks are not records", testBlanks},
		{"records that are not there", testDangling},
		{"values that can not be kept", testRefusedValues},
		{"error keeps nothing", testErrorKeepsNothing},
		{"panic keeps nothing", testPanicKeepsNothing},
		{"failed call keeps nothing", testFailedCallKeepsNothing},
		{"cancelled keeps nothing", testCancelledKeepsNothing},
		{"store lives after errors", testLivesAfterErrors},
		{"no update is lost", testNoLostUpdate},
		{"readers see one state", testOneState},
		{"writer sees its own writes", testOwnWrites},
		{"close waits", testCloseWaits},
		{"ten thousand jars", testManyJars},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t)
			defer func() {
				if err := s.Close(); err != nil {
					t.Errorf("Close: %v", err)
				}
			}()
			c.test(t, s)
		})
	}
}

// newID makes an identifier as the program does.
func newID[T ~string]() T {
	id, err := uuid.NewV7()
	if err != nil {
		panic(err) // no random numbers: the machine is broken
	}
	return T(id.String())
}

// write runs f in a transaction that must succeed.
func write(t *testing.T, s store.Store, f func(ctx context.Context, w store.Writer) error) {
	t.Helper()
	if err := tryWrite(t, s, f); err != nil {
		t.Fatalf("Write: %v", err)
	}
}

func tryWrite(t *testing.T, s store.Store, f func(ctx context.Context, w store.Writer) error) error {
	t.Helper()
	ctx := t.Context()
	return s.Write(ctx, func(w store.Writer) error { return f(ctx, w) })
}

// read returns what f reads, which must succeed.
func read[T any](t *testing.T, s store.Store, f func(ctx context.Context, r store.Reader) (T, error)) T {
	t.Helper()
	got, err := tryRead(t, s, f)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	return got
}

func tryRead[T any](t *testing.T, s store.Store, f func(ctx context.Context, r store.Reader) (T, error)) (got T, err error) {
	t.Helper()
	ctx := t.Context()
	err = s.Read(ctx, func(r store.Reader) error {
		var err error
		got, err = f(ctx, r)
		return err
	})
	return got, err
}

// same fails t if got is not want.
func same(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", what, diff)
	}
}

// isProblem fails t unless err is a Problem of kind k with words and a mend.
func isProblem(t *testing.T, err error, k lab.Kind) {
	t.Helper()
	p, ok := lab.AsProblem(err)
	if !ok {
		t.Errorf("error %v is no Problem, want kind %s", err, k)
		return
	}
	if p.Kind != k || p.What == "" || p.Mend == "" {
		t.Errorf("Problem is %+v, want kind %s, with words and what to do", *p, k)
	}
}

// notFound fails t unless f gives a NotFound Problem.
func notFound[T any](t *testing.T, s store.Store, f func(ctx context.Context, r store.Reader) (T, error)) {
	t.Helper()
	_, err := tryRead(t, s, f)
	isProblem(t, err, lab.NotFound)
}

// conflict fails t unless f gives a Conflict Problem.
func conflict(t *testing.T, s store.Store, f func(ctx context.Context, w store.Writer) error) {
	t.Helper()
	isProblem(t, tryWrite(t, s, f), lab.Conflict)
}

// at is an exact time n minutes into the season.
func at(n int) lab.When { return lab.At(instant(n)) }

func instant(n int) time.Time {
	return time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC).Add(time.Duration(n) * time.Minute)
}

// onDay is a calendar day of March 2026.
func onDay(day int) lab.When { return lab.OnDay(time.Date(2026, 3, day, 0, 0, 0, 0, time.UTC)) }

// names maps records to their names.
func names[T any](records []T, name func(T) string) []string {
	out := make([]string, len(records))
	for i, r := range records {
		out[i] = name(r)
	}
	return out
}

// code is jar code number n.
func code(n int) lab.Code { return lab.CodeOf(uint64(n)) }

// farm is one of each record, stored.
type farm struct {
	culture   lab.Culture
	container lab.Container
	recipe    lab.Recipe
	trial     lab.Trial
	batch     lab.Batch
	cook      lab.Cook
	jar       lab.Jar // in the cook
	deed      lab.Deed
}

// settle stores a farm with one of each.
func settle(t *testing.T, s store.Store) farm {
	t.Helper()
	f := farm{
		culture:   lab.Culture{ID: newID[lab.CultureID](), Name: "LC-1", Form: lab.LC, Made: at(0)},
		container: lab.Container{ID: newID[lab.ContainerID](), Name: "half-litre jar", Kind: "jar", Volume: 520},
		recipe:    newRecipe("rye", newID[lab.RecipeID](), 1),
		trial:     newTrial("malt or none"),
		cook:      lab.Cook{ID: newID[lab.CookID](), Number: 1, Day: onDay(4)},
		deed:      newDeed("first"),
	}
	f.batch = lab.Batch{ID: newID[lab.BatchID](), Number: 1, Made: onDay(4), Trial: f.trial.ID}
	f.jar = lab.Jar{
		ID: newID[lab.JarID](), Code: code(0), Batch: f.batch.ID, Number: 1, Recipe: f.recipe.ID,
		Container: f.container.ID, Culture: f.culture.ID, Cook: f.cook.ID,
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		_, err := w.AddDeed(ctx, f.deed)
		return firstError(err, w.AddCulture(ctx, f.culture), w.AddContainer(ctx, f.container), w.AddRecipe(ctx, f.recipe),
			w.AddTrial(ctx, f.trial), w.AddBatch(ctx, f.batch), w.AddCook(ctx, f.cook), w.AddJars(ctx, []lab.Jar{f.jar}))
	})
	return f
}

// addBatch stores batch number n with as many jars, whose codes begin at
// 1000·n, and returns them.
func addBatch(t *testing.T, s store.Store, n, jars int, change func(*lab.Jar)) (lab.Batch, []lab.Jar) {
	t.Helper()
	b := lab.Batch{ID: newID[lab.BatchID](), Number: n, Made: onDay(1)}
	all := make([]lab.Jar, jars)
	for i := range all {
		all[i] = lab.Jar{ID: newID[lab.JarID](), Code: code(1000*n + i), Batch: b.ID, Number: i + 1}
		if change != nil {
			change(&all[i])
		}
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddBatch(ctx, b), w.AddJars(ctx, all))
	})
	return b, all
}

func newDeed(what string) lab.Deed {
	return lab.Deed{ID: newID[lab.DeedID](), What: what, Entered: instant(0), By: "ab"}
}

// newEntry is part of deed d, n minutes into the season.
func newEntry(d lab.Deed, n int) lab.Entry {
	return lab.Entry{ID: newID[lab.EntryID](), Deed: d.ID, At: at(n), Entered: instant(n + 60), By: "cd"}
}

func newRecipe(name string, line lab.RecipeID, version int) lab.Recipe {
	return lab.Recipe{
		ID: newID[lab.RecipeVersionID](), Line: line, Name: name, Version: version,
		Mixes: []lab.Mix{{Name: "dry mix", Lines: []lab.RecipeLine{{Ingredient: "rye", Amount: "50 g"}}}},
		Fills: []lab.Fill{{Mix: "dry mix", Amount: "50 g"}},
		Made:  instant(0),
	}
}

func newTrial(name string) lab.Trial {
	return lab.Trial{
		ID: newID[lab.TrialID](), Name: name, Differ: []lab.Factor{lab.ByTreatment},
		Arms:    []lab.Arm{{Name: "A", Treatment: "malt"}, {Name: "B", Treatment: "none"}},
		Matters: 20, Primary: lab.PerInoculated, Planned: instant(0),
	}
}

// firstError returns the first error of several calls.
func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// numbered returns "what 007".
func numbered(what string, n int) string { return fmt.Sprintf("%s %03d", what, n) }
