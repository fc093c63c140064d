package app_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/store/sqldb"
	"pinset/internal/testdb"
	"pinset/internal/testfile"
)

// clock is a time that tests move.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.now }

func (c *clock) days(n int) { c.mu.Lock(); defer c.mu.Unlock(); c.now = c.now.AddDate(0, 0, n) }

func (c *clock) minutes(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(time.Duration(n) * time.Minute)
}

// chance is a seeded source that many may read from.
type chance struct {
	mu sync.Mutex
	r  *rand.ChaCha8
}

func (c *chance) Read(b []byte) (int, error) { c.mu.Lock(); defer c.mu.Unlock(); return c.r.Read(b) }

// bench is a farm with its clock.
type bench struct {
	*app.Farm
	t     testing.TB
	ctx   context.Context
	clock *clock
	store store.Store
}

// onBoth runs a test on a farm in a SQLite file and on one in PostgreSQL.
func onBoth(t *testing.T, test func(*bench)) {
	t.Run("sqlite", func(t *testing.T) {
		s, err := sqldb.Open(t.Context(), testfile.New(t))
		if err != nil {
			t.Fatal(err)
		}
		test(newBench(t, s))
	})
	t.Run("postgres", func(t *testing.T) {
		s, err := sqldb.Open(t.Context(), testdb.PostgresURL(t))
		if err != nil {
			t.Fatal(err)
		}
		test(newBench(t, s))
	})
}

func newBench(t testing.TB, s *sqldb.DB) *bench {
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	c := &clock{now: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	var seed [32]byte
	seed[0] = 7
	f := app.New(s, app.WithClock(c.Now), app.WithChance(&chance{r: rand.NewChaCha8(seed)}), app.WithFiles(s.Files()))
	b := &bench{Farm: f, t: t, ctx: context.Background(), clock: c, store: s}
	b.ok(f.SaveSettings(b.ctx, app.NewSettings{Name: "Test farm", Zone: "UTC", Altitude: "420 m"}))
	return b
}

func (b *bench) ok(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// must returns v, or ends the test.
func must[T any](v T, err error) func(*bench) T {
	return func(b *bench) T {
		b.t.Helper()
		b.ok(err)
		return v
	}
}

// supplies stocks two recipes, a culture and a container.
func (b *bench) supplies() {
	b.t.Helper()
	recipe := func(name, grain string) {
		must(b.AddRecipe(b.ctx, app.NewRecipe{
			Name: name,
			Mixes: []lab.Mix{
				{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "40 g"}}},
				{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "malt extract", Amount: "20 g"}, {Ingredient: "yeast extract", Amount: "3 g"}}},
			},
			Fills: []lab.Fill{{Mix: "grain", Amount: "40 g"}, {Mix: "broth", Amount: "48 mL"}},
		}))(b)
	}
	recipe("oats", "oats")
	recipe("millet", "millet")
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-1", Form: "LC", Strain: "A1", Made: "2026-02-10"}))(b)
	must(b.AddContainer(b.ctx, app.NewContainer{Name: "half-litre jar", Kind: "jar", Volume: "500 mL", Bore: "80 mm", Height: "110 mm"}))(b)
}

// plan is oats against millet, 6 jars each in one cook of two layers.
func plan(name string) app.PlanInput {
	return app.PlanInput{
		Name: name, Question: "Does millet give more than oats?", Differ: []string{"recipe"},
		Arms:    []app.PlanArm{{Name: "oats", Recipe: "oats"}, {Name: "millet", Recipe: "millet"}},
		Culture: "LC-1", Container: "half-litre jar", Jars: 6, BlanksPerCook: 1,
		Cooks:   []app.PlanCook{{Places: []int{7, 7}, Hold: "60 min", Gauge: "15 psi"}},
		Shelves: []app.PlanShelf{{Name: "1", Places: 7}, {Name: "2", Places: 7}},
		Closing: "2026-05-20", Control: "oats", Seed: "40218",
	}
}

// cooked plans a trial and cooks it with a hold of so many minutes.
func (b *bench) cooked(in app.PlanInput, minutes int) app.Kept {
	b.t.Helper()
	k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
	for _, c := range k.Cooks {
		name := fmt.Sprint(c.Number)
		b.clock.minutes(20)
		must(b.MarkCook(b.ctx, app.Act{}, name, lab.Reached, "now"))(b)
		b.clock.minutes(minutes)
		must(b.MarkCook(b.ctx, app.Act{}, name, lab.HeatOff, "now"))(b)
	}
	b.clock.days(1)
	return k
}

// grams are weights for jars 1 to n of a batch, by arm.
func (b *bench) weigh(k app.Kept, grams map[string]float64) {
	b.t.Helper()
	view := must(b.BatchView(b.ctx, k.Batch.String(), 0))(b)
	var picks []app.TypedPick
	for i, j := range view.Jars {
		if j.Blank {
			continue
		}
		g := grams[j.Arm] + 0.4*float64(i%5)
		picks = append(picks, app.TypedPick{Jar: fmt.Sprintf("%s·%d", k.Batch, j.Number), Grams: fmt.Sprintf("%.1f", g)})
	}
	must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: picks, At: "today"}))(b)
}

// folderOf is a package as a folder, with another description.
func folderOf(p *app.Package, raw []byte) fstest.MapFS {
	folder := fstest.MapFS{"datapackage.json": {Data: raw}}
	for name, data := range p.Files {
		folder[name] = &fstest.MapFile{Data: data}
	}
	return folder
}
