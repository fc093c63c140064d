package sqldb

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// fill stores ingredients with long notes until it can not, and returns how
// many were acknowledged and the error.
func fill(t *testing.T, db *DB) (stored int, err error) {
	t.Helper()
	note := strings.Repeat("wet ", 2000)
	for range 10000 {
		err := db.Write(t.Context(), func(w store.Writer) error {
			for range 3 {
				i := lab.Ingredient{ID: id[lab.IngredientID](), Name: id[string](), Note: note}
				if err := w.AddIngredient(t.Context(), i); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return stored, err
		}
		stored += 3
	}
	t.Fatal("the disk did not fill up")
	return 0, nil
}

// fullKeepsAll checks that a full disk is said in plain words, that nothing
// is stored in part, and that writing goes on after room was made.
func fullKeepsAll(t *testing.T, db *DB, makeRoom func()) {
	t.Helper()
	stored, err := fill(t, db)
	plain(t, err, lab.Busy, "space", "send it again")
	count := func() (n int) {
		err := db.Read(t.Context(), func(r store.Reader) error {
			all, err := r.Ingredients(t.Context())
			n = len(all)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := count(); n != stored || stored == 0 {
		t.Errorf("%d ingredients are stored, %d were acknowledged", n, stored)
	}
	// SQLite ends the transaction when the disk is full. What is written
	// after that in the same act must not be kept by itself.
	err = db.Write(t.Context(), func(w store.Writer) error {
		for range 50 {
			i := lab.Ingredient{ID: id[lab.IngredientID](), Name: id[string](), Note: strings.Repeat("wet ", 2400)}
			_ = w.AddIngredient(t.Context(), i)
		}
		_ = w.SetSetting(t.Context(), "kept", "yes")
		return nil
	})
	plain(t, err, lab.Busy, "space")
	if got := setting(t, db, "kept"); got != "" || count() != stored {
		t.Errorf("setting %q and %d ingredients are stored of an act that failed", got, count()-stored)
	}
	makeRoom()
	if _, err := writeAct(t.Context(), db, nil); err != nil {
		t.Errorf("writing after room was made: %v", err)
	}
	checkActs(t, db, nil)
	if err := checkIntegrity(t.Context(), db.file); err != nil {
		t.Error(err)
	}
}

func TestFullFileKeepsAll(t *testing.T) {
	db := open(t, File(t.TempDir()))
	limit := func(pages string) {
		if _, err := db.writes.ExecContext(t.Context(), "PRAGMA max_page_count = "+pages); err != nil {
			t.Fatal(err)
		}
	}
	limit("200")
	fullKeepsAll(t, db, func() { limit("100000") })
}

func TestFullDiskKeepsAll(t *testing.T) {
	disk := smallDisk(t, "size=3m")
	ballast := filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 1<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	db := open(t, File(disk))
	fullKeepsAll(t, db, func() {
		if err := os.Remove(ballast); err != nil {
			t.Fatal(err)
		}
	})
}

// smallDisk mounts a file system in memory for t, which needs root.
func smallDisk(t *testing.T, options string) string {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("to mount a small disk needs root")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", options, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be mounted here: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %v: %s", err, out)
		}
	})
	return dir
}
