package sqldb

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/testdb"
)

// bench runs f on a fresh farm in both databases.
func bench(b *testing.B, f func(*testing.B, *DB)) {
	for _, c := range []struct {
		name  string
		where func(testing.TB) string
	}{
		{"SQLite", func(t testing.TB) string { return File(t.TempDir()) }},
		{"Postgres", testdb.PostgresURL},
	} {
		b.Run(c.name, func(b *testing.B) {
			db, err := Open(b.Context(), c.where(b))
			if err != nil {
				b.Fatal(err)
			}
			b.Cleanup(func() {
				if err := db.Close(); err != nil {
					b.Error(err)
				}
			})
			f(b, db)
		})
	}
}

// grow stores batches of jars each, in many stages and fates, and returns
// the last batch.
func grow(b *testing.B, db *DB, batches, jars int) (last lab.Batch, all []lab.Jar) {
	b.Helper()
	for n := range batches {
		last = lab.Batch{ID: id[lab.BatchID](), Number: n + 1, Made: lab.OnDay(time.Unix(0, 0))}
		all = make([]lab.Jar, jars)
		stand := make([]lab.Standing, jars)
		for i := range all {
			all[i] = lab.Jar{
				ID: id[lab.JarID](), Code: lab.CodeOf(uint64(n*jars + i)), Batch: last.ID, Number: i + 1,
				Blank: i%25 == 0, DryGrams: 50, Shelf: fmt.Sprint("left ", n%40), Arm: "A",
			}
			stand[i] = lab.Standing{Jar: all[i].ID}
			if !all[i].Blank {
				stand[i].Inoculated, stand[i].LastSeen = last.Made, last.Made
				stand[i].Fate, stand[i].Stage = []lab.Fate{lab.Barren, lab.Picked, lab.Lost}[i%3], lab.Stages[i%6]
				if n >= batches-10 { // the season of now
					stand[i].Fate = lab.Growing
				}
			}
		}
		err := db.Write(b.Context(), func(w store.Writer) error {
			return errors.Join(w.AddBatch(b.Context(), last), w.AddJars(b.Context(), all), w.SetStandings(b.Context(), stand))
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return last, all
}

// BenchmarkAddSeen is one tap on the shelf: a deed and what was seen, on the disk.
func BenchmarkAddSeen(b *testing.B) {
	bench(b, func(b *testing.B, db *DB) {
		_, jars := grow(b, db, 1, 100)
		now := time.Now()
		for b.Loop() {
			d := lab.Deed{ID: id[lab.DeedID](), What: "seen", Entered: now}
			s := lab.Seen{Entry: lab.Entry{ID: id[lab.EntryID](), Deed: d.ID, At: lab.At(now), Entered: now}, Jar: jars[0].ID, Stage: lab.Pins}
			err := db.Write(b.Context(), func(w store.Writer) error {
				_, err := w.AddDeed(b.Context(), d)
				return errors.Join(err, w.AddSeen(b.Context(), []lab.Seen{s}))
			})
			if err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkJars reads a batch of 400 jars on a farm of 10 000.
func BenchmarkJars(b *testing.B) {
	bench(b, func(b *testing.B, db *DB) {
		last, _ := grow(b, db, 25, 400)
		for b.Loop() {
			err := db.Read(b.Context(), func(r store.Reader) error {
				rows, err := r.Jars(b.Context(), store.JarFilter{Batch: last.ID})
				if len(rows) != 400 {
					b.Fatalf("%d jars", len(rows))
				}
				return err
			})
			if err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkAddJars stores a batch of 400 jars.
func BenchmarkAddJars(b *testing.B) {
	bench(b, func(b *testing.B, db *DB) {
		n := 0
		for b.Loop() {
			batch := lab.Batch{ID: id[lab.BatchID](), Number: n + 1}
			all := make([]lab.Jar, 400)
			for i := range all {
				all[i] = lab.Jar{ID: id[lab.JarID](), Code: lab.CodeOf(uint64(n*400 + i)), Batch: batch.ID, Number: i + 1}
			}
			n++
			err := db.Write(b.Context(), func(w store.Writer) error {
				return errors.Join(w.AddBatch(b.Context(), batch), w.AddJars(b.Context(), all))
			})
			if err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkFarm reads from a farm of 1000 batches with 100 jars each: the
// counts of all and of the 20 that a page shows, and the first open jars.
func BenchmarkFarm(b *testing.B) {
	bench(b, func(b *testing.B, db *DB) {
		grow(b, db, 1000, 100)
		// What SQLite learns at the next start, PostgreSQL within a minute.
		if _, err := db.writes.ExecContext(b.Context(), "ANALYZE"); err != nil {
			b.Fatal(err)
		}
		var shown []lab.BatchID
		err := db.Read(b.Context(), func(r store.Reader) error {
			newest, err := r.Batches(b.Context(), 20)
			for _, n := range newest {
				shown = append(shown, n.ID)
			}
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
		reading := func(name string, f func(store.Reader) error) {
			b.Run(name, func(b *testing.B) {
				for b.Loop() {
					if err := db.Read(b.Context(), f); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		reading("all", func(r store.Reader) error {
			_, err := r.Tallies(b.Context())
			return err
		})
		reading("page", func(r store.Reader) error {
			_, err := r.Tallies(b.Context(), shown...)
			return err
		})
		reading("shelves", func(r store.Reader) error {
			_, err := r.Shelves(b.Context(), lab.Day{})
			return err
		})
		reading("one shelf", func(r store.Reader) error {
			_, err := r.Jars(b.Context(), store.JarFilter{Shelf: "left 0", Open: true, Limit: 400})
			return err
		})
		reading("open jars", func(r store.Reader) error {
			_, err := r.Jars(b.Context(), store.JarFilter{Open: true, Limit: 400})
			return err
		})
	})
}

// BenchmarkOpen is the start on records that are there.
func BenchmarkOpen(b *testing.B) {
	path := File(b.TempDir())
	for b.Loop() {
		db, err := Open(b.Context(), path)
		if err == nil {
			err = db.Close()
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
