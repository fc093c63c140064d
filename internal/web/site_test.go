package web

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/blob"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

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

// site is a farm on a real SQLite file with its pages.
type site struct {
	t       testing.TB
	farm    *app.Farm
	files   *blob.Folder // of photos
	clock   *clock
	log     *strings.Builder
	handler http.Handler
	cookies []*http.Cookie
	options Options
}

// newSite returns an empty farm's pages. Its clock stands at 2 March 2026, 9:00 UTC.
func newSite(t testing.TB, o Options) *site {
	t.Helper()
	db, err := sqldb.Open(context.Background(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	c := &clock{now: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	x := &site{t: t, files: blob.In(filepath.Join(t.TempDir(), "photos")), clock: c, log: &strings.Builder{}}
	x.farm = app.New(db, app.WithClock(c.Now), app.WithChance(&chance{r: rand.NewChaCha8([32]byte{5})}), app.WithFiles(x.files))
	if err := x.farm.SaveSettings(context.Background(), app.NewSettings{Name: "Test barn", Zone: "UTC"}); err != nil {
		t.Fatal(err)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.NewTextHandler(x.log, nil))
	}
	x.options = o
	x.restart()
	return x
}

// restart serves the same records by a new server.
func (x *site) restart() {
	x.t.Helper()
	s, err := newServer(x.farm, x.options)
	if err != nil {
		x.t.Fatal(err)
	}
	s.now = x.clock.Now
	x.handler = s.handler(newHosts(x.options.Hosts))
}

// answer is what came back.
type answer struct {
	*httptest.ResponseRecorder
	t    testing.TB
	what string
}

// do sends r as a browser on this machine would, with the cookies so far.
func (x *site) do(r *http.Request) answer {
	x.t.Helper()
	if r.Host == "example.com" {
		r.Host = "127.0.0.1:8470"
	}
	for _, c := range x.cookies {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	x.handler.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		x.setCookie(c)
	}
	return answer{w, x.t, r.Method + " " + r.URL.Path}
}

func (x *site) setCookie(c *http.Cookie) {
	kept := x.cookies[:0]
	for _, k := range x.cookies {
		if k.Name != c.Name {
			kept = append(kept, k)
		}
	}
	x.cookies = kept
	if c.MaxAge >= 0 {
		x.cookies = append(x.cookies, c)
	}
}

func (x *site) get(path string) answer {
	x.t.Helper()
	return x.do(httptest.NewRequest(http.MethodGet, path, nil))
}

// post sends a form with a fresh act, unless v names one.
func (x *site) post(path string, v url.Values) answer {
	x.t.Helper()
	if v.Get("act") == "" {
		v.Set("act", string(app.NewActID()))
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return x.do(r)
}

// status fails the test unless a has the status.
func (a answer) status(want int) answer {
	a.t.Helper()
	if a.Code != want {
		a.t.Fatalf("%s: status %d, want %d\n%s", a.what, a.Code, want, a.brief())
	}
	return a
}

// brief is what the answer says, without its frame.
func (a answer) brief() string {
	if m := a.doc().all(tag("main")); len(m) == 1 {
		return clipped(text(m[0]), 600)
	}
	return clipped(a.Body.String(), 600)
}

// to fails the test unless a sends the browser to path.
func (a answer) to(path string) answer {
	a.t.Helper()
	a.status(http.StatusSeeOther)
	if got := a.Header().Get("Location"); got != path {
		a.t.Fatalf("%s: sent to %s, want %s", a.what, got, path)
	}
	return a
}

// must returns v, or fails the test.
func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// stock writes down two recipes, a container and a culture.
func (x *site) stock() {
	x.t.Helper()
	ctx := context.Background()
	must[lab.Culture](x.t)(x.farm.AddCulture(ctx, app.NewCulture{Name: "LC-3", Form: "LC", Strain: "K2", Species: "Cordyceps militaris"}))
	must[lab.Container](x.t)(x.farm.AddContainer(ctx, app.NewContainer{Name: "pint jar", Kind: "jar", Volume: "1 pt", Bore: "76 mm", Height: "125 mm"}))
	for _, grain := range []string{"brown rice", "millet"} {
		must[lab.Recipe](x.t)(x.farm.AddRecipe(ctx, app.NewRecipe{
			Name: grain + " cake",
			Mixes: []lab.Mix{
				{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "40 g"}, {Ingredient: "gypsum", Amount: "1 g"}}},
				{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "malt extract", Amount: "20 g"}, {Ingredient: "peptone", Amount: "5 g"}}},
			},
			Fills: []lab.Fill{{Mix: "grain", Amount: "41 g"}, {Mix: "broth", Amount: "50 mL"}},
		}))
	}
}

// plan is a trial of two recipes, jars an arm in two cooks of two layers.
func plan(name string, jars int) app.PlanInput {
	places := (jars + 4) / 2
	return app.PlanInput{
		Name: name, Question: "Does millet give more than brown rice?", Differ: []string{"recipe"},
		Arms:    []app.PlanArm{{Name: "brown rice", Recipe: "brown rice cake"}, {Name: "millet", Recipe: "millet cake"}},
		Culture: "LC-3", Container: "pint jar", Jars: jars, BlanksPerCook: 1,
		Cooks:   []app.PlanCook{{Places: []int{places, places}, Hold: "90 min", Gauge: "15 psi"}, {Places: []int{places, places}, Hold: "90 min", Gauge: "15 psi"}},
		Control: "brown rice", Matters: 20, Primary: "inoculated", Seed: "40218",
	}
}

// batch keeps a trial with so many jars an arm and returns it.
func (x *site) batch(jars int) app.Kept {
	x.t.Helper()
	return must[app.Kept](x.t)(x.farm.KeepPlan(context.Background(), app.Act{ID: app.NewActID()}, plan("rice or millet", jars)))
}

// cooked logs a hold of 95 minutes for all cooks of k.
func (x *site) cooked(k app.Kept) {
	x.t.Helper()
	for _, c := range k.Cooks {
		name := fmt.Sprint(c.Number)
		x.mark(name, lab.Reached)
		x.clock.add(95 * time.Minute)
		x.mark(name, lab.HeatOff)
		x.clock.add(2 * time.Hour)
		x.mark(name, lab.Opened)
	}
}

func (x *site) mark(cook string, e lab.Event) {
	x.t.Helper()
	must[app.CookView](x.t)(x.farm.MarkCook(context.Background(), app.Act{ID: app.NewActID()}, cook, e, ""))
}

// grown cooks and inoculates k, then picks from all jars but every seventh,
// which is lost.
func (x *site) grown(k app.Kept) {
	x.t.Helper()
	x.cooked(k)
	ctx, batch := context.Background(), k.Batch.String()
	must[app.InoculateReport](x.t)(x.farm.Inoculate(ctx, app.Act{ID: app.NewActID()}, app.InoculateInput{Batch: batch, Amount: "2 mL"}))
	x.clock.add(40 * 24 * time.Hour)
	v := must[app.BatchView](x.t)(x.farm.BatchView(ctx, batch, 0))
	in := app.PickInput{}
	for i, j := range v.Jars {
		switch {
		case j.Blank:
		case i%7 == 3:
			must[app.Done](x.t)(x.farm.See(ctx, app.Act{ID: app.NewActID()}, app.SeeInput{Jars: string(j.Code), Fate: "lost", Reason: "fouled"}))
		default:
			grams := 12 + float64(i%5)
			if j.Arm == "millet" {
				grams += 3
			}
			in.Picks = append(in.Picks, app.TypedPick{Jar: string(j.Code), Grams: fmt.Sprint(grams)})
		}
	}
	must[app.Done](x.t)(x.farm.PickJars(ctx, app.Act{ID: app.NewActID()}, in))
}

// nameEverything makes a trial of six jars in which everything is called name.
func (x *site) nameEverything(name string) {
	x.t.Helper()
	ctx := context.Background()
	if err := x.farm.SaveSettings(ctx, app.NewSettings{Name: name}); err != nil {
		x.t.Fatal(err)
	}
	must[lab.Culture](x.t)(x.farm.AddCulture(ctx, app.NewCulture{Name: name, Form: "LC", Strain: name, Species: name, Note: name}))
	must[lab.Container](x.t)(x.farm.AddContainer(ctx, app.NewContainer{Name: name, Kind: "jar", Note: name}))
	must[lab.Ingredient](x.t)(x.farm.AddIngredient(ctx, app.NewIngredient{Name: name, Note: name}))
	mixes := []lab.Mix{{Name: name + " mix", Lines: []lab.RecipeLine{{Ingredient: name, Amount: "40 g"}}}}
	must[lab.Recipe](x.t)(x.farm.AddRecipe(ctx, app.NewRecipe{Name: name, Note: name, Mixes: mixes, Fills: []lab.Fill{{Mix: name + " mix", Amount: "40 g"}}}))
	in := app.PlanInput{
		Name: name, Question: name, Differ: []string{"treatment"}, Recipe: name, Culture: name, Container: name, Jars: 3, BlanksPerCook: 1,
		Arms:    []app.PlanArm{{Name: name, Treatment: name}, {Name: "usual", Treatment: "none"}},
		Cooks:   []app.PlanCook{{Name: name, Cooker: name, Places: []int{4, 4}, Hold: "60 min"}},
		Shelves: []app.PlanShelf{{Name: name, Places: 10}},
	}
	must[app.Kept](x.t)(x.farm.KeepPlan(ctx, app.Act{ID: app.NewActID(), By: "MO"}, in))
}

// upload sends a file with the fields of v.
func (x *site) upload(path, name, content string, v url.Values) answer {
	x.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for key, values := range v {
		for _, value := range values {
			if err := m.WriteField(key, value); err != nil {
				x.t.Fatal(err)
			}
		}
	}
	part, err := m.CreateFormFile("file", name)
	if err != nil {
		x.t.Fatal(err)
	}
	if _, err := part.Write([]byte(content)); err != nil {
		x.t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		x.t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return x.do(r)
}
