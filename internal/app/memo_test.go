package app_test

import (
	"encoding/json"
	"testing"

	"pinset/internal/app"
)

// What is remembered from earlier pages says the same as what is read anew,
// after each kind of entry that it could rest on.
func TestRememberedIsAsReadAnew(t *testing.T) {
	c := newCounted(t, 3, 6)
	var last app.Done
	see := func(in app.SeeInput) func() error {
		return func() (err error) {
			last, err = c.See(c.ctx, app.Act{}, in)
			return err
		}
	}
	steps := []struct {
		name string
		do   func() error
	}{
		{"nothing", func() error { return nil }},
		{"a stage on some jars", see(app.SeeInput{Jars: "B2·1–4", Stage: "cover"})},
		{"its undo", func() error { _, err := c.Undo(c.ctx, app.Act{}, last.Deed); return err }},
		{"a stage that came earlier", see(app.SeeInput{Jars: "B3·1–6", Stage: "growth", At: "5 Mar 2026"})},
		{"a lost jar", see(app.SeeInput{Jars: "B1·2", Sign: "green", Fate: "lost", Reason: "fouled"})},
		{"limits", func() error { return c.SetStageLimits(c.ctx, "cover 3\nair 2\ncheck 1") }},
		{"a note that is a chore done", see(app.SeeInput{Jars: "B2·5", Note: "aired"})},
		{"a target of the strain", func() error { return c.SetTarget(c.ctx, "Cordyceps militaris", "", "run.days", "4 – 6") }},
		{"a walking order", func() error { return c.SetWalkingOrder(c.ctx, "Shelf 2\nShelf 0") }},
		{"the time zone", func() error { return c.SaveSettings(c.ctx, app.NewSettings{Zone: "Pacific/Auckland"}) }},
		{"a pick", func() error {
			_, err := c.PickJars(c.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: "B1·1", Grams: "21"}}})
			return err
		}},
		{"a batch", func() error {
			_, err := c.KeepPlan(c.ctx, app.Act{}, app.PlanInput{Name: "Late", Recipe: "cake", Culture: "LC-1", Container: "jar", Jars: 2, Cooks: []app.PlanCook{{Places: []int{2}, Hold: "60 min"}}})
			return err
		}},
	}
	before := ""
	for _, step := range steps {
		if err := step.do(); err != nil {
			t.Fatalf("%s: %v", step.name, err)
		}
		kept, anew := c.all(t, c.Farm), c.all(t, app.New(c.db, app.WithClock(c.Now)))
		if kept != anew {
			t.Errorf("after %s\nremembered %s\nread anew  %s", step.name, kept, anew)
		}
		if anew == before {
			t.Errorf("%s changed nothing that is shown", step.name)
		}
		before = anew
	}
}

// all writes down what pages show that rest on what is remembered.
func (c *counted) all(t *testing.T, farm *app.Farm) string {
	t.Helper()
	var all []any
	add := func(what any, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, what)
	}
	add(farm.Today(c.ctx))
	add(farm.Calendar(c.ctx))
	add(farm.Outlook(c.ctx))
	add(farm.Season(c.ctx))
	add(farm.Batches(c.ctx))
	add(farm.Crop(c.ctx, 0))
	add(farm.Cooks(c.ctx))
	add(farm.BatchQuestions(c.ctx, "B2"))
	raw, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}
