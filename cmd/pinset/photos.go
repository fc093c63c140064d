package main

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"pinset/internal/blob"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/store/sqldb"
)

// photosIn returns the folder of the photos in a folder of records.
func photosIn(dir string) string { return filepath.Join(dir, "photos") }

// filesOf returns where the files of photos are kept: in a folder beside the
// records, or with them on a server.
func filesOf(db *sqldb.DB) store.Files {
	if dir := db.Folder(); dir != "" {
		return photoFolder{blob.In(photosIn(dir))}
	}
	return db.Files()
}

// photoFolder says in words for people when the disk is full.
type photoFolder struct{ *blob.Folder }

// Put keeps data and returns their name.
func (f photoFolder) Put(ctx context.Context, data []byte) (string, error) {
	name, err := f.Folder.Put(ctx, data)
	if errors.Is(err, syscall.ENOSPC) {
		return "", &lab.Problem{Kind: lab.Busy, What: "there is no space left on the disk that holds the photos", Mend: "free some space and send it again; nothing of this entry was stored"}
	}
	return name, err
}

// backup copies the records in dir to the file called to, and then the photos
// to a folder beside it: those that are not there yet, for their names say
// what is in them.
func backup(ctx context.Context, dir, to string, photos bool) (folder string, files int, err error) {
	db, err := openStore(ctx, dir, false)
	if err != nil {
		return "", 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.Backup(ctx, to); err != nil {
		return "", 0, err
	}
	from, beside := photosIn(db.Folder()), photosIn(filepath.Dir(to))
	if !photos || from == beside {
		return "", 0, nil
	}
	if files, err = blob.In(from).CopyTo(ctx, blob.In(beside)); err != nil {
		return "", files, err
	}
	if _, err := os.Stat(beside); errors.Is(err, fs.ErrNotExist) {
		return "", 0, nil // no photo was ever kept
	}
	return beside, files, nil
}
