//go:build unix

package blob

import (
	"errors"
	"os"
)

// syncFolder makes the names in a folder as durable as the files.
func syncFolder(path string) (err error) {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return f.Sync()
}
