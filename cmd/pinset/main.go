// Command pinset keeps the records of a small mushroom lab: it plans fair
// comparisons, follows every jar from the cook to the scale, and judges what
// the jars can show. See README.md.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"
	_ "time/tzdata" // farms have time zones, small machines may have no table of them

	"pinset/internal/app"
	"pinset/internal/cli"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
)

func main() { os.Exit(run(os.Args[1:])) }

// clock and chance are the program's own; tests set them.
var (
	clock  = time.Now
	chance = rand.Reader
)

func run(args []string) int {
	house := cli.House{
		In: os.Stdin, Typed: isTyped(os.Stdin), Out: os.Stdout, Err: os.Stderr, Version: version(),
		ReadFile: os.ReadFile, WriteFile: writeFile, Folder: openFolder, MakeFolder: makeFolders, Open: openFarm, Backup: backup, Serve: serve,
	}
	return cli.Run(context.Background(), house, recordsDir(), args)
}

// isTyped reports whether f is a keyboard: a device, but not the null device.
func isTyped(f *os.File) bool {
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err == nil && !os.SameFile(info, null)
}

// version returns the version that the program was built as.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "unreleased"
	}
	return info.Main.Version
}

// recordsDir returns the folder of the records if nothing else is said.
func recordsDir() string {
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "pinset")
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "pinset-records"
	}
	return filepath.Join(home, ".local", "share", "pinset")
}

// openStore opens the records in the folder dir, or those that a postgres
// address names. If there are none in the folder they are begun, or are a
// Problem if begin is false.
func openStore(ctx context.Context, dir string, begin bool) (*sqldb.DB, error) {
	if strings.HasPrefix(dir, "postgres://") || strings.HasPrefix(dir, "postgresql://") {
		return sqldb.Open(ctx, dir)
	}
	dir, err := folder(dir)
	if err != nil {
		return nil, err
	}
	file := sqldb.File(dir)
	if !begin {
		if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
			return nil, &lab.Problem{
				Kind: lab.NotFound, Field: "data", What: "there are no records in " + dir,
				Mend: "check --data and PINSET_DATA, or begin records there with pinset farm set --name",
			}
		}
	}
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	return sqldb.Open(ctx, file)
}

// folder returns the whole path of a folder as typed, which may begin with ~.
func folder(typed string) (string, error) {
	if rest, ok := strings.CutPrefix(typed, "~/"); ok {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", err
		}
		typed = filepath.Join(home, rest)
	}
	return filepath.Abs(typed)
}

// makeFolder makes a folder that only its owner can read, if it is not there.
func makeFolder(dir string) error {
	err := os.MkdirAll(dir, 0o700)
	if err == nil {
		return nil
	}
	return &lab.Problem{Kind: lab.Refused, Field: "data", What: "the folder of the records can not be made: " + err.Error(), Mend: "name another with --data"}
}

func openFarm(ctx context.Context, dir string, begin bool) (*app.Farm, func() error, error) {
	db, err := openStore(ctx, dir, begin)
	if err != nil {
		return nil, nil, err
	}
	return newFarm(db), db.Close, nil
}

// newFarm returns the farm whose records db keeps.
func newFarm(db *sqldb.DB, options ...app.Option) *app.Farm {
	return app.New(db, append([]app.Option{app.WithClock(clock), app.WithChance(chance), app.WithFiles(filesOf(db))}, options...)...)
}

// writeFile writes data to the file called name.
func openFolder(name string) fs.FS {
	if info, err := os.Stat(name); err != nil || !info.IsDir() {
		return nil
	}
	return os.DirFS(name)
}

func makeFolders(name string) error { return os.MkdirAll(name, 0o755) }

func writeFile(name string, data []byte) error { return os.WriteFile(name, data, 0o644) }
