package sqldb

import (
	"testing"

	"pinset/internal/store"
	"pinset/internal/store/storetest"
	"pinset/internal/testdb"
)

func TestPostgres(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store {
		db, err := Open(t.Context(), testdb.PostgresURL(t))
		if err != nil {
			t.Fatal(err)
		}
		return db
	})
}
