package sqldb

import (
	"io/fs"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/testdb"
)

// The migration makes the sights of old records as lab.Sights does.
func TestSightsOfOldRecords(t *testing.T) {
	for name, where := range map[string]func(testing.TB) string{
		"SQLite": func(t testing.TB) string { return File(t.TempDir()) }, "Postgres": testdb.PostgresURL,
	} {
		t.Run(name, func(t *testing.T) {
			db := open(t, where(t))
			jars, seen, picks := visited(t, db)
			for _, undo := range []string{
				"DELETE FROM pinset_version WHERE version_id >= 14", "DROP INDEX jar_now_open", "DROP INDEX jar_now_open_shelf",
				"DROP TABLE batch_now", "ALTER TABLE jar_now DROP COLUMN sights",
			} {
				if _, err := db.writes.ExecContext(t.Context(), undo); err != nil {
					t.Fatal(err)
				}
			}
			if err := migrate(t.Context(), db.writes, db.dialect, upTo(t, "00014"), db.where); err != nil {
				t.Fatal(err)
			}
			for _, j := range jars {
				var got lab.JarSights
				row := db.writes.QueryRowContext(t.Context(), "SELECT sights FROM jar_now WHERE jar = $1", string(j.ID))
				if err := row.Scan(sightsOf{&got.Sights}); err != nil {
					t.Fatal(err)
				}
				of := func(id lab.JarID) bool { return id != j.ID }
				want := lab.Sights(without(seen, func(s lab.Seen) bool { return of(s.Jar) }), without(picks, func(p lab.Pick) bool { return of(p.Jar) }))
				if diff := cmp.Diff(want, got.Sights, cmpopts.EquateEmpty()); diff != "" {
					t.Errorf("jar %d (-want +got):\n%s", j.Number, diff)
				}
			}
			if _, err := writeAct(t.Context(), db, nil); err != nil {
				t.Error(err)
			}
		})
	}
}

// visited stores jars with what was seen and picked, some of it taken back.
func visited(t *testing.T, db *DB) ([]lab.Jar, []lab.Seen, []lab.Pick) {
	t.Helper()
	b := lab.Batch{ID: id[lab.BatchID](), Number: 1}
	jars := make([]lab.Jar, 4)
	for i := range jars {
		jars[i] = lab.Jar{ID: id[lab.JarID](), Code: lab.CodeOf(uint64(i)), Batch: b.ID, Number: i + 1}
	}
	d := lab.Deed{ID: id[lab.DeedID](), What: "rounds", Entered: time.Unix(0, 0)}
	entry := func(day int) lab.Entry {
		return lab.Entry{ID: id[lab.EntryID](), Deed: d.ID, At: lab.At(time.Unix(int64(day)*86400, 0)), Entered: time.Unix(0, 0)}
	}
	wrong := lab.Seen{Entry: entry(1), Jar: jars[0].ID, Stage: lab.Ready}
	undone := lab.Seen{Entry: entry(1), Jar: jars[0].ID}
	undone.Corrects, undone.Withdrawn = wrong.ID, true
	nowhen := lab.Seen{Entry: entry(2), Jar: jars[0].ID, Stage: lab.Ready}
	nowhen.At.Exactness = lab.Unknown
	oneDay := lab.Seen{Entry: entry(3), Jar: jars[1].ID, Stage: lab.Growth}
	oneDay.At = lab.OnDay(oneDay.At.Time)
	seen := []lab.Seen{
		wrong, undone, nowhen, oneDay,
		{Entry: entry(5), Jar: jars[0].ID, Stage: lab.Cover},
		{Entry: entry(3), Jar: jars[0].ID, Sign: lab.AsBefore},
		{Entry: entry(5), Jar: jars[0].ID, Sign: "clean"},
		{Entry: entry(8), Jar: jars[0].ID, Stage: lab.Growth},
		{Entry: entry(4), Jar: jars[1].ID, Stage: lab.Pins},
	}
	given := lab.Pick{Entry: entry(9), Jar: jars[2].ID, Flush: 1, Grams: 3}
	taken := lab.Pick{Entry: entry(6), Jar: jars[1].ID, Flush: 1, Grams: 3}
	back := lab.Pick{Entry: entry(6), Jar: jars[1].ID, Flush: 1}
	back.Corrects, back.Withdrawn = taken.ID, true
	picks := []lab.Pick{given, taken, back}
	err := db.Write(t.Context(), func(w store.Writer) error {
		for _, err := range []error{w.AddBatch(t.Context(), b), w.AddJars(t.Context(), jars)} {
			if err != nil {
				return err
			}
		}
		if _, err := w.AddDeed(t.Context(), d); err != nil {
			return err
		}
		if err := w.AddSeen(t.Context(), seen); err != nil {
			return err
		}
		return w.AddPicks(t.Context(), picks)
	})
	if err != nil {
		t.Fatal(err)
	}
	return jars, seen, picks
}

func without[T any](all []T, gone func(T) bool) []T {
	var out []T
	for _, v := range all {
		if !gone(v) {
			out = append(out, v)
		}
	}
	return out
}

// upTo returns the migrations up to the one whose name begins with last.
func upTo(t *testing.T, last string) fs.FS {
	t.Helper()
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	out := fstest.MapFS{}
	for _, name := range names {
		text, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		if name[:5] <= last {
			out[name] = &fstest.MapFile{Data: text}
		}
	}
	return out
}
