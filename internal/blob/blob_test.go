package blob

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"pinset/internal/store/storetest"
)

// Published: SHA-256 of "abc", FIPS 180-2, appendix B.1.
const nameOfABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

func put(t *testing.T, f *Folder, data string) string {
	t.Helper()
	name, err := f.Put(t.Context(), []byte(data))
	if err != nil {
		t.Fatal(err)
	}
	return name
}

// files returns the names that Each visits.
func files(t *testing.T, f *Folder) map[string]time.Time {
	t.Helper()
	out := make(map[string]time.Time)
	if err := f.Each(t.Context(), func(name string, kept time.Time) error {
		out[name] = kept
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestFolder(t *testing.T) {
	storetest.RunFiles(t, In(filepath.Join(t.TempDir(), "photos")))
}

func TestPutTwiceIsOnce(t *testing.T) {
	f := In(filepath.Join(t.TempDir(), "photos"))
	if n := len(files(t, f)); n != 0 {
		t.Fatalf("a folder that is not there holds %d files", n)
	}
	for range 2 {
		if name := put(t, f, "abc"); name != nameOfABC {
			t.Fatalf("name %s, want %s", name, nameOfABC)
		}
	}
	put(t, f, "other")
	got, err := f.Get(t.Context(), nameOfABC)
	if err != nil || string(got) != "abc" || len(files(t, f)) != 2 {
		t.Errorf("got %q, %v of %d files", got, err, len(files(t, f)))
	}
}

func TestPutAgainCountsAsKeptNow(t *testing.T) {
	f := In(t.TempDir())
	name := put(t, f, "abc")
	path, _ := f.path(name)
	long := time.Now().Add(-24 * time.Hour)
	if err := os.Chtimes(path, long, long); err != nil {
		t.Fatal(err)
	}
	put(t, f, "abc")
	if kept := files(t, f)[name]; time.Since(kept) > time.Hour {
		t.Errorf("kept %v: who tidies up would take it from a photo that is being written", kept)
	}
}

func TestAbsentAndRemoved(t *testing.T) {
	f := In(t.TempDir())
	for _, name := range []string{nameOfABC, "", "..", "../../etc/passwd", nameOfABC[:63], "G" + nameOfABC[1:], "B" + nameOfABC[1:]} {
		if _, err := f.Get(t.Context(), name); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%q: %v, want that it is not there", name, err)
		}
	}
	put(t, f, "abc")
	for range 2 {
		if err := f.Remove(t.Context(), nameOfABC); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := f.Get(t.Context(), nameOfABC); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("removed, it gives %v", err)
	}
}

func TestDamageIsNoticedAndMended(t *testing.T) {
	f := In(t.TempDir())
	name := put(t, f, "abc")
	path, _ := f.path(name)
	if err := os.WriteFile(path, []byte("abd"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Get(t.Context(), name); !errors.Is(err, ErrDamaged) {
		t.Errorf("damaged, it gives %v", err)
	}
	put(t, f, "abc")
	if got, err := f.Get(t.Context(), name); err != nil || string(got) != "abc" {
		t.Errorf("put again, it gives %q, %v", got, err)
	}
}

// TestWhatWasNeverWhole is what a kill while writing leaves behind.
func TestWhatWasNeverWhole(t *testing.T) {
	f := In(t.TempDir())
	put(t, f, "abc")
	fresh, old := filepath.Join(f.dir, part+"1"), filepath.Join(f.dir, part+"2")
	for _, path := range []string{fresh, old, filepath.Join(f.dir, "note.txt")} {
		if err := os.WriteFile(path, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	long := time.Now().Add(-2 * time.Hour)
	if err := os.Chtimes(old, long, long); err != nil {
		t.Fatal(err)
	}
	if got := files(t, f); len(got) != 1 {
		t.Errorf("visited %v, want the one whole file", got)
	}
	if _, err := os.Stat(fresh); err != nil {
		t.Errorf("one that may still be written is gone: %v", err)
	}
	if _, err := os.Stat(old); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("one that was left two hours ago is still there: %v", err)
	}
}

func TestManyPutAtOnce(t *testing.T) {
	f := In(t.TempDir())
	var all sync.WaitGroup
	for n := range 40 {
		all.Go(func() {
			if _, err := f.Put(context.Background(), bytes.Repeat([]byte{byte(n % 4)}, 1000)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if n := len(files(t, f)); n != 4 {
		t.Errorf("%d files, want 4", n)
	}
}

func TestCopyBringsWhatIsNotThere(t *testing.T) {
	from, to := In(t.TempDir()), In(filepath.Join(t.TempDir(), "stick"))
	a := put(t, from, "abc")
	for _, want := range []int{1, 0} {
		if n, err := from.CopyTo(t.Context(), to); err != nil || n != want {
			t.Fatalf("copied %d, %v; want %d", n, err, want)
		}
	}
	put(t, from, "other")
	if n, err := from.CopyTo(t.Context(), to); err != nil || n != 1 {
		t.Errorf("copied %d, %v; want 1", n, err)
	}
	if got, err := to.Get(t.Context(), a); err != nil || string(got) != "abc" {
		t.Errorf("the copy is %q, %v", got, err)
	}
}
