package sqldb

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"pinset/internal/lab"
)

// Backup writes a copy of the data to a new SQLite file at path while others
// go on reading and writing. The copy is one state, checked and on the disk
// when Backup returns nil; otherwise there is no file at path. A file that is
// there already is a Conflict. PostgreSQL is Refused: its own tools do it.
func (db *DB) Backup(ctx context.Context, path string) (err error) {
	leave, err := db.enter()
	if err != nil {
		return err
	}
	defer leave()
	if db.file == "" {
		return refused("use pg_dump, or what your server has for it", "a PostgreSQL database is not copied by Pinset")
	}
	return db.backup(ctx, path)
}

func (db *DB) backup(ctx context.Context, path string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return lab.Conflictf("choose another name, or move that file away", "there is a file %s already", path)
	}
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*")
	if errors.Is(err, fs.ErrNotExist) {
		return refused("make the folder, or name another file", "the folder %s does not exist", filepath.Dir(path))
	}
	if err != nil {
		return fmt.Errorf("sqldb: back up to %s: %w", path, err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(part.Name()))
		}
	}()
	if err := part.Close(); err != nil {
		return fmt.Errorf("sqldb: back up to %s: %w", path, err)
	}
	if err := copyFile(ctx, db.file, part.Name()); err != nil {
		return explain(ctx, db.dialect, err, "back up to "+path)
	}
	if err := checkIntegrity(ctx, part.Name()); err != nil {
		return fmt.Errorf("sqldb: back up to %s: %w", path, err)
	}
	if err := syncFile(part.Name()); err != nil {
		return fmt.Errorf("sqldb: back up to %s: %w", path, err)
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return fmt.Errorf("sqldb: back up to %s: %w", path, err)
	}
	return syncFolder(filepath.Dir(path))
}

// copyFile writes one state of the file from to the empty file to. It needs a
// connection of its own: those of readers may write nothing at all.
func copyFile(ctx context.Context, from, to string) (err error) {
	pool, err := openPool(from, 1, pragmas...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, pool.Close()) }()
	_, err = pool.ExecContext(ctx, "VACUUM INTO $1", to)
	return err
}

// backupBefore copies the file before its tables, of the given version, are
// changed. It never replaces an earlier copy.
func (db *DB) backupBefore(ctx context.Context, version int) error {
	path := fmt.Sprintf("%s.before-%d", db.file, version+1)
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			return db.backup(ctx, path)
		}
		path = fmt.Sprintf("%s.before-%d-%d", db.file, version+1, n)
	}
}

// checkIntegrity reads all of a SQLite file and returns an error if it is
// not sound.
func checkIntegrity(ctx context.Context, path string) (err error) {
	db, err := openPool(path, 1, "mode=ro")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	said, err := column1(ctx, db, "PRAGMA integrity_check")
	if err != nil {
		return explain(ctx, sqliteDialect{}, err, "check "+path)
	}
	if len(said) != 1 || said[0] != "ok" {
		return fmt.Errorf("the file %s is not sound: %v", path, said)
	}
	return nil
}

func syncFile(path string) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return f.Sync()
}
