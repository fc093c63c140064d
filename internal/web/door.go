package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// door lets in those who know the passphrase or a pairing code. Who was let
// in carries a cookie with a secret, of which the records keep the hash.
type door struct {
	salt, hash []byte
	tries      limiter       // of passphrases and pairing codes together
	entries    limiter       // of each device
	working    chan struct{} // bounds hashing at one time, which takes memory
}

// Argon2id with 19 MiB, 2 passes, 1 lane: the least that the OWASP password
// storage advice names (from memory). It is small because the program may
// run on a single-board computer.
func stretch(passphrase string, salt []byte) []byte {
	return argon2.IDKey([]byte(passphrase), salt, 2, 19*1024, 1, 32)
}

func newDoor(passphrase string) (*door, error) {
	salt := make([]byte, 16)
	if _, err := rand.Read(salt); err != nil {
		return nil, fmt.Errorf("web: draw the door's salt: %w", err)
	}
	d := &door{
		salt: salt, tries: limiter{each: triesEach, most: triesAll}, entries: limiter{each: entriesEach, most: 20 * entriesEach},
		working: make(chan struct{}, 2),
	}
	d.hash = stretch(passphrase, d.salt)
	return d, nil
}

// knows reports whether passphrase is the one. At most two are tried at once.
func (d *door) knows(r *http.Request, passphrase string) bool {
	select {
	case d.working <- struct{}{}:
		defer func() { <-d.working }()
	case <-r.Context().Done():
		return false
	}
	return subtle.ConstantTimeCompare(stretch(passphrase, d.salt), d.hash) == 1
}

// limiter bounds what is done within a minute, for each address or device
// and in all.
type limiter struct {
	each, most int

	mu    sync.Mutex
	since time.Time
	by    map[string]int
	all   int
}

// What is free within a minute.
const (
	triesEach   = 8
	triesAll    = 60
	entriesEach = 300 // more than a thumb makes, and room to hand over what waited
)

// take reports whether who may do it once more at now.
func (l *limiter) take(who string, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.by == nil || now.Sub(l.since) >= time.Minute {
		l.since, l.by, l.all = now, make(map[string]int), 0
	}
	if l.all >= l.most || l.by[who] >= l.each {
		return false
	}
	l.all++
	l.by[who]++
	return true
}

// doorCookie is the name of the cookie that lets in. Over TLS browsers hold
// its prefix to this host, all paths and no plain HTTP.
func doorCookie(r *http.Request) string {
	if r.TLS != nil {
		return "__Host-pinset_door"
	}
	return "pinset_door"
}

// giveSecret hands the browser what lets it in from now on.
func giveSecret(w http.ResponseWriter, r *http.Request, secret string) {
	setCookie(w, r, doorCookie(r), secret, int(app.DeviceStay.Seconds()))
}

type guestKey struct{}

// guestOf returns who makes the request. Where there is no door everybody is
// the owner.
func guestOf(r *http.Request) app.Guest {
	if g, ok := r.Context().Value(guestKey{}).(app.Guest); ok {
		return g
	}
	return app.Guest{Role: lab.Owner}
}

// admit returns r with its guest, and whether one was let in. Without a door
// all are.
func (s *server) admit(r *http.Request) (_ *http.Request, in bool, err error) {
	if s.door == nil {
		return r, true, nil
	}
	g := app.Guest{}
	c, err := r.Cookie(doorCookie(r))
	if err == nil {
		g, err = s.farm.Admit(r.Context(), c.Value)
		if err != nil && !lab.IsKind(err, lab.Refused) {
			return r, false, err
		}
	}
	return r.WithContext(context.WithValue(r.Context(), guestKey{}, g)), err == nil, nil
}

// letThrough holds the rule of a route. If it answers itself, because nobody
// was let in or who was may not, it returns false.
func (s *server) letThrough(rt route, w http.ResponseWriter, r *http.Request) (*http.Request, bool) {
	least := rt.rule.least()
	if least == "" {
		return r, true
	}
	r, in, err := s.admit(r)
	g := guestOf(r)
	switch {
	case err != nil:
		s.answer(w, r, err)
	case !in:
		s.toTheDoor(w, r)
	case !g.Role.May(least):
		s.oops(w, r, http.StatusForbidden, "Not yours to do",
			fmt.Sprintf("this needs the role %s, and you came in as %s", least, g.Role), "ask the owner to do it, or for that role; nothing was written")
	case rt.rule != read && s.door != nil && !s.door.entries.take(string(g.Device), s.now()):
		w.Header().Set("Retry-After", "60")
		s.oops(w, r, http.StatusTooManyRequests, "Too fast", "this device sent more than "+strconv.Itoa(entriesEach)+" entries within a minute", "wait a minute, then send it again; nothing of it was written")
	default:
		return r, true
	}
	return r, false
}

// toTheDoor sends those who were not let in to the door. What they posted is
// not kept.
func (s *server) toTheDoor(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		s.oops(w, r, http.StatusUnauthorized, "Not let in",
			"this device was not let in, or not any more", "open the door, then enter it again; nothing was written")
		return
	}
	http.Redirect(w, r, "/login?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
}

// loginPage asks for the passphrase.
type loginPage struct {
	frame
	To    string
	Wrong string
}

func (loginPage) template() string { return "house/login" }

// getLogin serves GET /login: the door.
func (s *server) getLogin(w http.ResponseWriter, r *http.Request) error {
	to := localPath(r.FormValue("to"))
	_, in, err := s.admit(r)
	if err != nil {
		return err
	}
	if in {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	return s.showLogin(w, r, http.StatusOK, "")
}

func (s *server) showLogin(w http.ResponseWriter, r *http.Request, status int, wrong string) error {
	p := &loginPage{frame: frame{Title: "The door"}, To: localPath(r.FormValue("to")), Wrong: wrong}
	s.fillPlain(r, &p.frame)
	p.Did, p.Bare = nil, true
	return s.write(w, status, p)
}

// postLogin serves POST /login.
func (s *server) postLogin(w http.ResponseWriter, r *http.Request) error {
	to := localPath(r.PostFormValue("to"))
	if s.door == nil {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	if !s.door.tries.take(addressOf(r), s.now()) {
		w.Header().Set("Retry-After", "60")
		return s.showLogin(w, r, http.StatusTooManyRequests, "Too many tries. Wait a minute, then try again.")
	}
	if !s.door.knows(r, r.PostFormValue("passphrase")) {
		return s.showLogin(w, r, http.StatusForbidden, "That is not the passphrase. Mind capitals and spaces.")
	}
	secret, err := s.farm.LetIn(r.Context(), deviceName(r))
	if err != nil {
		return err
	}
	giveSecret(w, r, secret)
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// postLogout serves POST /logout: the device is let in no more.
func (s *server) postLogout(w http.ResponseWriter, r *http.Request) error {
	r, _, err := s.admit(r)
	if err != nil {
		return err
	}
	if g := guestOf(r); g.Device != "" {
		if err := s.farm.TurnOut(r.Context(), g.Device); err != nil {
			return err
		}
	}
	setCookie(w, r, doorCookie(r), "", 0)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
	return nil
}

// addressOf is the address that r came from, without its port.
func addressOf(r *http.Request) string {
	addr, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return addr
}
