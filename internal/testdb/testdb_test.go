package testdb

import (
	"database/sql"
	"fmt"
	"net/url"
	"strings"
	"testing"
)

// ask runs statements one after the other and returns the text that the last
// of them gives.
func ask(t *testing.T, url string, statements ...string) string {
	t.Helper()
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	last := len(statements) - 1
	for _, s := range statements[:last] {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
	var answer string
	if err := db.QueryRow(statements[last]).Scan(&answer); err != nil {
		t.Fatalf("%s: %v", statements[last], err)
	}
	return answer
}

func TestPostgresURLGivesAnEmptyDatabaseOfItsOwn(t *testing.T) {
	const count = "SELECT count(*)::text FROM pg_tables WHERE schemaname = 'public'"
	one, two := PostgresURL(t), PostgresURL(t)
	if got := ask(t, one, "CREATE TABLE jar (code text)", count); got != "1" {
		t.Errorf("%s tables in the first database, want the 1 just made", got)
	}
	if got := ask(t, two, count); got != "0" {
		t.Errorf("%s tables in the second database, want 0", got)
	}
}

func TestPostgresURLSortsByBytes(t *testing.T) {
	own := PostgresURL(t)
	if got := ask(t, own, "SELECT ('Z' < 'a')::text"); got != "true" {
		t.Errorf("'Z' < 'a' is %s: text sorts as in a dictionary", got)
	}
	if got := ask(t, own, "SHOW server_encoding"); got != "UTF8" {
		t.Errorf("encoding is %s, want UTF8", got)
	}
}

func TestPostgresURLDropsTheDatabaseWhenTheTestEnds(t *testing.T) {
	outer := PostgresURL(t)
	var name string
	t.Run("inner", func(t *testing.T) {
		u, err := url.Parse(PostgresURL(t))
		if err != nil {
			t.Fatal(err)
		}
		name = strings.TrimPrefix(u.Path, "/")
		// A connection left open must not keep the database.
		left, err := sql.Open("pgx", u.String())
		if err != nil {
			t.Fatal(err)
		}
		if err := left.Ping(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { left.Close() })
	})
	query := fmt.Sprintf("SELECT count(*)::text FROM pg_database WHERE datname = '%s'", name)
	if got := ask(t, outer, query); got != "0" {
		t.Errorf("database %s is still there", name)
	}
}

// ending is a test that notes how it was ended.
type ending struct {
	testing.TB
	how string
}

func (e *ending) Helper()           {}
func (e *ending) Skip(args ...any)  { e.end("skipped", args) }
func (e *ending) Fatal(args ...any) { e.end("failed", args) }

func (e *ending) end(how string, why []any) {
	e.how = how + ": " + fmt.Sprint(why...)
	panic(e)
}

func TestPostgresURLWithoutACluster(t *testing.T) {
	for _, c := range []struct{ ci, require, want string }{
		{"", "", "skipped: no PostgreSQL"},
		{"true", "", "failed: no PostgreSQL"},
		{"", "1", "failed: no PostgreSQL"},
	} {
		t.Run(fmt.Sprintf("CI=%s,PINSET_REQUIRE_ALL=%s", c.ci, c.require), func(t *testing.T) {
			t.Setenv(clusterVar, "")
			t.Setenv(ciVar, c.ci)
			t.Setenv(requireVar, c.require)
			e := &ending{TB: t}
			defer func() {
				if recover() != e || !strings.HasPrefix(e.how, c.want) {
					t.Errorf("the test was %q, want %q", e.how, c.want)
				}
			}()
			PostgresURL(e)
		})
	}
}
