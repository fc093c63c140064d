package storetest

import (
	"context"
	"slices"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

func testSettings(t *testing.T, s store.Store) {
	get := func(name string) string {
		return read(t, s, func(ctx context.Context, r store.Reader) (string, error) { return r.Setting(ctx, name) })
	}
	same(t, "setting that was never set", "", get("place"))
	for _, value := range []string{"UTC", "Europe/Here", ""} {
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.SetSetting(ctx, "place", value) })
		same(t, "setting", value, get("place"))
	}
	same(t, "other setting", "", get("Place"))
}

func testCultures(t *testing.T, s store.Store) {
	all := func() []lab.Culture {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Culture, error) { return r.Cultures(ctx) })
	}
	same(t, "number of cultures on an empty farm", 0, len(all()))
	parent := lab.Culture{ID: newID[lab.CultureID](), Name: "P-1", Form: lab.Plate, Made: onDay(2)}
	child := lab.Culture{
		ID: newID[lab.CultureID](), Name: "LC-3", Form: lab.LC, Strain: "blue", Species: "Pleurotus ostreatus",
		Parent: parent.ID, Made: at(0), Note: "two wedges\nin 500 mL",
	}
	backdated := lab.Culture{ID: newID[lab.CultureID](), Name: "G-1", Form: lab.Grain, Made: lab.Sometime(instant(-9999))}
	for _, c := range []lab.Culture{parent, child, backdated} {
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddCulture(ctx, c) })
	}
	same(t, "cultures, newest first", []lab.Culture{child, parent, backdated}, all())
	same(t, "culture", child, read(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) {
		return r.Culture(ctx, child.ID)
	}))
	same(t, "culture by name", child, read(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) {
		return r.CultureByName(ctx, "  lc-3 ")
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) { return r.Culture(ctx, "x") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Culture, error) { return r.CultureByName(ctx, "LC") })

	again := child
	again.Note = "changed"
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddCulture(ctx, again) })
	same(t, "cultures after the same ID twice", []lab.Culture{child, parent, backdated}, all())
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddCulture(ctx, lab.Culture{ID: newID[lab.CultureID](), Name: "Lc-3", Form: lab.LC})
	})
}

func testIngredients(t *testing.T, s store.Store) {
	wet := units.Fraction(0.12)
	rye := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "Rye", Moisture: &wet, Note: "organic"}
	wheat := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "wheat"}
	dry := units.Fraction(0)
	gypsum := lab.Ingredient{ID: newID[lab.IngredientID](), Name: "gypsum", Moisture: &dry}
	for _, i := range []lab.Ingredient{rye, wheat, gypsum, wheat} {
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddIngredient(ctx, i) })
	}
	same(t, "ingredients by name", []lab.Ingredient{gypsum, rye, wheat}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Ingredient, error) {
		return r.Ingredients(ctx)
	}))
	same(t, "ingredient by name", rye, read(t, s, func(ctx context.Context, r store.Reader) (lab.Ingredient, error) {
		return r.IngredientByName(ctx, "rYE")
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Ingredient, error) {
		return r.IngredientByName(ctx, "oats")
	})
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: "RYE"})
	})
}

func testContainers(t *testing.T, s store.Store) {
	jar := lab.Container{ID: newID[lab.ContainerID](), Name: "half-litre jar", Kind: "jar", Volume: 520.5, Bore: 80, Height: 120, Note: "wide mouth"}
	bag := lab.Container{ID: newID[lab.ContainerID](), Name: "Bag", Kind: "bag"}
	for _, c := range []lab.Container{jar, bag, jar} {
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddContainer(ctx, c) })
	}
	same(t, "containers by name", []lab.Container{bag, jar}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Container, error) {
		return r.Containers(ctx)
	}))
	same(t, "container", jar, read(t, s, func(ctx context.Context, r store.Reader) (lab.Container, error) {
		return r.Container(ctx, jar.ID)
	}))
	same(t, "container by name", bag, read(t, s, func(ctx context.Context, r store.Reader) (lab.Container, error) {
		return r.ContainerByName(ctx, "bag")
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Container, error) { return r.Container(ctx, "") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Container, error) { return r.ContainerByName(ctx, "tub") })
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddContainer(ctx, lab.Container{ID: newID[lab.ContainerID](), Name: "BAG", Kind: "bag"})
	})
}

func testRecipes(t *testing.T, s store.Store) {
	line := newID[lab.RecipeID]()
	first := newRecipe("rye and malt", line, 1)
	second := newRecipe("rye and malt", line, 2)
	second.Mixes = []lab.Mix{
		{Name: "dry mix", Lines: []lab.RecipeLine{{Ingredient: "rye", Amount: "1/2 cup"}, {Ingredient: "gypsum", Amount: "1 g"}}},
		{Name: "broth", Lines: []lab.RecipeLine{{Ingredient: "malt", Amount: "20 g"}}, MakeUpTo: "1 L"},
	}
	second.Fills = []lab.Fill{{Mix: "dry mix", Amount: "50 g"}, {Mix: "broth", Amount: "60 mL"}}
	second.Note = "sweeter"
	ph := 6.5
	second.Details = lab.Details{
		Route: lab.Soaked, Species: "Pleurotus ostreatus", PHBefore: &ph, SoakDry: "1 lb", SoakDrained: "28 oz",
		Lots: []lab.LotOf{{Ingredient: "rye", Lot: newID[lab.IngredientLotID]()}},
	}
	bare := lab.Recipe{ID: newID[lab.RecipeVersionID](), Line: newID[lab.RecipeID](), Name: "Bran", Version: 1, Made: instant(1)}
	for _, r := range []lab.Recipe{second, first, bare, second} { // in any order
		write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddRecipe(ctx, r) })
	}
	same(t, "newest versions by name", []lab.Recipe{bare, second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Recipe, error) {
		return r.Recipes(ctx)
	}))
	same(t, "an old version", first, read(t, s, func(ctx context.Context, r store.Reader) (lab.Recipe, error) {
		return r.Recipe(ctx, first.ID)
	}))
	same(t, "versions by identifier, by name", []lab.Recipe{bare, first, second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Recipe, error) {
		return r.RecipesByID(ctx, second.ID, "x", bare.ID, first.ID, bare.ID)
	}))
	same(t, "no versions", 0, len(read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Recipe, error) { return r.RecipesByID(ctx) })))
	same(t, "versions with their recipes", map[lab.RecipeVersionID]lab.RecipeID{first.ID: line, second.ID: line, bare.ID: bare.Line},
		read(t, s, func(ctx context.Context, r store.Reader) (map[lab.RecipeVersionID]lab.RecipeID, error) {
			return r.RecipeLines(ctx)
		}))
	same(t, "recipe by name", second, read(t, s, func(ctx context.Context, r store.Reader) (lab.Recipe, error) {
		return r.RecipeByName(ctx, "Rye  and MALT")
	}))
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Recipe, error) { return r.Recipe(ctx, "x") })
	notFound(t, s, func(ctx context.Context, r store.Reader) (lab.Recipe, error) { return r.RecipeByName(ctx, "malt") })
}

func testRecipeNames(t *testing.T, s store.Store) {
	mine := newRecipe("rye", newID[lab.RecipeID](), 1)
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddRecipe(ctx, mine) })
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddRecipe(ctx, newRecipe("rye", mine.Line, 1))
	})
	conflict(t, s, func(ctx context.Context, w store.Writer) error {
		return w.AddRecipe(ctx, newRecipe("RYE", newID[lab.RecipeID](), 1))
	})
	renamed := newRecipe("rye, coarse", mine.Line, 2)
	write(t, s, func(ctx context.Context, w store.Writer) error { return w.AddRecipe(ctx, renamed) })
	for _, name := range []string{"rye", "rye, coarse"} {
		same(t, "recipe by "+name, renamed, read(t, s, func(ctx context.Context, r store.Reader) (lab.Recipe, error) {
			return r.RecipeByName(ctx, name)
		}))
	}
	conflict(t, s, func(ctx context.Context, w store.Writer) error { // an old version still bears it
		return w.AddRecipe(ctx, newRecipe("rye", newID[lab.RecipeID](), 1))
	})
}

func testMakings(t *testing.T, s store.Store) {
	f := settle(t, s)
	first := lab.Making{
		Entry: newEntry(f.deed, 5), Batch: f.batch.ID, Recipe: f.recipe.ID, Mix: "dry mix", Label: "A",
		Weighed: []lab.Weighed{{Ingredient: "rye", Typed: "1 lb", Grams: 453.59237}},
	}
	back := lab.Making{Entry: newEntry(f.deed, -500), Batch: f.batch.ID, Mix: "broth"} // entered later, happened earlier
	corrected := first
	corrected.Entry = newEntry(f.deed, 6)
	corrected.Corrects, corrected.Weighed = first.ID, nil
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddMakings(ctx, nil), w.AddMakings(ctx, []lab.Making{first, back}),
			w.AddMakings(ctx, []lab.Making{corrected, first}))
	})
	get := func(b ...lab.BatchID) []lab.Making {
		return read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Making, error) { return r.Makings(ctx, b...) })
	}
	same(t, "makings in the order of entry", []lab.Making{first, back, corrected}, get(f.batch.ID))
	same(t, "makings of two", []lab.Making{first, back, corrected}, get("x", f.batch.ID))
	same(t, "makings of no batch", 0, len(get("x"))+len(get()))
}

func testOrderByBytes(t *testing.T, s store.Store) {
	// Upper and lower case are one to a grower; beyond that, bytes decide:
	// no locale puts é beside e on one machine and behind z on the next.
	want := []string{"-1", "10", "9", "a b", "ab", "Zebra", "élan", "Ünder", "日本", "🍄"}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		for i := range want {
			name := want[(i*7+3)%len(want)]
			if err := w.AddIngredient(ctx, lab.Ingredient{ID: newID[lab.IngredientID](), Name: name}); err != nil {
				return err
			}
		}
		return nil
	})
	got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Ingredient, error) { return r.Ingredients(ctx) })
	same(t, "order", want, names(got, func(i lab.Ingredient) string { return i.Name }))
	if !slices.IsSortedFunc(got, func(a, b lab.Ingredient) int {
		if lab.NameKey(a.Name) < lab.NameKey(b.Name) {
			return -1
		}
		return 1
	}) {
		t.Error("the list is not in the order of NameKey")
	}
}
