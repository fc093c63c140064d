// Package testdb gives tests a fresh, empty PostgreSQL database.
//
// The cluster is started by test/with-postgres.sh, which make test uses. Tests
// on SQLite need no help: a file in t.TempDir will do.
package testdb

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
)

// What the environment says about the tests.
const (
	clusterVar = "PINSET_TEST_POSTGRES" // URL of a cluster in which databases may be made
	requireVar = "PINSET_REQUIRE_ALL"   // not empty: what can not run fails
	ciVar      = "CI"                   // likewise
)

// patience bounds the making and the dropping of one database.
const patience = 30 * time.Second

// PostgresURL returns the URL of a new, empty database for t alone, which is
// dropped when t ends. Its encoding is UTF8 and its text sorts by bytes.
//
// Without a cluster t is skipped, but where everything is required (in CI) it
// fails.
func PostgresURL(t testing.TB) string {
	t.Helper()
	cluster := os.Getenv(clusterVar)
	if cluster == "" {
		none(t)
	}
	name := "pinset_" + strings.ToLower(rand.Text())
	own, err := at(cluster, name)
	if err != nil {
		t.Fatal(err)
	}
	create := "CREATE DATABASE " + name + " TEMPLATE template0 ENCODING 'UTF8' LOCALE 'C'"
	if err := run(cluster, create); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := run(cluster, "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return own
}

// none ends t, because there is no cluster.
func none(t testing.TB) {
	t.Helper()
	const why = "no PostgreSQL: " + clusterVar + " is not set; run the tests with make test"
	if os.Getenv(requireVar) != "" || os.Getenv(ciVar) != "" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// at returns the URL of database name in cluster.
func at(cluster, name string) (string, error) {
	u, err := url.Parse(cluster)
	if err != nil {
		return "", fmt.Errorf("%s is no URL: %w", clusterVar, err)
	}
	u.Path = "/" + name
	return u.String(), nil
}

// run executes one statement outside of any transaction.
func run(cluster, statement string) error {
	db, err := sql.Open("pgx", cluster)
	if err != nil {
		return fmt.Errorf("testdb: %s: %w", clusterVar, err)
	}
	defer db.Close()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if _, err := db.ExecContext(ctx, statement); err != nil {
		return fmt.Errorf("testdb: %s: %w", statement, err)
	}
	return nil
}
