package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/cli"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/web"
)

// stopping is how long requests under way may take when the program stops.
const stopping = 5 * time.Second

// serve serves the pages until ctx is done.
func serve(ctx context.Context, s cli.Serving) error {
	passphrase, err := readPassphrase(s.PassphraseFile)
	if err != nil {
		return err
	}
	if err := web.CheckListen(s.Listen, passphrase); err != nil {
		return &lab.Problem{Kind: lab.Invalid, Field: "listen", What: err.Error()}
	}
	listener, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return &lab.Problem{Kind: lab.Busy, Field: "listen", What: fmt.Sprintf("%s can not be listened on: %v", s.Listen, err), Mend: "stop what uses it, or choose another with --listen"}
	}
	dir, cleanUp, err := servingDir(s)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	defer cleanUp()
	db, err := openStore(ctx, dir)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	if s.Demo {
		if err := plant(ctx, db); err != nil {
			return errors.Join(err, listener.Close(), db.Close())
		}
	}
	return errors.Join(serveOn(ctx, listener, app.New(db), s, passphrase), db.Close())
}

// readPassphrase reads the passphrase from its file, or from the environment.
func readPassphrase(file string) (string, error) {
	if file == "" {
		return os.Getenv("PINSET_PASSPHRASE"), nil
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		return "", &lab.Problem{Kind: lab.Invalid, Field: "passphrase_file", What: err.Error(), Mend: "check the name of the file"}
	}
	return strings.TrimSpace(string(raw)), nil
}

// servingDir returns the folder of the records; that of a demo without one is
// removed by cleanUp.
func servingDir(s cli.Serving) (dir string, cleanUp func(), err error) {
	if s.Dir != "" {
		return s.Dir, func() {}, nil
	}
	dir, err = os.MkdirTemp("", "pinset-demo-")
	return dir, func() { os.RemoveAll(dir) }, err
}

// plant plants the demo farm in an empty store.
func plant(ctx context.Context, db *sqldb.DB) error {
	there, err := app.New(db).Batches(ctx)
	if err != nil || len(there) > 0 {
		return err
	}
	return demo.Plant(ctx, func(o ...app.Option) *app.Farm { return app.New(db, o...) }, time.Now())
}

func serveOn(ctx context.Context, listener net.Listener, farm *app.Farm, s cli.Serving, passphrase string) error {
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	handler, err := web.New(farm, web.Options{Listen: s.Listen, Passphrase: passphrase, Log: log})
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	server := &http.Server{
		Handler: handler, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 64 << 10,
	}
	fmt.Printf("Open http://%s in a browser. Stop with Ctrl-C.\n", listener.Addr())
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	patience, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopping)
	defer cancel()
	if err := server.Shutdown(patience); err != nil {
		return errors.Join(err, server.Close())
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
