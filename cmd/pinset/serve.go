package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"pinset/internal/app"
	"pinset/internal/cli"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/trust"
	"pinset/internal/web"
)

// stopping is how long requests under way may take when the program stops.
const stopping = 5 * time.Second

// serve serves the pages until ctx is done or the program is interrupted.
func serve(ctx context.Context, s cli.Serving) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second interrupt ends the program at once
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
	return errors.Join(serveFarm(ctx, listener, s, passphrase), closeListener(listener))
}

// unlessStopped returns err, or nil if ctx is done: an interrupt is no fault.
func unlessStopped(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

// closeListener closes what the server may have closed before.
func closeListener(l net.Listener) error {
	if err := l.Close(); !errors.Is(err, net.ErrClosed) {
		return err
	}
	return nil
}

// serveFarm opens the records and serves them on listener.
func serveFarm(ctx context.Context, listener net.Listener, s cli.Serving, passphrase string) (err error) {
	dir, cleanUp, err := servingDir(s)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, cleanUp()) }()
	db, err := openStore(ctx, dir, true)
	if err != nil {
		return unlessStopped(ctx, err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if s.Demo {
		if err := plant(ctx, db); err != nil {
			return unlessStopped(ctx, err)
		}
	}
	return servePages(ctx, listener, newFarm(db), s, passphrase)
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
func servingDir(s cli.Serving) (dir string, cleanUp func() error, err error) {
	if s.Dir != "" {
		return s.Dir, func() error { return nil }, nil
	}
	dir, err = os.MkdirTemp("", "pinset-demo-")
	return dir, func() error { return os.RemoveAll(dir) }, err
}

// plant plants the demo farm in an empty store. Records that are not the
// demo's are left alone, and refused.
func plant(ctx context.Context, db *sqldb.DB) error {
	farm := newFarm(db)
	settings, err := farm.Settings(ctx)
	if err != nil || settings.Name == demo.Name {
		return err
	}
	empty, err := isEmpty(ctx, farm)
	if err != nil {
		return err
	}
	if !empty || settings.Name != "" {
		return &lab.Problem{Kind: lab.Conflict, Field: "data", What: "the folder holds records that are not the demo's", Mend: "name an empty one, or see them with pinset serve"}
	}
	return demo.Plant(ctx, func(o ...app.Option) *app.Farm { return newFarm(db, o...) }, clock())
}

// isEmpty reports whether nothing was entered yet.
func isEmpty(ctx context.Context, farm *app.Farm) (bool, error) {
	batches, err := farm.Batches(ctx)
	if err != nil || len(batches) > 0 {
		return false, err
	}
	cultures, err := farm.Cultures(ctx)
	if err != nil || len(cultures) > 0 {
		return false, err
	}
	recipes, err := farm.Recipes(ctx)
	return len(recipes) == 0, err
}

func servePages(ctx context.Context, listener net.Listener, farm *app.Farm, s cli.Serving, passphrase string) error {
	level := slog.LevelWarn
	if s.LogRequests {
		level = slog.LevelInfo
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: level}))
	o := web.Options{Listen: s.Listen, Passphrase: passphrase, Hosts: s.Hosts, Version: version(), Log: log}
	scheme, print := "http://", ""
	if s.TLSDir != "" {
		keeper, err := openTrust(ctx, farm, s)
		if err != nil {
			return err
		}
		listener = trust.Split(listener, keeper.TLS())
		o.Authority, scheme, print = keeper.Root(), "https://", keeper.Fingerprint()
	}
	handler, err := web.New(farm, o)
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler: handler, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 64 << 10,
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	if err := s.Ready(scheme+listener.Addr().String(), print); err != nil {
		return errors.Join(err, server.Close())
	}
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
