package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"
)

const (
	doorCookie = "pinset_door"
	stay       = 30 * 24 * time.Hour // how long a browser stays let in
)

// door lets in those who know the passphrase. Who was let in carries a
// cookie that this process signed; a restart forgets all of them.
type door struct {
	salt, hash []byte
	key        []byte
	tries      limiter
	working    chan struct{} // bounds hashing at one time, which takes memory
}

// Argon2id with 19 MiB, 2 passes, 1 lane: the least that the OWASP password
// storage advice names (from memory). It is small because the program may
// run on a single-board computer.
func stretch(passphrase string, salt []byte) []byte {
	return argon2.IDKey([]byte(passphrase), salt, 2, 19*1024, 1, 32)
}

func newDoor(passphrase string) (*door, error) {
	secret := make([]byte, 48)
	if _, err := rand.Read(secret); err != nil {
		return nil, fmt.Errorf("web: draw the door's key: %w", err)
	}
	d := &door{salt: secret[:16], key: secret[16:], working: make(chan struct{}, 2)}
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

// pass returns a cookie value that is good until then.
func (d *door) pass(until time.Time) string {
	b := binary.BigEndian.AppendUint64(nil, uint64(until.Unix()))
	return base64.RawURLEncoding.EncodeToString(append(b, d.sign(b)...))
}

func (d *door) sign(b []byte) []byte {
	mac := hmac.New(sha256.New, d.key)
	mac.Write(b)
	return mac.Sum(nil)
}

// admits reports whether r carries a pass that is good at now.
func (d *door) admits(r *http.Request, now time.Time) bool {
	c, err := r.Cookie(doorCookie)
	if err != nil {
		return false
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || len(b) != 8+sha256.Size || !hmac.Equal(b[8:], d.sign(b[:8])) {
		return false
	}
	return now.Before(time.Unix(int64(binary.BigEndian.Uint64(b)), 0))
}

// limiter bounds the tries at the door, for each address and in all.
type limiter struct {
	mu    sync.Mutex
	since time.Time
	by    map[string]int
	all   int
}

// The tries that are free within a minute.
const (
	triesEach = 8
	triesAll  = 60
)

// take reports whether one more try from addr is allowed at now.
func (l *limiter) take(addr string, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.by == nil || now.Sub(l.since) >= time.Minute {
		l.since, l.by, l.all = now, make(map[string]int), 0
	}
	if l.all >= triesAll || l.by[addr] >= triesEach {
		return false
	}
	l.all++
	l.by[addr]++
	return true
}

// toTheDoor sends those who were not let in to the door. What they posted is
// not kept.
func (s *server) toTheDoor(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		s.oops(w, r, http.StatusUnauthorized, "Not let in yet",
			"the passphrase was not given, or Pinset was started again since", "open the door, then enter it again; nothing was written")
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
	if s.door == nil || s.door.admits(r, s.now()) {
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
	addr, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		addr = r.RemoteAddr
	}
	if !s.door.tries.take(addr, s.now()) {
		w.Header().Set("Retry-After", "60")
		return s.showLogin(w, r, http.StatusTooManyRequests, "Too many tries. Wait a minute, then try again.")
	}
	if !s.door.knows(r, r.PostFormValue("passphrase")) {
		return s.showLogin(w, r, http.StatusForbidden, "That is not the passphrase. Mind capitals and spaces.")
	}
	setCookie(w, r, doorCookie, s.door.pass(s.now().Add(stay)), int(stay.Seconds()))
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// postLogout serves POST /logout.
func (s *server) postLogout(w http.ResponseWriter, r *http.Request) error {
	setCookie(w, r, doorCookie, "", 0)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
	return nil
}
