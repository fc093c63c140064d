package storetest

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func newPhoto(f farm, n int, whole string) lab.Photo {
	return lab.Photo{
		Entry: newEntry(f.deed, n), Jar: f.jar.ID, Whole: whole, Middle: "m" + whole, Small: "s" + whole,
		Width: 2560, Height: 1920, Taken: "2026-03-04 14:30:05+01:00", Note: "fogged",
	}
}

func testPhotos(t *testing.T, s store.Store) {
	f := settle(t, s)
	late, early, again := newPhoto(f, 9, "a"), newPhoto(f, 2, "b"), newPhoto(f, 2, "c")
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddPhotos(ctx, []lab.Photo{late, early}), w.AddPhotos(ctx, []lab.Photo{again, late}))
	})
	ask := func(filter store.PhotoFilter) []lab.Photo {
		t.Helper()
		got := read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Photo, error) { return r.Photos(ctx, filter) })
		filter.Limit = 0
		n := read(t, s, func(ctx context.Context, r store.Reader) (int, error) { return r.CountPhotos(ctx, filter) })
		if n < len(got) {
			t.Errorf("%d photos are counted, %d returned", n, len(got))
		}
		return got
	}
	all := []lab.Photo{late, again, early}
	same(t, "photos, the latest first", all, ask(store.PhotoFilter{}))
	same(t, "of the jar", all, ask(store.PhotoFilter{Jars: []lab.JarID{f.jar.ID}}))
	same(t, "of the batch", all, ask(store.PhotoFilter{Batch: f.batch.ID}))
	same(t, "of another batch", 0, len(ask(store.PhotoFilter{Batch: newID[lab.BatchID]()})))
	same(t, "by id", []lab.Photo{early}, ask(store.PhotoFilter{IDs: []lab.EntryID{early.ID}}))
	same(t, "by hash", []lab.Photo{again, early}, ask(store.PhotoFilter{Whole: []string{"b", "c", "x"}}))
	same(t, "the first two", all[:2], ask(store.PhotoFilter{Limit: 2}))
	same(t, "those behind", all[2:], ask(store.PhotoFilter{Before: again.ID}))
	same(t, "those before, the nearest first", []lab.Photo{again, late}, ask(store.PhotoFilter{After: early.ID}))
	same(t, "behind none", 0, len(ask(store.PhotoFilter{Before: newID[lab.EntryID]()})))
}

func testPhotoCorrections(t *testing.T, s store.Store) {
	f := settle(t, s)
	first, gone := newPhoto(f, 1, "a"), newPhoto(f, 2, "b")
	second := newPhoto(f, 5, "a")
	second.Corrects = first.ID
	removal := newPhoto(f, 2, "b")
	removal.Corrects, removal.Withdrawn, removal.Erased = gone.ID, true, true
	write(t, s, func(ctx context.Context, w store.Writer) error {
		return firstError(w.AddPhotos(ctx, []lab.Photo{first, gone}), w.AddPhotos(ctx, []lab.Photo{second, removal}))
	})
	same(t, "those that hold", []lab.Photo{second}, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Photo, error) {
		return r.Photos(ctx, store.PhotoFilter{})
	}))
	entries := []lab.Photo{first, gone, second, removal}
	same(t, "all entries", entries, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Photo, error) { return r.PhotoEntries(ctx) }))
	same(t, "entries of the jar", entries, read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Photo, error) { return r.PhotoEntries(ctx, f.jar.ID) }))
	same(t, "entries of another jar", 0, len(read(t, s, func(ctx context.Context, r store.Reader) ([]lab.Photo, error) {
		return r.PhotoEntries(ctx, newID[lab.JarID]())
	})))
}

// RunFiles runs what every implementation of store.Files must pass.
func RunFiles(t *testing.T, files store.Files) {
	ctx := t.Context()
	// Published: SHA-256 of "abc", FIPS 180-2, appendix B.1.
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	each := func() map[string]time.Time {
		t.Helper()
		out := make(map[string]time.Time)
		if err := files.Each(ctx, func(name string, kept time.Time) error { out[name] = kept; return nil }); err != nil {
			t.Fatal(err)
		}
		return out
	}
	same(t, "files at first", 0, len(each()))
	large := bytes.Repeat([]byte{0, 0xff, '\''}, 1<<20)
	began := time.Now().Add(-2 * time.Second) // times are kept to the second
	for range 2 {
		name, err := files.Put(ctx, []byte("abc"))
		if err != nil || name != abc {
			t.Fatalf("put as %s, %v; want %s", name, err, abc)
		}
	}
	name, err := files.Put(ctx, large)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := files.Get(ctx, name); err != nil || !bytes.Equal(got, large) {
		t.Errorf("three megabytes come back as %d bytes, %v", len(got), err)
	}
	there := each()
	same(t, "files", 2, len(there))
	if kept := there[abc]; kept.Before(began) || kept.After(time.Now().Add(time.Second)) {
		t.Errorf("kept at %v, which is not now", kept)
	}
	stop := errors.New("stop")
	if err := files.Each(ctx, func(string, time.Time) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("a visit that fails gives %v", err)
	}
	for range 2 {
		if err := files.Remove(ctx, abc); err != nil {
			t.Fatal(err)
		}
	}
	for _, absent := range []string{abc, "", "../x"} {
		if _, err := files.Get(ctx, absent); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%q gives %v, want that it is not there", absent, err)
		}
	}
	same(t, "files at last", 1, len(each()))
}
