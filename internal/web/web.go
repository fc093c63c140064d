// Package web serves Pinset's pages: plain HTML that works without scripts,
// on a phone with one wet thumb and on a desk.
//
// Every route is a row of one table with its rule. Handlers parse at the
// edge, call one use case of package app and answer; they return an error,
// which one place turns into a page. Pages are typed structs, each with a
// template of its own, and the two are counted against each other at start.
package web

import (
	"cmp"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"pinset/internal/api"
	"pinset/internal/app"
)

// Options say how the pages are served.
type Options struct {
	Listen     string   // address listened on, such as "127.0.0.1:8470"
	Passphrase string   // asked at the door; "" asks nobody
	Hosts      []string // names, besides localhost and addresses, that the pages are asked for by
	Authority  []byte   // certificate of the farm's own authority, in DER; nil: HTTPS is not spoken
	Version    string   // of the program, as /api/v1 tells it
	Log        *slog.Logger
}

// server holds what all handlers need.
type server struct {
	farm      *app.Farm
	log       *slog.Logger
	views     *views
	assets    *assets
	door      *door // nil: no passphrase
	authority *authority
	held      heldFiles
	reading   chan struct{} // bounds the pictures that are read at one time
	now       func() time.Time
	api       http.Handler // what programs ask for
}

// New returns the handler of all pages. It fails if a passphrase is needed
// and not given, or if a page and its template do not match.
func New(farm *app.Farm, o Options) (http.Handler, error) {
	if err := CheckListen(o.Listen, o.Passphrase); err != nil {
		return nil, err
	}
	s, err := newServer(farm, o)
	if err != nil {
		return nil, err
	}
	return s.handler(newHosts(o.Hosts)), nil
}

func newServer(farm *app.Farm, o Options) (*server, error) {
	s := &server{farm: farm, log: o.Log, now: time.Now, reading: make(chan struct{}, 1)}
	if s.log == nil {
		s.log = slog.Default()
	}
	var err error
	if s.assets, err = newAssets(staticFiles); err != nil {
		return nil, err
	}
	if s.views, err = newViews(pageFiles, allPages, s.assets); err != nil {
		return nil, err
	}
	if s.api, err = api.New(farm, cmp.Or(o.Version, "unknown")); err != nil {
		return nil, err
	}
	if s.authority, err = newAuthority(o.Authority); err != nil {
		return nil, err
	}
	if o.Passphrase != "" {
		if s.door, err = newDoor(o.Passphrase); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// CheckListen returns an error unless addr is a loopback address or a
// passphrase is set: whoever reaches the pages can read and write all
// records.
func CheckListen(addr, passphrase string) error {
	if err := checkPassphrase(passphrase); err != nil {
		return err
	}
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return fmt.Errorf("%q is no address to listen on; write it like 127.0.0.1:8470", addr)
	}
	if passphrase != "" || isLoopback(host) {
		return nil
	}
	return fmt.Errorf("anybody in reach of %s could read and change all records; set a passphrase, or listen on 127.0.0.1", addr)
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// NewServer returns a server for h with time limits, so that slow or silent
// callers can not hold it.
func NewServer(addr string, h http.Handler) *http.Server {
	return &http.Server{
		Addr:              addr,
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
	}
}
