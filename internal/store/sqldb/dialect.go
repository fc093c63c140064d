package sqldb

import (
	"context"
	"database/sql"
	"errors"

	"github.com/pressly/goose/v3"
)

// dialect is all in which the two databases differ.
type dialect interface {
	// migrator names the dialect to the migration library.
	migrator() goose.Dialect
	// translate turns the standard types of a migration into its own.
	translate(migration string) string
	// tables lists the names of all tables.
	tables(ctx context.Context, db *sql.DB) ([]string, error)
	// readOptions make a transaction that sees one state.
	readOptions() *sql.TxOptions
	// lock waits until no other writer is at work.
	lock(ctx context.Context, q *sql.Tx) error
	// among returns a condition that expr is one of the list that is passed
	// as argument arg, such as "$1", and list makes that argument.
	among(expr, arg string) string
	list(words []string) (any, error)
	numbers(n []int) (any, error)
	// insert stores rows and passes over those that are taken; it returns
	// how many were stored.
	insert(ctx context.Context, q *sql.Tx, into rowSet) (int, error)
	// update changes the rows whose first column is that of a row of set; it
	// returns how many were changed.
	update(ctx context.Context, q *sql.Tx, set rowSet) (int, error)
	// trouble says what sort of trouble an error of the driver is.
	trouble(err error) trouble
}

// rowSet is rows for one table, for a bulk statement.
type rowSet struct {
	table   string
	columns []string
	kinds   []kind  // of the columns
	rows    [][]any // string, int64, float64, bool or nil
}

// column1 returns the first column of a query, which is text.
func column1(ctx context.Context, db *sql.DB, text string) (_ []string, err error) {
	rows, err := db.QueryContext(ctx, text)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var out []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
