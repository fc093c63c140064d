// Package testfile gives tests a fresh, empty farm in a SQLite file. Its tables
// are made once and copied, at a fraction of the cost of making them.
package testfile

import (
	"context"
	"errors"
	"os"
	"sync"
	"testing"

	"pinset/internal/store/sqldb"
)

// New returns the path of an empty farm's file for t alone.
func New(t testing.TB) string {
	t.Helper()
	tables, err := empty()
	if err != nil {
		t.Fatal(err)
	}
	where := sqldb.File(t.TempDir())
	if err := os.WriteFile(where, tables, 0o600); err != nil {
		t.Fatal(err)
	}
	return where
}

// empty is the content of a file with tables and nothing in them.
var empty = sync.OnceValues(func() (tables []byte, err error) {
	dir, err := os.MkdirTemp("", "pinset-testfile-")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	db, err := sqldb.Open(context.Background(), sqldb.File(dir))
	if err != nil {
		return nil, err
	}
	if err := db.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(sqldb.File(dir))
})
