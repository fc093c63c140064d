package sqldb

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"pinset/internal/lab"
)

// table joins a table, or part of one, to a type of lab. The first column
// identifies the row.
type table[T any] struct {
	name    string
	columns func(*T) []column
	// taken says which name, number or code of v another row bears. It is
	// asked when v was not stored; nil where only identifiers are unique.
	taken func(ctx context.Context, t *tx, v T) error
}

// names returns the columns that are read, each after prefix.
func (tab *table[T]) names(prefix string) string {
	var b strings.Builder
	for _, c := range tab.columns(new(T)) {
		if c.scan == nil {
			continue
		}
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		b.WriteString(prefix + c.name)
	}
	return b.String()
}

// targets returns where the columns that are read go.
func targets(columns ...column) []any {
	var out []any
	for _, c := range columns {
		if c.scan != nil {
			out = append(out, c)
		}
	}
	return out
}

// rows returns values as rows of the table.
func (tab *table[T]) rows(values []T) (rowSet, error) {
	var v T
	columns := tab.columns(&v)
	set := rowSet{table: tab.name, rows: make([][]any, 0, len(values))}
	for _, c := range columns {
		set.columns = append(set.columns, c.name)
		set.kinds = append(set.kinds, c.kind)
	}
	for _, v = range values {
		row := make([]any, len(columns))
		for i, c := range columns {
			var err error
			if row[i], err = c.bind(); err != nil {
				return rowSet{}, err
			}
		}
		set.rows = append(set.rows, row)
	}
	return set, nil
}

// query returns the rows of "SELECT columns FROM table" with rest behind it.
func query[T any](ctx context.Context, t *tx, tab *table[T], rest string, args ...any) ([]T, error) {
	text := "SELECT " + tab.names("") + " FROM " + tab.name + " " + rest
	return collect(ctx, t, text, args, func(v *T) []any { return targets(tab.columns(v)...) })
}

// collect runs a query and scans each row into a T by its targets.
func collect[T any](ctx context.Context, t *tx, text string, args []any, targets func(*T) []any) (_ []T, err error) {
	if t.failed != nil {
		return nil, t.failed
	}
	t.tell(text)
	rows, err := t.q.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, t.fault(ctx, err, "%s %s", text, show(args))
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var (
		v   T
		out []T
	)
	into := targets(&v)
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return nil, t.fault(ctx, err, "%s %s", text, show(args))
		}
		out = append(out, v)
	}
	if err := rows.Err(); err != nil {
		return nil, t.fault(ctx, err, "%s %s", text, show(args))
	}
	return out, nil
}

// among returns the rows whose column is one of values, in order; of no values
// there are none.
func among[T any, V ~string](ctx context.Context, t *tx, tab *table[T], column string, values []V, order string) ([]T, error) {
	if len(values) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(values))
	if err != nil {
		return nil, t.fail(err)
	}
	return query(ctx, t, tab, "WHERE "+t.dialect.among(column, "$1")+" ORDER BY "+order, list)
}

// one returns the first row, or absent if there is none.
func one[T any](ctx context.Context, t *tx, tab *table[T], absent error, rest string, args ...any) (T, error) {
	found, err := query(ctx, t, tab, rest, args...)
	switch {
	case err != nil:
		return *new(T), err
	case len(found) == 0:
		return *new(T), absent
	}
	return found[0], nil
}

// scalar scans the single value of a query.
func scalar[V any](ctx context.Context, t *tx, text string, args ...any) (v V, found bool, err error) {
	if t.failed != nil {
		return v, false, t.failed
	}
	t.tell(text)
	err = t.q.QueryRowContext(ctx, text, args...).Scan(&v)
	if errors.Is(err, sql.ErrNoRows) {
		return v, false, nil
	}
	if err != nil {
		return v, false, t.fault(ctx, err, "%s %s", text, show(args))
	}
	return v, true, nil
}

// add stores values. Those whose identifier is stored already are passed
// over; one that is not stored for another reason fails the transaction.
func add[T any](ctx context.Context, t *tx, tab *table[T], values ...T) error {
	if t.failed != nil || len(values) == 0 {
		return t.failed
	}
	set, err := tab.rows(values)
	if err != nil {
		return t.fail(err)
	}
	t.tell("INSERT INTO " + tab.name)
	n, err := t.dialect.insert(ctx, t.q, set)
	if err != nil {
		return t.fault(ctx, err, "insert %d rows into %s, the first %v", len(values), tab.name, set.rows[0][0])
	}
	if n == len(values) {
		return nil
	}
	i, err := firstAbsent(ctx, t, set)
	if err != nil || i < 0 {
		return err
	}
	if tab.taken == nil {
		return t.fail(fmt.Errorf("sqldb: row %v was not inserted into %s", set.rows[i][0], tab.name))
	}
	return t.fail(tab.taken(ctx, t, values[i]))
}

// change updates the rows that values identify.
func change[T any](ctx context.Context, t *tx, tab *table[T], absent func(T) error, values []T) error {
	if t.failed != nil || len(values) == 0 {
		return t.failed
	}
	set, err := tab.rows(values)
	if err != nil {
		return t.fail(err)
	}
	t.tell("UPDATE " + tab.name)
	n, err := t.dialect.update(ctx, t.q, lastOfEach(set))
	if err != nil {
		return t.fault(ctx, err, "update %d rows of %s, the first %v", len(values), tab.name, set.rows[0][0])
	}
	if n == len(values) {
		return nil
	}
	i, err := firstAbsent(ctx, t, set)
	if err != nil || i < 0 {
		return err
	}
	return t.fail(absent(values[i]))
}

// lastOfEach keeps the last row of each identifier, for PostgreSQL says not
// which of two it takes.
func lastOfEach(set rowSet) rowSet {
	at := make(map[any]int, len(set.rows))
	rows := set.rows
	set.rows = nil
	for _, r := range rows {
		if i, again := at[r[0]]; again {
			set.rows[i] = r
			continue
		}
		at[r[0]] = len(set.rows)
		set.rows = append(set.rows, r)
	}
	return set
}

// firstAbsent returns the index of the first row of set whose identifier is
// not in the table, -1 if all are.
func firstAbsent(ctx context.Context, t *tx, set rowSet) (int, error) {
	ids := make([]string, len(set.rows))
	for i, r := range set.rows {
		ids[i], _ = r[0].(string)
	}
	list, err := t.dialect.list(ids)
	if err != nil {
		return 0, t.fail(err)
	}
	id := set.columns[0]
	found, err := collect(ctx, t, "SELECT "+id+" FROM "+set.table+" WHERE "+t.dialect.among(id, "$1"), []any{list},
		func(s *string) []any { return []any{s} })
	if err != nil {
		return 0, err
	}
	stored := make(map[string]bool, len(found))
	for _, id := range found {
		stored[id] = true
	}
	for i, id := range ids {
		if !stored[id] {
			return i, nil
		}
	}
	return -1, nil
}

// words returns identifiers or codes as plain texts.
func words[S ~string](ids []S) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

// entriesOf returns the entries of tab whose column is one of ids, in the
// order of entry.
func entriesOf[T any, S ~string](ctx context.Context, t *tx, tab *table[T], column string, ids []S) ([]T, error) {
	if len(ids) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(ids))
	if err != nil {
		return nil, t.fail(err)
	}
	return query(ctx, t, tab, "WHERE "+t.dialect.among(column, "$1")+" ORDER BY seq", list)
}

// limited returns the clause for a limit, 0 for none.
func limited(limit int) string {
	if limit <= 0 {
		return ""
	}
	return fmt.Sprintf(" LIMIT %d", limit)
}

// show prints arguments for an error, long ones cut.
func show(args []any) string {
	s := fmt.Sprint(args...)
	if r := []rune(s); len(r) > 200 {
		s = string(r[:200]) + "…"
	}
	return "[" + s + "]"
}

// entryColumns are what every dated entry carries.
func entryColumns(e *lab.Entry) []column {
	at, exactness := when("happened", &e.At)
	return []column{
		text("id", &e.ID), ref("deed", &e.Deed), at, exactness,
		moment("entered", &e.Entered), text("entered_by", &e.By),
		ref("corrects", &e.Corrects), yesNo("withdrawn", &e.Withdrawn),
	}
}
