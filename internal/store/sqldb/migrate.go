package sqldb

import (
	"bytes"
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"pinset/internal/lab"
)

//go:embed migrations/*.sql
var embedded embed.FS

// migrations are the numbered files that make and change the tables. Files
// are added, never edited: data that went through an old text would differ
// from data that went through the new one.
func migrations() fs.FS {
	sub, err := fs.Sub(embedded, "migrations")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return sub
}

// versionTable holds the numbers of the files that ran. Its name also tells
// Pinset's data from those of another program.
const versionTable = "pinset_version"

// migrationLock is a number that any two copies of Pinset agree upon.
const migrationLock = 0x50494e534d494752

// schema is what the tables of some data are like.
type schema struct {
	fresh   bool // there are no tables yet
	version int  // of the tables, 0 if fresh
	marked  bool // the SQLite file says that it is Pinset's
}

// examine finds out about the tables without changing anything. Tables of
// another program, and tables newer than known, are refused.
func examine(ctx context.Context, db *sql.DB, d dialect, known int, where string) (schema, error) {
	tables, err := d.tables(ctx, db)
	if err != nil {
		return schema{}, explain(ctx, d, err, "look at "+where)
	}
	if !slices.Contains(tables, versionTable) {
		if len(tables) > 0 {
			return schema{}, foreign(where)
		}
		return schema{fresh: true}, nil
	}
	var s schema
	if err := db.QueryRowContext(ctx, "SELECT COALESCE(MAX(version_id), 0) FROM "+versionTable).Scan(&s.version); err != nil {
		return schema{}, explain(ctx, d, err, "read the version of "+where)
	}
	if s.version > known {
		return schema{}, &lab.Problem{
			Kind: lab.Refused,
			What: fmt.Sprintf("%s was written by a newer Pinset: its tables have version %d, this Pinset knows versions up to %d", where, s.version, known),
			Mend: "install the newer Pinset again; nothing was changed",
		}
	}
	s.fresh = s.version == 0
	return s, nil
}

// foreign returns the Problem for data that are not Pinset's.
func foreign(where string) error {
	return &lab.Problem{
		Kind: lab.Refused,
		What: where + " holds the data of another program",
		Mend: "name another place for the data of Pinset; nothing was changed",
	}
}

// newest returns the number of the last migration in files.
func newest(files fs.FS) (int, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return 0, err
	}
	last := 0
	for _, name := range names {
		n, err := goose.NumericComponent(name)
		if err != nil {
			return 0, fmt.Errorf("sqldb: migration %s: %w", name, err)
		}
		last = max(last, int(n))
	}
	return last, nil
}

// attempts bounds how often a migration is tried while another copy of
// Pinset, started at the same moment, is migrating the same file.
const attempts = 10

// migrate runs the files that have not run yet. Each file and its number are
// kept together or not at all.
func migrate(ctx context.Context, db *sql.DB, d dialect, files fs.FS, where string) error {
	known, err := newest(files)
	if err != nil {
		return err
	}
	before := -1
	for range attempts {
		err = up(ctx, db, d, files)
		if err == nil {
			return nil
		}
		// Another copy may have been faster. Then the version has moved on.
		s, errNow := examine(ctx, db, d, known, where)
		if errNow != nil || s.version == before {
			break
		}
		before = s.version
	}
	return explain(ctx, d, err, "bring the tables of "+where+" up to date")
}

func up(ctx context.Context, db *sql.DB, d dialect, files fs.FS) error {
	options := []goose.ProviderOption{
		goose.WithTableName(versionTable),
		goose.WithDisableGlobalRegistry(true),
		goose.WithLogger(goose.NopLogger()),
	}
	if d.migrator() == goose.DialectPostgres {
		locker, err := lock.NewPostgresSessionLocker(lock.WithLockID(migrationLock), lock.WithLockTimeout(1, 60))
		if err != nil {
			return err
		}
		options = append(options, goose.WithSessionLocker(locker))
	}
	p, err := goose.NewProvider(d.migrator(), db, translated{files, d}, options...)
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// translated is migration files in the words of a dialect.
type translated struct {
	files   fs.FS
	dialect dialect
}

// Open implements fs.FS.
func (t translated) Open(name string) (fs.File, error) {
	file, err := t.files.Open(name)
	if err != nil || !strings.HasSuffix(name, ".sql") {
		return file, err
	}
	text, err := fs.ReadFile(t.files, name)
	if err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return translatedFile{file, bytes.NewReader([]byte(t.dialect.translate(string(text))))}, nil
}

// translatedFile reads from memory what the file says in translation.
type translatedFile struct {
	fs.File
	text *bytes.Reader
}

// Read implements fs.File.
func (f translatedFile) Read(b []byte) (int, error) { return f.text.Read(b) }
