package sqldb

import (
	"os"
	"path/filepath"
	"sync"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/testdb"
)

func TestBackupWhileWriting(t *testing.T) {
	dir := t.TempDir()
	db := open(t, File(dir))
	first, err := writeAct(t.Context(), db, nil)
	if err != nil {
		t.Fatal(err)
	}
	stop := make(chan bool)
	var wg sync.WaitGroup
	wg.Go(func() {
		for {
			select {
			case <-stop:
				return
			default:
			}
			if _, err := writeAct(t.Context(), db, nil); err != nil {
				t.Error(err)
				return
			}
		}
	})
	for _, name := range []string{"one.db", "two.db"} {
		if err := db.Backup(t.Context(), filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	close(stop)
	wg.Wait()
	last, err := writeAct(t.Context(), db, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"one.db", "two.db"} {
		path := filepath.Join(dir, name)
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s may be read by others: %v", name, info.Mode())
		}
		restored := open(t, path)
		checkActs(t, restored, []string{string(first)})
		if _, err := writeAct(t.Context(), restored, nil); err != nil {
			t.Errorf("writing to the restored data: %v", err)
		}
	}
	checkActs(t, db, []string{string(first), string(last)})
}

func TestBackupReplacesNothingAndLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	db := open(t, File(dir))
	path := filepath.Join(dir, "kept.db")
	if err := os.WriteFile(path, []byte("kept"), 0o600); err != nil {
		t.Fatal(err)
	}
	plain(t, db.Backup(t.Context(), path), lab.Conflict, "there is a file")
	if b, err := os.ReadFile(path); err != nil || string(b) != "kept" {
		t.Errorf("the file holds %q (%v)", b, err)
	}
	plain(t, db.Backup(t.Context(), filepath.Join(dir, "no", "b.db")), lab.Refused, "does not exist")
	disk := smallDisk(t, "size=64k")
	plain(t, db.Backup(t.Context(), filepath.Join(disk, "b.db")), lab.Busy, "space")
	if left := contents(t, disk); len(left) > 0 {
		t.Errorf("%d files were left behind", len(left))
	}
}

func TestBackupIsRefusedOnPostgres(t *testing.T) {
	db := open(t, testdb.PostgresURL(t))
	plain(t, db.Backup(t.Context(), filepath.Join(t.TempDir(), "b.db")), lab.Refused, "pg_dump")
}
