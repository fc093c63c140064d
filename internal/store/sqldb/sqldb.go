// Package sqldb keeps the records of a farm in SQLite or PostgreSQL, with one
// SQL text for both. What differs is in the two dialects.
//
// SQLite is one file and needs no server; it is what a single house uses.
// Both keep the promise of package store: a read sees one state, writes run
// one at a time, and what Write has acknowledged is on the disk.
package sqldb

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// DB is a store.Store on a SQLite file or a PostgreSQL database.
type DB struct {
	reads, writes *sql.DB // two pools: a reader never waits for a writer
	dialect       dialect
	where         string // for people: no password in it
	file          string // the SQLite file, "" on PostgreSQL
	watch         func(statement string)

	mu      sync.Mutex
	closed  bool
	running sync.WaitGroup
}

var _ store.Store = (*DB)(nil)

// File returns the path of the data file in the folder dir.
func File(dir string) string { return filepath.Join(dir, "pinset.db") }

// Open opens the data at where, a URL that begins with postgres:// or the
// path of a SQLite file, whose folder must exist. New data are made, old
// tables are brought up to date; before that a SQLite file is copied to its
// name with ".before-N" added, where N is the first of the new versions.
//
// Data that are not Pinset's, that a newer Pinset wrote, or that can not be
// written are refused with a Problem, and not changed.
func Open(ctx context.Context, where string) (*DB, error) {
	if strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://") {
		return openPostgres(ctx, where)
	}
	return openSQLite(ctx, where)
}

// Watch has f called with the text of each statement before it runs, for tests
// and measurements that count them. f must be safe for use by many at once.
// Watch must be called before anything else.
func (db *DB) Watch(f func(statement string)) { db.watch = f }

// Read runs f on one unchanging state of the data.
func (db *DB) Read(ctx context.Context, f func(store.Reader) error) error {
	leave, err := db.enter()
	if err != nil {
		return err
	}
	defer leave()
	q, err := db.reads.BeginTx(ctx, db.dialect.readOptions())
	if err != nil {
		return explain(ctx, db.dialect, err, "begin to read")
	}
	defer func() { _ = q.Rollback() }() // nothing to lose: it only reads
	return f(&tx{q: q, dialect: db.dialect, watch: db.watch})
}

// Write runs f alone and keeps all that it wrote, or nothing if f returns an
// error or panics, or if any call on its Writer failed but for NotFound.
func (db *DB) Write(ctx context.Context, f func(store.Writer) error) error {
	leave, err := db.enter()
	if err != nil {
		return err
	}
	defer leave()
	q, err := db.writes.BeginTx(ctx, nil)
	if err != nil {
		return explain(ctx, db.dialect, err, "begin to write")
	}
	defer func() { _ = q.Rollback() }() // after a commit it does nothing
	if err := db.dialect.lock(ctx, q); err != nil {
		return explain(ctx, db.dialect, err, "wait to write")
	}
	t := &tx{q: q, dialect: db.dialect, watch: db.watch}
	if err := f(t); err != nil {
		return err
	}
	if t.failed != nil {
		return t.failed
	}
	if err := q.Commit(); err != nil {
		return explain(ctx, db.dialect, err, "commit")
	}
	return nil
}

// Close waits for what is running and releases the data. A second call does
// nothing.
func (db *DB) Close() error {
	db.mu.Lock()
	was := db.closed
	db.closed = true
	db.mu.Unlock()
	if was {
		return nil
	}
	db.running.Wait()
	return db.closePools()
}

// closePools closes readers first: the last connection to a SQLite file
// tidies up, and must be allowed to write.
func (db *DB) closePools() error {
	var errs []error
	for _, pool := range []*sql.DB{db.reads, db.writes} {
		if pool != nil {
			errs = append(errs, pool.Close())
		}
	}
	return errors.Join(errs...)
}

// enter counts a transaction in, so that Close can wait for it.
func (db *DB) enter() (leave func(), err error) {
	db.mu.Lock()
	defer db.mu.Unlock()
	if db.closed {
		return nil, fmt.Errorf("sqldb: %s is closed", db.where)
	}
	db.running.Add(1)
	return db.running.Done, nil
}

// tx is one transaction. It implements store.Writer; Read hands it out as a
// store.Reader.
type tx struct {
	q       *sql.Tx
	dialect dialect
	watch   func(statement string) // nil: nobody watches
	counted map[string]bool        // jars whose change was counted
	// failed is the first error of this transaction but for NotFound. From
	// then on every call returns it and nothing is committed: PostgreSQL would
	// refuse further statements, and SQLite may have ended the transaction
	// (on a full disk it does), so that they would be kept one by one.
	failed error
}

var _ store.Writer = (*tx)(nil)

// tell says that a statement is about to run.
func (t *tx) tell(statement string) {
	if t.watch != nil {
		t.watch(statement)
	}
}

// fail remembers err and returns it.
func (t *tx) fail(err error) error {
	if t.failed == nil {
		t.failed = err
	}
	return err
}

// fault explains an error of the driver and fails the transaction with it.
func (t *tx) fault(ctx context.Context, err error, format string, args ...any) error {
	return t.fail(explain(ctx, t.dialect, err, fmt.Sprintf(format, args...)))
}

// notFound returns a NotFound Problem.
func notFound(mend, format string, args ...any) error {
	return lab.NotFoundf(mend, format, args...)
}
