package app_test

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

// counted is a farm whose statements are counted.
type counted struct {
	*app.Farm
	db         *sqldb.DB
	ctx        context.Context
	statements atomic.Int64
}

// newCounted returns a farm with batches of so many jars that grow on one
// shelf each, all of them looked at.
func newCounted(t *testing.T, batches, jars int) *counted {
	t.Helper()
	db, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	c := &counted{db: db, ctx: t.Context()}
	db.Watch(func(string) { c.statements.Add(1) })
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	c.Farm = app.New(db, app.WithClock(func() time.Time { return now }))
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	ok(c.SaveSettings(c.ctx, app.NewSettings{Zone: "UTC"}))
	for _, name := range []string{"cake", "other cake"} {
		_, err = c.AddRecipe(c.ctx, app.NewRecipe{
			Name: name, Mixes: []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: "oats", Amount: "40 g"}}}}, Fills: []lab.Fill{{Mix: "grain", Amount: "40 g"}},
		})
		ok(err)
	}
	_, err = c.AddContainer(c.ctx, app.NewContainer{Name: "jar", Kind: "jar", Volume: "500 mL", Bore: "80 mm", Height: "110 mm"})
	ok(err)
	for n := range batches {
		culture := fmt.Sprint("LC-", n)
		_, err = c.AddCulture(c.ctx, app.NewCulture{Name: culture, Form: "LC", Species: "Cordyceps militaris", Made: "today"})
		ok(err)
		k, err := c.KeepPlan(c.ctx, app.Act{}, app.PlanInput{
			Name: fmt.Sprint("Run ", n), Culture: culture, Container: "jar", Jars: jars / 2, BlanksPerCook: 1,
			Arms: []app.PlanArm{{Name: "plain", Recipe: "cake"}, {Name: "other", Recipe: "other cake"}}, Differ: []string{"recipe"}, Control: "plain",
			Cooks: []app.PlanCook{{Places: []int{jars + 1}, Hold: "60 min"}}, Shelves: []app.PlanShelf{{Name: fmt.Sprint("Shelf ", n), Places: jars + 1}},
		})
		ok(err)
		for hours, e := range []lab.Event{lab.Reached, lab.HeatOff, lab.Opened} {
			now = now.Add(time.Duration(hours+1) * 61 * time.Minute)
			_, err := c.MarkCook(c.ctx, app.Act{}, fmt.Sprint(k.Cooks[0].Number), e, "now")
			ok(err)
		}
		_, err = c.Inoculate(c.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL", At: "now"})
		ok(err)
		now = now.Add(time.Hour)
		_, err = c.See(c.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String(), Sign: "clean"})
		ok(err)
		if n == 0 {
			_, err = c.See(c.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1–5", Fate: "lost", Reason: "fouled"})
			ok(err)
		}
	}
	now = now.Add(6 * 24 * time.Hour)
	return c
}

// asks counts the statements of what f reads when nothing is remembered yet.
func (c *counted) asks(t *testing.T, f func() error) int64 {
	t.Helper()
	before := c.statements.Load()
	if err := f(); err != nil {
		t.Fatal(err)
	}
	return c.statements.Load() - before
}

// What a page asks of the records does not grow with the number of jars, nor
// with that of batches, cooks and acts of entry.
func TestStatementsDoNotGrow(t *testing.T) {
	small, large := newCounted(t, 2, 6), newCounted(t, 6, 24)
	for _, page := range []struct {
		name string
		read func(*counted) error
	}{
		{"Today", func(c *counted) error { _, err := c.Today(c.ctx); return err }},
		{"shelf", func(c *counted) error { _, err := c.Shelf(c.ctx, 0, 400); return err }},
		{"batch", func(c *counted) error { _, err := c.BatchView(c.ctx, "B2", 0); return err }},
		{"forecast", func(c *counted) error { _, err := c.Forecast(c.ctx, "B2"); return err }},
		{"round of a shelf", func(c *counted) error { _, err := c.Round(c.ctx, "Shelf 1", time.Unix(0, 0)); return err }},
		{"round of a batch", func(c *counted) error {
			v, err := c.BatchView(c.ctx, "B2", 0)
			if err == nil {
				_, _, err = c.RestOfBatch(c.ctx, v, time.Unix(0, 0))
			}
			return err
		}},
		{"batches", func(c *counted) error { _, err := c.Batches(c.ctx); return err }},
		{"own standard", func(c *counted) error { _, err := c.Standard(c.ctx); return err }},
		{"past trials", func(c *counted) error { _, err := c.Past(c.ctx); return err }},
		{"trials", func(c *counted) error { _, err := c.Trials(c.ctx); return err }},
		{"trial", func(c *counted) error { _, err := c.TrialView(c.ctx, "Run 1"); return err }},
		{"days of a trial", func(c *counted) error { _, err := c.TrialDays(c.ctx, "Run 0"); return err }},
		{"who fouled it", func(c *counted) error {
			v, err := c.Fouled(c.ctx, app.FouledInput{})
			if err == nil && len(v.Touched) == 0 {
				err = errors.New("nothing is suspected")
			}
			return err
		}},
		{"cultures", func(c *counted) error { _, err := c.Cultures(c.ctx); return err }},
		{"culture", func(c *counted) error { _, err := c.CultureView(c.ctx, "LC-0"); return err }},
		{"cooks", func(c *counted) error { _, err := c.Cooks(c.ctx); return err }},
		{"calendar", func(c *counted) error { _, err := c.Calendar(c.ctx); return err }},
	} {
		few := small.asks(t, func() error { return page.read(small) })
		many := large.asks(t, func() error { return page.read(large) })
		if many > few || few == 0 {
			t.Errorf("%s: %d statements with 6 batches of 24 jars, %d with 2 of 6", page.name, many, few)
		}
	}
	again := large.asks(t, func() error { _, err := large.Today(large.ctx); return err })
	if once := small.asks(t, func() error { _, err := small.Today(small.ctx); return err }); again > once {
		t.Errorf("Today again: %d statements with many jars, %d with few", again, once)
	}
}
