package sqldb

import (
	"bytes"
	"database/sql"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/testdb"
)

// raw runs statements on a SQLite file as another program would.
func raw(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, s := range statements {
		if _, err := db.ExecContext(t.Context(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

// unchanged opens path, which must be refused, and checks that neither the
// file nor its folder has changed.
func unchanged(t *testing.T, path string, words ...string) {
	t.Helper()
	before := contents(t, filepath.Dir(path))
	_, err := Open(t.Context(), path)
	plain(t, err, lab.Refused, words...)
	after := contents(t, filepath.Dir(path))
	if len(after) != len(before) {
		t.Errorf("the folder held %d files and holds %d", len(before), len(after))
	}
	for name, b := range before {
		if !bytes.Equal(after[name], b) {
			t.Errorf("%s was changed", name)
		}
	}
}

func contents(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string][]byte)
	for _, f := range files {
		if f.IsDir() {
			continue
		}
		if out[f.Name()], err = os.ReadFile(filepath.Join(dir, f.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestWrongFileIsRefusedUnchanged(t *testing.T) {
	for name, content := range map[string]string{
		"text":               "jar,grams\n1,30\n",
		"one byte":           "S",
		"another SQLite":     "SQLite format 2\x00 and more",
		"header and garbage": sqliteMagic + strings.Repeat("x", 5000),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "notes.db")
			if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
				t.Fatal(err)
			}
			unchanged(t, path)
		})
	}
}

func TestForeignDataAreRefusedUnchanged(t *testing.T) {
	for name, statements := range map[string][]string{
		"tables":          {"CREATE TABLE song (title TEXT)", "INSERT INTO song VALUES ('a')"},
		"a view":          {"CREATE VIEW v AS SELECT 1"},
		"application":     {"PRAGMA application_id = 7", "CREATE TABLE song (title TEXT)"},
		"no tables yet":   {"PRAGMA application_id = 7"},
		"goose's tables":  {"CREATE TABLE goose_db_version (id INTEGER)"},
		"write-ahead log": {"PRAGMA journal_mode = WAL", "CREATE TABLE song (title TEXT)"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "songs.db")
			raw(t, path, statements...)
			unchanged(t, path, "another program", "nothing was changed")
		})
	}
}

func TestForeignDatabaseIsRefusedPostgres(t *testing.T) {
	where := testdb.PostgresURL(t)
	other, err := sql.Open("pgx", where)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if _, err := other.ExecContext(t.Context(), "CREATE TABLE song (title TEXT)"); err != nil {
		t.Fatal(err)
	}
	_, err = Open(t.Context(), where)
	plain(t, err, lab.Refused, "another program")
	names, err := postgresDialect{}.tables(t.Context(), other)
	if err != nil || len(names) != 1 {
		t.Errorf("the tables are %v (%v), want only the one that was there", names, err)
	}
}

func TestNewerDataAreRefusedUnchanged(t *testing.T) {
	path := File(t.TempDir())
	db := open(t, path)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	raw(t, path, "INSERT INTO "+versionTable+" (version_id, is_applied) VALUES (99, 1)")
	unchanged(t, path, "newer Pinset", "version 99", "nothing was changed")
}

func TestNewerDataAreRefusedPostgres(t *testing.T) {
	where := testdb.PostgresURL(t)
	db := open(t, where)
	const newer = "INSERT INTO " + versionTable + " (version_id, is_applied) VALUES (99, true)"
	if _, err := db.writes.ExecContext(t.Context(), newer); err != nil {
		t.Fatal(err)
	}
	_, err := Open(t.Context(), where)
	plain(t, err, lab.Refused, "newer Pinset", "version 99")
}

func TestPlacesThatCanNotBeAreRefused(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(t.Context(), dir)
	plain(t, err, lab.Refused, "folder", File(dir))
	_, err = Open(t.Context(), filepath.Join(dir, "no", "pinset.db"))
	plain(t, err, lab.Refused, "does not exist")
	_, err = Open(t.Context(), filepath.Join(dir, "a", ".."+string(filepath.Separator)))
	if err == nil {
		t.Error("a folder was opened")
	}
	if len(contents(t, dir)) != 0 {
		t.Error("something was left in the folder")
	}
}

func TestReadOnlyFileIsRefused(t *testing.T) {
	if os.Getuid() != 0 { // root may write any file, but not on such a disk
		path := File(t.TempDir())
		if err := open(t, path).Close(); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(path, 0o400); err != nil {
			t.Fatal(err)
		}
		unchanged(t, path, "write-protected")
		return
	}
	disk := smallDisk(t, "size=3m")
	path := File(disk)
	if err := open(t, path).Close(); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", disk).CombinedOutput(); err != nil {
		t.Skipf("remount: %v: %s", err, out)
	}
	unchanged(t, path, "write-protected")
	_, err := Open(t.Context(), filepath.Join(disk, "new.db"))
	plain(t, err, lab.Refused, "write-protected")
}

func TestFileNamesAreTakenAsTheyAre(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a b.db", "50%41?mode=ro&x=#1.db", "日本 é.db", "'quoted\".db", "+a&b;c.db", ":memory:"} {
		path := filepath.Join(dir, name)
		db := open(t, path)
		if _, err := writeAct(t.Context(), db, nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Errorf("the data are not at the place that was named: %v", err)
			continue
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s may be read by others: %v", name, info.Mode())
		}
	}
	t.Chdir(dir)
	db := open(t, "relative.db")
	if _, err := writeAct(t.Context(), db, nil); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "relative.db")); err != nil {
		t.Error(err)
	}
}

func TestCopiesStartedTogetherMakeOneFarm(t *testing.T) {
	for name, where := range map[string]string{"SQLite": File(t.TempDir()), "Postgres": ""} {
		t.Run(name, func(t *testing.T) {
			if where == "" {
				where = testdb.PostgresURL(t)
			}
			var wg sync.WaitGroup
			for range 6 {
				wg.Go(func() {
					db, err := Open(t.Context(), where)
					if err != nil {
						t.Error(err)
						return
					}
					_, err = writeAct(t.Context(), db, nil)
					if err := errors.Join(err, db.Close()); err != nil {
						t.Error(err)
					}
				})
			}
			wg.Wait()
			if n := checkActs(t, open(t, where), nil); n != 6 {
				t.Errorf("%d acts are stored, want 6", n)
			}
		})
	}
}

// Trap 1: a pragma that goes through a pool reaches one connection of it.
func TestPragmasOnEveryConnection(t *testing.T) {
	db := open(t, File(t.TempDir()))
	check := func(pool *sql.DB, connections int, queryOnly string) {
		for range connections {
			c, err := pool.Conn(t.Context()) // kept, so that the next is another
			if err != nil {
				t.Fatal(err)
			}
			defer c.Close()
			for name, want := range map[string]string{
				"foreign_keys": "1", "journal_mode": "wal", "synchronous": "2", "busy_timeout": "5000", "query_only": queryOnly,
			} {
				var got string
				if err := c.QueryRowContext(t.Context(), "PRAGMA "+name).Scan(&got); err != nil || got != want {
					t.Errorf("pragma %s is %s (%v), want %s", name, got, err, want)
				}
			}
			var s string
			if err := c.QueryRowContext(t.Context(), `SELECT "no such column"`).Scan(&s); err == nil {
				t.Error("a name in double quotes became a text")
			}
		}
	}
	check(db.writes, 1, "0")
	check(db.reads, readers, "1")
}

func TestUnsafePlaceIsRefused(t *testing.T) {
	path := File(t.TempDir())
	raw(t, path, "CREATE TABLE a (b)")
	pool, err := openPool(path, 1, pragmas[0]) // as if WAL had been refused
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if err := checkPragmas(t.Context(), pool); err == nil {
		t.Error("a connection without WAL was taken for safe")
	}
}

// Trap 8: what is stored and can not be read is an error, never an empty list
// or a zero.
func TestWhatCanNotBeReadIsAnError(t *testing.T) {
	db := open(t, File(t.TempDir()))
	if _, err := writeAct(t.Context(), db, nil); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		spoil string
		read  func(store.Reader) error
	}{
		"time": {"UPDATE deed SET entered = 'yesterday'", func(r store.Reader) error {
			_, err := r.Deeds(t.Context(), "", 0)
			return err
		}},
		"document": {"INSERT INTO trial VALUES (1, 'i', 'n', 'n', '', '[]', '[{', '', 1, '', '', '', 0, '{}')", func(r store.Reader) error {
			_, err := r.Trials(t.Context())
			return err
		}},
		"no table": {"DROP TABLE pick", func(r store.Reader) error {
			_, err := r.Picks(t.Context(), []lab.JarID{"x"})
			return err
		}},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := db.writes.ExecContext(t.Context(), c.spoil); err != nil {
				t.Fatal(err)
			}
			if err := db.Read(t.Context(), c.read); err == nil {
				t.Error("no error")
			}
		})
	}
}

// Trap 9: text goes into an integer column of SQLite, unless the table is strict.
func TestColumnsKeepTheirTypes(t *testing.T) {
	db := open(t, File(t.TempDir()))
	loose, err := column1(t.Context(), db.reads, "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0 AND name NOT LIKE 'sqlite_%'")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Join(loose, " ") != versionTable { // that one is not ours to make
		t.Errorf("the tables %v are not strict", loose)
	}
	if _, err := db.writes.ExecContext(t.Context(), "INSERT INTO setting VALUES ('a', x'00')"); err == nil {
		t.Error("bytes went into a text column")
	}
}

// A reader must not be able to write, should a use case forget itself.
func TestReadersCanNotWrite(t *testing.T) {
	for name, where := range map[string]string{"SQLite": File(t.TempDir()), "Postgres": ""} {
		t.Run(name, func(t *testing.T) {
			if where == "" {
				where = testdb.PostgresURL(t)
			}
			db := open(t, where)
			err := db.Read(t.Context(), func(r store.Reader) error {
				return r.(store.Writer).SetSetting(t.Context(), "a", "1")
			})
			if err == nil || setting(t, db, "a") != "" {
				t.Errorf("a reader wrote: %v", err)
			}
		})
	}
}
