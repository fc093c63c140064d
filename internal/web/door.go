package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"fmt"
	"math"
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
	tries      limiter       // of passphrases and pairing codes together, within a minute
	wrong      limiter       // those of them that were wrong, within an hour
	entries    limiter       // of each device, within a minute
	programs   limiter       // entries of each token, within a minute
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
		salt:     salt,
		tries:    limiter{each: triesEach, most: triesAll, span: time.Minute},
		wrong:    limiter{each: wrongEach, most: wrongAll, span: time.Hour},
		entries:  limiter{each: entriesEach, most: 20 * entriesEach, span: time.Minute},
		programs: limiter{each: programsEach, most: 4 * programsEach, span: time.Minute},
		working:  make(chan struct{}, 2),
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

// mayTry counts one try by who at now and returns how long to wait before
// the next, 0 if it may be made.
func (d *door) mayTry(who string, now time.Time) time.Duration {
	if wait := d.wrong.wait(who, now); wait > 0 {
		return wait
	}
	if d.tries.take(who, now) {
		return 0
	}
	return d.tries.wait(who, now)
}

// limiter bounds what is done within a span of time, for each address or
// device and in all.
type limiter struct {
	each, most int
	span       time.Duration

	mu    sync.Mutex
	since time.Time
	by    map[string]int
	all   int
}

// What is free within a minute, and wrong tries within an hour. With those
// that are under way when the bound is reached, 100 an hour are the most:
// OWASP Application Security Verification Standard 4.0.3, 2.2.1 (from memory).
const (
	triesEach    = 8
	triesAll     = 60
	wrongEach    = 20
	wrongAll     = 100 - triesAll
	programsEach = 1200 // 20 a second
	entriesEach  = 300  // more than a thumb makes, and room to hand over what waited
)

// take counts who's doing it once more at now and reports whether who may.
func (l *limiter) take(who string, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.full(who, now) {
		return false
	}
	l.all++
	l.by[who]++
	return true
}

// wait is how long who has to wait from now, 0 if not at all.
func (l *limiter) wait(who string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.full(who, now) {
		return 0
	}
	return l.since.Add(l.span).Sub(now)
}

// full reports whether who has done it as often as may be. The caller holds
// the lock.
func (l *limiter) full(who string, now time.Time) bool {
	if l.by == nil || now.Sub(l.since) >= l.span {
		l.since, l.by, l.all = now, make(map[string]int), 0
	}
	return l.all >= l.most || l.by[who] >= l.each
}

// retryAfter tells the browser to wait and returns it in words.
func retryAfter(w http.ResponseWriter, wait time.Duration) string {
	w.Header().Set("Retry-After", strconv.Itoa(int(wait.Seconds()+0.999)))
	if minutes := int(math.Ceil(wait.Minutes())); minutes > 1 {
		return fmt.Sprintf("wait %d minutes", minutes)
	}
	return "wait a minute"
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

type callerKey struct{}

// callerOf returns who makes the request. Where there is no door everybody is
// the owner.
func callerOf(r *http.Request) app.Caller {
	if g, ok := r.Context().Value(callerKey{}).(app.Caller); ok {
		return g
	}
	return app.Caller{Role: lab.Owner}
}

// admit returns r with its guest, and whether one was let in. Without a door
// all are.
func (s *server) admit(r *http.Request) (_ *http.Request, in bool, err error) {
	if s.door == nil {
		return r, true, nil
	}
	g := app.Caller{}
	c, err := r.Cookie(doorCookie(r))
	if err == nil {
		g, err = s.farm.Admit(r.Context(), c.Value)
		if err != nil && !lab.IsKind(err, lab.Refused) {
			return r, false, err
		}
	}
	return r.WithContext(context.WithValue(r.Context(), callerKey{}, g)), err == nil, nil
}

// letThrough holds the rule of a route. If it answers itself, because nobody
// was let in or who was may not, it returns false.
func (s *server) letThrough(rt route, w http.ResponseWriter, r *http.Request) (*http.Request, bool) {
	least := rt.rule.least()
	if least == "" {
		return r, true
	}
	r, in, err := s.admit(r)
	g := callerOf(r)
	switch {
	case err != nil:
		s.answer(w, r, err)
	case !in:
		s.toTheDoor(w, r)
	case !g.Role.May(least):
		if r.Header.Get(handover) != "" {
			w.Header().Set("Pinset-Least", string(least)) // the phone keeps it: a role that was taken may come back
		}
		s.oops(w, r, http.StatusForbidden, "Not yours to do",
			fmt.Sprintf("this needs the role %s, and you came in as %s", least, g.Role), "ask the owner to do it, or for that role; nothing was written")
	case rt.rule != read && s.door != nil && !s.door.entries.take(string(g.Device), s.now()):
		retryAfter(w, time.Minute)
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
	if wait := s.door.mayTry(addressOf(r), s.now()); wait > 0 {
		return s.showLogin(w, r, http.StatusTooManyRequests, "Too many tries. "+sentence(retryAfter(w, wait)+", then try again; devices that were let in go on"))
	}
	if !s.door.knows(r, r.PostFormValue("passphrase")) {
		s.door.wrong.take(addressOf(r), s.now())
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
	if g := callerOf(r); g.Device != "" {
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
