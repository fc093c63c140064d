package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"time"
)

// policy allows what the pages use and nothing else: no inline script or
// style, no other origin, no frame.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; connect-src 'self'"

// handler returns the routes behind their guards.
func (s *server) handler(names hosts) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(s.refuseOrigin))
	mux := s.mux()
	h := origin.Handler(s.orNowhere(mux))
	h = s.onlyTLS(h)
	h = s.onlyHosts(names, h)
	h = squeeze(withHeaders(h))
	return s.logged(h)
}

// orNowhere answers an entry that a phone kept for an address that this
// version does not have any more: it is refused, so that what the phone keeps
// behind it does not wait for ever.
func (s *server) orNowhere(mux *http.ServeMux) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, pattern := mux.Handler(r); pattern == "" && r.Header.Get(handover) != "" {
			w.Header().Set(handover, "1")
			s.oops(w, r, http.StatusNotFound, "No place for it",
				"this version of Pinset takes no entries where this one was made for", "enter it anew on its page, then drop this one")
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// withHeaders adds the headers that every answer carries.
func withHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		// Not no-referrer: that makes browsers send "Origin: null" with a
		// form, and over plain HTTP nothing else tells where it came from.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		next.ServeHTTP(w, r)
	})
}

// hosts are the names, in lower case, that the pages may be asked for by.
type hosts map[string]bool

func newHosts(names []string) hosts {
	h := hosts{"localhost": true}
	for _, n := range names {
		h[strings.ToLower(strings.TrimSuffix(strings.TrimSpace(n), "."))] = true
	}
	return h
}

// allows reports whether host, as the browser sent it, is ours. Addresses
// are, because a foreign page can make a name of its own point here, but not
// an address.
func (h hosts) allows(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.Trim(strings.ToLower(strings.TrimSuffix(host, ".")), "[]")
	_, err := netip.ParseAddr(host)
	return err == nil || h[host]
}

func (s *server) onlyHosts(names hosts, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !names.allows(r.Host) && !s.isOwnAddress(r) {
			http.Error(w, fmt.Sprintf("Pinset is not known here by the name %q. Open it by its address%s.", clipped(r.Host, 80), ownAddress(r)), http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// isOwnAddress reports whether r asks for the address that the owner keeps
// for labels: a name that the router serves for this machine.
func (s *server) isOwnAddress(r *http.Request) bool {
	keep, err := s.farm.LabelSettings(r.Context())
	if err != nil || keep.Address == "" {
		return false
	}
	_, host, _ := strings.Cut(keep.Address, "://")
	return strings.EqualFold(host, r.Host)
}

// ownAddress returns ": http://…" with the address that r reached.
func ownAddress(r *http.Request) string {
	scheme := ": http://"
	if r.TLS != nil {
		scheme = ": https://"
	}
	if a, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr); ok {
		return scheme + a.String()
	}
	return ""
}

func (s *server) refuseOrigin(w http.ResponseWriter, r *http.Request) {
	s.oops(w, r, http.StatusForbidden, "Sent from another site",
		"this entry came from a page that is not Pinset's", "open Pinset itself and enter it there; nothing was written")
}

// logged logs each request once, by its path alone: queries and bodies hold
// what people typed. A panic becomes a page.
func (s *server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := s.now()
		seen := &statusWriter{ResponseWriter: w}
		defer func() {
			if p := recover(); p != nil && p != http.ErrAbortHandler {
				s.log.Error("panic", "path", loggedPath(r), "panic", p, "stack", string(debug.Stack()))
				if seen.status == 0 {
					s.fault(seen, r)
				}
			}
			s.log.Info("request", "method", r.Method, "path", loggedPath(r), "status", seen.status,
				"bytes", seen.bytes, "ms", s.now().Sub(start).Round(time.Millisecond).Milliseconds())
		}()
		next.ServeHTTP(seen, r)
	})
}

// statusWriter remembers what was answered.
type statusWriter struct {
	http.ResponseWriter
	status, bytes int
}

func (w *statusWriter) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *statusWriter) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += n
	return n, err
}

// Unwrap lets http.ResponseController reach what is beneath.
func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
