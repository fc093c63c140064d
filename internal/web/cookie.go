package web

import (
	"encoding/base64"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"pinset/internal/lab"
)

// The cookies. None holds a secret but the door's.
const (
	lampCookie = "pinset_lamp"
	byCookie   = "pinset_by"
	didCookie  = "pinset_did"
)

// themes are what the lamp can be set to; "" follows the system.
var themes = []string{"", "light", "dark", "dim"}

func themeOf(r *http.Request) string {
	c, err := r.Cookie(lampCookie)
	if err != nil || !slices.Contains(themes, c.Value) {
		return ""
	}
	return c.Value
}

// initialsOf returns who enters: the person that the device was paired for,
// else what this browser was told.
func initialsOf(r *http.Request) string {
	if g := callerOf(r); g.By != "" {
		return g.By
	}
	c, err := r.Cookie(byCookie)
	if err != nil {
		return ""
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || !utf8.Valid(b) {
		return ""
	}
	return clipped(string(b), 20)
}

// keep sets a cookie for a year, or removes it if value is empty.
func keep(w http.ResponseWriter, r *http.Request, name, value string) {
	const year = 365 * 24 * 3600
	setCookie(w, r, name, value, year)
}

func setCookie(w http.ResponseWriter, r *http.Request, name, value string, seconds int) {
	if value == "" {
		seconds = -1
	}
	http.SetCookie(w, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: seconds,
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode,
	})
}

// wrote is the last entry made from this browser. It stands in the undo bar
// of the pages that follow.
type wrote struct {
	Deed lab.DeedID // "" if it can not be taken back
	What string
}

// remember keeps what was written for the undo bar of the next pages.
func remember(w http.ResponseWriter, r *http.Request, deed lab.DeedID, what string) {
	const shortWhile = 15 * 60
	text := string(deed) + "\n" + clipped(what, 200)
	setCookie(w, r, didCookie, base64.RawURLEncoding.EncodeToString([]byte(text)), shortWhile)
}

func wroteOf(r *http.Request) *wrote {
	c, err := r.Cookie(didCookie)
	if err != nil {
		return nil
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	deed, what, ok := strings.Cut(string(b), "\n")
	if err != nil || !ok || !utf8.ValidString(what) {
		return nil
	}
	return &wrote{lab.DeedID(deed), what}
}

func clipped(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}
