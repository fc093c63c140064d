package sqldb

import (
	"testing"

	"pinset/internal/store"
	"pinset/internal/store/storetest"
)

func TestSQLite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store {
		db, err := Open(t.Context(), File(t.TempDir()))
		if err != nil {
			t.Fatal(err)
		}
		return db
	})
}

func TestFilesInSQLite(t *testing.T) {
	storetest.RunFiles(t, open(t, File(t.TempDir())).Files())
}
