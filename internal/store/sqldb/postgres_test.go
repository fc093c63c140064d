package sqldb

import (
	"fmt"
	"testing"

	"pinset/internal/store"
	"pinset/internal/store/storetest"
	"pinset/internal/testdb"
)

// TestPostgres gives each test a schema of its own: to make a database for
// each takes ten times as long.
func TestPostgres(t *testing.T) {
	where := testdb.PostgresURL(t)
	admin := open(t, where)
	schemas := 0
	storetest.Run(t, func(t *testing.T) store.Store {
		schemas++
		name := fmt.Sprintf("farm_%d", schemas)
		if _, err := admin.writes.ExecContext(t.Context(), "CREATE SCHEMA "+name); err != nil {
			t.Fatal(err)
		}
		db, err := Open(t.Context(), with(t, where, "search_path", name))
		if err != nil {
			t.Fatal(err)
		}
		return db
	})
}

func TestFilesInPostgres(t *testing.T) {
	storetest.RunFiles(t, open(t, testdb.PostgresURL(t)).Files())
}
