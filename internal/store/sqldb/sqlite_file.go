package sqldb

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"pinset/internal/lab"
)

// openSQLite opens or makes the file at path.
func openSQLite(ctx context.Context, path string) (*DB, error) {
	return openSQLiteWith(ctx, path, migrations())
}

// openSQLiteWith opens with the migrations in files.
func openSQLiteWith(ctx context.Context, path string, files fs.FS) (*DB, error) {
	if err := checkFile(path); err != nil {
		return nil, err
	}
	known, err := newest(files)
	if err != nil {
		return nil, err
	}
	s, err := examineFile(ctx, path, known)
	if err != nil {
		return nil, err
	}
	db := &DB{dialect: sqliteDialect{}, where: path, file: path}
	if err := db.openFile(ctx); err != nil {
		return nil, errors.Join(err, db.closePools())
	}
	if err := db.upgrade(ctx, s, known, files); err != nil {
		return nil, errors.Join(err, db.closePools())
	}
	return db, nil
}

// openFile opens the pools and makes sure that they are as told.
func (db *DB) openFile(ctx context.Context) (err error) {
	if db.writes, err = openPool(db.file, 1, append(pragmas, "_txlock=immediate")...); err != nil {
		return err
	}
	if db.reads, err = openPool(db.file, readers, append(pragmas, "_pragma=query_only(1)")...); err != nil {
		return err
	}
	for _, pool := range []*sql.DB{db.writes, db.reads} {
		if err := checkPragmas(ctx, pool); err != nil {
			return err
		}
	}
	return nil
}

// upgrade brings tables in state s up to date.
func (db *DB) upgrade(ctx context.Context, s schema, known int, files fs.FS) error {
	if !s.fresh && s.version < known {
		if err := db.backupBefore(ctx, s.version); err != nil {
			return err
		}
	}
	if !s.marked {
		if _, err := db.writes.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
			return explain(ctx, db.dialect, err, "mark "+db.file)
		}
	}
	if err := migrate(ctx, db.writes, db.dialect, files, db.file); err != nil {
		return err
	}
	return db.learnShape(ctx)
}

// learnShape lets SQLite look at how many rows there are, where that changed
// much, for it plans its searches by it. The number is the one that its manual
// names for a start, https://www.sqlite.org/pragma.html#pragma_optimize. When
// another process is writing or the disk is full, the next start will do.
func (db *DB) learnShape(ctx context.Context) error {
	_, err := db.writes.ExecContext(ctx, "PRAGMA optimize = 0x10002")
	if t := db.dialect.trouble(err); err == nil || t == busy || t == full {
		return nil
	}
	return explain(ctx, db.dialect, err, "optimize "+db.where)
}

// sqliteMagic is how every SQLite file begins, see
// https://www.sqlite.org/fileformat2.html §1.3.
const sqliteMagic = "SQLite format 3\x00"

// checkFile makes the file if it is not there, readable by its owner only,
// and refuses what can not be a data file without letting SQLite at it.
func checkFile(path string) (err error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return refused("name a file in it, such as "+File(path), "%s is a folder, not a file", path)
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return refused("make the folder, or name another file", "the folder %s does not exist", filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return refused("give Pinset the right to write it, or name another file; nothing was changed", "%s is write-protected", path)
	case err != nil:
		return fmt.Errorf("sqldb: open %s: %w", path, err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	start := make([]byte, len(sqliteMagic))
	n, err := io.ReadFull(file, start)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return fmt.Errorf("sqldb: read %s: %w", path, err)
	}
	if n > 0 && string(start[:n]) != sqliteMagic {
		return refused("name another file; nothing was changed", "%s is no data file of Pinset", path)
	}
	return nil
}

func refused(mend, format string, args ...any) error {
	return &lab.Problem{Kind: lab.Refused, What: fmt.Sprintf(format, args...), Mend: mend}
}

// examineFile looks at a file through a connection that changes nothing, not
// even its journal mode.
func examineFile(ctx context.Context, path string, known int) (s schema, err error) {
	d := sqliteDialect{}
	db, err := openPool(path, 1, pragmas[0], "_pragma=query_only(1)")
	if err != nil {
		return schema{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var id int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return schema{}, explain(ctx, d, err, "look at "+path)
	}
	if id != 0 && id != applicationID {
		return schema{}, foreign(path)
	}
	s, err = examine(ctx, db, d, known, path)
	s.marked = id == applicationID
	return s, err
}
