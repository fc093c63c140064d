package sqldb

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// sights keeps the first sights of stages beside what else the entries on a
// jar come to, so that courses are read without reading all entries.
var sights = &table[lab.JarSights]{
	name: "jar_now",
	columns: func(s *lab.JarSights) []column {
		return []column{text("jar", &s.Jar), {
			"sights", textKind,
			func() (any, error) { return sightText(s.Sights) },
			sightsOf{&s.Sights}.Scan,
		}}
	},
}

func (t *tx) SetSights(ctx context.Context, s []lab.JarSights) error {
	if err := change(ctx, t, sights, func(s lab.JarSights) error { return noJar(s.Jar) }, s); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(s, func(s lab.JarSights) lab.JarID { return s.Jar }))
}

// sightText writes sights as "growth=2026-05-03T00:00:00Zday<;cover=…<…;":
// the first visit that told of a stage, and the one before it.
func sightText(sights []lab.Sight) (string, error) {
	var b strings.Builder
	for _, s := range sights {
		by, err := stampText(s.By)
		if err != nil {
			return "", err
		}
		before, err := stampText(s.Before)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "%s=%s<%s;", s.Stage, by, before)
	}
	return b.String(), nil
}

func stampText(w lab.When) (string, error) {
	at, err := bindTime("happened", w.Time, timeForm)
	if err != nil || w.IsZero() {
		return "", err
	}
	return fmt.Sprint(at) + string(w.Exactness), nil
}

// sightsOf reads what sightText wrote.
type sightsOf struct{ sights *[]lab.Sight }

// Scan implements sql.Scanner.
func (s sightsOf) Scan(stored any) error {
	all, err := storedText(stored)
	*s.sights = nil
	if err != nil || all == "" {
		return err
	}
	out := make([]lab.Sight, 0, len(lab.Stages))
	for part := range strings.SplitSeq(strings.TrimSuffix(all, ";"), ";") {
		stage, days, _ := strings.Cut(part, "=")
		by, before, told := strings.Cut(days, "<")
		x := lab.Sight{Stage: lab.Stage(stage)}
		if err := cmp.Or(stamp{&x.By}.Scan(by), stamp{&x.Before}.Scan(before)); err != nil {
			return err
		}
		if !told || !slices.Contains(lab.Stages, x.Stage) {
			return fmt.Errorf("%q is no sight of a stage", part)
		}
		out = append(out, x)
	}
	*s.sights = out
	return nil
}

// sighted is one jar that came to stages.
type sighted struct {
	batch  lab.BatchID
	fate   lab.Fate
	sights []lab.Sight
}

const sightedText = "SELECT n.batch, n.fate, n.sights FROM jar_now n WHERE %s AND n.blank = FALSE AND n.sights <> ''"

func (t *tx) Arrivals(ctx context.Context, batches []lab.BatchID) ([]store.Arrival, error) {
	jars, err := ofBatches(ctx, t, sightedText, batches, func(s *sighted) []any { return []any{&s.batch, &s.fate, sightsOf{&s.sights}} })
	if err != nil {
		return nil, err
	}
	count := make(map[store.Arrival]int)
	for _, j := range jars {
		for _, s := range j.sights {
			count[store.Arrival{Batch: j.batch, Stage: s.Stage, By: s.By, Before: s.Before, Fate: j.fate}]++
		}
	}
	out := make([]store.Arrival, 0, len(count))
	for a, n := range count {
		a.Jars = n
		out = append(out, a)
	}
	slices.SortFunc(out, inOrderOfArrival)
	return out, nil
}

// inOrderOfArrival sorts by batch, then as the jars came.
func inOrderOfArrival(a, b store.Arrival) int {
	return cmp.Or(cmp.Compare(a.Batch, b.Batch), cmp.Compare(slices.Index(lab.Stages, a.Stage), slices.Index(lab.Stages, b.Stage)),
		a.By.Time.Compare(b.By.Time), cmp.Compare(a.By.Exactness, b.By.Exactness), a.Before.Time.Compare(b.Before.Time),
		cmp.Compare(a.Before.Exactness, b.Before.Exactness), cmp.Compare(a.Fate, b.Fate))
}

const growingText = `SELECT n.jar, n.batch, j.number, n.shelf, j.recipe, n.carries, n.stage, n.inoculated, n.inoculated_exact, n.last_seen, n.last_seen_exact, n.sights
FROM jar_now n JOIN batch b ON b.id = n.batch JOIN jar j ON j.id = n.jar
WHERE %s AND n.blank = FALSE AND n.fate IN ('', 'growing') AND n.fate = 'growing'
ORDER BY b.number, j.number`

func (t *tx) Growing(ctx context.Context, batches []lab.BatchID) ([]store.GrowingJar, error) {
	return ofBatches(ctx, t, growingText, batches, func(g *store.GrowingJar) []any {
		inoculated, inoculatedExact := when("inoculated", &g.Inoculated)
		seen, seenExact := when("last_seen", &g.LastSeen)
		return []any{
			&g.Jar, &g.Batch, &g.Number, &g.Shelf, ref("recipe", &g.Recipe), ref("carries", &g.Carries), &g.Stage,
			inoculated, inoculatedExact, seen, seenExact,
			sightsOf{&g.Sights},
		}
	})
}

const notedText = `SELECT s.jar, MAX(s.happened || s.happened_exact)
FROM seen s JOIN jar_now n ON n.jar = s.jar
WHERE %s AND n.blank = FALSE AND n.fate IN ('', 'growing') AND n.fate = 'growing' AND s.note <> '' AND s.note = $2
  AND s.happened_exact IN ('exact', 'day') AND s.withdrawn = FALSE AND NOT EXISTS (SELECT 1 FROM seen c WHERE c.corrects = s.id)
GROUP BY s.jar`

func (t *tx) Noted(ctx context.Context, batches []lab.BatchID, note string) (map[lab.JarID]lab.When, error) {
	type row struct {
		jar  lab.JarID
		last lab.When
	}
	rows, err := ofBatches(ctx, t, notedText, batches, func(r *row) []any { return []any{&r.jar, stamp{&r.last}} }, note)
	out := make(map[lab.JarID]lab.When, len(rows))
	for _, r := range rows {
		out[r.jar] = r.last
	}
	return out, err
}

func (t *tx) Changes(ctx context.Context, batches ...lab.BatchID) (map[lab.BatchID]int64, error) {
	type row struct {
		batch   lab.BatchID
		changes int64
	}
	rows, err := ofBatches(ctx, t, "SELECT n.batch, n.changes FROM batch_now n WHERE %s", batches, func(r *row) []any { return []any{&r.batch, &r.changes} })
	out := make(map[lab.BatchID]int64, len(rows))
	for _, r := range rows {
		out[r.batch] = r.changes
	}
	return out, err
}

// changed counts a change to the batches of jars: one in a transaction, for
// nobody sees what lies between two.
func (t *tx) changed(ctx context.Context, jars []string) error {
	jars = slices.DeleteFunc(jars, func(id string) bool { return t.counted[id] })
	if t.failed != nil || len(jars) == 0 {
		return t.failed
	}
	list, err := t.dialect.list(jars)
	if err != nil {
		return t.fail(err)
	}
	text := "INSERT INTO batch_now (batch, changes) SELECT DISTINCT batch, 1 FROM jar_now WHERE " + t.dialect.among("jar", "$1") +
		" ON CONFLICT (batch) DO UPDATE SET changes = batch_now.changes + 1"
	t.tell(text)
	if _, err := t.q.ExecContext(ctx, text, list); err != nil {
		return t.fault(ctx, err, "count a change to the batches of %d jars", len(jars))
	}
	if t.counted == nil {
		t.counted = make(map[string]bool, len(jars))
	}
	for _, id := range jars {
		t.counted[id] = true
	}
	return nil
}

// idsOf returns the identifiers of the jars that values are about.
func idsOf[T any](values []T, id func(T) lab.JarID) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = string(id(v))
	}
	return out
}
