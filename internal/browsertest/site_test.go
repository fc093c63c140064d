package browsertest

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/blob"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/web"
)

// morning is when the clock of each farm starts: Monday 9 March 2026, 9:00 UTC.
var morning = time.Date(2026, 3, 9, 9, 0, 0, 0, time.UTC)

// clock is a time that tests move.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.now }

func (c *clock) add(d time.Duration) { c.mu.Lock(); defer c.mu.Unlock(); c.now = c.now.Add(d) }

// chance is a seeded source that many may read from.
type chance struct {
	mu sync.Mutex
	r  *rand.ChaCha8
}

func (c *chance) Read(b []byte) (int, error) { c.mu.Lock(); defer c.mu.Unlock(); return c.r.Read(b) }

// record is a log that many may write to.
type record struct {
	mu   sync.Mutex
	text strings.Builder
}

func (r *record) Write(b []byte) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.text.Write(b)
}

// faults returns the lines in which the server says that something broke.
func (r *record) faults() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	var out []string
	for line := range strings.Lines(r.text.String()) {
		if strings.Contains(line, "level=ERROR") || strings.Contains(line, "level=WARN") {
			out = append(out, strings.TrimSpace(line))
		}
	}
	return out
}

// site is a farm on a real SQLite file, served on a port of this machine.
type site struct {
	farm  *app.Farm
	clock *clock
	log   *record
	url   string // without a slash at the end
	close func()
}

// serve serves a farm in folder dir, after prepare has filled it.
func serve(dir string, prepare func(*app.Farm, func(...app.Option) *app.Farm) error) (*site, error) {
	db, err := sqldb.Open(context.Background(), sqldb.File(dir))
	if err != nil {
		return nil, err
	}
	x := &site{clock: &clock{now: morning}, log: &record{}}
	own := []app.Option{app.WithClock(x.clock.Now), app.WithChance(&chance{r: rand.NewChaCha8([32]byte{7})})}
	open := func(o ...app.Option) *app.Farm { return farmOf(db, dir, append(own, o...)...) }
	x.farm = open()
	if err := prepare(x.farm, open); err != nil {
		return nil, err
	}
	handler, err := web.New(x.farm, web.Options{Listen: "127.0.0.1:0", Log: slog.New(slog.NewTextHandler(x.log, nil))})
	if err != nil {
		return nil, err
	}
	server := httptest.NewServer(handler)
	x.url = server.URL
	x.close = func() { server.Close(); db.Close() }
	return x, nil
}

// farmOf is the farm in a folder, its photos beside its records.
func farmOf(db *sqldb.DB, dir string, o ...app.Option) *app.Farm {
	return app.New(db, append(o, app.WithFiles(blob.In(filepath.Join(dir, "photos"))))...)
}

// newSite serves a farm of its own to t, with a recipe or two, a container
// and a culture.
func newSite(t testing.TB) *site {
	t.Helper()
	x, err := serve(t.TempDir(), func(f *app.Farm, _ func(...app.Option) *app.Farm) error {
		if err := f.SaveSettings(context.Background(), app.NewSettings{Name: "Test barn", Zone: "UTC"}); err != nil {
			return err
		}
		return stock(f)
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		x.close()
		for _, line := range x.log.faults() {
			t.Errorf("the server logged: %s", line)
		}
	})
	return x
}

// stock writes down two recipes, a container and a culture.
func stock(f *app.Farm) error {
	ctx := context.Background()
	if _, err := f.AddCulture(ctx, app.NewCulture{Name: "LC-3", Form: "LC", Strain: "K2", Species: "Cordyceps militaris"}); err != nil {
		return err
	}
	pint := app.NewContainer{Name: "pint jar", Kind: "jar", Volume: "1 pt", Bore: "76 mm", Height: "125 mm"}
	if _, err := f.AddContainer(ctx, pint); err != nil {
		return err
	}
	for _, grain := range []string{"brown rice", "millet"} {
		recipe := app.NewRecipe{
			Name: grain + " cake",
			Mixes: []lab.Mix{
				{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "40 g"}, {Ingredient: "gypsum", Amount: "1 g"}}},
				{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "malt extract", Amount: "20 g"}, {Ingredient: "peptone", Amount: "5 g"}}},
			},
			Fills: []lab.Fill{{Mix: "grain", Amount: "41 g"}, {Mix: "broth", Amount: "50 mL"}},
		}
		if _, err := f.AddRecipe(ctx, recipe); err != nil {
			return err
		}
	}
	return nil
}

// demoFarm is the demo farm after its year. Tests only read it: they share it.
var demoFarm = sync.OnceValues(func() (*site, error) {
	return serve(sharedDir, func(_ *app.Farm, open func(...app.Option) *app.Farm) error {
		return demo.Plant(context.Background(), open, morning)
	})
})

// inDemo returns the demo farm.
func inDemo(t testing.TB) *site {
	t.Helper()
	x, err := demoFarm()
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// act is a fresh act of entry.
func act() app.Act { return app.Act{ID: app.NewActID(), By: "MO"} }

// must returns v, or ends the test.
func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
