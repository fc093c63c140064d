package demo_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

// planted returns the farm as it stands at now.
func planted(t testing.TB, now time.Time) *app.Farm {
	t.Helper()
	s, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	open := func(o ...app.Option) *app.Farm { return app.New(s, append(o, app.WithFiles(s.Files()))...) }
	if err := demo.Plant(t.Context(), open, now); err != nil {
		t.Fatal(err)
	}
	return open(app.WithClock(func() time.Time { return now }))
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// The farm is large enough to look alive, and holds one of each case that a
// newcomer should meet.
func TestTheYearHoldsEveryCase(t *testing.T) {
	f := planted(t, noon)
	batches, err := f.Batches(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	jars := 0
	for _, b := range batches {
		jars += b.Tally.Jars
	}
	if len(batches) < 6 || jars < 150 {
		t.Errorf("%d batches and %d jars, want at least 6 and 150", len(batches), jars)
	}
	for name, want := range map[string]string{"Millet or oats": "supported", "Deep or shallow": "not_told_apart", "Two or four mL": "running"} {
		v, err := f.Verdict(t.Context(), name)
		if err != nil || string(v.Result.Ending) != want {
			t.Errorf("%s ends %q, %v, want %q: %s", name, v.Result.Ending, err, want, v.Result.Sentence)
		}
	}
	cooks, err := f.Cooks(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	broken := 0
	for _, c := range cooks {
		if c.State == lab.NotHeld {
			broken++
		}
	}
	if broken != 1 {
		t.Errorf("%d cooks did not hold, want 1", broken)
	}
	fouled := 0
	for _, b := range batches {
		if strings.Contains(b.Name, "Autumn millet") {
			fouled = b.Tally.Lost
		}
	}
	if fouled < 12 {
		t.Errorf("the batch of the bad liquid culture lost %d jars, want most of 24", fouled)
	}
}

// The same seed makes the same farm, whatever the day.
func TestTheYearIsAlwaysTheSame(t *testing.T) {
	describe := func(now time.Time) string {
		f := planted(t, now)
		batches, err := f.Batches(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for _, x := range batches {
			view, err := f.BatchView(t.Context(), x.String(), 0)
			if err != nil {
				t.Fatal(err)
			}
			for _, j := range view.Jars {
				fmt.Fprintf(&b, "%s·%d %s %s %s %.1f\n", x, j.Number, j.Code, j.Arm, j.Fate, float64(j.Grams))
			}
		}
		return b.String()
	}
	if describe(noon) != describe(noon.AddDate(0, 3, 11)) {
		t.Error("two plantings differ")
	}
}

func BenchmarkPlant(b *testing.B) {
	for b.Loop() {
		planted(b, noon)
	}
}

// Every stop of the tour is there, and is what the tour says of it.
func TestTheTourLeadsSomewhere(t *testing.T) {
	f := planted(t, noon)
	steps, err := f.Tour(t.Context())
	if err != nil || len(steps) != 5 {
		t.Fatalf("the tour has %d steps, %v, want 5", len(steps), err)
	}
	for _, s := range steps {
		name := s.Name
		if s.Kind == "cook" {
			name = "cook " + s.Name
		}
		if found, err := f.Find(t.Context(), name); err != nil || found.Kind != s.Kind && s.Kind != "trial" {
			t.Errorf("%q leads to %+v, %v", s.Title, found, err)
		}
	}
	c, err := f.CookView(t.Context(), steps[2].Name)
	if err != nil || c.State != lab.NotHeld {
		t.Errorf("%q: the cook is %q, %v", steps[2].Title, c.State, err)
	}
	b, err := f.BatchView(t.Context(), steps[3].Name, 0)
	if err != nil || b.Tally.Lost < b.Tally.Jars/2 {
		t.Errorf("%q: %d of %d jars are lost, %v", steps[3].Title, b.Tally.Lost, b.Tally.Jars, err)
	}
}

// Some jars have photos in the order of their days, of one arm and of the
// other, and one of the mould.
func TestTheYearHasPhotos(t *testing.T) {
	f := planted(t, noon)
	for batch, want := range map[string]int{"Two or four mL": 8, "Millet or oats": 4, "Autumn millet": 2} {
		page, err := f.PhotosOfBatch(t.Context(), batch, "", 0)
		if err != nil || page.All != want {
			t.Errorf("%s has %d photos, %v, want %d", batch, page.All, err, want)
			continue
		}
		arms := map[string]bool{}
		for _, p := range page.Photos {
			arms[p.Arm] = true
			if _, err := f.PhotoFile(t.Context(), p.ID, p.Small); err != nil {
				t.Error(err)
			}
		}
		if len(arms) != 2 && batch != "Autumn millet" {
			t.Errorf("%s has photos of the arms %v", batch, arms)
		}
	}
}
