// Package blob keeps files on a disk under the hash of what is in them, so
// that the same content is kept once and a name says whether its file is
// sound. It knows nothing of what the files are for.
package blob

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// ErrDamaged is returned for a file that does not hold what its name says.
var ErrDamaged = errors.New("the file is damaged")

// Name returns the name under which data are kept: their SHA-256, in 64
// hexadecimal digits.
func Name(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Folder keeps files in a folder, which is made with the first of them. It is
// safe for use by many at once, also by several processes.
type Folder struct {
	dir string
	mu  sync.Mutex // a file is not removed while it is put again
}

// In returns the files in dir.
func In(dir string) *Folder { return &Folder{dir: dir} }

// part begins the names of files that are not whole yet.
const part = ".part-"

// path returns where the file called name is. A name that is no hash has no
// file: fs.ErrNotExist.
func (f *Folder) path(name string) (string, error) {
	if _, err := hex.DecodeString(name); err != nil || len(name) != 2*sha256.Size || name != strings.ToLower(name) {
		return "", fmt.Errorf("blob: %.80q: %w", name, fs.ErrNotExist)
	}
	return filepath.Join(f.dir, name[:2], name), nil
}

// Put keeps data and returns their name. When it returns they have reached
// the disk. Data that are there already are kept as they are, and count as
// kept now.
func (f *Folder) Put(ctx context.Context, data []byte) (string, error) {
	if err := ctx.Err(); err != nil {
		return "", err
	}
	name := Name(data)
	path, err := f.path(name)
	if err != nil {
		return "", err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if there, err := os.ReadFile(path); err == nil && bytes.Equal(there, data) {
		now := time.Now()
		return name, os.Chtimes(path, now, now)
	}
	if err := f.write(path, data); err != nil {
		return "", fmt.Errorf("blob: keep %s: %w", name, err)
	}
	return name, nil
}

// write makes the file at path with data, whole or not at all.
func (f *Folder) write(path string, data []byte) (err error) {
	shelf := filepath.Dir(path)
	if err := os.MkdirAll(shelf, 0o700); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(f.dir, part+"*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(tmp.Name()))
		}
	}()
	_, err = tmp.Write(data)
	if err == nil {
		err = tmp.Sync()
	}
	if err = errors.Join(err, tmp.Close()); err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return err
	}
	return errors.Join(syncFolder(shelf), syncFolder(f.dir))
}

// Get returns what is in the file called name. The error is fs.ErrNotExist if
// there is none, and ErrDamaged if it is not what was kept.
func (f *Folder) Get(_ context.Context, name string) ([]byte, error) {
	path, err := f.path(name)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	if Name(data) != name {
		return nil, fmt.Errorf("blob: %s: %w", path, ErrDamaged)
	}
	return data, nil
}

// Remove removes the file called name. One that is not there is no error.
func (f *Folder) Remove(_ context.Context, name string) error {
	path, err := f.path(name)
	if err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Each calls visit for each file with the time when it was last put, until
// visit returns an error. Files that were never whole are removed on the way
// when they are older than an hour.
func (f *Folder) Each(ctx context.Context, visit func(name string, kept time.Time) error) error {
	const forsaken = time.Hour
	err := filepath.WalkDir(f.dir, func(path string, entry fs.DirEntry, err error) error {
		if err := errors.Join(err, ctx.Err()); err != nil {
			return err
		}
		if entry.IsDir() {
			return nil
		}
		info, err := entry.Info()
		if errors.Is(err, fs.ErrNotExist) {
			return nil // removed meanwhile
		}
		if err != nil {
			return err
		}
		name := entry.Name()
		if strings.HasPrefix(name, part) {
			if time.Since(info.ModTime()) > forsaken {
				return os.Remove(path)
			}
			return nil
		}
		if want, err := f.path(name); err != nil || want != path {
			return nil // not ours
		}
		return visit(name, info.ModTime())
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil // nothing was kept yet
	}
	return err
}

// CopyTo puts into another folder what is not there yet, and returns how many
// files that were. A file that is damaged here is an error.
func (f *Folder) CopyTo(ctx context.Context, to *Folder) (copied int, err error) {
	err = f.Each(ctx, func(name string, _ time.Time) error {
		path, err := to.path(name)
		if err != nil {
			return err
		}
		if _, err := os.Lstat(path); err == nil {
			return nil
		}
		data, err := f.Get(ctx, name)
		if errors.Is(err, fs.ErrNotExist) {
			return nil // removed meanwhile
		}
		if err != nil {
			return err
		}
		copied++
		_, err = to.Put(ctx, data)
		return err
	})
	return copied, err
}
