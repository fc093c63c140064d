// Command pinset keeps the records of a small mushroom lab: it plans fair
// comparisons, follows every jar from the cook to the scale, and judges what
// the jars can show. See README.md.
package main

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"syscall"
	_ "time/tzdata" // farms have time zones, small machines may have no table of them

	"pinset/internal/app"
	"pinset/internal/cli"
	"pinset/internal/store/sqldb"
)

func main() { os.Exit(run(os.Args[1:])) }

func run(args []string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second interrupt ends the program at once
	house := cli.House{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Version: version(),
		ReadFile: os.ReadFile, Open: openFarm, Backup: backup, Serve: serve,
	}
	return cli.Run(ctx, house, recordsDir(), args)
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

// openStore opens the records in dir, which is made if it is not there yet.
// A postgres URL in its place is taken as such.
func openStore(ctx context.Context, dir string) (*sqldb.DB, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	return sqldb.Open(ctx, sqldb.File(dir))
}

func openFarm(ctx context.Context, dir string) (*app.Farm, func() error, error) {
	db, err := openStore(ctx, dir)
	if err != nil {
		return nil, nil, err
	}
	return app.New(db), db.Close, nil
}

func backup(ctx context.Context, dir, to string) error {
	db, err := openStore(ctx, dir)
	if err != nil {
		return err
	}
	return errors.Join(db.Backup(ctx, to), db.Close())
}
