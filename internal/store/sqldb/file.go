package sqldb

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"pinset/internal/store"
)

// Files keeps files in a table, for records that have no folder.
type Files struct{ db *DB }

var _ store.Files = Files{}

// Files returns the files that are kept in the database.
func (db *DB) Files() Files { return Files{db} }

// Folder returns the folder that the records are in, "" if they are on a
// server.
func (db *DB) Folder() string {
	if db.file == "" {
		return ""
	}
	return filepath.Dir(db.file)
}

// Put keeps data under their SHA-256. It takes no turn among the writers: it
// is one statement, and waits for nobody.
func (f Files) Put(ctx context.Context, data []byte) (string, error) {
	sum := sha256.Sum256(data)
	name := hex.EncodeToString(sum[:])
	leave, err := f.db.enter()
	if err != nil {
		return "", err
	}
	defer leave()
	const put = "INSERT INTO file (name, kept, content) VALUES ($1, $2, $3) ON CONFLICT (name) DO UPDATE SET kept = excluded.kept"
	if _, err := f.db.writes.ExecContext(ctx, put, name, time.Now().UTC().Format(timeForm), data); err != nil {
		return "", explain(ctx, f.db.dialect, err, "keep the file "+name)
	}
	return name, nil
}

// Get returns what is in the file called name.
func (f Files) Get(ctx context.Context, name string) ([]byte, error) {
	leave, err := f.db.enter()
	if err != nil {
		return nil, err
	}
	defer leave()
	var data []byte
	err = f.db.reads.QueryRowContext(ctx, "SELECT content FROM file WHERE name = $1", name).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("sqldb: file %.80q: %w", name, fs.ErrNotExist)
	}
	if err != nil {
		return nil, explain(ctx, f.db.dialect, err, "read a file")
	}
	return data, nil
}

// Remove removes the file called name.
func (f Files) Remove(ctx context.Context, name string) error {
	leave, err := f.db.enter()
	if err != nil {
		return err
	}
	defer leave()
	if _, err := f.db.writes.ExecContext(ctx, "DELETE FROM file WHERE name = $1", name); err != nil {
		return explain(ctx, f.db.dialect, err, "remove a file")
	}
	return nil
}

// Each calls visit for each file.
func (f Files) Each(ctx context.Context, visit func(name string, kept time.Time) error) error {
	names, err := f.all(ctx)
	if err != nil {
		return err
	}
	for _, n := range names {
		kept, err := time.Parse(timeForm, n.kept)
		if err != nil {
			return err
		}
		if err := visit(n.name, kept); err != nil {
			return err
		}
	}
	return nil
}

type keptFile struct{ name, kept string }

func (f Files) all(ctx context.Context) (_ []keptFile, err error) {
	leave, err := f.db.enter()
	if err != nil {
		return nil, err
	}
	defer leave()
	rows, err := f.db.reads.QueryContext(ctx, "SELECT name, kept FROM file ORDER BY name")
	if err != nil {
		return nil, explain(ctx, f.db.dialect, err, "list the files")
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var out []keptFile
	for rows.Next() {
		var n keptFile
		if err := rows.Scan(&n.name, &n.kept); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, rows.Err()
}
