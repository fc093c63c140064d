package sqldb

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"pinset/internal/lab"
	"pinset/internal/testdb"
)

var update = flag.Bool("update", false, "write the golden files")

// withMore returns the migrations with one more file.
func withMore(t *testing.T, text string) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		b, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: b}
	}
	files["99999_more.sql"] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + text)}
	return files
}

const (
	goodMigration = "CREATE TABLE more (id TEXT PRIMARY KEY);\nINSERT INTO more VALUES ('a');\n"
	// The first statements succeed, the last does not.
	badMigration = goodMigration + "INSERT INTO nowhere VALUES ('b');\n"
)

// Trap 6: a migration and its number are kept together or not at all.
func TestMigrationAndNumberCommitTogether(t *testing.T) {
	for name, where := range map[string]string{"SQLite": File(t.TempDir()), "Postgres": ""} {
		t.Run(name, func(t *testing.T) {
			if where == "" {
				where = testdb.PostgresURL(t)
			}
			db := open(t, where)
			before := look(t, db)
			if err := migrate(t.Context(), db.writes, db.dialect, withMore(t, badMigration), db.where); err == nil {
				t.Fatal("the migration did not fail")
			}
			if diff := cmp.Diff(before, look(t, db)); diff != "" {
				t.Errorf("a failed migration left (-before +after):\n%s", diff)
			}
			if err := migrate(t.Context(), db.writes, db.dialect, withMore(t, goodMigration), db.where); err != nil {
				t.Fatal(err)
			}
			after := look(t, db)
			if after.version != 99999 || len(after.tables) != len(before.tables)+1 {
				t.Errorf("after the migration the version is %d with %d tables, before there were %d", after.version, len(after.tables), len(before.tables))
			}
			if err := migrate(t.Context(), db.writes, db.dialect, withMore(t, goodMigration), db.where); err != nil {
				t.Errorf("a second time: %v", err)
			}
		})
	}
}

// state is what migrations change.
type state struct {
	version int
	tables  []string
}

func look(t *testing.T, db *DB) state {
	t.Helper()
	tables, err := db.dialect.tables(t.Context(), db.writes)
	if err != nil {
		t.Fatal(err)
	}
	s, err := examine(t.Context(), db.writes, db.dialect, 100000, db.where)
	if err != nil {
		t.Fatal(err)
	}
	return state{s.version, tables}
}

func (s state) Equal(o state) bool {
	return s.version == o.version && strings.Join(s.tables, " ") == strings.Join(o.tables, " ")
}

func TestUpgradeIsPrecededByBackup(t *testing.T) {
	path := File(t.TempDir())
	db := open(t, path)
	act, err := writeAct(t.Context(), db, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if copies := contents(t, filepath.Dir(path)); len(copies) != 1 {
		t.Errorf("the folder holds %d files before an upgrade, want the data alone", len(copies))
	}
	if _, err := openSQLiteWith(t.Context(), path, withMore(t, badMigration)); err == nil {
		t.Fatal("the migration did not fail")
	}
	checkActs(t, open(t, path), []string{string(act)}) // the old program still reads it
	db, err = openSQLiteWith(t.Context(), path, withMore(t, goodMigration))
	if err != nil {
		t.Fatal(err)
	}
	checkActs(t, db, []string{string(act)})
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	_, err = Open(t.Context(), path)
	plain(t, err, lab.Refused, "newer Pinset")
	next := latest(t) + 1
	for _, name := range []string{fmt.Sprintf(".before-%d", next), fmt.Sprintf(".before-%d-2", next)} { // each attempt has its own
		checkActs(t, open(t, path+name), []string{string(act)})
	}
}

// latest returns the version of the schema, which is how many migrations
// there are: they are numbered in a row.
func latest(t *testing.T) int {
	t.Helper()
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	return len(names)
}

func TestTooLittleSpaceForBackupStopsUpgrade(t *testing.T) {
	disk := smallDisk(t, "size=2m")
	path := File(disk)
	db := open(t, path)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	ballast := filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 1300<<10), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := openSQLiteWith(t.Context(), path, withMore(t, goodMigration))
	plain(t, err, lab.Busy, "space")
	if left, _ := filepath.Glob(path + ".before*"); len(left) > 0 {
		t.Errorf("%v was left behind", left)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if s := look(t, open(t, path)); s.version != latest(t) {
		t.Errorf("the version is %d, want that of before", s.version)
	}
}

// golden compares text with a file, or writes it with -update.
func golden(t *testing.T, name, text string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), text); diff != "" {
		t.Errorf("%s differs (-want +got); if that is meant, run the test with -update:\n%s", path, diff)
	}
}

func TestSchemaSQLite(t *testing.T) {
	db := open(t, File(t.TempDir()))
	lines, err := column1(t.Context(), db.reads, "SELECT sql || ';' FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' AND tbl_name <> '"+versionTable+"' ORDER BY name")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "schema_sqlite.sql", strings.Join(lines, "\n")+"\n")
}

func TestSchemaPostgres(t *testing.T) {
	db := open(t, testdb.PostgresURL(t))
	lines, err := column1(t.Context(), db.reads, `
SELECT line FROM (
	SELECT a.attrelid::regclass || ' 1 ' || to_char(a.attnum, '00') || ' ' || a.attname || ' ' || format_type(a.atttypid, a.atttypmod) ||
		COALESCE(' COLLATE ' || (SELECT quote_ident(l.collname) FROM pg_collation l WHERE l.oid = a.attcollation), '') ||
		CASE WHEN a.attnotnull THEN ' NOT NULL' ELSE '' END || CASE a.attidentity WHEN 'd' THEN ' IDENTITY' ELSE '' END AS line
	FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
	WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace AND a.attnum > 0 AND c.relname <> '`+versionTable+`'
	UNION ALL
	SELECT o.conrelid::regclass || ' 2 ' || pg_get_constraintdef(o.oid) FROM pg_constraint o
	WHERE o.connamespace = current_schema()::regnamespace AND o.contype <> 'n' AND o.conrelid::regclass::text <> '`+versionTable+`'
	UNION ALL
	SELECT i.tablename || ' 3 ' || i.indexdef FROM pg_indexes i
	WHERE i.schemaname = current_schema() AND i.tablename <> '`+versionTable+`'
) s ORDER BY line COLLATE "C"`)
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "schema_postgres.txt", strings.Join(lines, "\n")+"\n")
}

func TestMigrationsAreNumberedInARow(t *testing.T) {
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	last, err := newest(migrations())
	if err != nil || last != len(names) {
		t.Errorf("%d files have numbers up to %d (%v)", len(names), last, err)
	}
}
