package storetest

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync"
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// errStop is returned by transactions that are to keep nothing.
var errStop = errors.New("stop")

// batchOf writes a batch of n jars with a deed and one entry each.
func batchOf(ctx context.Context, w store.Writer, number, n int) error {
	b := lab.Batch{ID: newID[lab.BatchID](), Number: number}
	d := newDeed("a batch")
	jars := make([]lab.Jar, n)
	saw := make([]lab.Seen, n)
	for i := range jars {
		jars[i] = lab.Jar{ID: newID[lab.JarID](), Code: code(1000*number + i), Batch: b.ID, Number: i + 1}
		saw[i] = lab.Seen{Entry: newEntry(d, i), Jar: jars[i].ID, Stage: lab.Growth}
	}
	_, err := w.AddDeed(ctx, d)
	return firstError(err, w.AddBatch(ctx, b), w.AddJars(ctx, jars), w.AddSeen(ctx, saw))
}

// isEmpty fails t if a farm has any batch, jar or deed.
func isEmpty(t *testing.T, s store.Store) {
	t.Helper()
	batches := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Batch, error) { return r.Batches(ctx, 0) })
	deeds := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Deed, error) { return r.Deeds(ctx, "", 0) })
	jars := getJars(t, s, store.JarFilter{})
	if len(batches)+len(deeds)+len(jars) > 0 {
		t.Errorf("%d batches, %d deeds and %d jars were kept, want none", len(batches), len(deeds), len(jars))
	}
}

func testErrorKeepsNothing(t *testing.T, s store.Store) {
	err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
		if err := batchOf(ctx, w, 1, 20); err != nil {
			return err
		}
		return errStop
	})
	if !errors.Is(err, errStop) {
		t.Errorf("Write returned %v, want the error of f", err)
	}
	isEmpty(t, s)
}

func testPanicKeepsNothing(t *testing.T, s store.Store) {
	func() {
		defer func() {
			if got := recover(); got != any(errStop) {
				t.Errorf("recovered %v, want the panic of f", got)
			}
		}()
		_ = tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
			if err := batchOf(ctx, w, 1, 20); err != nil {
				return err
			}
			panic(errStop)
		})
	}()
	isEmpty(t, s)
	write(t, s, func(ctx context.Context, w store.Writer) error { return batchOf(ctx, w, 1, 2) }) // and no lock is left
}

// After an error a transaction of SQLite lives and one of PostgreSQL is dead
// (style guide, trap 9): a use case that passes over an error must not keep
// one half on one of them.
func testFailedCallKeepsNothing(t *testing.T, s store.Store) {
	for name, fail := range map[string]call{
		"conflict": func(ctx context.Context, w store.Writer) error {
			return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 1})
		},
		"dangling": func(ctx context.Context, w store.Writer) error {
			return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 9, Trial: "x"})
		},
		"value": func(ctx context.Context, w store.Writer) error { return w.SetSetting(ctx, "a", "\x00") },
		"check": func(ctx context.Context, w store.Writer) error {
			return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: -1})
		},
	} {
		t.Run(name, func(t *testing.T) {
			var first error
			err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
				if err := batchOf(ctx, w, 1, 3); err != nil {
					return err
				}
				first = fail(ctx, w)
				for call, err := range callsAfter(ctx, w) {
					if err == nil {
						t.Errorf("%s after the failed call gave no error", call)
					}
				}
				return nil // passes over all of them
			})
			if first == nil || err == nil {
				t.Errorf("the call gave %v, Write %v; want errors", first, err)
			}
			isEmpty(t, s)
			same(t, "setting", "", read(t, s, func(ctx context.Context, r store.Reader) (string, error) { return r.Setting(ctx, "kept") }))
		})
	}
}

// callsAfter makes calls that would succeed but for an earlier one that failed.
func callsAfter(ctx context.Context, w store.Writer) map[string]error {
	_, errRead := w.Batches(ctx, 0)
	_, errSetting := w.Setting(ctx, "kept")
	_, errSeen := w.Seen(ctx, nil)
	_, errDeed := w.AddDeed(ctx, newDeed("later"))
	return map[string]error{
		"Batches": errRead, "Setting": errSetting, "Seen": errSeen, "AddDeed": errDeed,
		"SetSetting": w.SetSetting(ctx, "kept", "yes"),
		"AddBatch":   w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 77}),
		"AddRecipe":  w.AddRecipe(ctx, newRecipe("later", newID[lab.RecipeID](), 1)),
		"AddJars":    w.AddJars(ctx, nil),
		"PlaceJars":  w.PlaceJars(ctx, nil),
	}
}

func testCancelledKeepsNothing(t *testing.T, s store.Store) {
	ctx, cancel := context.WithCancel(t.Context())
	err := s.Write(ctx, func(w store.Writer) error {
		if err := batchOf(ctx, w, 1, 20); err != nil {
			return err
		}
		cancel()
		time.Sleep(20 * time.Millisecond) // so that the driver hears of it before Write goes on
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("Write returned %v, want context.Canceled", err)
	}
	isEmpty(t, s)
	if err := s.Read(ctx, func(store.Reader) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("Read returned %v, want context.Canceled", err)
	}
	ctx, cancel = context.WithTimeout(t.Context(), time.Millisecond)
	defer cancel()
	err = s.Write(ctx, func(w store.Writer) error {
		<-ctx.Done()
		return batchOf(ctx, w, 1, 20)
	})
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Write returned %v, want context.DeadlineExceeded", err)
	}
	isEmpty(t, s)
}

func testLivesAfterErrors(t *testing.T, s store.Store) {
	for range 20 { // more than there are connections
		_ = tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
			return w.AddBatch(ctx, lab.Batch{ID: newID[lab.BatchID](), Number: 1, Trial: "x"})
		})
		_, err := tryRead(t, s, func(ctx context.Context, r store.Reader) (lab.Jar, error) { return lab.Jar{}, errStop })
		if !errors.Is(err, errStop) {
			t.Fatalf("Read returned %v, want the error of f", err)
		}
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		// NotFound is an answer, not a failure: the transaction goes on.
		if _, err := w.BatchByName(ctx, "B1"); !lab.IsKind(err, lab.NotFound) {
			return fmt.Errorf("BatchByName: %w", err)
		}
		return batchOf(ctx, w, 1, 2)
	})
	same(t, "number of jars", 2, len(getJars(t, s, store.JarFilter{})))
}

// The workers of a test that counts: 8 of them, 50 times each.
const (
	workers = 8
	times   = 50
)

// count reads a number, adds one and writes it, times over.
func count(ctx context.Context, s store.Store) error {
	for range times {
		err := s.Write(ctx, func(w store.Writer) error {
			text, err := w.Setting(ctx, "count")
			if err != nil {
				return err
			}
			n, _ := strconv.Atoi(text) // "" at first
			return w.SetSetting(ctx, "count", strconv.Itoa(n+1))
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// Read-then-write transactions fail at once on SQLite if they begin deferred,
// and lose updates without an error on PostgreSQL (style guide, traps 2 and 3).
func testNoLostUpdate(t *testing.T, s store.Store) {
	CountTogether(t, s)
}

// CountTogether lets 8 workers, spread over the stores of the same data that
// it is given, read and write one number 400 times, and fails t if a write
// fails or is lost.
func CountTogether(t *testing.T, stores ...store.Store) {
	t.Helper()
	var wg sync.WaitGroup
	for i := range workers {
		wg.Go(func() {
			if err := count(t.Context(), stores[i%len(stores)]); err != nil {
				t.Errorf("worker %d: %v", i, err)
			}
		})
	}
	wg.Wait()
	got := read(t, stores[0], func(ctx context.Context, r store.Reader) (string, error) { return r.Setting(ctx, "count") })
	same(t, "count", strconv.Itoa(workers*times), got)
}

func testOneState(t *testing.T, s store.Store) {
	write(t, s, func(ctx context.Context, w store.Writer) error { return batchOf(ctx, w, 1, 2) })
	ctx := t.Context()
	err := s.Read(ctx, func(r store.Reader) error {
		before, err := r.Batches(ctx, 0)
		if err != nil {
			return err
		}
		// A writer commits while this read is at work, and is not kept waiting.
		write(t, s, func(ctx context.Context, w store.Writer) error { return batchOf(ctx, w, 2, 3) })
		after, err := r.Batches(ctx, 0)
		if err != nil {
			return err
		}
		jars, err := r.Jars(ctx, store.JarFilter{})
		if err != nil {
			return err
		}
		same(t, "batches of one read", before, after)
		same(t, "number of jars of one read", 2, len(jars))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "number of jars of the next read", 5, len(getJars(t, s, store.JarFilter{})))
}

func testOwnWrites(t *testing.T, s store.Store) {
	write(t, s, func(ctx context.Context, w store.Writer) error {
		if err := batchOf(ctx, w, 1, 3); err != nil {
			return err
		}
		jars, err := w.Jars(ctx, store.JarFilter{})
		same(t, "number of jars that the writer sees", 3, len(jars))
		// A reader beside it sees nothing yet.
		isEmpty(t, s)
		return err
	})
}

func testCloseWaits(t *testing.T, s store.Store) {
	inside, closed := make(chan bool), make(chan error, 1)
	var done bool
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := tryWrite(t, s, func(ctx context.Context, w store.Writer) error {
			close(inside)
			time.Sleep(50 * time.Millisecond) // so that a Close that does not wait is seen
			err := batchOf(ctx, w, 1, 3)
			done = true
			return err
		}); err != nil {
			t.Errorf("Write while Close waits: %v", err)
		}
	})
	<-inside
	wg.Go(func() { closed <- s.Close() })
	if err := <-closed; err != nil {
		t.Errorf("Close: %v", err)
	}
	if !done {
		t.Error("Close did not wait for the writer")
	}
	wg.Wait()
	if err := s.Read(t.Context(), func(store.Reader) error { return nil }); err == nil {
		t.Error("a closed store could be read")
	}
	if err := s.Write(t.Context(), func(store.Writer) error { return nil }); err == nil {
		t.Error("a closed store could be written")
	}
}

func testManyJars(t *testing.T, s store.Store) {
	const many = 10000
	f := settle(t, s)
	b, jars := addBatch(t, s, 50, many, func(j *lab.Jar) { j.Cook, j.DryGrams = f.cook.ID, 50 })
	ids := make([]lab.JarID, many)
	codes := make([]lab.Code, many)
	standings := make([]lab.Standing, many)
	saw := make([]lab.Seen, many)
	for i, j := range jars {
		ids[i], codes[i] = j.ID, j.Code
		standings[i] = lab.Standing{Jar: j.ID, Fate: lab.Growing, Inoculated: at(1), Stage: lab.Cover}
		saw[i] = lab.Seen{Entry: newEntry(f.deed, i), Jar: j.ID, Stage: lab.Cover}
	}
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.SetStandings(ctx, standings), w.AddSeen(ctx, saw), w.PlaceJars(ctx, jars))
	})
	same(t, "number of jars by ID", many, len(getJars(t, s, store.JarFilter{IDs: ids})))
	same(t, "number of jars by code", many, len(getJars(t, s, store.JarFilter{Codes: codes, Open: true})))
	taken := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Code, error) { return r.CodesTaken(ctx, codes) })
	same(t, "number of codes taken", many, len(taken))
	got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Seen, error) { return r.Seen(ctx, ids) })
	same(t, "number seen", many, len(got))
	same(t, "the last seen", saw[many-1], got[many-1])
	tally := read(t, s, func(ctx context.Context, r store.Reader) (map[lab.BatchID]store.Tally, error) {
		return r.Tallies(ctx, b.ID)
	})[b.ID]
	same(t, "tally", store.Tally{
		Batch: b.ID, Jars: many, Inoculated: many, Growing: many, DryGrams: 50 * many, ByStage: map[lab.Stage]int{lab.Cover: many},
	}, tally)
}
